"""A first look gives all choices to the places where play comes: against the choices and the play it leaves out."""

import numpy as np
import pytest
from shapely import box
from shapely.ops import unary_union
from small_holes import COARSE, compiler_of, one_club_player, straight_hole, trees

from caddiebrain import demo, solve
from caddiebrain.course import Setup
from caddiebrain.flight import Conditions
from caddiebrain.hole import ChoiceTable, GridSpec, HoleCompiler, player_today
from caddiebrain.hole.propose import Fan
from caddiebrain.round.day import day_flight


@pytest.fixture(scope="module")
def wooded() -> HoleCompiler:
    """The demo player between two woods."""
    avenue = unary_union([box(-60, 60, -22, 330), box(22, 60, 60, 330)])
    player = player_today(demo.player(), Setup())
    still = Conditions()
    return HoleCompiler(straight_hole(trees(avenue)), player, day_flight(player, still), still, COARSE)


@pytest.fixture(scope="module")
def look(wooded):
    return wooded.first_look()


def per_node(table: ChoiceTable, nodes: int) -> np.ndarray:
    return np.bincount(table.node, minlength=nodes)


def test_a_first_look_has_all_choices_of_some_places_and_few_of_others(wooded, look):
    nodes = wooded.numbering.nodes
    have, middle = per_node(look.table, nodes), per_node(wooded.candidates(Fan.MIDDLE), nodes)
    often = have > middle
    assert 0.2 < often.mean() < 0.95
    np.testing.assert_array_equal(have[~often], middle[~often])
    assert np.all(np.diff(look.table.node) >= 0)
    refined = look.table.step > 0
    assert not refined[~often[look.table.node]].any()


def test_each_choice_of_a_first_look_has_the_outcomes_it_has_in_any_graph(wooded, look):
    again = wooded.build(look.table, screen=True)
    graph, other = look.graph, again.graph
    np.testing.assert_array_equal(graph.outcome_start, other.outcome_start)
    rows = slice(graph.outcome_start[look.first_choice + 40], graph.outcome_start[look.first_choice + 4000])
    same = graph.outcome_state[rows] < look.numbering.trouble
    np.testing.assert_array_equal(graph.outcome_state[rows][same], other.outcome_state[rows][same])
    np.testing.assert_allclose(graph.outcome_prob[rows], other.outcome_prob[rows], atol=1e-12)


@pytest.mark.parametrize("number", [5, 12])
def test_play_hardly_comes_where_choices_are_few_and_little_is_lost(number):
    player, still = player_today(demo.player(), Setup()), Conditions()
    hole = demo.course().hole(number)
    compiler = HoleCompiler(hole, player, day_flight(player, still), still, GridSpec())
    look, nodes = compiler.first_look(), compiler.numbering.nodes
    full = compiler.build(compiler.candidates(), screen=True)
    best, most = solve.fewest_strokes(look.graph), solve.fewest_strokes(full.graph)
    seldom = per_node(look.table, nodes) < per_node(full.table, nodes)
    visits = solve.visit_frequencies(full.graph, most.choice, full.tee)
    play = visits[full.numbering.node : full.numbering.spot]
    assert seldom.mean() > 0.3
    assert play[seldom].sum() < 0.02 * play[1:].sum()
    assert -1e-8 < best.value[look.tee] - most.value[full.tee] < 0.002


def test_on_open_ground_with_one_club_nothing_special_happens():
    compiler = compiler_of(straight_hole(), one_club_player())
    look, full = compiler.first_look(), compiler.build(compiler.candidates(), screen=True)
    lost = solve.fewest_strokes(look.graph).value[look.tee] - solve.fewest_strokes(full.graph).value[full.tee]
    assert -1e-8 < lost < 0.01
