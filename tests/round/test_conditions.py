"""What weather, ground and set-up do to the plan of a hole; invented holes, a coarse grid."""

from functools import cache

import numpy as np
import pytest
from shapely import Point, box
from single_hole import least, plan_of, straight

import caddiebrain as cb
from caddiebrain import demo
from caddiebrain.course import Setup
from caddiebrain.course.model import Area, Course
from caddiebrain.flight import Conditions
from caddiebrain.hole.ground import CODE
from caddiebrain.hole.points import ErrorPoints, normal_points
from caddiebrain.terms import Lie
from tests.conftest import COARSE


@cache
def par_four(conditions: Conditions | None = None, rise_yd: float = 0.0):
    return plan_of(straight(400.0, 4, rise_yd=rise_yd), demo.player(), conditions)


def score(conditions: Conditions | None = None, rise_yd: float = 0.0) -> float:
    return par_four(conditions, rise_yd).expected_score


@cache
def set_up(**setup) -> float:
    return plan_of(straight(400.0, 4), demo.player(), None, Setup(**setup)).expected_score


def tee_shot(hole, conditions: Conditions | None = None, setup: Setup | None = None):
    plan = plan_of(hole, demo.player(), conditions, setup)
    return least(plan.options(1, (0.0, 0.0), lie="tee", every_aim=True))


# -- weather -----------------------------------------------------------------------------------------------


def test_a_head_wind_costs_more_than_a_tail_wind_gives():
    still = score()
    head = score(Conditions(wind_mph=15, wind_from_deg=0))
    tail = score(Conditions(wind_mph=15, wind_from_deg=180))
    assert head - still > 1.2 * (still - tail) > 0.05


def test_the_carry_said_is_that_of_the_wind_on_its_line():
    """Each option's carry, along its line, against its solid balls followed one by one."""
    carries, balls = {}, normal_points(200)
    points = ErrorPoints(*balls.T, np.ones(200, dtype=bool), np.full(200, 1.0 / 200.0))
    for name, way in (("head", 0), ("cross", 90), ("tail", 180)):
        plan = par_four(Conditions(wind_mph=15, wind_from_deg=way))
        compiler = plan.hole(1).compiler
        for option in plan.options(1, (0.0, 0.0), lie="tee", every_aim=True):
            (swing,) = (
                s
                for s in compiler.arsenal.full[CODE[Lie.TEE]]
                for p in (compiler.player.patterns[s.index],)
                if (p.club, p.shape, p.height) == (option.club, option.shape, option.height)
            )
            bins = compiler.wind_bins(swing, np.deg2rad([option.aim_deg]))
            ends = swing.offsets(points, bins)
            flown = np.hypot(
                ends.along, ends.across - ends.across.mean()
            )  # less what the wind moves all of them
            assert option.carry_yd == pytest.approx(float(flown.mean()), abs=0.5)
            carries[name, option.label] = option.carry_yd
            assert option.aim.distance_yd == pytest.approx(np.hypot(*option.aim_xy), abs=1e-6)
            assert 0.0 <= option.aim.distance_yd - option.carry_yd < 40.0
    assert carries["head", "driver"] < carries["cross", "driver"] - 8.0
    assert carries["cross", "driver"] < carries["tail", "driver"] - 4.0


def test_the_aim_moves_into_a_cross_wind_by_about_its_drift():
    hole = straight(170.0, 3)
    still, left, right = (
        tee_shot(hole, day)
        for day in (
            None,
            Conditions(wind_mph=15, wind_from_deg=270),
            Conditions(wind_mph=15, wind_from_deg=90),
        )
    )
    # A wind from the left (west, the hole plays north) blows to the right.
    assert left.aim_deg < still.aim_deg - 3.0
    assert right.aim_deg > still.aim_deg + 3.0
    assert right.aim_deg - still.aim_deg == pytest.approx(still.aim_deg - left.aim_deg, abs=2.0)


def test_gusts_and_not_knowing_the_wind_cost_strokes():
    steady = Conditions(wind_mph=12, wind_from_deg=90)
    assert score(steady.model_copy(update={"gust_mph": 6.0})) > score(steady) + 0.02
    assert score(steady.model_copy(update={"wind_uncertainty_mph": 6.0})) > score(steady) + 0.02


def test_gusts_without_a_mean_wind_cost_strokes_too():
    assert score(Conditions(gust_mph=6.0)) > score() + 0.01


def test_heat_and_altitude_shorten_a_hole_and_cold_lengthens_it():
    assert score(Conditions(temperature_c=0)) > score() > score(Conditions(temperature_c=38))
    assert score() > score(Conditions(altitude_m=1600)) + 0.03
    carry = {
        day: max(
            s.carry.mean() for s in par_four(day).holes[0].compiler.arsenal.full[list(Lie).index(Lie.TEE)]
        )
        for day in (Conditions(), Conditions(temperature_c=38), Conditions(altitude_m=1600))
    }
    usual, warm, high = carry.values()
    assert usual < warm < high


def test_humid_air_is_a_little_thinner():
    damp, dry = (Conditions(temperature_c=35, humidity=h) for h in (1.0, 0.0))
    assert score(damp) < score(dry)
    assert score(dry) - score(damp) < 0.02


# -- ground ------------------------------------------------------------------------------------------------


def test_uphill_plays_longer_and_downhill_shorter():
    assert score(rise_yd=15.0) > score() + 0.02
    assert score(rise_yd=-15.0) < score() - 0.02


def test_uphill_takes_more_club():
    level = {
        p.club: p.carry_yd for p in demo.player().patterns if (p.shape, p.height) == ("straight", "stock")
    }
    flat, up, down = (level[tee_shot(straight(160.0, 3, rise_yd=r)).club] for r in (0.0, 12.0, -12.0))
    assert up > flat >= down
    assert up > down + 10.0


def test_the_carry_said_is_that_of_the_slope():
    """A ball that falls at an angle d lands rise / tan(d) sooner on higher ground: geometry."""
    pattern = next(p for p in demo.player().patterns if (p.club, p.shape) == ("7-iron", "straight"))
    said = {}
    for rise in (12.0, 0.0, -12.0):
        plan = plan_of(straight(160.0, 3, rise_yd=rise), demo.player())
        options = plan.options(1, (0.0, 0.0), lie="tee")
        said[rise] = next(o for o in options if o.label == "7-iron")
    assert said[0.0].carry_yd == pytest.approx(pattern.carry_yd, abs=0.5)
    for rise in (12.0, -12.0):
        at_landing = (
            rise * pattern.carry_yd / 220.0
        )  # the slope runs from 20 yards behind the tee to 40 beyond
        sooner = at_landing / np.tan(np.deg2rad(pattern.descent_deg))
        assert said[rise].carry_yd == pytest.approx(pattern.carry_yd - sooner, abs=0.5)


def test_firm_ground_gives_run_and_soft_ground_takes_it():
    soft, usual, firm = (set_up(firmness=f) for f in (0.0, 0.5, 1.0))
    assert firm < usual - 0.03
    assert soft > usual + 0.01


# -- set-up ------------------------------------------------------------------------------------------------


def test_a_back_pin_takes_another_club_than_a_front_pin():
    hole = straight(160.0, 3, Area(Lie.GREEN, Point(0, 160).buffer(18)))
    front, back = (tee_shot(hole, None, Setup(pin=place)) for place in ("front", "back"))
    assert front.club != back.club
    assert back.carry_yd > front.carry_yd + 8.0


def test_long_rough_costs_strokes_and_short_rough_saves_some():
    assert set_up(rough="short") < set_up() - 0.02 < set_up(rough="long") - 0.04


def test_fast_greens_are_harder_to_pace():
    assert set_up(green_speed_ft=7.0) < set_up() < set_up(green_speed_ft=13.0)


def test_preferred_lies_save_strokes():
    assert set_up(preferred_lies=True) < set_up() - 0.01


def test_a_temporary_green_seventy_yards_short_is_played_to():
    plan = plan_of(straight(400.0, 4), demo.player(), None, Setup(temporary_greens={1: (0.0, 330.0)}))
    assert plan.holes[0].hole.length_yd == pytest.approx(330.0)
    assert plan.expected_score < score() - 0.15


def test_local_rule_e5_saves_strokes_beside_out_of_bounds():
    sides = (box(24, -20, 90, 430), box(-90, -20, -24, 430))
    hole = straight(400.0, 4, *(Area(Lie.OUT, side) for side in sides))
    without, with_e5 = (
        plan_of(hole, demo.player(), None, Setup(local_rule_e5=e5)).expected_score for e5 in (False, True)
    )
    # Little: its two strokes are meant to match what going back costs.
    assert without - 0.1 < with_e5 < without - 0.003


# -- going for it ------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def closing_hole(demo_course):
    return Course("The last", (demo_course.hole(18),))


def second_shot(course, player, to_pin: float, wind_mph: float, head: bool):
    bearing = course.holes[0].bearing_deg
    came_from = bearing if head else (bearing + 180.0) % 360.0
    day = Conditions(wind_mph=wind_mph, wind_from_deg=came_from)
    plan = cb.plan_round(course, player, 5, day, grid=COARSE, workers=1)
    return least(plan.options(18, to_pin=to_pin, lie="fairway", every_aim=True))


def test_on_a_par_five_the_wind_decides_whether_to_go_for_the_green(closing_hole, demo_player):
    """242 yards from the pin: down a wind of 10 mph the 3-wood at the green, against it an iron short of it."""
    assert closing_hole.holes[0].par == 5
    going = second_shot(closing_hole, demo_player, 242.0, 10.0, head=False)
    assert going.club == "3-wood"
    assert going.shares["green"] > 0.05
    laying_up = second_shot(closing_hole, demo_player, 242.0, 10.0, head=True)
    assert laying_up.carry_yd < 160.0
    assert laying_up.shares.get("green", 0.0) == 0.0
    assert laying_up.expected > going.expected
