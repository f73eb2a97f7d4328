"""Every relief of a compiled hole, worked by hand: drop points to 0.1 yard (Rules of Golf 2023).

The hole is at (0, 200) and play goes up the page. Two club-lengths are 2 x 45 in = 2.5 yd. Points are those that plans
weigh, look-ups list and balls that are played out are dropped on.
"""

import numpy as np
import pytest
from shapely import Point, box
from small_holes import code, compiler_of, one_club_player, shot_from_the_tee

from caddiebrain.course.model import Area, Hole
from caddiebrain.course.relief import crossing
from caddiebrain.hole import GridSpec
from caddiebrain.hole.drops import WAYS, best_drops, dropped_at, seldom_drops, unplayable_drops
from caddiebrain.hole.ground import survey
from caddiebrain.hole.penalties import Wet
from caddiebrain.hole.penalties import crossing as crossing_of_balls
from caddiebrain.hole.places import settle
from caddiebrain.hole.trouble import relief_at
from caddiebrain.terms import Lie

RIVER = box(-100, 100, 100, 130)
BROOK = box(10, 0, 25, 300)
BUNKER = box(-5, 150, 5, 160)


def hole_with(*areas: Area, e5: bool = False) -> Hole:
    green = Area(Lie.GREEN, Point(0, 200).buffer(10))
    return Hole(1, 4, 1, np.array([[0.0, 0.0], [0.0, 200.0]]), (green, *areas), local_rule_e5=e5)


def near(spot):
    return pytest.approx(spot, abs=0.1)


def reliefs(hole: Hole, x: float, y: float, lie: Lie):
    ground = survey(hole, GridSpec())
    return relief_at(ground, settle(ground), x, y, code(lie))


def drops(hole: Hole, x: float, y: float, lie: Lie, hemmed: bool | None = None):
    """Rule, strokes and place of every drop of an unplayable ball; if ``hemmed`` is told of those that serve seldom."""
    ground = survey(hole, GridSpec())
    at = np.array([x]), np.array([y])
    ball = ground, settle(ground), np.zeros(1, np.int64), *at, np.array([code(lie)], np.uint8)
    table = unplayable_drops(*ball) if hemmed is None else seldom_drops(*ball, np.array([hemmed]))
    places = zip(*dropped_at(at[0], at[1], table.heading, table.distance), strict=True)
    return [
        (WAYS[way].rule, WAYS[way].strokes, tuple(place))
        for way, place in zip(table.index, places, strict=True)
    ]


def of_rule(found, rule):
    return [(strokes, place) for name, strokes, place in found if name == rule]


# -- 17.1d -----------------------------------------------------------------------------------------------


def test_17_1d_1_and_14_6_of_the_plan_the_ball_is_back_on_the_tee_at_0_0():
    model = shot_from_the_tee(
        compiler_of(hole_with(Area(Lie.RED, RIVER)), one_club_player(carry_yd=115.0)), 0.0
    )
    trouble, graph = model.trouble, model.graph
    pairs = np.flatnonzero(trouble.pair_origin == model.tee)
    assert pairs.size
    places = model.compiler.places
    assert (places.x[0], places.y[0]) == (0.0, 0.0)
    for pair in pairs:
        state = model.numbering.trouble + len(trouble.relieved) + int(pair)
        last = int(graph.choice_start[state + 1]) - 1
        outcome = int(graph.outcome_start[last])
        assert (graph.outcome_state[outcome], graph.outcome_strokes[outcome]) == (model.tee, 1)


def test_17_1d_2_back_on_the_line():
    # Flight (0, 0) to (24, 120) crosses y = 100 at x = 20. From the hole (20, -100), length sqrt(10400) = 101.98:
    # 1 yard back (20.20, 99.02), 30 yards (20, 100) + 30 (20, -100) / 101.98 = (25.88, 70.58).
    hole = hole_with(Area(Lie.YELLOW, RIVER))
    found = {r.name: r for r in reliefs(hole, 20.0, 100.0, Lie.YELLOW)}
    for yards, place in ((1, (20.20, 99.02)), (30, (25.88, 70.58))):
        relief = found[f"back on the line {yards} yd"]
        assert ((relief.x, relief.y), relief.strokes) == (near(place), 1)
    assert all(name.startswith("back on the line") for name in found)


def test_17_1d_3_level_with_the_crossing_point_two_club_lengths_off():
    # Reference (10, 100), d = 100.499 from the hole along u = (-0.0995, 0.9950). As far from the hole and 2.5 yd
    # away: 2.5^2 / (2 d) = 0.0311 along u, 2.4998 to its left (-0.9950, -0.0995): (7.51, 99.78).
    (beside,) = [
        r
        for r in reliefs(hole_with(Area(Lie.RED, BROOK)), 10.0, 100.0, Lie.RED)
        if r.name == "lateral relief"
    ]
    assert ((beside.x, beside.y), beside.strokes) == (near((7.51, 99.78)), 1)


def test_17_1d_3_is_dry_to_the_inch_where_the_raster_is_not():
    # Between two brooks, x = 11.4 to 13.6. The cell from x = 13 to 14 is dry by its middle. Level right of
    # (11.4, 100) and 2.5 yards off is (13.88, 100.28), in the far brook; 1.25 yards off is (12.64, 100.14).
    hole = hole_with(Area(Lie.RED, box(0.0, 0, 11.4, 300)), Area(Lie.RED, box(13.6, 0, 40, 300)))
    found = [r for r in reliefs(hole, 11.4, 100.0, Lie.RED) if r.name == "lateral relief"]
    assert found
    assert all(11.4 < r.x < 13.6 for r in found)
    assert any((r.x, r.y) == near((12.64, 100.14)) for r in found)


def test_17_1d_played_balls_cross_where_they_cross():
    # Out of bounds or a river: from (0, 0) to (24, 120) over y = 100 at (20, 100).
    for lie in (Lie.RED, Lie.OUT):
        ground = survey(hole_with(Area(lie, RIVER), e5=True), GridSpec())
        one = [np.array([v]) for v in (24.0, 120.0, 0.0, 0.0)]
        x, y = crossing_of_balls(ground, Wet(*one, np.array([code(lie)])), np.ones(1, bool))
        assert (x[0], y[0]) == pytest.approx((20.0, 100.0), abs=1e-9)


def test_e_5_a_ball_over_water_out_of_bounds_crosses_the_boundary_not_the_water():
    # The boundary x = 40 lies in water from x = 20 on; from (0, 0) to (50, 75) it is crossed at (40, 60).
    water, out = Area(Lie.RED, box(20, 0, 80, 200)), Area(Lie.OUT, box(40, 0, 80, 200))
    compiler = compiler_of(hole_with(water, out, e5=True), one_club_player())
    one = [np.array([v]) for v in (50.0, 75.0, 0.0, 0.0)]
    x, y = crossing_of_balls(compiler.ground, Wet(*one, np.array([code(Lie.OUT)])), np.ones(1, bool))
    assert (x[0], y[0]) == pytest.approx((40.0, 60.0), abs=1e-9)
    cell = compiler.ground.frame.index(one[0], one[1])
    entry = compiler.entries.crossing(cell, -one[0], -one[1])
    centre = [c[entry][0] for c in compiler.ground.frame.centres()]
    assert centre == pytest.approx((40.0, 60.0), abs=3.0)


def test_crossing_points_of_the_plan_are_on_the_edge_and_near_the_true_ones():
    """Pooled in squares of 4 yards and met in 32 directions: within 4 yards and a tenth of the way over water."""
    hole = hole_with(Area(Lie.YELLOW, RIVER))
    model = shot_from_the_tee(compiler_of(hole, one_club_player(carry_yd=115.0)), 0.3)
    trouble, ground = model.trouble, model.compiler.ground
    place = trouble.pair_place[trouble.pair_origin == model.tee]
    assert trouble.place_y[place] == pytest.approx(np.full(len(place), 100.0), abs=1e-9)
    rng = np.random.default_rng(2)
    rest = np.stack([rng.uniform(-40, 40, 500), rng.uniform(101, 129, 500)], axis=1)
    true = crossing(np.zeros((500, 2)), rest, RIVER)
    entry = model.compiler.entries.crossing(ground.frame.index(*rest.T), *-rest.T)
    met = np.stack([centre[entry] for centre in ground.frame.centres()], axis=1)
    over = np.hypot(*(rest - true).T)
    assert (np.hypot(*(met - true).T) <= 2.0 + 0.1 * over).all()


# -- E-5 -------------------------------------------------------------------------------------------------


def test_e_5_two_club_lengths_into_the_fairway():
    # Ball crossed at (60, 80), d = sqrt(60^2 + 120^2) = 134.16 from the hole. The edge x = 15 meets that circle at
    # y = 200 - sqrt(134.16^2 - 15^2) = 66.68; two club-lengths to the fairway side of the line from the hole,
    # across (0.9938, 0.1118): (15, 66.68) - 2.5 (0.9938, 0.1118) = (12.52, 66.40).
    hole = hole_with(Area(Lie.FAIRWAY, box(-15, 20, 15, 180)), Area(Lie.OUT, box(40, -20, 120, 250)), e5=True)
    (relief,) = reliefs(hole, 60.0, 80.0, Lie.OUT)
    assert ((relief.x, relief.y), relief.strokes) == (near((12.52, 66.40)), 2)
    assert np.hypot(relief.x, relief.y - 200) >= 134.16


# -- 19.2, 19.3 ------------------------------------------------------------------------------------------


def test_19_2_b_and_c_out_of_trees():
    # Ball at (30, 100), (30, -100) from the hole, length 104.40. 8 yards back: (30, 100) + 8 (30, -100) / 104.40 =
    # (32.30, 92.34). Level left: u = (-0.2873, 0.9578), 0.0299 along u and 2.4998 along (-0.9578, -0.2873):
    # (27.60, 99.31). Level right (32.39, 100.75) is among the trees.
    hole = hole_with(Area(Lie.TREES, box(28, 95, 60, 110), height_yd=15.0))
    found = drops(hole, 30.0, 100.0, Lie.TREES)
    assert of_rule(found, "19.2b")[0] == (1, near((32.30, 92.34)))
    assert any(one == (1, near((27.60, 99.31))) for one in of_rule(found, "19.2c"))
    assert not any(place == near((32.39, 100.75)) for _, place in of_rule(found, "19.2c"))


def test_19_3_a_in_the_bunker_and_b_out_of_it():
    # Ball at (4, 155), (4, -45) from the hole, length 45.177. 3 yards back in the sand: (4.27, 152.01); level left
    # 2.5 yards off: (1.51, 154.85), level right (6.49, 155.29) is outside. 8 yards back: (4.71, 147.03), two strokes.
    hole = hole_with(Area(Lie.SAND, BUNKER))
    inside = of_rule(drops(hole, 4.0, 155.0, Lie.SAND, hemmed=False), "19.3a")
    assert any(one == (1, near((4.27, 152.01))) for one in inside)
    assert any(one == (1, near((1.51, 154.85))) for one in inside)
    assert all(BUNKER.contains(Point(place)) for _, place in inside)
    out = drops(hole, 4.0, 155.0, Lie.SAND)
    assert of_rule(out, "19.3b")[0] == (2, near((4.71, 147.03)))
    assert not of_rule(out, "19.3a")


def test_19_3_a_in_another_bunker_on_the_line_no_ball_is_dropped():
    # 12 yards back of (4, 155) is (5.06, 143.05), in the second bunker; 9 yards back (4.80, 146.04) is on grass.
    hole = hole_with(Area(Lie.SAND, BUNKER), Area(Lie.SAND, box(-5, 130, 8, 144)))
    inside = of_rule(drops(hole, 4.0, 155.0, Lie.SAND, hemmed=False), "19.3a")
    assert inside
    assert all(BUNKER.contains(Point(place)) for _, place in inside)


def test_19_2_b_and_c_in_rough_where_trees_are_in_the_way():
    # As out of trees: from (30, 100) 8 yards back is (32.30, 92.34), level left (27.60, 99.31), level right
    # (32.39, 100.75), all rough here. On open ground, and in sand, no such drop is looked at.
    hole = hole_with(Area(Lie.SAND, BUNKER))
    found = drops(hole, 30.0, 100.0, Lie.ROUGH, hemmed=True)
    assert of_rule(found, "19.2b")[0] == (1, near((32.30, 92.34)))
    for place in ((27.60, 99.31), (32.39, 100.75)):
        assert any(one == (1, near(place)) for one in of_rule(found, "19.2c"))
    assert not drops(hole, 30.0, 100.0, Lie.ROUGH, hemmed=False)


def test_a_ball_that_is_played_out_takes_the_best_lawful_drop_from_where_it_lies():
    # (33, 101) is (33, -99) from the hole, length 104.36. If the nearest to the hole is best that is 8 yards back,
    # (33, 101) + 8 (33, -99) / 104.36 = (35.53, 93.41), of the drops onto another lie; the farthest 64 yards back,
    # (53.24, 40.29), since 90 yards back is off the map.
    hole = hole_with(Area(Lie.THICK, box(28, 95, 60, 110)))
    ground = survey(hole, GridSpec())
    places = settle(ground)
    ball = np.array([33.0]), np.array([101.0]), np.array([code(Lie.THICK)], np.uint8), np.zeros(1, bool)
    for sign, place in ((1.0, (35.53, 93.41)), (-1.0, (53.24, 40.29))):
        best = best_drops(
            ground,
            places,
            ball,
            lambda who, spot, strokes, sign=sign: sign * places.spot_y[spot],
        )
        assert len(best) == 1
        x, y = dropped_at(ball[0], ball[1], best.heading, best.distance)
        assert (x[0], y[0]) == near(place)
