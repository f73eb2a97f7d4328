"""Sorting out choices: against the graph of all of them, and the play it leaves out."""

import numpy as np
import pytest
from shapely import Point, box
from shapely.ops import unary_union

from caddiebrain import demo, solve
from caddiebrain.course import Setup
from caddiebrain.course.model import Area, Hole
from caddiebrain.flight import Conditions
from caddiebrain.hole import ChoiceTable, GridSpec, HoleCompiler, HoleModel, Kind, player_today
from caddiebrain.hole.propose import Fan
from caddiebrain.hole.trouble import Trouble
from caddiebrain.round.day import day_flight
from caddiebrain.round.prepare import prepare
from caddiebrain.round.sift import _SELDOM, sift, traffic
from caddiebrain.round.worth import Shots, Worth
from caddiebrain.terms import Height, Lie
from tests.conftest import COARSE, settled


def compiler(hole: Hole, grid: GridSpec = COARSE) -> HoleCompiler:
    player, still = player_today(demo.player(), Setup()), Conditions()
    return HoleCompiler(hole, player, day_flight(player, still), still, grid)


@pytest.fixture(scope="module")
def wooded() -> HoleCompiler:
    """Two woods with a pond between them, short of the green."""
    avenue = unary_union([box(-60, 60, -22, 330), box(22, 60, 60, 330)])
    areas = (
        Area(Lie.GREEN, Point(0, 400).buffer(12)),
        Area(Lie.FAIRWAY, box(-16, 120, 16, 386)),
        Area(Lie.RED, box(-14, 225, 10, 255), name="pond"),
        Area(Lie.TREES, avenue, height_yd=15.0),
    )
    return compiler(Hole(1, 4, 1, np.array([[0.0, 0.0], [0.0, 400.0]]), areas))


@pytest.fixture(scope="module")
def middle(wooded) -> HoleModel:
    return wooded.build(wooded.candidates(Fan.MIDDLE), screen=True)


def test_every_place_has_a_choice_and_the_tee_all_of_them(wooded):
    table = sift(wooded).table
    assert set(table.node.tolist()) == set(range(wooded.numbering.nodes))
    np.testing.assert_array_equal(table.node, np.sort(table.node))
    tee = wooded.candidates(nodes=np.zeros(1, dtype=np.int64))
    assert (table.node == 0).sum() == len(tee) > 300


def test_shots_weighed_in_no_graph_are_worth_what_a_graph_says(wooded, middle):
    """Water included: the pond's relief and stroke and distance are found on both ways."""
    every = wooded.candidates()
    number = wooded.numbering
    value = solve.fewest_strokes(middle.graph).value[: number.trouble]
    scene = wooded.own_scene()
    blocks = wooded.blocks(scene, every, wooded.places.lie[every.node], screen=True)
    trouble = Trouble.gather(scene.trouble, wooded.ground, wooded.places)
    assert len(trouble.pair_place) > 50
    found = Shots(wooded, every, blocks, trouble).values(Worth((value[: number.spot],)))
    model = wooded.build(every, screen=True)
    strokes = solve.choice_values(model.graph, settled(model, value))[model.first_choice :][: len(every)]
    np.testing.assert_allclose(found, strokes, atol=1e-9)


def test_traffic_is_that_of_a_policy_when_only_its_choices_are_made(middle):
    best = solve.fewest_strokes(middle.graph)
    loss = np.full(middle.graph.n_choices, 1e3)
    loss[best.choice[best.choice >= 0]] = 0.0
    number = middle.numbering
    visits = solve.expected_visits(middle.graph, best.choice, middle.tee)[number.node : number.spot]
    seen = traffic(middle, loss)
    assert seen[0] == pytest.approx(visits[0], abs=1e-3)
    # Seven shots are followed; what is played after them is little.
    assert np.all(seen <= visits + 1e-9)
    assert seen.sum() == pytest.approx(visits.sum(), rel=0.01)


def test_traffic_of_hundreds_of_choices_as_good_as_each_other(wooded):
    """From the tee none of them is made once in a hundred times, and none may be passed over."""
    model = wooded.build(wooded.candidates(), screen=True)
    start = model.graph.choice_start[model.tee : model.tee + 2]
    assert np.diff(start)[0] > 200
    seen = traffic(model, np.zeros(model.graph.n_choices))
    assert np.isfinite(seen).all()
    assert seen[0] >= 1.0
    assert seen[1:].sum() > 1.0


def bent(compiler: HoleCompiler, table: ChoiceTable) -> set[tuple[int, int]]:
    """Places off the tee, and the derived shapes played from them."""
    shaped = [i for i, p in enumerate(compiler.player.patterns) if p.derived and p.height is Height.STOCK]
    rows = (table.kind == Kind.FULL) & np.isin(table.index, shaped) & (table.node > 0)
    return set(zip(table.node[rows].tolist(), table.index[rows].tolist(), strict=True))


def test_a_derived_shape_is_kept_for_a_clear_gain_alone(wooded, monkeypatch):
    """Between two woods hundreds are looked at, dozens are within a tenth of a stroke; hardly one is worth bending."""
    looked_at, kept = bent(wooded, wooded.candidates(Fan.REST)), bent(wooded, sift(wooded).table)
    monkeypatch.setattr("caddiebrain.round.sift._WORTH_BENDING", -0.1)
    near = bent(wooded, sift(wooded).table)
    assert kept <= near <= looked_at
    assert len(looked_at) > 300
    assert len(near) > 20 + len(kept)
    assert len(kept) < 0.02 * len(looked_at)


@pytest.mark.parametrize("number", [5, 12])
def test_little_is_lost_by_what_is_left_out(number):
    """Every choice compiled as finely, on two holes of the demo; the aims half a step aside are a gain."""
    model = compiler(demo.course().hole(number))
    sifted, every = prepare(model), prepare(model, sifted=False)
    assert len(sifted.model.table) < 0.3 * len(every.model.table)
    lost = sifted.expected.value[sifted.model.tee] - every.expected.value[every.model.tee]
    assert -0.02 < lost < 0.004
    for budget in (3, 4, 5, 6, 7):
        a, b = (
            solve.within_budget(s.model.graph, budget).value[budget, s.model.tee] for s in (sifted, every)
        )
        assert -0.01 < b - a < 0.003


def test_play_hardly_comes_where_only_middle_aims_are_looked_at():
    one = compiler(demo.course().hole(5), GridSpec())
    coarse = one.build(one.candidates(Fan.MIDDLE), screen=True)
    value = solve.fewest_strokes(coarse.graph).value
    loss = solve.choice_values(coarse.graph, value) - value[coarse.graph.choice_state]
    seldom = traffic(coarse, loss) < _SELDOM * one.grid.lattice**2
    solved = prepare(one)
    number, table = one.numbering, solved.model.table
    visits = solve.visit_frequencies(solved.model.graph, solved.expected.choice, solved.model.tee)
    play = visits[number.node : number.spot]
    assert seldom.mean() > 0.2
    assert play[seldom].sum() < 5e-3 * play[1:].sum()  # measured: one shot in 330
    # Full shots worked out from a place: many where balls come to rest, few where hardly one does.
    shots = np.bincount(table.node[table.kind == Kind.FULL], minlength=number.nodes)[1:]
    assert shots[play[1:] > 1e-3].mean() > 2.0 * shots[seldom[1:]].mean()
