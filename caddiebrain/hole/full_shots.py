"""Full shots: every choice of one swing from one lie worked out together, or rows of many swings at once."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.bundles import bundle_means, bundles_of, group_edges
from caddiebrain.hole.choices import ChoiceTable
from caddiebrain.hole.points import ErrorPoints
from caddiebrain.hole.resolve import Block, Rows, Scene, chunks, resolve
from caddiebrain.hole.swings import FullSwing
from caddiebrain.hole.travel import fly, roll_out
from caddiebrain.hole.trees import Arc, Arcs, Bundles, Stopped, stopped_high

__all__ = ["SwingSet", "full_block", "mixed_blocks"]

_NO_TREES = 1e-6
"""A flight is taken to clear the trees where they stop it less often than this."""

Floats = NDArray[np.float64]
Ends = tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.int32]]


def full_block(
    scene: Scene, table: ChoiceTable, rows: NDArray[np.int64], swing: FullSwing, points: ErrorPoints
) -> list[Block]:
    """Outcomes of full shots with one swing.

    Parameters
    ----------
    table : ChoiceTable
    rows : ndarray (n,)
        Rows of the table that play this swing.
    """
    still = swing.offsets(points) if scene.wind_to_deg is None else None
    blocks = []
    for part in chunks(scene, table, rows, len(points.weight)):
        at = Rows.of(scene, table, part)
        bins = None if scene.wind_to_deg is None else _bins(scene, swing, at)
        offsets = still if still is not None else swing.offsets(points, bins)
        loss = swing.yards_per_height[np.zeros(1, dtype=np.int64) if bins is None else bins]
        landing = fly(scene.ground, at.x, at.y, at.heading, offsets.along, offsets.across, loss)
        lie = scene.ground.lie[landing.cell]
        roll = swing.roll[0][lie] if bins is None else swing.roll[bins[:, None], lie]
        longest = float(swing.roll.max())
        end = roll_out(scene.ground, at.x, at.y, landing, roll, longest, swing.landing_turn)
        stopped = None
        if scene.sight is not None and scene.sight.row[at.node[0]] >= 0:
            arc = Arc(float(swing.carry.mean()), float(swing.apex.mean()), float(swing.apex_share.mean()))
            shots = bundles_of(at.heading, offsets, points)
            drift = None if bins is None else swing.drift[bins]
            stopped = stopped_high(scene.sight, at.node, shots, arc, swing.pattern.curve_yd, drift)
        blocks.extend(_parted(scene, part, at, end, offsets.weight, stopped))
    return blocks


def _bins(scene: Scene, swing: FullSwing, at: Rows) -> NDArray[np.int64]:
    """Wind bin of each row; 0 in still air."""
    if scene.wind_to_deg is None:
        return np.zeros(len(at.node), dtype=np.int64)
    return swing.bin_of(scene.wind_to_deg - (scene.ground.hole.bearing_deg + np.rad2deg(at.heading)))


def _parted(
    scene: Scene,
    rows: NDArray[np.int64],
    at: Rows,
    end: Ends,
    weight: Floats,
    stopped: Stopped | None,
) -> list[Block]:
    """Resolve rows; those that meet no trees apart from those that do, for they have fewer outcomes."""
    if stopped is None:
        return [resolve(scene, rows, at, end, weight, None)]
    met: NDArray[np.bool_] = np.any(stopped.chance > _NO_TREES, axis=(1, 2))
    blocks = []
    for some, trees in ((met, stopped.some(met)), (~met, None)):
        if some.any():
            ends = (end[0][some], end[1][some], end[2][some])
            blocks.append(resolve(scene, rows[some], at.some(some), ends, weight, trees))
    return blocks


@dataclass(frozen=True)
class SwingSet:
    """Full swings side by side with part of their points, worked out for every wind.

    Where a few rows play each of many swings, what is the same for all rows of a swing is looked up, and the rows
    are worked out together. Arrays are (swings,), or (swings * bins, ...) where the wind makes a difference.

    Parameters
    ----------
    first : FullSwing
        One of them; all are of one day.
    weight : ndarray (points,)
        Shares of the points, all together 1.
    along, across : ndarray of float32 (swings * bins, points)
        Landing points, as in `Offsets`.
    edges, turn, length : ndarray (bundles + 1,), (swings * bins, bundles) twice
        The points as bundles: edges, mean direction off the line in radians, mean distance in yards.
    roll : ndarray of float32 (swings * bins, lies)
    loss, drift : ndarray (swings * bins,)
        Carry lost by yard of height, and what the wind adds sideways, yards.
    carry, apex, apex_share : ndarray (swings,)
        Means over the winds, as in `Arc`.
    curve, landing_turn, longest : ndarray (swings,)
        Sideways move in yards, turn at the landing in radians, longest rollout in yards.
    """

    first: FullSwing
    weight: Floats
    along: NDArray[np.float32]
    across: NDArray[np.float32]
    edges: NDArray[np.int64]
    turn: Floats
    length: Floats
    roll: NDArray[np.float32]
    loss: Floats
    drift: Floats
    carry: Floats
    apex: Floats
    apex_share: Floats
    curve: Floats
    landing_turn: Floats
    longest: Floats

    @classmethod
    def of(cls, swings: Sequence[FullSwing], points: ErrorPoints, solid: bool) -> "SwingSet":
        """Work out the solid points of swings, or those of their mishits."""
        first = int(points.solid.sum())
        part = slice(0, first) if solid else slice(first, None)
        edges = group_edges(points)
        edges = edges[edges <= first] if solid else edges[edges >= first] - first
        every = [s.offsets(points, np.arange(len(s.carry))) for s in swings]
        along = np.concatenate([o.along[:, part] for o in every])
        across = np.concatenate([o.across[:, part] for o in every])
        return cls(
            swings[0],
            points.weight[part],
            along,
            across,
            edges,
            *bundle_means(along, across, edges),
            roll=np.concatenate([s.roll for s in swings]),
            loss=np.concatenate([s.yards_per_height for s in swings]),
            drift=np.concatenate([s.drift for s in swings]),
            carry=np.array([s.carry.mean() for s in swings]),
            apex=np.array([s.apex.mean() for s in swings]),
            apex_share=np.array([s.apex_share.mean() for s in swings]),
            curve=np.array([s.pattern.curve_yd for s in swings]),
            landing_turn=np.array([s.landing_turn for s in swings]),
            longest=np.array([s.roll.max() for s in swings], dtype=np.float64),
        )


def mixed_blocks(scene: Scene, table: ChoiceTable, swing: NDArray[np.int64], swings: SwingSet) -> list[Block]:
    """Outcomes of full shots that need not be of one swing.

    Parameters
    ----------
    table : ChoiceTable
    swing : ndarray (n,)
        Which swing of the set each row of the table plays.
    """
    bent = swings.curve[swing] != 0.0  # followed into trees in more pieces
    blocks = []
    for some in (np.flatnonzero(~bent), np.flatnonzero(bent)):
        for part in chunks(scene, table, some, len(swings.weight)):
            blocks.extend(_mixed(scene, table, part, swing[part], swings))
    return blocks


def _mixed(
    scene: Scene, table: ChoiceTable, rows: NDArray[np.int64], swing: NDArray[np.int64], swings: SwingSet
) -> list[Block]:
    """One piece of the rows; all see trees or none."""
    ground, at = scene.ground, Rows.of(scene, table, rows)
    flown = swing * len(swings.first.carry) + _bins(scene, swings.first, at)
    along, across = swings.along.take(flown, axis=0), swings.across.take(flown, axis=0)
    landing = fly(ground, at.x, at.y, at.heading, along, across, swings.loss[flown])
    lies = swings.roll.shape[1]
    roll = swings.roll.reshape(-1).take((flown * lies)[:, None] + ground.lie[landing.cell])
    longest, turn = swings.longest[swing, None], swings.landing_turn[swing, None]
    end = roll_out(ground, at.x, at.y, landing, roll, longest, turn)
    stopped = None
    if scene.sight is not None and scene.sight.row[at.node[0]] >= 0:
        lines = at.heading[:, None].astype(np.float64) + swings.turn[flown]
        shots = Bundles(swings.edges, lines, swings.length[flown])
        drift = None if scene.wind_to_deg is None else swings.drift[flown]
        arcs = Arcs(*(a[swing, None] for a in (swings.carry, swings.apex, swings.apex_share)))
        stopped = stopped_high(scene.sight, at.node, shots, arcs, swings.curve[swing, None], drift)
    return _parted(scene, rows, at, end, swings.weight, stopped)
