"""What a golfer sees of a hole: its green, the middle of the fairway, the ways the trees leave open."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt
from shapely import Point

from caddiebrain.course.model import Hole
from caddiebrain.hole.ground import CODE, PENALTY, Ground
from caddiebrain.hole.sight import Sight
from caddiebrain.terms import Lie

__all__ = ["Green", "MiddleLine", "green_of", "middle_line", "open_ways"]

Floats = NDArray[np.float64]

_STEP_YD = 2.0
_NO_GREEN_YD = 10.0
_WIDEST_YD = 60.0
_NEAR_YD = 25.0
_DIRECTIONS = 36
_PUNCH_STEP_YD = 10.0
_OFF_FAIRWAY = 1.5
"""Yards nearer the pin that a golfer would give up to be one yard nearer the fairway."""
_WALKED = 0.3
"""The same for a yard that a punch back to the fairway is longer."""
_EDGE_YD = 6.0
"""A punch is meant to end this far inside the fairway."""
_LEAST_GAIN_YD = 5.0
_ABOUT_YD = 8.0
_COSTLY = 100.0
"""Yards a golfer would give up to keep clear of ground that costs a stroke within ``_ABOUT_YD``."""


@dataclass(frozen=True)
class Green:
    """The green in play: its middle, unit vectors on along the last leg and to its right, and its outline.

    ``outline`` (n, 2) is measured from the middle; all in yards of the hole's axes.
    """

    middle: Floats
    along: Floats
    right: Floats
    outline: Floats

    def edge(self, way: Floats) -> float:
        """How far the green reaches from its middle in a direction."""
        return float((self.outline @ way).max())


def green_of(hole: Hole) -> Green:
    """Find the green the pin is on, or ten yards around the pin where the map has none."""
    pin = Point(hole.pin)
    shapes = [part for a in hole.areas if a.lie is Lie.GREEN for part in getattr(a.shape, "geoms", [a.shape])]
    shape = min(shapes, key=lambda s: s.distance(pin)) if shapes else pin.buffer(_NO_GREEN_YD)
    middle = np.array(shape.centroid.coords[0])
    last = np.subtract(hole.line[-1], hole.line[-2])
    along = last / max(float(np.hypot(*last)), 1e-9)
    right = np.array([along[1], -along[0]])
    return Green(middle, along, right, np.asarray(shape.exterior.coords) - middle)


@dataclass(frozen=True)
class MiddleLine:
    """Points down the middle of the fairway, or of the line of play where there is none; from tee to pin."""

    x: Floats
    y: Floats
    to_pin: Floats

    def from_pin(self, yards: float) -> Floats:
        """The last point of the line so far from the pin, shape (2,)."""
        beyond = np.flatnonzero(self.to_pin >= yards)
        i = int(beyond[-1]) if beyond.size else 0
        return np.array([self.x[i], self.y[i]])

    def furthest(self, x: Floats, y: Floats, reach: Floats | float) -> Floats:
        """The furthest point of the line within reach of each position (n,), shape (n, 2)."""
        distance = np.hypot(x[:, None] - self.x, y[:, None] - self.y)
        within = distance <= np.broadcast_to(reach, (len(x),))[:, None]
        last = distance.shape[1] - 1 - np.argmax(within[:, ::-1], axis=1)
        at = np.where(within.any(axis=1), last, np.argmin(distance, axis=1))
        return np.stack([self.x[at], self.y[at]], axis=1)


def middle_line(ground: Ground) -> MiddleLine:
    """Find the middle of the fairway along the line of play."""
    line = ground.hole.line
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    at = np.append(np.arange(0.0, along[-1], _STEP_YD), along[-1])
    x, y = np.interp(at, along, line[:, 0]), np.interp(at, along, line[:, 1])
    piece = np.clip(np.searchsorted(along, at, side="right") - 1, 0, len(line) - 2)
    step = np.diff(line, axis=0)[piece]
    right = np.stack([step[:, 1], -step[:, 0]], axis=1) / np.maximum(np.hypot(*step.T), 1e-9)[:, None]
    across = np.arange(-_WIDEST_YD, _WIDEST_YD + 0.5, 1.0)
    lie = ground.lie_at(x[:, None] + across * right[:, :1], y[:, None] + across * right[:, 1:])
    shift = np.array([_middle(row, across) for row in np.isin(lie, [CODE[Lie.FAIRWAY], CODE[Lie.GREEN]])])
    x, y = x + shift * right[:, 0], y + shift * right[:, 1]
    px, py = ground.hole.pin
    x[-1], y[-1] = px, py
    return MiddleLine(x, y, np.hypot(x - px, y - py))


def _middle(mown: NDArray[np.bool_], across: Floats) -> float:
    """Offset of the middle of the mown strip nearest the line; 0 where there is none near."""
    near = np.flatnonzero(mown & (np.abs(across) <= _NEAR_YD))
    if near.size == 0:
        return 0.0
    start = near[np.argmin(np.abs(across[near]))]
    gaps = np.flatnonzero(~mown)
    low = gaps[gaps < start].max(initial=-1) + 1
    high = gaps[gaps > start].min(initial=len(mown)) - 1
    return float(across[low] + across[high]) / 2


def open_ways(
    ground: Ground,
    sight: Sight,
    place: tuple[Floats, Floats, NDArray[np.int64]],
    longest: float,
    onward: bool,
) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Heading and distance of the punch a golfer would choose by eye, and whether it is worth a stroke.

    Parameters
    ----------
    place : tuple of ndarray (n,)
        x, y and the rows of the positions in ``sight``.
    longest : float
        Longest punch, yards.
    onward : bool
        Whether to get as near the pin as the gaps allow, or back to short grass the shortest way.
    """
    x, y = place[0][:, None, None], place[1][:, None, None]
    row = place[2][:, None, None]
    heading = (np.arange(_DIRECTIONS) * (2 * np.pi / _DIRECTIONS))[None, :, None]
    distance = np.arange(_PUNCH_STEP_YD, longest + 1e-9, _PUNCH_STEP_YD)[None, None, :]
    end_x, end_y = x + distance * np.sin(heading), y + distance * np.cos(heading)
    shape = end_x.shape
    through = np.zeros(shape)
    for i, canopy in enumerate(sight.canopies):
        yards = sight.yards(i, *(np.broadcast_to(a, shape) for a in (row, heading, distance)))
        through += yards / canopy.trunk_gap
    clear = np.exp(-through)
    inside = ground.frame.holds(end_x.ravel(), end_y.ravel()).reshape(shape)
    there, here = _to_go(ground, end_x, end_y, onward), _to_go(ground, x, y, onward, arrived=True)
    there += _COSTLY * _costly(ground, end_x, end_y) + np.where(inside, 0.0, 1e3)
    if not onward:
        there = there + _WALKED * distance
    cost = clear * there + (1.0 - clear) * here  # a ball that is stopped has gained nothing
    best = cost.reshape(len(cost), -1).argmin(axis=1)
    gained = here[:, 0, 0] - cost.reshape(len(cost), -1).min(axis=1)
    turn, step = np.divmod(best, shape[2])
    return heading[0, turn, 0], distance[0, 0, step], gained >= _LEAST_GAIN_YD


def _to_go(ground: Ground, x: Floats, y: Floats, onward: bool, arrived: bool = False) -> Floats:
    """How far from home a golfer feels, yards: from the fairway, and if bound onward from the pin, too.

    A ball that has ``arrived`` on short grass is home; one that is yet to be played is meant to end well inside.
    """
    cell = ground.frame.index(x, y)
    off = _from_fairway(ground)[cell]
    if arrived:
        off = np.where(np.isin(ground.lie[cell], [CODE[Lie.FAIRWAY], CODE[Lie.GREEN]]), 0.0, off)
    return np.asarray(ground.from_pin(x, y) + _OFF_FAIRWAY * off if onward else off)


def _from_fairway(ground: Ground) -> Floats:
    """Yards from every cell to the inside of a fairway or green; to the pin where there is neither."""
    frame = ground.frame
    mown = np.isin(ground.lie, [CODE[Lie.FAIRWAY], CODE[Lie.GREEN]]).reshape(frame.rows, frame.columns)
    inside = distance_transform_edt(mown) * frame.cell >= _EDGE_YD
    if not inside.any():
        inside = np.zeros_like(mown)
        inside.ravel()[frame.index(*(np.array([v]) for v in ground.hole.pin))] = True
    yards: Floats = distance_transform_edt(~inside).ravel() * frame.cell
    return yards


def _costly(ground: Ground, x: Floats, y: Floats) -> NDArray[np.bool_]:
    """Whether ground that costs a stroke lies around positions."""
    steps = ((0.0, 0.0), (0.0, _ABOUT_YD), (0.0, -_ABOUT_YD), (_ABOUT_YD, 0.0), (-_ABOUT_YD, 0.0))
    near = np.zeros(x.shape, dtype=bool)
    for dx, dy in steps:
        near |= np.isin(ground.lie_at(x + dx, y + dy), (*PENALTY, CODE[Lie.OUT]))
    return near
