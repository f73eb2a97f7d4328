"""How sure a tee choice is: draws of the player, and how many more shots would settle it."""

import numpy as np
import pytest

import caddiebrain as cb
from caddiebrain.round.confidence import SETTLED, _sentence


def asked(plan, hole, seed=3, draws=12):
    return plan.confidence(hole, np.random.default_rng(seed), draws)


def test_the_same_generator_gives_the_same_answer_and_the_plan_is_left_alone(three_plan):
    before = three_plan.chance()
    assert asked(three_plan, 1) == asked(three_plan, 1)
    assert three_plan.chance() == before


def test_the_choice_is_the_plans_and_the_lead_is_the_difference_in_strokes(three_plan):
    found = asked(three_plan, 3)
    options = sorted(three_plan.hole(3).tee_options(), key=lambda o: o.expected)
    other = next(o for o in options if o.label == found.other)
    assert found.choice == options[0].label
    assert found.lead_strokes == pytest.approx(other.expected - options[0].expected)
    assert 0.0 <= found.stays_best <= 1.0
    assert found.choice in found.sentence


def test_a_long_notebook_makes_a_clear_lead_certain(three_holes, demo_player, three_plan):
    """With thousands of shots on record the draws hardly move, so the better choice on average is always best."""
    sure = demo_player
    for club in demo_player.clubs:
        sure = sure.with_shots(club, 20_000)
    found = asked(cb.plan_round(three_holes, sure, target=13, grid=three_plan.holes[0].compiler.grid), 3)
    if found.lead_strokes > 0.03:
        assert found.stays_best == 1.0
    assert max(found.stays_best, 1.0 - found.stays_best) >= SETTLED or abs(found.lead_strokes) < 0.03


def test_settled_choices_ask_for_no_more_shots(three_plan):
    for hole in (1, 3):
        found = asked(three_plan, hole)
        settled = max(found.stays_best, 1.0 - found.stays_best) >= SETTLED
        assert settled == (found.settles == {})


def test_too_few_draws_and_unknown_holes_are_named(three_plan):
    with pytest.raises(cb.InputError, match="draws: found 2"):
        asked(three_plan, 1, draws=2)
    with pytest.raises(cb.UnknownError, match="hole 9"):
        asked(three_plan, 9)


@pytest.mark.parametrize(
    ("stays", "said"),
    [(1.0, "10 in 10"), (0.95, "9 in 10"), (0.66, "7 in 10"), (0.04, "1 in 10"), (0.0, "0 in 10")],
)
def test_all_is_said_of_every_draw_alone(three_plan, stays, said):
    one, other = three_plan.hole(3).tee_options()[:2]
    assert f"for {said} of" in _sentence(one, other, stays, {})


@pytest.mark.parametrize("draws", [7.5, "40", float("nan"), True])
def test_draws_that_are_no_whole_number_are_named(three_plan, draws):
    with pytest.raises(
        cb.InputError, match=r"confidence: draws: found .*; expected a whole number, 5 to 100000"
    ):
        asked(three_plan, 1, draws=draws)


def test_a_plan_says_which_advice_hangs_on_few_shots(three_plan, demo_player):
    few = three_plan.record().few_shots
    for label, shots in few.items():
        own = [p.shots for p in demo_player.patterns if p.club in label]
        assert shots < 20
        assert shots in (0.0, *own)
