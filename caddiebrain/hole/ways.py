"""Straight ways to the hole: where a ball off the green can be putted, and how far it rolls."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.ground import CODE, LIES, Ground
from caddiebrain.terms import Lie

__all__ = ["MOWN", "SHORT_GRASS", "WayToHole", "puttable", "way_to_hole"]

SHORT_GRASS = (CODE[Lie.FAIRWAY], CODE[Lie.TIGHT])
"""Codes of lies from which a ball off the green may be putted."""
MOST_OFF_YD = 10.0
"""Putts from further off the green are not looked at (common practice, no source)."""
MOST_YD = 45.0
"""Nor are longer ones."""
STEEPEST = 1.0 / 8.0
"""Nor those up or down a bank: steeper than this between ball and green."""
_STEP_YD = 0.5
_FURTHEST = 1.6
"""A way is followed for so many times the distance to the hole."""
_GREEN = np.arange(len(LIES)) == CODE[Lie.GREEN]
MOWN = np.isin(np.arange(len(LIES)), (*SHORT_GRASS, CODE[Lie.GREEN]))

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class WayToHole:
    """Straight ways from balls (n,) to the hole and on.

    Parameters
    ----------
    to_pin : ndarray (n,)
        Yards.
    heading : ndarray (n,)
        Radians clockwise from the y axis.
    lie : ndarray of uint8 (n, steps)
        Every half yard.
    rate, counts : ndarray (n, steps)
        Yards of green that a yard of each step counts for, and that the way counts for to the end of each step.
    inside : ndarray (n, steps)
        Yards of each step on this side of the hole.
    """

    to_pin: Floats
    heading: Floats
    lie: NDArray[np.uint8]
    rate: Floats
    counts: Floats
    inside: Floats

    @property
    def off_yd(self) -> Floats:
        """Yards off the green before the hole."""
        return np.asarray((self.inside * ~_GREEN[self.lie]).sum(axis=1))

    @property
    def counts_yd(self) -> Floats:
        """Yards of green that the way to the hole counts for."""
        return np.asarray((self.inside * self.rate).sum(axis=1))

    @property
    def off_counts_yd(self) -> Floats:
        """Those of them off the green."""
        return np.asarray((self.inside * self.rate * ~_GREEN[self.lie]).sum(axis=1))

    def length(self, roll_yd: Floats) -> Floats:
        """How far balls go, yards, that would roll so far on a green, (n, points)."""
        passed = (self.counts[:, None, :] <= roll_yd[:, :, None]).sum(axis=2)
        step = np.minimum(passed, self.counts.shape[1] - 1)
        before = np.take_along_axis(np.pad(self.counts, ((0, 0), (1, 0))), step, axis=1)
        rate = np.take_along_axis(self.rate, step, axis=1)
        return np.asarray(step * _STEP_YD + (roll_yd - before) / rate)


def way_to_hole(ground: Ground, slowing: Floats, x: Floats, y: Floats) -> WayToHole:
    """Look along the straight ways from positions (n,), yards, to the hole and on."""
    px, py = ground.hole.pin
    to_pin, heading = np.hypot(px - x, py - y), np.arctan2(px - x, py - y)
    most = max(2, int(np.ceil(_FURTHEST * to_pin.max(initial=1.0) / _STEP_YD)))
    step = np.arange(most)
    middle = (step + 0.5) * _STEP_YD
    at_x = x[:, None] + middle * np.sin(heading)[:, None]
    at_y = y[:, None] + middle * np.cos(heading)[:, None]
    lie = ground.lie_at(at_x, at_y)
    rate = slowing.take(lie)
    inside = np.clip(to_pin[:, None] - step * _STEP_YD, 0.0, _STEP_YD)
    return WayToHole(to_pin, heading, lie, rate, np.cumsum(rate * _STEP_YD, axis=1), inside)


def puttable(ground: Ground, x: Floats, y: Floats) -> NDArray[np.bool_]:
    """Whether short grass alone lies between positions (n,), yards, and the hole.

    The hole must be near enough, the green nearer, and no bank between.
    """
    px, py = ground.hole.pin
    found = np.zeros(len(x), dtype=bool)
    near = np.flatnonzero(ground.from_pin(x, y) <= MOST_YD)
    if near.size == 0 or ground.lie_at(np.array([px]), np.array([py]))[0] != CODE[Lie.GREEN]:
        return found
    way = way_to_hole(ground, np.ones(len(LIES)), x[near], y[near])
    off = way.off_yd
    mown = (MOWN[way.lie] | (way.inside <= 0.0)).all(axis=1)
    found[near] = mown & (off <= MOST_OFF_YD) & _level(ground, way, x[near], y[near], off)
    return found


def _level(ground: Ground, way: WayToHole, x: Floats, y: Floats, off: Floats) -> NDArray[np.bool_]:
    """Whether no bank lies between balls and the green."""
    if ground.height is None:
        return np.ones(len(x), dtype=bool)
    edge_x, edge_y = x + off * np.sin(way.heading), y + off * np.cos(way.heading)
    rise = np.abs(ground.height_at(edge_x, edge_y) - ground.height_at(x, y))
    return np.asarray(rise <= STEEPEST * np.maximum(off, ground.frame.cell))
