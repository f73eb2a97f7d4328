"""Short shots in wind and on slopes: what the player allows for, and what is felt all the same."""

from dataclasses import replace

import numpy as np
import pytest
from small_holes import straight_hole

from caddiebrain import demo
from caddiebrain.flight import Conditions, flight_table
from caddiebrain.hole import GridSpec
from caddiebrain.hole.ground import survey
from caddiebrain.hole.points import ErrorPoints, mixture_points
from caddiebrain.hole.short_air import DESCENT, LOW_DESCENT, ShortAir, allowance
from caddiebrain.hole.short_shots import fly_short
from caddiebrain.hole.short_swings import ShortSwing
from caddiebrain.hole.strokes import hit_short

PITCH = next(s for s in demo.player().short_game if s.name == "pitch" and s.lie == "fairway")
FROM_THE_LEFT, HEAD, TAIL = 270.0, 0.0, 180.0  # the hole runs north
GROUND = survey(straight_hole(), GridSpec())
SLOPE = 0.1


def windy(wind_from_deg, mph=20.0, **more):
    return ShortAir.of(Conditions(wind_mph=mph, wind_from_deg=wind_from_deg, **more))


def rising(rise_per_yard):
    spots = [(x, y, rise_per_yard * y) for x in range(-60, 61, 20) for y in range(-20, 441, 20)]
    return survey(replace(straight_hole(), heights=np.array(spots, dtype=float)), GridSpec())


def at(distance, heading=0.0, y=300.0):
    far = np.atleast_1d(np.asarray(distance, dtype=float))
    return np.zeros(len(far)), np.full(len(far), y), np.full(len(far), heading), far


def sure(along=0.0, across=0.0, solid=True):
    """Points without spread, or one so many standard deviations off."""
    return ErrorPoints(np.array([along]), np.array([across]), np.array([solid]), np.ones(1))


def test_on_the_level_in_reference_air_there_is_nothing_to_allow_for():
    assert ShortAir.of(Conditions()) is None
    assert allowance(GROUND, None, at(50.0), PITCH, low=False) is None


@pytest.mark.parametrize("wind_from_deg", [0.0, 45.0, 90.0, 180.0, 300.0])
@pytest.mark.parametrize(("carry", "descent"), [(8.0, 30.0), (33.0, 45.0), (55.0, 50.0), (30.0, LOW_DESCENT)])
def test_flights_between_those_worked_out_are_as_integrated(wind_from_deg, carry, descent):
    """Held against the same shot flown by the flight model, whose own sources stand beside its tests."""
    day = Conditions(wind_mph=15.0, wind_from_deg=wind_from_deg, gust_mph=3.0)
    shares, _ = ShortAir.of(day).at(np.array([carry]), np.array([descent]), np.array([0.0]))
    own = flight_table([carry], [carry * np.tan(np.radians(descent)) / 4], [descent], [0.0], day)
    k = round((wind_from_deg + 180.0) % 360.0 / 15.0)
    flown = (carry - own.carry_yd[0, k], own.drift_yd[0, k], own.carry_wind_sd[0, k], own.drift_wind_sd[0, k])
    assert shares[:, 0] == pytest.approx(np.array(flown) / carry, abs=0.012)


@pytest.mark.parametrize("wind_from_deg", range(0, 360, 45))
@pytest.mark.parametrize("distance", [10.0, 35.0, 60.0])
def test_what_is_known_is_allowed_for(wind_from_deg, distance):
    allowed = allowance(GROUND, windy(float(wind_from_deg)), at(distance), PITCH, low=False)
    assert allowed.reach == pytest.approx([distance], abs=0.05)
    swing = ShortSwing(0, PITCH)
    stop = swing.offsets(sure(), np.array([distance]), allowed)
    assert stop.along[0, 0] == pytest.approx(distance, abs=0.05)
    assert stop.across[0, 0] == pytest.approx(0.0, abs=0.05)


def test_into_the_wind_it_is_sent_farther_and_down_the_wind_less_far():
    sent = {w: allowance(GROUND, windy(w), at(55.0), PITCH, False).distance[0, 0] for w in (HEAD, TAIL)}
    assert 58.0 < sent[HEAD] < 68.0
    assert 48.0 < sent[TAIL] < 54.5
    assert sent[HEAD] - 55.0 > 55.0 - sent[TAIL]  # a head wind hurts more than a tail wind helps
    blown = allowance(GROUND, windy(FROM_THE_LEFT), at(55.0), PITCH, False)
    assert blown.drift[0, 0] > 0.03


def test_gusts_and_doubt_widen_the_spread():
    steady = allowance(GROUND, windy(HEAD), at(55.0), PITCH, False)
    unsure = allowance(GROUND, windy(HEAD, gust_mph=4.0, wind_uncertainty_mph=3.0), at(55.0), PITCH, False)
    swing, far = ShortSwing(0, PITCH), np.array([55.0])
    for errors in (sure(along=-1.0), sure(across=1.0)):
        one, other = (swing.offsets(errors, far, a) for a in (steady, unsure))
        off = [np.hypot(o.along[0, 0] - 55.0, o.across[0, 0]) for o in (one, other)]
        assert off[1] > off[0] + 0.3


def test_a_mishit_is_blown_less_far_than_was_allowed_for():
    allowed = allowance(GROUND, windy(FROM_THE_LEFT), at(55.0), PITCH, False)
    poor = ShortSwing(0, PITCH).offsets(sure(solid=False), np.array([55.0]), allowed)
    assert poor.along[0, 0] < 45.0
    assert poor.across[0, 0] < -0.3  # started to the left, and not brought back


def test_no_shot_goes_beyond_the_longest_there_is():
    allowed = allowance(GROUND, windy(HEAD), at(PITCH.longest_yd), PITCH, False)
    assert allowed.distance[0, 0] == pytest.approx(PITCH.longest_yd)
    assert allowed.reach[0] < PITCH.longest_yd - 3.0


def test_up_a_slope_a_shot_is_sent_farther_by_what_the_rise_takes():
    """By hand: it flies 0.8 of 50 yards to a spot 4 higher, coming down at 15 + 40 * 0.8 = 47 degrees."""
    pitch = PITCH.model_copy(update={"carry_share": 0.8})
    ground = rising(SLOPE)
    allowed = allowance(ground, None, at(50.0), pitch, False)
    rise = 4.0 / np.tan(np.radians(DESCENT[0] + 0.8 * DESCENT[1]))
    assert rise == pytest.approx(3.73, abs=0.01)
    assert allowed.distance[0, 0] == pytest.approx((40.0 + rise) / 0.8, abs=0.15)
    _, _, _, far = at(50.0)
    ball = tuple(a.astype(np.float32) for a in at(50.0)[:3])
    for error, wanted in ((0.0, 40.0), (-2.0, None)):
        offsets = ShortSwing(0, pitch).offsets(sure(along=error), far, allowed)
        _, landing = fly_short(ground, ball, offsets, pitch, allowed)
        carry = float(landing.length[0, 0])
        if wanted is None:  # by hand: what it lacks of 40 is less, for the ground is lower there
            short = 40.0 - float(offsets.along[0, 0]) * 0.8
            steep = SLOPE / np.tan(np.radians(47.0))
            wanted = 40.0 - short * (1.0 - steep)
        assert carry == pytest.approx(wanted, abs=0.35)


@pytest.mark.parametrize("slope", [0.0, SLOPE, -SLOPE])
@pytest.mark.parametrize("low", [False, True])
def test_balls_are_played_as_they_are_computed(slope, low):
    ground = rising(slope)
    air = windy(300.0, mph=12.0, gust_mph=4.0, wind_uncertainty_mph=2.0)
    swing, points, far = ShortSwing(0, PITCH), mixture_points(233, 55), 50.0
    allowed = allowance(ground, air, at(far, y=250.0), PITCH, low)
    ball = tuple(a.astype(np.float32) for a in at(far, y=250.0)[:3])
    offsets = swing.offsets(points, np.array([far]), allowed)
    (x, y, _), _ = fly_short(ground, ball, offsets, PITCH, allowed)
    weight = np.ravel(offsets.weight)
    n, rng = 40_000, np.random.default_rng(5)
    many = at(np.full(n, far), y=250.0)
    each = allowance(ground, air, many, PITCH, low)
    end_x, end_y, holed = hit_short(ground, *many, swing, each, low, rng)
    for computed, played in ((x, end_x[~holed]), (y, end_y[~holed])):
        mean = np.average(computed[0], weights=weight)
        sd = np.sqrt(np.average((computed[0] - mean) ** 2, weights=weight))
        assert played.mean() == pytest.approx(mean, abs=4 * sd / np.sqrt(n) + 0.05)
        assert played.std() == pytest.approx(sd, rel=0.04)
