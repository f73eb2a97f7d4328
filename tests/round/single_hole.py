"""One invented hole at a time: for what weather, set-up, trees and shapes do to a plan."""

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray
from shapely import Point, box

import caddiebrain as cb
from caddiebrain.course import Setup
from caddiebrain.course.model import Area, Course, Hole
from caddiebrain.flight import Conditions
from caddiebrain.hole import GridSpec, HoleCompiler
from caddiebrain.hole.play import HolePlay
from caddiebrain.round import RoundPlan
from caddiebrain.round.options import Option
from caddiebrain.round.simulate import decisions_of
from caddiebrain.terms import Lie
from tests.conftest import COARSE

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def straight(length: float, par: int, *extra: Area, rise_yd: float = 0.0) -> Hole:
    """Lay out a straight hole that plays north: a round green, two bunkers, a fairway 32 yards wide."""
    areas = (
        Area(Lie.GREEN, Point(0, length).buffer(12)),
        Area(Lie.FAIRWAY, box(-16, min(120.0, length / 2), 16, length - 14)),
        Area(Lie.SAND, Point(-18, length).buffer(5)),
        Area(Lie.SAND, Point(17, length - 6).buffer(5)),
        *extra,
    )
    heights = None
    if rise_yd:
        heights = np.array(
            [[x, y, h] for x in (-90.0, 90.0) for y, h in ((-20.0, 0.0), (length + 40.0, rise_yd))]
        )
    return Hole(1, par, 1, np.array([[0.0, 0.0], [0.0, length]]), areas, heights=heights)


def plan_of(
    hole: Hole,
    player: cb.Player,
    conditions: Conditions | None = None,
    setup: Setup | None = None,
    grid: GridSpec = COARSE,
) -> RoundPlan:
    """Plan one hole for its par, on a coarse grid unless another is given."""
    course = Course("One", (hole,))
    return cb.plan_round(course, player, hole.par, conditions, setup, grid=grid, workers=1)


def least(options: Sequence[Option], wanted: Callable[[Option], bool] = lambda option: True) -> Option:
    """The wanted option with the lowest expected score."""
    return min((o for o in options if wanted(o)), key=lambda o: o.expected)


def turns_of(
    plan: RoundPlan, balls: int, compiler: HoleCompiler | None = None
) -> tuple[Ints, list[tuple[Ints, Floats, Floats, Ints]]]:
    """Play balls out in true positions, by a plan of one hole for the average.

    Returns the strokes of each ball; and turn by turn which balls were played off the green, their x, y and lie codes.
    """
    hole = plan.hole(1)
    turns: list[tuple[Ints, Floats, Floats, Ints]] = []
    strokes = HolePlay(compiler or hole.compiler).play(
        decisions_of(hole, target=False),
        np.zeros(balls, dtype=np.int64),
        np.random.default_rng(3),
        watcher=lambda who, x, y, lie, made: turns.append((who, x, y, lie)),
    )
    return strokes, turns
