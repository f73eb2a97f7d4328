"""Clubs are looked at for how far they go here and today, not for what they do down the wind."""

import pytest

import caddiebrain as cb
from caddiebrain.course.model import Course
from tests.conftest import COARSE, open_hole


def test_into_a_strong_wind_there_are_clubs_that_reach():
    """What a club carries down the wind used to bar it into the wind: 0.11 strokes from 70 yards."""
    player = cb.Level(handicap_index=17.0, sex="women").player()
    day = cb.Conditions(wind_mph=25, wind_from_deg=0)
    plan = cb.plan_round(Course("North", (open_hole(300.0),)), player, 4, day, grid=COARSE)
    options = plan.options(1, to_pin=70.0, lie="fairway")
    assert max(option.carry_yd for option in options) >= 70.0
    assert min(options, key=lambda option: option.expected).carry_yd >= 68.0


def test_a_chip_carries_to_where_it_lands_and_stops_at_its_number(three_plan):
    """The carry of a short shot used to be said as its whole length, roll and all."""
    chips = {s.lie: s for s in three_plan.player.short_game if s.name == "chip"}
    for lie in ("fairway", "rough"):
        options = three_plan.options(3, to_pin=20.0, lie=lie, strokes_on_hole=2)
        chip = next(option for option in options if option.label.startswith("chip"))
        assert chip.carry_yd == pytest.approx(chip.aim.distance_yd * chips[lie].carry_share)
        assert chip.label == f"chip to {chip.aim.distance_yd:.0f} yards"


def test_yards_are_counted_in_the_singular_too(three_plan):
    options = three_plan.options(3, to_pin=1.0, lie="fairway", strokes_on_hole=2)
    assert any(option.label.endswith(" to 1 yard") for option in options)


def test_a_lie_a_hole_does_not_have_is_refused_with_those_it_has(three_plan):
    with pytest.raises(
        cb.errors.UnknownError, match=r"hole 3: lie: found thick; expected one .*: fairway, rough"
    ):
        three_plan.options(3, to_pin=100.0, lie="thick")
