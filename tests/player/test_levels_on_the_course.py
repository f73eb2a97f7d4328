"""Scratch and bogey levels play the demo course about as well as players of their index do.

The demo course is invented; what is checked is the level, against the published yardage ratings and odds.
"""

import numpy as np
import pytest

import caddiebrain as cb
from caddiebrain.player import Level

# Yardage rating, men (Course Rating System; memory): a rating is the average of the better half of the scores.
RATING = {0.0: (220.0, 40.9), 20.0: (160.0, 50.7)}
SLOPE_PER_STROKE = 5.381  # slope = 5.381 x (bogey rating - course rating), men (read)
# USGA Handicap System Manual, Appendix E: odds of a net differential this low, one in so many rounds (read).
ODDS = {0.0: {0: 5, -3: 57, -5: 379}, 20.0: {0: 6, -3: 43, -5: 174}}

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def scores(demo_course):
    """Distribution of the total of each level, playing for the average."""
    plans = {
        index: cb.plan_round(demo_course, Level(handicap_index=index).player(), target=79) for index in RATING
    }
    return {index: np.asarray(plan.score_pmf("expected")) for index, plan in plans.items()}


def ratings(course):
    return {index: course.length_yd / per + add for index, (per, add) in RATING.items()}


@pytest.mark.parametrize("index", RATING)
def test_the_better_half_of_the_rounds_averages_the_rating(demo_course, scores, index):
    pmf = scores[index]
    total = np.arange(len(pmf))
    better = np.clip(0.5 - (np.cumsum(pmf) - pmf), 0.0, pmf)
    average = float(better @ total / better.sum())
    assert abs(average - ratings(demo_course)[index]) <= 2.0, average


@pytest.mark.parametrize("index", RATING)
def test_the_odds_of_an_exceptional_round_are_of_the_published_size(demo_course, scores, index):
    scratch, bogey = ratings(demo_course)[0.0], ratings(demo_course)[20.0]
    slope = SLOPE_PER_STROKE * (bogey - scratch)
    net = (np.arange(len(scores[index])) - scratch) * 113.0 / slope - index
    for low, rounds in ODDS[index].items():
        chance = float(scores[index][net <= low].sum())
        assert 0.1 < chance * rounds < 10.0, (low, 1.0 / chance)
