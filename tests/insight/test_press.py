"""Protect or press: the choice now, and what it depends on."""

from itertools import pairwise

import numpy as np
import pytest

from caddiebrain.errors import InputError, UnknownError
from caddiebrain.insight.at_hand import Putts
from caddiebrain.insight.press import press
from caddiebrain.insight.records_press import Press, PressOption
from caddiebrain.insight.words_press import count_words, press_sentence
from caddiebrain.round.worth import value_of_states


def test_on_the_tee_it_agrees_with_the_plan(three_plan):
    found = press(three_plan, 2, standing=1)
    options = three_plan.hole(2).tee_options(1)
    assert found.target_now == pytest.approx(max(o.chance for o in options), abs=1e-4)
    listed = {o.label: o.target for o in found.options}
    assert listed.keys() == {o.label for o in options}
    for option in options:
        assert listed[option.label] == pytest.approx(option.chance, abs=1e-4)


@pytest.mark.parametrize("standing", [-1, 0, 2])
def test_strokes_in_hand(three_plan, standing):
    """DESIGN's definition: strokes left under the target minus the strokes the plan expects to need."""
    found = press(three_plan, 2, standing=standing)
    left = 13 - 4 - standing
    need = three_plan.hole(2).expected_score + three_plan.hole(3).expected_score
    assert found.strokes_left == left
    assert found.strokes_in_hand == pytest.approx(left - need, abs=1e-3)
    assert found.to_spare == left - 3 - 5


def test_options_split_by_result(three_plan):
    """The chance before the stroke is the mean of the chances after it."""
    for option in press(three_plan, 3, standing=0).options:
        assert sum(r.chance for r in option.results) == pytest.approx(1.0, abs=1e-9)
        assert sum(r.chance * r.target for r in option.results) == pytest.approx(option.target, abs=1e-9)


def test_best_first_and_stances(three_plan):
    found = press(three_plan, 3, standing=1)
    targets = [o.target for o in found.options]
    assert targets == sorted(targets, reverse=True)
    usual = min(found.options, key=lambda o: o.expected)
    assert [o.label for o in found.options if o.stance == "usual"] == [usual.label]
    for option in found.options:
        if option is not usual:
            assert option.stance == ("protect" if option.spread < usual.spread else "press")


@pytest.mark.parametrize("hole", [1, 2, 3])
def test_steps_cover_the_open_standings_once_and_serve_best(three_plan, hole):
    found = press(three_plan, hole)
    steps = found.by_standing
    assert steps[0].from_standing is None
    assert steps[-1].to_standing is None
    for one, following in pairwise(steps):
        assert following.from_standing == one.to_standing + 1
        assert following.in_hand_most == pytest.approx(one.in_hand_least - 1.0)
        assert following.target_most <= one.target_least
    for step in steps:
        for standing in {step.from_standing, step.to_standing} - {None}:
            there = press(three_plan, hole, standing=standing)
            named = next(o for o in there.options if o.label == step.label)
            assert there.target_now - named.target <= 5e-4 + 1e-9


def test_a_putt_is_a_choice_of_pace(three_plan):
    """With one stroke left the charge beats the lag; with three in hand it does not matter which."""
    last = press(three_plan, 3, standing=2, to_pin=5.0, lie="green", strokes_on_hole=3)
    assert last.strokes_left == 13 - 7 - 2 - 3 == 1
    assert last.options[0].label != "putt to die at the hole"
    safe = press(three_plan, 3, standing=-3, to_pin=5.0, lie="green", strokes_on_hole=1)
    assert safe.target_now > 0.999


def test_putts_are_worth_what_the_plan_says(three_plan):
    hole = three_plan.hole(1)
    number = hole.compiler.numbering
    full = value_of_states(hole.compiler, hole.strokes_worth().layers[0])
    for feet in (1.0, 5.0, 17.0, 40.0):
        own = Putts(hole.compiler, feet).values(hole.strokes_worth()).min()
        assert own == pytest.approx(full[int(number.bin_of(np.array([feet]))[0])], abs=2e-3)


def test_words_of_the_count():
    assert count_words(2, 4, 18, 79) == "two over the last four holes still makes 79"
    assert count_words(0, 1, 18, 79) == "par at the last makes 79"
    assert count_words(-2, 5, 18, 79) == "it takes two under the last five holes to make 79"
    assert count_words(3, 1, 18, 79, played=1) == (
        "a triple bogey at the last still makes 79, the one stroke played here included"
    )
    assert count_words(0, 18, 18, 72) == "level par for the round makes 72"
    assert count_words(-1, 18, 18, 71) == "it takes one under for the round to make 71"
    assert count_words(-9, 2, 18, 79, chance=0.0) == "79 is out of reach"
    assert count_words(12, 1, 18, 79, chance=1.0) == "79 is safe, whatever happens"


def option(label, stance, expected, target) -> PressOption:
    return PressOption(
        label=label,
        aim_words="down the centre, at 200",
        stance=stance,
        expected=expected,
        spread=0.5,
        target=target,
        results=(),
    )


def test_words_of_the_choice():
    usual, brave = option("4-hybrid", "usual", 4.5, 0.08), option("driver", "press", 4.56, 0.11)
    assert press_sentence([brave, usual], 79, 0.11) == (
        "Press: the driver costs 0.06 strokes on average against the 4-hybrid, but makes 79 or better 11.0 "
        "times in 100 against 8.0."
    )
    safe = option("5-iron", "protect", 4.53, 0.95)
    assert press_sentence([safe, usual], 79, 0.95).startswith("Protect: the 5-iron costs 0.03 strokes")
    assert "usual shot: the 4-hybrid" in press_sentence([usual, brave], 79, 0.08)
    nearly = option("4-hybrid", "usual", 4.5, 0.9997)
    assert "(>99.9 rounds in 100)" in press_sentence([nearly], 79, 0.9997)
    assert press_sentence([usual], 79, 0.0) == "79 is out of reach; the 4-hybrid scores lowest."


def test_record_round_trip(three_plan):
    found = press(three_plan, 1, to_pin=150.0, lie="rough", strokes_on_hole=1)
    assert Press.model_validate_json(found.model_dump_json()) == found
    assert found.count.endswith("the one stroke played here included")


@pytest.mark.parametrize(
    ("call", "error", "says"),
    [
        (dict(hole=7), UnknownError, "hole 7"),
        (dict(hole=1, lie="sofa"), UnknownError, "no lie"),
        (dict(hole=1, position=(0.0, 250.0)), InputError, "yellow"),
        (dict(hole=1, strokes_on_hole=31), InputError, "strokes_on_hole"),
    ],
)
def test_bad_input(three_plan, call, error, says):
    with pytest.raises(error, match=says):
        press(three_plan, **call)
