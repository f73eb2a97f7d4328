"""Putts from short grass off the green.

The model is that of putts on the green (`caddiebrain.player.putting`), with the player's own two errors and pace as
the choice. Longer grass slows the ball: a yard of it counts for more than one of green, and how it slows a ball is
less sure, so the spread of the pace grows with how much of the roll leads over it. With E the yards of green that the
way to the hole counts for, F those of them off the green and o the overshoot,

    roll ~ N(E + o, (s_d (E + o + F))^2).

Ground is taken as level, as on the green; where it is a bank no such putt is looked at. Such a putt is a choice where
short grass leads all the way to the green, and never through rough, sand or water.
"""

from dataclasses import dataclass
from math import isqrt

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.caught import caught_on_the_way
from caddiebrain.hole.choices import ChoiceTable, Kind
from caddiebrain.hole.green import PACES_FT
from caddiebrain.hole.ground import LIES, Ground
from caddiebrain.hole.points import ErrorPoints
from caddiebrain.hole.resolve import Block, Rows, Scene, resolve
from caddiebrain.hole.swings import Offsets
from caddiebrain.hole.ways import WayToHole, puttable, way_to_hole
from caddiebrain.player.model import PuttingSkill
from caddiebrain.player.putting import missed_putts
from caddiebrain.terms import Lie

__all__ = ["ORDINARY", "Putter", "putt_blocks", "putt_offsets", "putts_from", "rolled_to"]

ORDINARY = 2
"""Place in ``PACES_FT`` of the pace that is looked at first."""
_SLOWER = {Lie.FAIRWAY: 1.0, Lie.TEE: 1.0, Lie.TIGHT: 0.6, Lie.ROUGH: 5.0, Lie.TREES: 5.0, Lie.THICK: 9.0}
"""Yards of green that a yard counts for on top of itself, on ground neither soft nor firm (common practice, no
source); no putt is planned through the last three, but one may run into them."""
_OFF_PACE = 1.0
"""Part by which the pace's error grows where all of the roll is over longer grass (no source; what it is checked
against stands in docs/method.md)."""

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Putter:
    """A player's putting on one day.

    Parameters
    ----------
    skill : PuttingSkill
    slowing : ndarray (lies,)
        Yards of green that a yard of each lie counts for.
    """

    skill: PuttingSkill
    slowing: Floats

    @classmethod
    def of(cls, skill: PuttingSkill, firmness: float) -> "Putter":
        """Putt on ground of a firmness from 0, soft, to 1: longer grass slows half as much more on the softest."""
        slower = np.array([_SLOWER.get(lie, 0.0) for lie in LIES])
        return cls(skill, 1.0 + slower * (1.5 - firmness))

    def spread_ft(self, way: WayToHole, past_ft: Floats) -> Floats:
        """Standard deviation of the roll, feet of green, of putts (n,) meant to stop so far past the hole."""
        off = _OFF_PACE * 3.0 * way.off_counts_yd
        return np.asarray(self.skill.pace_sd * (3.0 * way.counts_yd + past_ft + off))

    def struck(self, way: WayToHole, past_ft: Floats, points: ErrorPoints) -> tuple[Floats, Floats]:
        """Roll, feet of green, and angle off the line, radians, of putts (n,) with given errors, both (n, points)."""
        meant, sd = (3.0 * way.counts_yd + past_ft)[:, None], self.spread_ft(way, past_ft)[:, None]
        roll = np.maximum(meant + sd * points.length, 0.0)
        return roll, np.broadcast_to(np.deg2rad(self.skill.aim_sd_deg) * points.direction, roll.shape)


def putts_from(ground: Ground, node: Ints, x: Floats, y: Floats, paces: NDArray[np.integer]) -> ChoiceTable:
    """Lay out putts from positions wherever short grass leads to the hole.

    Parameters
    ----------
    node, x, y : ndarray (n,)
        Node numbers, and positions in yards.
    paces : ndarray of int
        Places in ``PACES_FT``.
    """
    here = np.flatnonzero(puttable(ground, x, y))
    px, py = ground.hole.pin
    heading, to_pin = np.arctan2(px - x, py - y), ground.from_pin(x, y)
    place, pace = np.repeat(here, len(paces)), np.tile(paces, len(here))
    far = to_pin[place] + PACES_FT[pace] / 3.0
    return ChoiceTable.of(node[place], Kind.PUTT, pace, heading[place], far)


def putt_offsets(
    ground: Ground, putter: Putter, ball: tuple[Floats, Floats], pace: Ints, points: ErrorPoints
) -> Offsets:
    """Where putts (n,) from ``ball``, x and y in yards, would stop with given errors if nothing stopped them.

    Parameters
    ----------
    pace : ndarray (n,)
        Places in ``PACES_FT``.
    """
    way = way_to_hole(ground, putter.slowing, *ball)
    roll, angle = putter.struck(way, PACES_FT[pace], points)
    length = way.length(roll / 3.0)
    along, across = length * np.cos(angle), length * np.sin(angle)
    return Offsets(along.astype(np.float32), across.astype(np.float32), points.weight)


def rolled_to(
    ground: Ground, x: Floats, y: Floats, heading: Floats, length: Floats
) -> tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.int32]]:
    """Roll balls (n,) so many yards on each of some headings, both (n, points): where they rest, and the cell."""
    shape = length.shape
    start_x, start_y = (np.broadcast_to(v.astype(np.float32)[:, None], shape) for v in (x, y))
    end_x = (x[:, None] + length * np.sin(heading)).astype(np.float32)
    end_y = (y[:, None] + length * np.cos(heading)).astype(np.float32)
    start = (start_x, start_y, ground.frame.index(start_x, start_y))
    cell = ground.frame.index(end_x, end_y)
    ball, caught = caught_on_the_way(ground, start, (end_x, end_y, cell), length.astype(np.float32))
    cell.ravel()[ball] = caught
    end_x.ravel()[ball], end_y.ravel()[ball] = ground.frame.middle(caught)
    return end_x, end_y, cell


def putt_blocks(
    scene: Scene, table: ChoiceTable, rows: Ints, putter: Putter, points: ErrorPoints
) -> list[Block]:
    """Outcomes of putts from off the green, aimed at the hole: about as many as ``points`` for each."""
    at = Rows.of(scene, table, rows)
    x, y = scene.x[at.node], scene.y[at.node]
    way, past = way_to_hole(scene.ground, putter.slowing, x, y), PACES_FT[table.index[rows]]
    gauss = max(2, isqrt(len(points.weight) // 3))
    far, roll, sd = 3.0 * way.to_pin, 3.0 * way.counts_yd, putter.spread_ft(way, past)
    missed = missed_putts(putter.skill, far, roll, past, sd, gauss)
    angle = np.concatenate([missed.angle, -missed.angle], axis=1)
    length = np.tile(way.length(missed.roll_ft / 3.0), 2)
    end = rolled_to(scene.ground, x, y, way.heading[:, None] + angle, length)
    return [resolve(scene, rows, at, end, np.tile(missed.weight / 2.0, 2), None, missed.holing)]
