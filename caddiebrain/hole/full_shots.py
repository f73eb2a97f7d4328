"""Full shots to the states they may lead to: rows of many swings worked out together."""

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.choices import ChoiceTable
from caddiebrain.hole.resolve import Block, Rows, Scene, chunks, resolve
from caddiebrain.hole.swing_set import SwingSet
from caddiebrain.hole.travel import fly, roll_out
from caddiebrain.hole.trees import Stopped, stopped_high

__all__ = ["full_blocks"]

_NO_TREES = 1e-6
"""A flight is taken to clear the trees where they stop it less often than this."""

Ends = tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.int32]]


def full_blocks(
    scene: Scene,
    table: ChoiceTable,
    rows: NDArray[np.int64],
    swing: NDArray[np.int64],
    swings: SwingSet,
) -> list[Block]:
    """Outcomes of full shots.

    Parameters
    ----------
    table : ChoiceTable
    rows : ndarray (n,)
        Rows of the table.
    swing : ndarray (n,)
        Which swing of the set each of them plays.
    """
    bends = swings.bend[swing * swings.bins] != 0.0
    blocks = []
    for curved in (False, True):  # curved ones are followed into trees in more pieces
        some = np.flatnonzero(bends == curved)
        for part in chunks(scene, table.node[rows], some, swings.along.shape[1]):
            blocks.extend(_piece(scene, table, rows[part], swing[part], swings, curved))
    return blocks


def _piece(
    scene: Scene,
    table: ChoiceTable,
    rows: NDArray[np.int64],
    swing: NDArray[np.int64],
    swings: SwingSet,
    curved: bool,
) -> list[Block]:
    """One piece of the rows; all see trees or none, all are curved or none."""
    ground, at = scene.ground, Rows.of(scene, table, rows)
    wind = None
    if scene.wind_to_deg is not None:
        wind = scene.wind_to_deg - (ground.hole.bearing_deg + np.rad2deg(at.heading))
    line = swings.line(swing, wind)
    errors = swings.along[line], swings.across[line], swings.length[line]
    landing = fly(ground, at.x, at.y, at.heading, *errors, swings.yards_per_height[line])
    roll = swings.rollout(line, ground.lie.take(landing.cell))
    turn = swings.landing_turn[line]
    end = roll_out(ground, at.x, at.y, landing, roll, turn if turn.any() else None)
    stopped = None
    if scene.sight is not None and scene.sight.row[at.node[0]] >= 0:
        heading = at.heading[:, None].astype(np.float64) + swings.turn[line]
        crossings = swings.crossings(scene.sight.canopies, curved, wind is not None)
        stopped = stopped_high(scene.sight, at.node, line, swings.edges, heading, crossings)
    return _parted(scene, rows, at, end, swings.weight[line], stopped)


def _parted(
    scene: Scene,
    rows: NDArray[np.int64],
    at: Rows,
    end: Ends,
    weight: NDArray[np.float64],
    stopped: Stopped | None,
) -> list[Block]:
    """Resolve rows; those that meet no trees apart from those that do, for they have fewer outcomes."""
    if stopped is None:
        return [resolve(scene, rows, at, end, weight, None)]
    met: NDArray[np.bool_] = np.any(stopped.chance > _NO_TREES, axis=(1, 2))
    if met.all():
        return [resolve(scene, rows, at, end, weight, stopped)]
    blocks = []
    for some, trees in ((met, stopped.some(met)), (~met, None)):
        if some.any():
            ends = (end[0][some], end[1][some], end[2][some])
            blocks.append(resolve(scene, rows[some], at.some(some), ends, weight[some], trees))
    return blocks
