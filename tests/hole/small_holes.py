"""Holes, players and compilers that tests of single rules need."""

import numpy as np
from shapely import Point, box

from caddiebrain.course.model import Area, Hole
from caddiebrain.flight import Conditions
from caddiebrain.hole import ChoiceTable, GridSpec, HoleCompiler, HoleModel, Kind
from caddiebrain.hole.ground import CODE
from caddiebrain.player import Player
from caddiebrain.player.model import PuttingSkill, ShortShot, ShotPattern
from caddiebrain.round.day import day_flight
from caddiebrain.terms import Lie

COARSE = GridSpec(lattice=20.0, sparse_lattice=30.0, near_lattice=10.0, points=(55, 13), tee_points=(144, 34))


def straight_hole(*extra: Area, length: float = 400.0, par: int = 4, e5: bool = False) -> Hole:
    """Lay out a straight hole: green of 12 yards' radius, fairway of 32 yards, rough elsewhere, and ``extra``."""
    areas = (
        Area(Lie.GREEN, Point(0, length).buffer(12)),
        Area(Lie.FAIRWAY, box(-16, min(120.0, length / 2), 16, length - 14)),
        *extra,
    )
    return Hole(1, par, 1, np.array([[0.0, 0.0], [0.0, length]]), areas, local_rule_e5=e5)


def one_club_player(**changes) -> Player:
    """Return a player with one full shot of 150 yards that never rolls, a pitch, and a putter."""
    pattern = {
        "club": "iron",
        "carry_yd": 150.0,
        "carry_sd": 0.06,
        "line_sd_deg": 4.0,
        "mishit": 0.0,
        "rollout_yd": 0.0,
    } | changes
    return Player(
        patterns=(ShotPattern(**pattern),),
        short_game=(
            ShortShot(name="pitch", lie=Lie.FAIRWAY, longest_yd=100.0, depth_sd=0.1, line_sd_deg=3.0),
        ),
        putting=PuttingSkill(aim_sd_deg=1.5, pace_sd=0.1),
    )


def compiler_of(
    hole: Hole, player: Player, grid: GridSpec = COARSE, conditions: Conditions | None = None
) -> HoleCompiler:
    """Make the compiler of a hole on a still day."""
    day = conditions or Conditions()
    return HoleCompiler(hole, player, day_flight(player, day), day, grid)


def shot_from_the_tee(compiler: HoleCompiler, heading: float, index: int = 0) -> HoleModel:
    """Compile a hole in which the tee has one choice, a full shot along ``heading`` (radians)."""
    table = compiler.candidates()
    rest = table.take(table.node > 0)
    tee = ChoiceTable.of(np.zeros(1, np.int64), Kind.FULL, index, heading)
    return compiler.build(ChoiceTable.join([tee, rest]).ordered())


def outcomes_of_tee(model: HoleModel) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """States, chances and strokes of the tee's first choice."""
    graph = model.graph
    choice = int(graph.choice_start[model.tee])
    span = slice(int(graph.outcome_start[choice]), int(graph.outcome_start[choice + 1]))
    return graph.outcome_state[span], graph.outcome_prob[span], graph.outcome_strokes[span]


def trees(shape, **kind) -> Area:
    """Plant trees 15 yards high."""
    return Area(Lie.TREES, shape, height_yd=kind.pop("height_yd", 15.0), **kind)


def code(lie: Lie) -> int:
    """Code of a lie on the raster."""
    return CODE[lie]
