"""Clubs are looked at for how far they go here and today, not for what they do down the wind."""

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
