"""Trees against rays cast by chance through the map's own polygons."""

import numpy as np
import pytest
import shapely
from shapely import Point, box
from small_holes import (
    code,
    compiler_of,
    one_club_player,
    outcomes_of_tee,
    shot_from_the_tee,
    straight_hole,
    trees,
)

from caddiebrain.flight import shares_above
from caddiebrain.hole import Kind
from caddiebrain.hole.crossings import Arc, Crossings, Flights
from caddiebrain.hole.grid import GridSpec
from caddiebrain.hole.ground import survey
from caddiebrain.hole.sight import Woods, close_sight
from caddiebrain.hole.trees import Bundles, stopped_high, stopped_low
from caddiebrain.round.prepare import prepare
from caddiebrain.terms import Lie


def cast(shape, canopy, x, y, heading, carry, arc, rng, rays=4000):
    """Share of flights stopped by one wood: free paths drawn by chance, yards of wood from the polygon itself."""
    low_up, low_down = shares_above(canopy["canopy_base_yd"], arc.apex, arc.apex_share)
    top_up, top_down = shares_above(canopy["height_yd"], arc.apex, arc.apex_share)
    step = 0.5
    along = (np.arange(round(carry / step)) + 0.5) * step
    inside = shapely.contains_xy(shape, x + along * np.sin(heading), y + along * np.cos(heading))
    share = along / carry
    above = (share > top_up) & (share < top_down)
    branches = (share > low_up) & (share < low_down) & ~above
    gap = np.where(branches, canopy["canopy_gap_yd"], canopy["trunk_gap_yd"])
    thickness = np.cumsum(np.where(inside & ~above, step / gap, 0.0))
    return float((rng.exponential(size=rays) < thickness[-1]).mean())


WOODS = {
    "across": box(-40, 20, 40, 35),
    "beside": box(8, 30, 40, 160),
    "corner": Point(12, 140).buffer(14),
}


def stopped_and_truth(name, sight_of, headings, length=150.0):
    """Chances of being stopped by a wood, by heading: as computed, and of flights cast by chance."""
    kind = {"height_yd": 15.0, "canopy_base_yd": 3.0, "canopy_gap_yd": 12.0, "trunk_gap_yd": 45.0}
    hole = straight_hole()
    hole = type(hole)(1, 4, 1, hole.line, (hole.areas[0], trees(WOODS[name], **kind)))
    sight = sight_of(survey(hole, GridSpec()))
    arc = Arc(np.array([length]), np.array([27.0]), np.array([0.6]))
    rng = np.random.default_rng(11)
    far = np.full((1, len(headings)), length)
    crossings = Crossings.of(sight.canopies, Flights(arc, np.zeros(1), None), far)
    one, edges = np.zeros(1, np.int64), np.arange(len(headings) + 1)
    found = stopped_high(sight, one, one, edges, headings[None], crossings).chance.sum(axis=-1)[0]
    return found, np.array([cast(WOODS[name], kind, 0.0, 0.0, h, length, arc, rng) for h in headings])


@pytest.mark.parametrize("name", WOODS)
def test_the_chance_of_being_stopped_is_that_of_rays_cast_by_chance(name):
    headings = np.deg2rad(np.arange(-12.0, 13.0, 1.5))
    found, truth = stopped_and_truth(
        name, lambda g: Woods.of(g).sight_from(np.zeros(1), np.zeros(1)), headings
    )
    assert truth.max() > 0.3
    # Rays lie 3 degrees apart: within that of a wood's edge a direction is rough, the mean over all is not.
    inner = np.abs(truth[2:-2] - truth[:-4]) + np.abs(truth[2:-2] - truth[4:]) < 0.1
    assert inner.sum() > 3
    assert np.abs(found - truth)[2:-2][inner].max() < 0.1
    # Yards are read between rays, so the edge of a wood is a slope: where it runs along the shot, chances come
    # out too high by up to 0.07 over these 24 degrees.
    assert truth.mean() - 0.03 < found.mean() < truth.mean() + 0.08


@pytest.mark.parametrize("name", WOODS)
def test_from_the_tee_trees_are_seen_closely(name):
    """Over balls of many lengths: of one what is crossed is rounded to steps of 4.5 yards."""
    headings = np.deg2rad(np.arange(-12.0, 12.0, 1.1))  # on no ray
    pairs = [
        stopped_and_truth(name, lambda g: close_sight(g, np.zeros(1), np.zeros(1)), headings, far)
        for far in np.arange(135.0, 166.0, 1.7)
    ]
    found, truth = np.mean(pairs, axis=0)
    assert np.abs(found - truth).mean() < 0.04
    assert found.mean() == pytest.approx(truth.mean(), abs=0.015)


def test_a_low_shot_meets_trunks_only():
    wood = trees(box(-40, 20, 40, 80), trunk_gap_yd=45.0)
    ground = survey(straight_hole(wood), GridSpec())
    sight = Woods.of(ground).sight_from(np.zeros(1), np.zeros(1))
    shots = Bundles(np.array([0, 1]), np.zeros((1, 1)), np.full((1, 1), 100.0))
    chance = stopped_low(sight, np.zeros(1, np.int64), shots).chance.sum()
    assert chance == pytest.approx(1 - np.exp(-60 / 45), abs=0.04)


def test_shots_over_the_top_are_free_and_mishits_are_not():
    wood = trees(box(-60, 70, 60, 90), height_yd=15.0)
    solid = one_club_player(apex_yd=30.0)
    free = outcomes_of_tee(shot_from_the_tee(compiler_of(straight_hole(wood), solid), 0.0))
    caught = outcomes_of_tee(
        shot_from_the_tee(
            compiler_of(
                straight_hole(wood), one_club_player(mishit=0.3, mishit_carry=0.5, mishit_carry_sd=0.05)
            ),
            0.0,
        )
    )
    model = compiler_of(straight_hole(wood), solid)
    among = np.flatnonzero(model.places.spot_lie == code(Lie.TREES)) + model.numbering.spot
    assert free[1][np.isin(free[0], among)].sum() < 0.01
    assert caught[1][np.isin(caught[0], among)].sum() > 0.2


def test_stopped_balls_lie_among_the_trees_that_stopped_them():
    wood = box(-60, 60, 60, 130)
    model = shot_from_the_tee(compiler_of(straight_hole(trees(wood, height_yd=40.0)), one_club_player()), 0.0)
    state, prob, _ = outcomes_of_tee(model)
    spot = state - model.numbering.spot
    places = model.compiler.places
    inside = shapely.contains_xy(wood, places.spot_x[spot], places.spot_y[spot])
    # 40 yards high and 70 deep with a free path of 12 yards: next to nothing gets through.
    assert prob[inside].sum() > 0.97


def test_among_trees_there_is_always_a_punch_and_it_goes_every_way():
    compiler = compiler_of(straight_hole(trees(box(20, 150, 50, 250))), one_club_player())
    table, places = compiler.candidates(), compiler.places
    for node in np.flatnonzero(places.lie == code(Lie.TREES)):
        low = table.heading[(table.node == node) & (table.kind == Kind.PUNCH)]
        assert len(low) >= 12
        assert np.ptp(low) > np.deg2rad(300)


def test_trees_in_the_way_make_the_hole_harder_and_a_gap_easier():
    scores = {}
    for name, wood in (
        ("none", None),
        ("wall", box(-80, 60, 80, 75)),
        ("gap", box(-80, 60, 80, 75).difference(box(-12, 50, 12, 90))),
    ):
        extra = () if wood is None else (trees(wood, height_yd=35.0),)
        solved = prepare(compiler_of(straight_hole(*extra), one_club_player()))
        scores[name] = solved.expected.value[solved.model.tee]
    assert scores["none"] < scores["gap"] < scores["wall"]
    assert scores["wall"] - scores["none"] > 0.3


def wooded_sight(rng, positions=40):
    wood = trees(box(8, 30, 40, 160).union(Point(-30, 120).buffer(14)).union(box(-50, -10, -12, 5)))
    hole = straight_hole()
    ground = survey(type(hole)(1, 4, 1, hole.line, (hole.areas[0], wood)), GridSpec())
    x, y = rng.uniform(-50, 50, positions), rng.uniform(-10, 200, positions)
    return ground, x, y, Woods.of(ground).sight_from(x, y)


def test_samples_of_rays_lie_under_the_trees_they_are_read_from():
    rng = np.random.default_rng(3)
    ground, x, y, sight = wooded_sight(rng)
    wood = shapely.union_all([a.shape for a in ground.hole.areas if a.lie is Lie.TREES])
    rays, samples = sight.seen.shape[2] - 1, 36
    angle = np.arange(rays)[:, None] * (2 * np.pi / rays)
    away = (np.arange(samples) + 0.5) * sight.step_yd
    clear = wrong = 0
    for at in np.flatnonzero(sight.row >= 0):
        seen = sight.any_trees[sight.row[at], :rays, None] >> np.arange(samples, dtype=np.uint64) & np.uint64(
            1
        )
        there = x[at] + away * np.sin(angle), y[at] + away * np.cos(angle)
        under = shapely.contains_xy(wood, *there)
        # Position and sample are each read at the middle of a cell of three yards, and trees by cells of one yard.
        sure = shapely.distance(shapely.points(*there), wood.boundary) > 5.0
        sure &= ground.frame.holds(*there)
        clear, wrong = clear + sure.sum(), wrong + (sure & (under != (seen == 1))).sum()
    assert (sight.row >= 0).sum() > 20
    assert clear > 40_000
    assert wrong == 0


def test_trees_under_every_line_about_a_heading_are_those_under_each_of_them():
    rng = np.random.default_rng(4)
    sight = wooded_sight(rng)[-1]
    row, rays = rng.integers(0, sight.seen.shape[1], 3000), rng.integers(1, 5, 3000)
    heading = np.concatenate(
        [rng.uniform(-7.0, 7.0, 1500), rng.uniform(-0.3, 0.3, 1500)]
    )  # the last ray is the first
    under = sight.under_all(row, heading, rays)
    count = sight.seen.shape[2] - 1
    nearest = np.rint(heading * (count / (2 * np.pi))).astype(int)
    one_by_one = [
        np.bitwise_and.reduce(sight.seen[0, r, np.arange(middle - n, middle + n + 1) % count])
        for r, middle, n in zip(row, nearest, rays, strict=True)
    ]
    np.testing.assert_array_equal(under[0], one_by_one)
    assert 0 < np.count_nonzero(under[0, 1500:]) < 1500


def test_one_position_sees_what_it_sees_among_many():
    ground, x, y, many = wooded_sight(np.random.default_rng(5))
    woods, seeing = Woods.of(ground), np.flatnonzero(many.row >= 0)
    assert len(seeing) > 20
    for at in seeing:
        alone = woods.sight_from(x[at : at + 1], y[at : at + 1])
        np.testing.assert_array_equal(alone.seen[:, 0], many.seen[:, many.row[at]])
