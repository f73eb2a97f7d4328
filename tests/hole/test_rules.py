"""The Rules of Golf (2023) in the graph: 17.1d, 18.2, 19.2, 19.3 and Local Rule E-5."""

import numpy as np
import pytest
from shapely import box
from small_holes import (
    COARSE,
    code,
    compiler_of,
    one_club_player,
    outcomes_of_tee,
    shot_from_the_tee,
    straight_hole,
    trees,
)

from caddiebrain.course.model import Area
from caddiebrain.hole import Kind
from caddiebrain.hole.drops import dropped_at, penalty_strokes, spots_of
from caddiebrain.hole.ground import survey
from caddiebrain.hole.places import settle
from caddiebrain.hole.trouble import relief_at
from caddiebrain.terms import Lie


def place_states(model, pair):
    """Next states and strokes of every choice of the trouble state ``pair``."""
    graph = model.graph
    choices = range(int(graph.choice_start[pair]), int(graph.choice_start[pair + 1]))
    spans = [slice(int(graph.outcome_start[c]), int(graph.outcome_start[c + 1])) for c in choices]
    return [(graph.outcome_state[s].tolist(), graph.outcome_strokes[s].tolist()) for s in spans]


def test_out_of_bounds_returns_to_the_same_place_for_two_strokes():
    out = Area(Lie.OUT, box(10, -20, 80, 420))
    model = shot_from_the_tee(compiler_of(straight_hole(out), one_club_player()), 0.0)
    state, prob, strokes = outcomes_of_tee(model)
    assert set(strokes[state == model.tee].tolist()) == {2}
    assert set(strokes[state != model.tee].tolist()) == {1}
    # 150 sin(a) > 10 with a deviation of 4 degrees.
    from_normal = 0.1699
    assert prob[state == model.tee].sum() == pytest.approx(from_normal, abs=0.01)


def test_a_lost_ball_returns_to_the_same_place_for_two_strokes():
    jungle = Area(Lie.THICK, box(-80, 100, 80, 200), lost=0.25)
    fairwayless = straight_hole(jungle)
    hole = type(fairwayless)(1, 4, 1, fairwayless.line, (fairwayless.areas[0], jungle))
    state, prob, strokes = outcomes_of_tee(shot_from_the_tee(compiler_of(hole, one_club_player()), 0.0))
    back = strokes == 2
    assert prob[back].sum() == pytest.approx(0.25, abs=0.002)
    assert len(set(state[back].tolist())) == 1


def test_under_e5_the_drop_is_at_the_fairways_edge_not_nearer_for_two_strokes():
    out = Area(Lie.OUT, box(30, -20, 80, 420))
    ground = survey(straight_hole(out, e5=True), COARSE)
    places = settle(ground)
    (drop,) = relief_at(ground, places, 30.0, 230.0, code(Lie.OUT))
    assert drop.strokes == 2
    # As far from the hole as (30, 230) is, r = sqrt(30^2 + 170^2) = 172.63, the fairway's edge x = 16 is at
    # y = 400 - sqrt(r^2 - 16^2) = 228.116; from there 2.5 yards along (-171.884, -16) / r.
    assert (drop.x, drop.y) == pytest.approx((13.51, 227.88), abs=0.1)
    assert np.hypot(drop.x, 400 - drop.y) >= np.hypot(30.0, 400 - 230.0)
    without = survey(straight_hole(out), COARSE)
    assert relief_at(without, settle(without), 30.0, 230.0, code(Lie.OUT)) == ()


def test_under_e5_no_drop_is_on_the_fairway_of_another_hole_nor_on_a_tee():
    """The fairway of Local Rule E-5 is that of the hole being played."""
    beside, tee = Area(Lie.FAIRWAY, box(45, 100, 75, 380)), Area(Lie.TEE, box(-5, -5, 5, 5))
    ground = survey(straight_hole(beside, tee, e5=True), COARSE)
    places = settle(ground)
    assert ground.lie_at(np.array([60.0, 0.0]), np.array([200.0, 0.0])).tolist() == [code(Lie.FAIRWAY)] * 2
    (own,) = relief_at(ground, places, 46.0, 230.0, code(Lie.OUT))
    # As far from the hole as (46, 230) is, r = sqrt(46^2 + 170^2) = 176.11, the fairway's edge x = 16 is at
    # y = 400 - sqrt(r^2 - 16^2) = 224.615; from there 2.5 yards along (-175.385, -16) / r.
    assert (own.x, own.y) == pytest.approx((13.51, 224.39), abs=0.1)
    assert relief_at(ground, places, -40.0, 60.0, code(Lie.OUT)) == ()


def test_e5_and_stroke_and_distance_are_both_open():
    out = Area(Lie.OUT, box(10, -20, 80, 420))
    model = shot_from_the_tee(compiler_of(straight_hole(out, e5=True), one_club_player()), 0.0)
    state, _, strokes = outcomes_of_tee(model)
    pairs = np.unique(state[state >= model.numbering.trouble])
    assert (strokes[np.isin(state, pairs)] == 1).all()
    ways = max((place_states(model, int(pair)) for pair in pairs), key=len)
    assert len(ways) == 2
    assert ([model.tee], [1]) in ways
    drop = next(int(s[0]) for s, c in ways if s[0] != model.tee)
    (spot, cost), *_ = place_states(model, drop)
    assert cost == [2]
    assert model.numbering.spot <= spot[0] < model.numbering.bin


def pond(lie: Lie) -> Area:
    return Area(lie, box(-20, 140, 20, 170))


def test_yellow_gives_stroke_and_distance_or_back_on_the_line():
    ground = survey(straight_hole(pond(Lie.YELLOW)), COARSE)
    places = settle(ground)
    drops = relief_at(ground, places, 5.0, 139.5, code(Lie.YELLOW))
    assert drops
    for drop in drops:
        assert drop.name.startswith("back on the line")
        assert drop.strokes == 1
        # On the line from the hole at (0, 400) through the crossing point, further from the hole than it.
        a, b = np.array([5.0, 139.5 - 400]), np.array([drop.x, drop.y - 400])
        assert a[0] * b[1] - a[1] * b[0] == pytest.approx(0.0, abs=1e-6)
        assert np.hypot(*b) > np.hypot(*a)


def test_red_adds_two_club_lengths_not_nearer_the_hole():
    ground = survey(straight_hole(pond(Lie.RED)), COARSE)
    places = settle(ground)
    drops = relief_at(ground, places, 20.5, 155.0, code(Lie.RED))
    sideways = [d for d in drops if d.name == "lateral relief"]
    assert sideways
    for drop in sideways:
        assert np.hypot(drop.x - 20.5, drop.y - 155.0) <= 2.5 + 1e-9
        assert np.hypot(drop.x, 400 - drop.y) >= np.hypot(20.5, 245.0) - 1e-6
        assert drop.strokes == 1
    assert any(d.name.startswith("back on the line") for d in drops)


def test_no_drop_is_in_water_out_of_bounds_or_on_the_green():
    lake = Area(Lie.RED, box(-60, 300, 60, 385))
    ground = survey(straight_hole(lake, Area(Lie.OUT, box(-80, 200, 80, 290))), COARSE)
    places = settle(ground)
    for y in (300.0, 385.0):
        drops = relief_at(ground, places, 0.0, y, code(Lie.RED))
        assert drops
        for drop in drops:
            lie = ground.lie_at(np.array([drop.x]), np.array([drop.y]))[0]
            assert lie not in (code(Lie.RED), code(Lie.OUT), code(Lie.GREEN))


def test_balls_in_the_pond_lead_to_a_state_with_every_way_out():
    model = shot_from_the_tee(compiler_of(straight_hole(pond(Lie.RED)), one_club_player()), 0.0)
    state, prob, strokes = outcomes_of_tee(model)
    wet = state >= model.numbering.trouble
    rng = np.random.default_rng(5)
    carry, turn = 150 + 9 * rng.standard_normal(200_000), np.deg2rad(4.0) * rng.standard_normal(200_000)
    x, y = carry * np.sin(turn), carry * np.cos(turn)
    assert prob[wet].sum() == pytest.approx(((np.abs(x) < 20) & (y > 140) & (y < 170)).mean(), abs=0.015)
    assert (strokes[wet] == 1).all()
    for pair in np.unique(state[wet])[:5]:
        ways = place_states(model, int(pair))
        assert ([model.tee], [1]) in ways
        assert len(ways) == 2


def test_the_crossing_is_on_the_edge_the_ball_flew_over():
    model = shot_from_the_tee(compiler_of(straight_hole(pond(Lie.YELLOW)), one_club_player()), 0.0)
    trouble = model.trouble
    from_tee = trouble.pair_place[trouble.pair_origin == model.tee]
    # Crossing points are taken together in squares of 4 yards.
    assert trouble.place_y[from_tee] == pytest.approx(np.full(len(from_tee), 139.0), abs=3.0)


def drops_from(compiler, lie):
    """Nodes with drops, the drops' positions, the spots they are played from, and what they cost."""
    table = compiler.candidates()
    places = compiler.places
    table = table.take((table.kind == Kind.DROP) & (places.lie[table.node] == code(lie)))
    assert len(table)
    x, y = places.x[table.node], places.y[table.node]
    at = np.stack(dropped_at(x, y, table.heading, table.distance))
    return table.node, at, spots_of(compiler.ground, places, x, y, table), penalty_strokes(table)


def test_an_unplayable_ball_is_dropped_out_of_the_trees_for_one_stroke():
    compiler = compiler_of(straight_hole(trees(box(20, 150, 50, 250))), one_club_player())
    node, at, spot, cost = drops_from(compiler, Lie.TREES)
    places = compiler.places
    assert set(cost.tolist()) == {1}
    assert (places.spot_lie[spot] != code(Lie.TREES)).all()
    from_hole = np.hypot(at[0], 400 - at[1]), np.hypot(places.x, 400 - places.y)[node]
    assert (from_hole[0] > from_hole[1] - 1e-5).all()
    moved = np.hypot(at[0] - places.x[node], at[1] - places.y[node])
    assert (np.isclose(moved, 2.5, atol=1e-5) | (moved > 7.9)).all()
    assert moved.min() == pytest.approx(2.5, abs=1e-5)


def test_out_of_a_bunker_costs_two_back_on_the_line():
    compiler = compiler_of(straight_hole(Area(Lie.SAND, box(-12, 330, 12, 350))), one_club_player())
    node, b, spot, cost = drops_from(compiler, Lie.SAND)
    places = compiler.places
    # One stroke in the bunker, two out of it (19.3a, b).
    inside = places.spot_lie[spot] == code(Lie.SAND)
    assert set(cost[inside].tolist()) == {1}
    assert set(cost[~inside].tolist()) == {2}
    node, b = node[~inside], b[:, ~inside]
    a = np.stack([places.x[node], places.y[node] - 400])
    b[1] -= 400
    off_line = np.abs(a[0] * b[1] - a[1] * b[0]) / np.hypot(*a)
    assert (off_line < 1e-5).all()
    assert (np.hypot(*b) > np.hypot(*a)).all()
