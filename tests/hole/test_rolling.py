"""Rolling balls and what catches them: against balls drawn one by one, and against geometry by shapely."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import LineString, Polygon, box
from small_holes import (
    COARSE,
    code,
    compiler_of,
    one_club_player,
    outcomes_of_tee,
    shot_from_the_tee,
    straight_hole,
)

from caddiebrain.course.model import Area
from caddiebrain.hole.ground import survey
from caddiebrain.hole.strokes import fly_full
from caddiebrain.hole.travel import Landing, roll_out
from caddiebrain.terms import Lie

WIDE = Area(Lie.FAIRWAY, box(-80, 20, 80, 300))
POINTS = 987
MANY = replace(COARSE, tee_points=(POINTS, 34))
BALLS = 100_000


def strip(lie: Lie, first: float, last: float) -> Area:
    return Area(lie, box(-80, first, 80, last))


def drawn(roll: float) -> tuple[np.ndarray, np.ndarray]:
    """How far along the hole balls of 150 +- 9 yards and +- 4 degrees land and would roll, drawn plainly."""
    rng = np.random.default_rng(5)
    carry, turn = 150 + 9 * rng.standard_normal(BALLS), np.deg2rad(4.0) * rng.standard_normal(BALLS)
    return carry * np.cos(turn), (carry + roll) * np.cos(turn)


def error(share: float, n: int) -> float:
    """Standard error of a share of n balls."""
    return float(np.sqrt(share * (1 - share) / n))


@pytest.mark.parametrize("roll", [8.0, 12.0, 20.0])
@pytest.mark.parametrize("width", [1.0, 2.0, 3.0, 5.0, 8.0])
def test_a_ditch_takes_every_ball_that_lands_in_it_or_rolls_to_it(width, roll):
    compiler = compiler_of(
        straight_hole(WIDE, strip(Lie.YELLOW, 158, 158 + width)), one_club_player(rollout_yd=roll), MANY
    )
    land, end = drawn(roll)
    wet = float(((land < 158 + width) & (end >= 158)).mean())
    model = shot_from_the_tee(compiler, 0.0)
    state, prob, _ = outcomes_of_tee(model)
    # The points are spread better than balls at random; those would be off by their standard error.
    assert prob[state >= model.numbering.trouble].sum() == pytest.approx(wet, abs=error(wet, POINTS))
    swing, start = compiler.arsenal.full[code(Lie.TEE)][0], np.zeros(BALLS)
    x, y, _ = fly_full(compiler.ground, start, start, start, swing, None, np.random.default_rng(6))
    played = float((compiler.ground.lie_at(x, y) == code(Lie.YELLOW)).mean())
    assert played == pytest.approx(wet, abs=4 * np.sqrt(2) * error(wet, BALLS))


def test_sand_on_the_way_holds_a_rolling_ball():
    compiler = compiler_of(
        straight_hole(WIDE, strip(Lie.SAND, 158, 160)), one_club_player(rollout_yd=12.0), MANY
    )
    land, end = drawn(12.0)
    model = shot_from_the_tee(compiler, 0.0)
    state, prob, _ = outcomes_of_tee(model)
    places, spot = compiler.places, state - model.numbering.spot
    sand = float(((land < 160) & (end >= 158)).mean())
    assert prob[places.spot_lie[spot] == code(Lie.SAND)].sum() == pytest.approx(sand, abs=error(sand, POINTS))
    # Past it lie only those that landed there: none within their roll of it.
    assert prob[(places.spot_y[spot] > 161) & (places.spot_y[spot] < 170)].sum() == 0.0


def test_relief_is_where_a_ball_first_crossed_not_where_it_would_have_stopped():
    ditches = strip(Lie.YELLOW, 158, 160), strip(Lie.YELLOW, 172, 174)
    compiler = compiler_of(straight_hole(WIDE, *ditches), one_club_player(rollout_yd=20.0), MANY)
    model = shot_from_the_tee(compiler, 0.0)
    state, prob, _ = outcomes_of_tee(model)
    wet = state >= model.numbering.trouble
    trouble = model.trouble
    pair = state[wet] - model.numbering.trouble - len(trouble.relieved)
    assert (trouble.pair_origin[pair] == model.tee).all()
    y = trouble.place_y[trouble.pair_place[pair]]
    land, end = drawn(20.0)
    for before, past, least in ((158, 160, 0), (172, 174, 160)):
        share = float(((land >= least) & (land < past) & (end >= before)).mean())
        at = np.abs(y - before) < 3  # crossing points within four yards are taken together
        assert prob[wet][at].sum() == pytest.approx(share, abs=error(share, POINTS))


def rolled(ground, x, y, dx, dy):
    """Roll balls from (x, y) by (dx, dy), after flights in that direction."""
    far = np.hypot(dx, dy)
    way = [v.astype(np.float32)[:, None] for v in (x, y, 100 * dx / far, 100 * dy / far)]
    landing = Landing(*way, np.full_like(way[0], 100.0), ground.frame.index(way[0], way[1]))
    start = np.zeros(len(x), dtype=np.float32)
    end = roll_out(ground, start, start, landing, far.astype(np.float32)[:, None])
    return tuple(v[:, 0] for v in end)


def first_cells(ground, x, y, end_x, end_y):
    """First cell that catches each ball, -1 if none: the square nearest along its way (shapely)."""
    frame, cells = ground.frame, np.flatnonzero(ground.catches)
    row, column = np.divmod(cells, frame.columns)
    left, low = frame.x_min + column * frame.cell, frame.y_min + row * frame.cell
    squares = shapely.box(left, low, left + frame.cell, low + frame.cell)
    tree = shapely.STRtree(squares)
    found = np.full(len(x), -1)
    for i in range(len(x)):
        met = tree.query(LineString([(x[i], y[i]), (end_x[i], end_y[i])]), predicate="intersects")
        if met.size:
            way = LineString([(x[i], y[i]), (end_x[i], end_y[i])])
            inside = shapely.intersection(squares[met], way)
            long = shapely.length(inside) > 1e-4
            start = shapely.distance(inside, shapely.Point(x[i], y[i]))
            if long.any():
                found[i] = cells[met[long][np.argmin(start[long])]]
    return found


@pytest.mark.parametrize("cell", [1.0, 0.5])
def test_the_first_cell_on_the_way_catches_a_ball_whichever_way_it_rolls(cell):
    # A diagonal ditch one cell wide, a steeper one, and bunkers down to a single cell.
    extra = (
        WIDE,
        Area(Lie.RED, Polygon([(-60, 100.2), (60, 220.2), (60, 221.2), (-60, 101.2)])),
        Area(Lie.YELLOW, Polygon([(-50, 60), (50, 100), (50, 101.5), (-50, 61.5)])),
        *(Area(Lie.SAND, box(a, b, a + w, b + w)) for a, b, w in ((-20, 140, 9), (8, 130, 1), (9, 131, 1))),
    )
    ground = survey(straight_hole(*extra), replace(COARSE, cell=cell))
    rng = np.random.default_rng(7)
    x, y = rng.uniform(-50, 50, 4000), rng.uniform(60, 210, 4000)
    dry = ~ground.catches[ground.frame.index(x, y)]
    turn, far = rng.uniform(0, 2 * np.pi, len(x)), rng.uniform(0.2, 40, len(x))
    turn[::5] = np.pi / 4 * np.round(turn[::5] / (np.pi / 4))
    dx, dy = far * np.sin(turn), far * np.cos(turn)
    x, y, dx, dy = (v[dry & ground.frame.holds(x + dx, y + dy)] for v in (x, y, dx, dy))
    end_x, end_y, at = rolled(ground, x, y, dx, dy)
    expected = first_cells(ground, x, y, x + dx, y + dy)
    caught = expected >= 0
    assert 500 < caught.sum() < 3000
    assert (at[caught] == expected[caught]).all()
    assert (ground.frame.index(end_x, end_y) == at).all()
    assert not ground.catches[at[~caught]].any()
    np.testing.assert_allclose(end_x[~caught], (x + dx)[~caught], atol=1e-3)
    np.testing.assert_allclose(end_y[~caught], (y + dy)[~caught], atol=1e-3)


def test_a_roll_that_ends_just_short_stays_dry():
    ground = survey(straight_hole(WIDE, strip(Lie.YELLOW, 158, 161)), COARSE)
    reach = np.array([7.95, 8.05, 30.0])
    _, y, cell = rolled(ground, np.full(3, 3.3), np.full(3, 150.0), np.zeros(3), reach)
    assert (ground.lie[cell] == code(Lie.YELLOW)).tolist() == [False, True, True]
    assert y == pytest.approx([157.95, 158.5, 158.5], abs=1e-3)


def test_what_rolls_far_from_water_rolls_as_if_there_were_none():
    with_ditch, without = (
        survey(straight_hole(WIDE, *extra), COARSE) for extra in ((strip(Lie.YELLOW, 258, 261),), ())
    )
    rng = np.random.default_rng(8)
    way = (
        rng.uniform(-40, 40, 500),
        rng.uniform(60, 220, 500),
        rng.uniform(-9, 9, 500),
        rng.uniform(0.1, 30, 500),
    )
    for one, other in zip(rolled(with_ditch, *way), rolled(without, *way), strict=True):
        np.testing.assert_array_equal(one, other)


def test_balls_off_the_map_are_looked_at_along_its_border():
    ground = survey(straight_hole(WIDE, strip(Lie.YELLOW, 158, 161)), COARSE)
    beyond, y = np.full(2, -300.0), np.array([150.0, 120.0])
    _, _, cell = rolled(ground, beyond, y, np.full(2, -5.0), np.full(2, 20.0))
    assert (ground.lie[cell] == code(Lie.YELLOW)).tolist() == [True, False]


def test_a_played_draw_rolls_the_way_it_turns_as_the_compiled_one_does():
    compiler = compiler_of(straight_hole(WIDE), one_club_player(rollout_yd=20.0, curve_yd=-20.0), MANY)
    model = shot_from_the_tee(compiler, 0.0)
    state, prob, _ = outcomes_of_tee(model)
    spot = state - model.numbering.spot
    meant = float((prob * compiler.places.spot_x[spot]).sum())
    swing, start = compiler.arsenal.full[code(Lie.TEE)][0], np.zeros(20_000)
    x, _, _ = fly_full(compiler.ground, start, start, start, swing, None, np.random.default_rng(9))
    assert x.mean() == pytest.approx(meant, abs=4 * x.std() / np.sqrt(len(x)) + 0.1)
    assert meant < -1.5
