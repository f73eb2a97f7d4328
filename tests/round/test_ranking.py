"""What is best for the target when chances are level, sure or lost."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import caddiebrain as cb
from caddiebrain.round import MaximumScore, Stableford, plan_format
from caddiebrain.round.ranking import GRAIN, best_for_target, order_for_target

UNIT = st.floats(0.0, 1.0)


@given(st.lists(st.tuples(st.floats(2.0, 8.0), UNIT), min_size=1, max_size=12))
def test_level_chances_go_by_strokes_and_others_by_chance(rows):
    strokes, chance = np.array(rows).T
    order = order_for_target(strokes, chance)
    assert sorted(order) == list(range(len(rows)))
    level = chance.max() - chance < GRAIN
    first, rest = order[: level.sum()], order[level.sum() :]
    assert level[first].all()
    assert (np.diff(strokes[first]) >= 0).all()
    assert (np.diff(chance[rest]) <= 1e-15).all()
    assert strokes[best_for_target(strokes, chance)] == strokes[order[0]]


@pytest.mark.parametrize("standing", [-9, 30])
def test_a_target_that_is_sure_or_lost_is_no_reason_for_a_worse_shot(three_plan, standing):
    for hole in three_plan.holes:
        options = hole.tee_options(standing)
        assert options[0].expected == pytest.approx(hole.expected_score, abs=1e-9)
        best = cb.press(three_plan, hole.number, standing=standing).options[0]
        assert best.stance == "usual"


@pytest.mark.parametrize("format", [Stableford(), MaximumScore(9)])
def test_what_is_left_to_play_for_once_a_target_is_reached_is_the_result(three_plan, format):
    free = plan_format(three_plan, format, handicap=3)
    easy = 0 if format.unit == "points" else 27
    sure = plan_format(three_plan, format, handicap=3, target=easy)
    assert sure.value == pytest.approx(1.0, abs=1e-12)
    assert sure.expected == pytest.approx(free.expected, abs=1e-6)
    # Nearly sure: a few points, or strokes, and the rest for the result.
    near = plan_format(three_plan, format, handicap=3, target=1 if format.unit == "points" else 22)
    assert near.value > 0.99
    assert near.expected == pytest.approx(free.expected, abs=0.05)


def test_the_switches_are_what_the_options_say(three_plan):
    for hole in three_plan.holes:
        for switch in hole.switches:
            for standing in (switch.from_standing, switch.to_standing):
                if standing is not None:
                    assert hole.tee_options(standing)[0].label == switch.option.label
