"""How far a plan can be trusted, judged: long studies of trust_studies.py; docs/trust.md shows their figures."""

import numpy as np
import pytest
from trust_studies import (
    EXCEPTIONAL_ODDS,
    demo_plan,
    level_study,
    play_study,
    tour_strokes,
    yardage_rating,
)

import caddiebrain as cb
from caddiebrain.hole import GridSpec

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def plan():
    return demo_plan()


def test_a_hundred_thousand_played_rounds_agree_with_the_plan(plan):
    for study in play_study(plan, 100_000, seed=79):
        assert study.played == pytest.approx(study.computed, abs=0.15), study
        assert study.chance_played == pytest.approx(study.chance, abs=0.01), study


def test_halving_every_cell_changes_little(plan):
    half = demo_plan(GridSpec().halved())
    moved = {
        a.number: b.expected_score - a.expected_score for a, b in zip(plan.holes, half.holes, strict=True)
    }
    assert max(abs(m) for m in moved.values()) <= 0.01, moved
    assert half.chance(79) == pytest.approx(plan.chance(79), abs=0.01)
    assert half.chance_expected_policy(79) == pytest.approx(plan.chance_expected_policy(79), abs=0.01)


def test_a_tour_like_player_on_open_holes_needs_the_published_strokes():
    off = np.array([ours - published for _, _, published, ours in tour_strokes()])
    assert len(off) == 66
    assert np.abs(off).mean() <= 0.10
    assert np.abs(off).max() <= 0.25


@pytest.mark.parametrize(("player", "index"), [("scratch", 0.0), ("bogey", 20.0)])
def test_the_better_half_of_a_levels_rounds_is_near_the_yardage_rating(player, index):
    study = level_study(index, np.random.default_rng(1))
    assert study.better_half == pytest.approx(yardage_rating(player, cb.demo.course().length_yd), abs=2.0)
    # Twenty rounds here would give a player of this level about the index the level has.
    assert study.index == pytest.approx(index, abs=2.0)


@pytest.mark.parametrize(("group", "index"), [("13 to 21.9", 17.0), ("5.9 or less", 4.0)])
def test_exceptional_rounds_are_as_rare_as_published_in_order_of_magnitude(group, index):
    odds = level_study(index, np.random.default_rng(1)).odds
    for least, published in EXCEPTIONAL_ODDS[group].items():
        assert 1 / 3 < odds[least] / published < 3, (least, odds[least], published)
