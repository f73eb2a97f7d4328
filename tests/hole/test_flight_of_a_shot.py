"""Compiled shots on a plain against closed forms; the wind; lies."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm
from shapely import box
from small_holes import code, compiler_of, one_club_player, outcomes_of_tee, shot_from_the_tee, straight_hole

from caddiebrain.course import Setup
from caddiebrain.course.model import Area
from caddiebrain.flight import Conditions
from caddiebrain.hole import player_today
from caddiebrain.hole.points import mixture_points
from caddiebrain.hole.strokes import fly_full
from caddiebrain.hole.swings import full_swings
from caddiebrain.round.day import day_flight
from caddiebrain.terms import Height, Lie, Shape


def landing(model):
    """Where the tee's shot comes to rest: x, y, chance, lie; spots alone."""
    state, prob, _ = outcomes_of_tee(model)
    number, places = model.numbering, model.compiler.places
    spot = state - number.spot
    assert ((spot >= 0) & (state < number.bin)).all()
    return places.spot_x[spot], places.spot_y[spot], prob, places.spot_lie[spot]


def test_a_shot_on_a_plain_lands_as_its_normal_law_says():
    model = shot_from_the_tee(compiler_of(straight_hole(), one_club_player()), 0.0)
    x, y, prob, _ = landing(model)
    # Carry 150, deviation 9; direction deviation 4 degrees: E[cos] = exp(-s^2/2), Var = E[r^2]E[cos^2] - E[y]^2.
    s = np.deg2rad(4.0)
    mean = 150 * np.exp(-(s**2) / 2)
    second = (150**2 + 9**2) * (1 + np.exp(-2 * s**2)) / 2
    assert (prob * x).sum() == pytest.approx(0.0, abs=0.1)
    assert (prob * y).sum() == pytest.approx(mean, abs=0.1)
    assert np.sqrt((prob * (y - mean) ** 2).sum()) == pytest.approx(np.sqrt(second - mean**2), rel=0.02)
    across = (150**2 + 9**2) * (1 - np.exp(-2 * s**2)) / 2
    assert np.sqrt((prob * x**2).sum()) == pytest.approx(np.sqrt(across), rel=0.02)


def test_the_share_on_the_fairway_is_that_of_the_strip():
    model = shot_from_the_tee(compiler_of(straight_hole(), one_club_player()), 0.0)
    _, _, prob, lie = landing(model)
    # |150 sin(a)| < 16 and past 120: the second is sure but for 3.3 deviations. Spots are 2 yards wide.
    expected = 2 * norm.cdf(np.rad2deg(np.arcsin(16 / 150)) / 4.0) - 1
    assert prob[lie == code(Lie.FAIRWAY)].sum() == pytest.approx(expected, abs=0.02)


def test_mishits_are_as_many_and_as_short_as_the_pattern_says():
    player = one_club_player(mishit=0.2, mishit_carry=0.5, mishit_carry_sd=0.02, carry_sd=0.01)
    _, y, prob, _ = landing(shot_from_the_tee(compiler_of(straight_hole(), player), 0.0))
    assert prob[y < 110].sum() == pytest.approx(0.2)
    short = y < 110
    assert (prob * y)[short].sum() / prob[short].sum() == pytest.approx(75 * 0.985, abs=1.0)


def test_sand_and_rough_stop_a_ball_sooner_than_fairway():
    wide = Area(Lie.FAIRWAY, box(-80, 100, 80, 300))
    sand = Area(Lie.SAND, box(-80, 100, 80, 300))
    player = one_club_player(rollout_yd=12.0)
    reach = {}
    for name, extra in (("fairway", (wide,)), ("rough", ()), ("sand", (sand,))):
        hole = straight_hole(*extra) if extra else straight_hole(Area(Lie.ROUGH, box(-80, 100, 80, 300)))
        if name == "rough":
            hole = type(hole)(1, 4, 1, hole.line, hole.areas[:1])
        _, y, prob, _ = landing(shot_from_the_tee(compiler_of(hole, player), 0.0))
        reach[name] = (prob * y).sum()
    # Shares of the rollout by lie (common practice, no source): 1, 0.4, 0.
    assert reach["fairway"] - reach["sand"] == pytest.approx(12.0, abs=0.7)
    assert reach["rough"] - reach["sand"] == pytest.approx(4.8, abs=0.7)


@pytest.mark.parametrize(("wind_from", "longer"), [(0.0, False), (180.0, True)])
def test_wind_along_the_hole_shifts_the_carry_by_the_flight_tables_amount(wind_from, longer):
    # The hole plays north: wind from 0 is in the face.
    day = Conditions(wind_mph=15.0, wind_from_deg=wind_from)
    player = one_club_player()
    flight = day_flight(player, day)
    carry = flight.at(flight.carry_yd, 0.0)[0, 0]
    assert bool(carry > 150.0) is longer
    _, y, prob, _ = landing(shot_from_the_tee(compiler_of(straight_hole(), player, conditions=day), 0.0))
    assert (prob * y).sum() == pytest.approx(carry * 0.9976, abs=0.7)


def test_a_cross_wind_carries_the_ball_downwind():
    day = Conditions(wind_mph=15.0, wind_from_deg=270.0)
    player = one_club_player()
    flight = day_flight(player, day)
    x, _, prob, _ = landing(shot_from_the_tee(compiler_of(straight_hole(), player, conditions=day), 0.0))
    assert (prob * x).sum() == pytest.approx(flight.at(flight.drift_yd, 0.0)[0, 0], abs=0.7)
    assert (prob * x).sum() > 5.0


def test_in_wind_on_a_hill_a_played_shot_comes_down_where_the_compiled_one_does():
    day = Conditions(wind_mph=15.0, wind_from_deg=180.0)
    hill = np.array([[-60.0, 0.0, 0.0], [60.0, 0.0, 0.0], [-60.0, 160.0, 20.0], [60.0, 160.0, 20.0]])
    flat, steep = (
        compiler_of(replace(straight_hole(), heights=heights), one_club_player(), conditions=day)
        for heights in (None, hill)
    )
    n = 20_000
    swing, rng = steep.arsenal.full[code(Lie.TEE)][0], np.random.default_rng(3)
    x, y, _ = fly_full(steep.ground, np.zeros(n), np.zeros(n), np.zeros(n), swing, steep.wind_to_deg, rng)
    at_x, at_y, prob, _ = landing(shot_from_the_tee(steep, 0.0))
    _, level, level_prob, _ = landing(shot_from_the_tee(flat, 0.0))
    assert (prob * at_y).sum() < (level_prob * level).sum() - 5.0
    assert y.mean() == pytest.approx((prob * at_y).sum(), abs=0.4)
    assert x.mean() == pytest.approx((prob * at_x).sum(), abs=0.4)


def test_gusts_widen_the_spread_by_their_own_variance():
    player = one_club_player()
    calm, gusty = (
        full_swings(
            player, Lie.TEE, day_flight(player, Conditions(wind_mph=15.0, wind_from_deg=0, gust_mph=g))
        )[0]
        for g in (0.0, 5.0)
    )
    points = mixture_points(377, 89)
    right = np.array([len(calm.carry) // 4])
    spreads = [s.offsets(points, right) for s in (calm, gusty)]
    deviation = [np.sqrt((o.weight * (o.across - (o.weight * o.across).sum()) ** 2).sum()) for o in spreads]
    share = 1.0 + gusty.carry_sd[right[0]] ** 2
    expected = np.sqrt(deviation[0] ** 2 + gusty.drift_sd[right[0]] ** 2 * share)
    assert gusty.drift_sd[right[0]] > 1.0
    assert deviation[1] == pytest.approx(expected, rel=0.02)


def test_a_bad_lie_takes_its_share_off_the_carry(demo_player):
    flight = day_flight(demo_player, Conditions())
    good, rough = (full_swings(demo_player, lie, flight) for lie in (Lie.FAIRWAY, Lie.ROUGH))
    ramp = demo_player.lies[Lie.ROUGH].carry
    carries = [p.carry_yd for p in demo_player.patterns]
    for swing in rough:
        same = next(s for s in good if s.index == swing.index)
        t = (swing.pattern.carry_yd - min(carries)) / (max(carries) - min(carries))
        assert swing.carry[0] / same.carry[0] == pytest.approx(ramp.short + (ramp.long - ramp.short) * t)
    longest = demo_player.lies[Lie.ROUGH].longest_carry_yd
    stock = [s.pattern.carry_yd for s in rough if s.pattern.shape is Shape.STRAIGHT]
    assert longest is None or max(stock) <= longest


def test_a_lie_bars_a_club_in_every_shape_and_height_or_in_none(demo_player):
    """Neither a fade is short enough where its club is too long, nor a draw too long where its club will do."""
    player = player_today(demo_player, Setup())
    flight = day_flight(player, Conditions())
    stock = {
        p.club: p.carry_yd
        for p in player.patterns
        if (p.shape, p.height) == (Shape.STRAIGHT, Height.STOCK) and not p.tee_only
    }
    shortest = min(stock.values())
    for longest in (10.0, *(carry + part for carry in stock.values() for part in (-0.5, 0.5))):
        effect = player.lies[Lie.ROUGH].model_copy(update={"longest_carry_yd": longest})
        there = player.model_copy(update={"lies": {Lie.ROUGH: effect}})
        allowed = {club for club, carry in stock.items() if carry <= max(longest, shortest)}
        found = [s.index for s in full_swings(there, Lie.ROUGH, flight)]
        assert found == [i for i, p in enumerate(player.patterns) if p.club in allowed]
