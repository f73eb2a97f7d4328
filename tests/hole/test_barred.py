"""Shots that trees all but rule out against what becomes of them when they are flown all the same."""

import numpy as np
import pytest
from shapely import box
from shapely.ops import unary_union
from small_holes import COARSE, code, compiler_of, one_club_player, straight_hole, trees

from caddiebrain import demo, solve
from caddiebrain.course import Setup
from caddiebrain.flight import Conditions
from caddiebrain.hole import HoleCompiler, Kind, player_today
from caddiebrain.hole.barred import barred
from caddiebrain.hole.points import mixture_points
from caddiebrain.hole.propose import propose
from caddiebrain.round.day import day_flight
from caddiebrain.terms import Lie

AVENUE = unary_union([box(-60, 60, -22, 330), box(22, 60, 60, 330)])
POINTS = mixture_points(*COARSE.screen_points)
WIND = Conditions(wind_mph=20.0, wind_from_deg=270.0)


def wooded(conditions: Conditions | None = None) -> HoleCompiler:
    """The demo player between two woods."""
    hole, day = straight_hole(trees(AVENUE)), conditions or Conditions()
    player = player_today(demo.player(), Setup())
    return HoleCompiler(hole, player, day_flight(player, day), day, COARSE)


def every_shot(compiler: HoleCompiler):
    """All proposed choices, and which of them trees bar."""
    places = compiler.places
    nodes = np.arange(len(places.x))
    at = nodes, places.x, places.y, places.lie
    table = propose(compiler.ground, compiler.arsenal, *at, nodes == 0, compiler.hemmed).ordered()
    return table, barred(compiler.sight, table, places.lie[table.node], compiler.arsenal, POINTS)


def among_trees(compiler: HoleCompiler, table) -> np.ndarray:
    """Chance of each choice that its ball comes to rest among trees or is lost there."""
    model = compiler.build(table, screen=True)
    graph, number, places = model.graph, model.numbering, compiler.places
    bad = np.zeros(graph.n_states)
    bad[number.spot : number.bin] = places.spot_lie == code(Lie.TREES)
    mass = graph.outcome_prob * (bad[graph.outcome_state] + (graph.outcome_strokes > 1))
    each = np.add.reduceat(mass, graph.outcome_start[:-1])
    return each[model.first_choice : model.first_choice + len(table)]


@pytest.fixture(scope="module", params=["still", "crosswind"])
def shots(request):
    compiler = wooded(None if request.param == "still" else WIND)
    return compiler, *every_shot(compiler)


def test_what_is_barred_would_stay_in_the_wood(shots):
    compiler, table, out = shots
    assert out.mean() > 0.05
    stays = among_trees(compiler, table)
    assert np.quantile(stays[out], 0.05) > 0.5
    assert stays[out].mean() > 0.9


def test_only_full_shots_are_barred_and_never_the_freest_of_a_place_nor_one_from_the_tee(shots):
    _, table, out = shots
    full = table.kind == Kind.FULL
    assert not out[~full].any()
    assert not out[table.node == 0].any()
    assert set(table.node[full]) == set(table.node[full & ~out])


def test_nothing_is_lost_by_it(shots):
    compiler, table, out = shots
    every = compiler.build(table, screen=True)
    fewer = compiler.build(table.take(~out), screen=True)
    nodes = slice(every.numbering.node, every.numbering.spot)
    lost = (solve.fewest_strokes(fewer.graph).value - solve.fewest_strokes(every.graph).value)[nodes]
    assert lost.min() > -1e-8
    assert lost[0] < 1e-4
    assert np.quantile(lost, 0.99) < 1e-3
    # Deep in the wood with no good way out one of two poor ones may go.
    assert lost.max() < 0.05


def test_a_wood_lower_than_the_flight_bars_nothing_from_afar():
    hole = straight_hole(trees(box(-60, 70, 60, 90), height_yd=8.0))
    compiler = compiler_of(hole, one_club_player(apex_yd=30.0))
    table, out = every_shot(compiler)
    before = compiler.places.y[table.node] < 20.0
    assert before.any()
    assert not out[before].any()


def test_without_trees_nothing_is_barred():
    compiler = compiler_of(straight_hole(), one_club_player())
    table, out = every_shot(compiler)
    assert len(out) == len(table)
    assert not out.any()
