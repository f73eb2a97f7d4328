"""The public contract checks, on our own things first, and on things broken on purpose."""

import pickle
from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon, box

import caddiebrain as cb
from caddiebrain import demo, solve
from caddiebrain.course.model import Area, Course, Hole
from caddiebrain.graph import StateGraph
from caddiebrain.player import Level
from caddiebrain.terms import Lie
from caddiebrain.testing import (
    ContractError,
    check_budget_solver,
    check_course,
    check_graph,
    check_player,
    check_solver,
)

LOOP = {"tee": {"putter": [("cup", 0.25, 1), ("tee", 0.75, 1)]}}


def hole(number: int = 1, **changes: object) -> Hole:
    plain = Hole(
        number=number,
        par=4,
        stroke_index=number,
        line=np.array([[0.0, 0.0], [20.0, 200.0], [0.0, 380.0]]),
        areas=(
            Area(Lie.FAIRWAY, box(-18, 60, 30, 360), "fairway"),
            Area(Lie.GREEN, box(-12, 365, 12, 395), "green"),
            Area(Lie.TREES, box(40, 100, 80, 300), "wood", height_yd=15.0),
        ),
    )
    return replace(plain, **changes)


def broken(check, thing) -> str:
    with pytest.raises(ContractError) as caught:
        check(thing)
    assert pickle.loads(pickle.dumps(caught.value)).broken == caught.value.broken
    return str(caught.value)


def test_our_own_solvers_keep_the_contract():
    check_solver(solve.fewest_strokes)
    check_budget_solver(solve.within_budget)


def test_our_own_graphs_courses_and_players_keep_the_contract():
    check_graph(StateGraph.from_choices(LOOP))
    check_course(Course("plain", (hole(1), hole(2))))
    check_player(demo.player())


@pytest.mark.parametrize("index", [-4.0, 0.0, 11.0, 24.0, 36.0])
def test_players_of_every_level_keep_the_contract(index):
    check_player(Level(handicap_index=index).player())


def test_the_demo_course_keeps_the_contract():
    check_course(demo.course())


def test_a_solver_that_stops_early_is_caught():
    def hasty(graph):
        return replace(solve.fewest_strokes(graph), value=np.full(graph.n_states, 2.5))

    text = broken(check_solver, hasty)
    assert "value 2.5 at the start, expected 4" in text
    assert "outside its own bounds" in text
    assert "the goal has a value other than 0" in text


def test_a_solver_that_names_the_wrong_choice_is_caught():
    def first_choice(graph):
        answer = solve.fewest_strokes(graph)
        return replace(answer, choice=np.where(answer.choice < 0, -1, graph.choice_start[:-1]))

    assert "does not earn the value given" in broken(check_solver, first_choice)


def test_a_budget_solver_that_is_one_stroke_out_is_caught():
    def late(graph, budget):
        answer = solve.within_budget(graph, budget=budget)
        return replace(answer, value=np.vstack([answer.value[:1], answer.value[:-1]]))

    assert "a putt holed once in four: chances" in broken(check_budget_solver, late)


def test_every_fault_of_a_course_is_named():
    crossed = Polygon([(0, 0), (10, 10), (10, 0), (0, 10)])
    bad = Course(
        "bad",
        (
            hole(1, par=8, areas=(Area(Lie.GREEN, crossed, "bow tie"),)),
            hole(1, line=np.array([[5.0, 0.0], [0.0, 380.0]])),
            hole(3, areas=(*hole().areas, Area(Lie.RED, box(-5, -5, 5, 5), "pond", lost=1.5))),
            hole(4, line=np.array([[0.0, np.nan], [0.0, 380.0]])),
        ),
    )
    text = broken(check_course, bad)
    for clause in (
        "number 1 stands on two holes",
        "stroke index 1 stands on two holes",
        "hole 1: par 8",
        "bow tie: the shape is empty or crosses itself",
        "the pin is on no green",
        "the line does not begin at the tee",
        "hole 3: pond: a chance of 1.5 to be lost",
        "hole 3: the tee stands out of bounds, in a penalty area",
        "hole 4: the line is not two or more points",
    ):
        assert clause in text
    assert "no holes" in broken(check_course, Course("empty", ()))


def test_every_fault_of_a_player_is_named():
    player = demo.player()
    drivers = tuple(replace_club(player.patterns[0], f"driver {i}") for i in range(14))
    assert "15 clubs with the putter" in broken(check_player, player.model_copy(update={"patterns": drivers}))
    no_sand = tuple(shot for shot in player.short_game if shot.lie is not Lie.SAND)
    assert "no short shot from the sand" in broken(
        check_player, player.model_copy(update={"short_game": no_sand})
    )
    tee_only = tuple(p.model_copy(update={"tee_only": True}) for p in player.patterns)
    assert "off the ground" in broken(check_player, player.model_copy(update={"patterns": tee_only}))
    effect = player.lies[Lie.ROUGH].model_copy(update={"longest_carry_yd": 10.0})
    assert "rough: no club is short enough" in broken(
        check_player, player.model_copy(update={"lies": {Lie.ROUGH: effect}})
    )


def replace_club(pattern, club):
    return pattern.model_copy(update={"club": club, "tee_only": False})


def test_large_objects_show_themselves_in_a_line(three_plan, demo_course, demo_player):
    """In a notebook, a log or a failed comparison; a course used to be a quarter of a million characters."""
    records = cb.load_records([{"club": "7i", "carry": 150}])
    assert [
        repr(one) for one in (demo_course.holes[1], demo_course, demo_player, records, three_plan.hole(2))
    ] == [
        f"Hole(2, par {demo_course.holes[1].par}, {len(demo_course.holes[1].line)} points, "
        f"{len(demo_course.holes[1].areas)} areas)",
        f"Course({demo_course.name!r}, 18 holes)",
        f"Player({demo_player.name!r}, {len(demo_player.clubs)} clubs, {len(demo_player.patterns)} shot patterns)",
        "Records(shots: 1, warnings: 1)",
        f"HolePlan(hole 2, par 3, 165 yards: expected {three_plan.hole(2).expected_score:.2f})",
    ]
    assert len(repr(cb.PlanJob(demo_course, demo_player, 79))) < 400
