"""Objects many tests share; each is made once for a whole run."""

import os
from dataclasses import replace

import numpy as np
import pytest
from shapely import Point, box

import caddiebrain as cb
from caddiebrain import demo
from caddiebrain.course.model import Area, Course, Hole
from caddiebrain.hole import GridSpec, HoleModel
from caddiebrain.round import RoundPlan
from caddiebrain.terms import Lie

os.environ["CADDIEBRAIN_PLANS"] = ""  # no test leaves plans behind, or finds one
COARSE = GridSpec(
    spot=4.0, near_spot=2.0, putt_step_ft=0.5,
    lattice=16.0, sparse_lattice=24.0, near_lattice=9.0, points=(55, 13), tee_points=(144, 34),
)  # fmt: skip
"""A grid for tests of logic, not of figures."""
FINER = replace(COARSE, spot=2.0, near_spot=1.0, putt_step_ft=0.25)
"""For small differences: on the coarse grid another best choice of aim moves a plan by more than they are."""
BLUNT = GridSpec(
    cell=2.0, spot=4.0, near_spot=2.0, lattice=30.0, sparse_lattice=45.0, near_lattice=18.0, wood_lattice=18.0,
    putt_step_ft=1.0, screen_points=(8, 3), points=(13, 5), tee_points=(21, 5),
)  # fmt: skip
"""Too coarse for any figure; for tests of form alone."""


def open_hole(
    length: float = 400.0,
    par: int = 4,
    number: int = 1,
    *,
    fairway: float = 32.0,
    extra: tuple[Area, ...] = (),
) -> Hole:
    """Lay out a straight hole with a round green, a bunker on either side of it, and no trouble but ``extra``."""
    areas = (
        Area(Lie.GREEN, Point(0, length).buffer(12)),
        Area(Lie.FAIRWAY, box(-fairway / 2, min(120.0, length / 2), fairway / 2, length - 14)),
        Area(Lie.SAND, Point(-18, length).buffer(5)),
        Area(Lie.SAND, Point(17, length - 6).buffer(5)),
        *extra,
    )
    return Hole(number, par, number, np.array([[0.0, 0.0], [0.0, length]]), areas)


def settled(model: HoleModel, value: np.ndarray) -> np.ndarray:
    """Strokes of every state of a compiled hole, those of its fixed states (cup to putting bins) being given."""
    graph, first = model.graph, model.numbering.trouble
    every = np.concatenate([value, np.full(graph.n_states - first, 99.0)])
    for _ in range(int(graph.level.max()) + 1):
        best = np.minimum.reduceat(cb.solve.choice_values(graph, every), graph.choice_start[1:-1])
        every[first:] = best[first - 1 :]  # the cup, state 0, has no choice
    return every


@pytest.fixture(scope="session")
def demo_course() -> Course:
    return demo.course()


@pytest.fixture(scope="session")
def demo_player() -> cb.Player:
    return demo.player()


@pytest.fixture(scope="session")
def demo_plan(demo_course: Course, demo_player: cb.Player) -> RoundPlan:
    """The demo's plan for 79 in still air, on the grid users get."""
    return cb.plan_round(demo_course, demo_player, target=79)


@pytest.fixture
def made_already(demo_plan: RoundPlan, demo_player: cb.Player, monkeypatch: pytest.MonkeyPatch) -> RoundPlan:
    """The demo's plan, which for this test is what planning the demo for 79 gives at once."""
    real, whole = cb.plan_round, demo_plan.course

    def plan_round(course: Course, player: cb.Player, **asked: object) -> RoundPlan:
        usual = (course.name, len(course.holes), player) == (whole.name, len(whole.holes), demo_player)
        return demo_plan if usual and asked == {"target": 79} else real(course, player, **asked)

    monkeypatch.setattr(cb, "plan_round", plan_round)
    return demo_plan


@pytest.fixture(scope="session")
def three_holes() -> Course:
    """A par 4 with a pond short of the green, a par 3, and a par 5 with out of bounds on the right."""
    pond = Area(Lie.YELLOW, box(-25, 235, 25, 265), name="pond")
    out = Area(Lie.OUT, box(35, -20, 120, 560), name="boundary")
    return Course(
        "Three Holes",
        (
            open_hole(390.0, 4, 1, extra=(pond,)),
            open_hole(165.0, 3, 2),
            open_hole(505.0, 5, 3, extra=(out,)),
        ),
    )


@pytest.fixture(scope="session")
def three_plan(three_holes: Course, demo_player: cb.Player) -> RoundPlan:
    """A quick plan of the three holes for 13, on a coarse grid."""
    return cb.plan_round(three_holes, demo_player, target=13, grid=COARSE)


@pytest.fixture(scope="session")
def finer_plan(three_holes: Course, demo_player: cb.Player) -> RoundPlan:
    """The same plan on a grid as fine as small differences and shares of places need."""
    return cb.plan_round(three_holes, demo_player, target=13, grid=FINER)
