"""Smooth shapes along a line of play: a fairway, a bunker beside it, a pond across it.

A strip has coordinates (s, d): s yards along the line, d yards to the right of it. Every shape is a row of
cross-sections on a strip. Its outline touches all four sides of the box it was asked for, so that "from 210 to
260, 8 off the fairway, 20 wide" is kept to the yard, and is rounded and uneven in between. Same numbers, same
shape: the unevenness comes from sines whose phase the caller sets.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import PchipInterpolator
from shapely import MultiPolygon, Polygon

from caddiebrain.course.geometry import areal

__all__ = ["LOOKS", "Edge", "Look", "Strip", "Width", "beside", "blob", "spread"]

Floats = NDArray[np.float64]
Edge = Callable[[Floats], Floats]
"""Where something begins: d for every s."""

FILLET_YD = 60.0
"""A dogleg turns in a curve that begins at most this far before the corner."""
STATION_YD = 9.0
MOST = 30
SLIT_YD = 0.01
"""Slits narrower than twice this are closed: rounding leaves them between cells that share an edge."""
CAP_RAD = np.radians([0.0, 12.0, 30.0, 50.0, 70.0])
"""Angles at which a rounded end gets a cross-section."""


class Strip:
    """The ground along a line of play.

    Parameters
    ----------
    corners : array_like of shape (n, 2)
        Start, turns and end, yards.
    fillet_yd : float
        Corners are rounded over this much of the legs before and after; 0 keeps the line as it is.
    """

    def __init__(self, corners: ArrayLike, fillet_yd: float = FILLET_YD) -> None:
        self.corners = np.asarray(corners, dtype=np.float64)
        legs = np.hypot(*np.diff(self.corners, axis=0).T)
        self.turns = np.concatenate([[0.0], legs.cumsum()])
        self.length = float(self.turns[-1])
        self._s, self._xy = self._rounded(legs, fillet_yd)
        step = np.diff(self._xy, axis=0)
        ahead = step / np.hypot(*step.T)[:, np.newaxis]
        self._ahead = np.vstack([ahead[:1], ahead[:-1] + ahead[1:], ahead[-1:]])

    def _rounded(self, legs: Floats, fillet: float) -> tuple[Floats, Floats]:
        """Return distances and spots; outside the curves, distances are those along the corners."""
        s, xy = [np.zeros(1)], [self.corners[:1]]
        for i in range(1, len(self.corners) - 1):
            before, corner, after = self.corners[i - 1 : i + 2]
            reach = min(fillet, 0.45 * legs[i - 1], 0.45 * legs[i])
            u = np.linspace(0.0, 1.0, 13)[:, np.newaxis]
            first = corner + reach * (before - corner) / legs[i - 1]
            last = corner + reach * (after - corner) / legs[i]
            curve = (1 - u) ** 2 * first + 2 * u * (1 - u) * corner + u**2 * last
            s.append(self.turns[i] + reach * (2.0 * u[:, 0] - 1.0))
            xy.append(curve)
        s.append(self.turns[-1:])
        xy.append(self.corners[-1:])
        distance, spots = np.concatenate(s), np.vstack(xy)
        new = np.concatenate([[True], np.diff(distance) > 1e-9])
        return distance[new], spots[new]

    def at(self, s: ArrayLike, d: ArrayLike = 0.0) -> Floats:
        """Return the spots (n, 2) at distances s and offsets d; straight on beyond both ends."""
        s, d = np.broadcast_arrays(np.asarray(s, dtype=np.float64), np.asarray(d, dtype=np.float64))
        inside = np.clip(s, 0.0, self.length)
        spots = np.column_stack([np.interp(inside, self._s, column) for column in self._xy.T])
        ahead = self.ahead(inside)
        right = np.column_stack([ahead[:, 1], -ahead[:, 0]])
        placed: Floats = spots + (s - inside)[:, np.newaxis] * ahead + d[:, np.newaxis] * right
        return placed

    def ahead(self, s: ArrayLike) -> Floats:
        """Return the unit vectors (n, 2) of play at distances s."""
        inside = np.clip(np.atleast_1d(np.asarray(s, dtype=np.float64)), 0.0, self.length)
        vectors = np.column_stack([np.interp(inside, self._s, column) for column in self._ahead.T])
        unit: Floats = vectors / np.hypot(*vectors.T)[:, np.newaxis]
        return unit


@dataclass(frozen=True)
class Width:
    """Where the fairway's edges are: knots of distance, middle and width, smooth between, level beyond."""

    s: Floats
    middle: Floats
    width: Floats

    def edge(self, side: float) -> Edge:
        """Return the offset of the right (+1) or left (-1) edge as a function of distance."""
        knots = self.middle + side * self.width / 2.0
        if len(self.s) == 1:
            return lambda s: np.full_like(s, knots[0])
        smooth = PchipInterpolator(self.s, knots)
        return lambda s: np.asarray(smooth(np.clip(s, self.s[0], self.s[-1])), dtype=np.float64)

    def shape(self, strip: Strip, round_yd: float = 14.0) -> Polygon | MultiPolygon:
        """Return the fairway with rounded ends."""
        start, end = float(self.s[0]), float(self.s[-1])
        s = _stations(start, end, round_yd)
        left, right = self.edge(-1.0)(s), self.edge(1.0)(s)
        narrow = _ends(s, start, end, round_yd)
        middle, half = (left + right) / 2.0, (right - left) / 2.0 * narrow
        return _sections(strip.at(s, middle - half), strip.at(s, middle + half))


@dataclass(frozen=True)
class Look:
    """How shapes of one kind are drawn.

    Parameters
    ----------
    roundness : float
        Length of a rounded end as a share of the thickness; 0 for square ends.
    wave : float
        Unevenness of both sides as a share of the thickness.
    wave_yd : float
        Length of its waves.
    bend : float
        How far the middle bows out, as a share of the thickness; makes a kidney.
    """

    roundness: float
    wave: float
    wave_yd: float
    bend: float = 0.0


LOOKS: dict[str, Look] = {
    "bunker": Look(1.1, 0.08, 14.0, bend=0.25),
    "water": Look(0.9, 0.07, 40.0, bend=0.05),
    "trees": Look(0.5, 0.10, 34.0),
    "thick": Look(0.6, 0.08, 30.0),
    "tight": Look(0.9, 0.06, 30.0),
    "out": Look(0.0, 0.0, 60.0),
}


def beside(
    strip: Strip, look: Look, along: tuple[float, float], near: Edge, width: float, phase: float
) -> Polygon | MultiPolygon:
    """Draw a shape on a strip.

    Parameters
    ----------
    strip : Strip
        Its ground.
    look : Look
        Its manner.
    along : tuple of float
        Where it begins and ends along the strip.
    near : callable
        Offset of its near side at every distance.
    width : float
        Its extent away from ``near``, right positive, left negative.
    phase : float
        Sets its unevenness.

    Returns
    -------
    Polygon or MultiPolygon
        Valid; it touches begin, end, near side and far side.
    """
    start, end = along
    length, across = end - start, abs(width)
    if across <= length:
        run = _stations(0.0, length, look.roundness * across)
        low, high = _profile(run, length, across, look, phase)
        s = start + run
        d = near(s)
        return _sections(strip.at(s, d + width * low), strip.at(s, d + width * high))
    run = _stations(0.0, across, look.roundness * length)
    low, high = _profile(run, across, length, look, phase)
    share = run * np.sign(width)
    rows = [strip.at(s, near(s) + share) for s in (start + length * low, start + length * high)]
    return _sections(rows[0], rows[1])


def spread(middle: float, width: float) -> tuple[Edge, float]:
    """Return ``near`` and ``width`` of a shape that lies evenly about an offset from the line."""
    return (lambda s: np.full_like(s, middle - width / 2.0)), width


def blob(centre: ArrayLike, ahead: ArrayLike, depth: float, width: float, phase: float) -> Polygon:
    """Draw a green: an uneven oval that touches the front, back, left and right it was asked for.

    Parameters
    ----------
    centre, ahead : array_like of shape (2,)
        Its middle, and the unit vector from its front to its back.
    depth, width : float
        Front to back and side to side.
    phase : float
        Sets its unevenness.
    """
    angle = np.linspace(0.0, 2.0 * np.pi, 33)[:-1]
    radius = 1.0 + 0.06 * np.cos(2.0 * angle + phase) + 0.05 * np.cos(3.0 * angle + 2.3 * phase + 1.0)
    back, right = radius * np.cos(angle), radius * np.sin(angle)
    back = depth * ((back - back.min()) / np.ptp(back) - 0.5)
    right = width * ((right - right.min()) / np.ptp(right) - 0.5)
    ex, ey = np.asarray(ahead, dtype=np.float64)
    return Polygon(np.asarray(centre) + np.column_stack([back * ex + right * ey, back * ey - right * ex]))


def _stations(start: float, end: float, reach: float) -> Floats:
    """Return distances for cross-sections: even in the middle, by equal angles in ends of length ``reach``."""
    reach = min(reach, (end - start) / 2.0)
    cap = reach * (1.0 - np.cos(CAP_RAD))
    body = np.linspace(start + reach, end - reach, int(np.clip(round((end - start) / STATION_YD), 2, MOST)))
    placed = np.concatenate([start + cap, body, end - cap])
    distinct: Floats = np.unique(np.round(placed, 6))
    return distinct


def _ends(s: Floats, start: float, end: float, reach: float) -> Floats:
    """Return the share of full thickness (0 to 1) of a shape with elliptic ends."""
    if reach <= 0.0:
        return np.ones_like(s)
    depth = np.minimum(np.minimum(s - start, end - s) / min(reach, (end - start) / 2.0), 1.0)
    share: Floats = np.sqrt(np.clip(1.0 - (1.0 - depth) ** 2, 0.0, 1.0))
    return share


def _profile(run: Floats, length: float, thickness: float, look: Look, phase: float) -> tuple[Floats, Floats]:
    """Return the near and far side (0 to 1 of the thickness) at stations along the longer way."""
    if look.roundness == 0.0:
        return np.zeros_like(run), np.ones_like(run)
    full = _ends(run, 0.0, length, look.roundness * thickness)
    turn = 2.0 * np.pi * run / min(look.wave_yd, length)
    low = -full / 2.0 * (1.0 - 2.0 * look.wave * np.sin(turn + phase))
    high = full / 2.0 * (1.0 - 2.0 * look.wave * np.sin(0.73 * turn + 1.7 * phase))
    bow = look.bend * (1.0 - (2.0 * run / length - 1.0) ** 2)
    low, high = low + bow, high + bow
    floor, top = low.min(), high.max()
    return (low - floor) / (top - floor), (high - floor) / (top - floor)


def _sections(first: Floats, second: Floats) -> Polygon | MultiPolygon:
    """Join cross-sections to a shape. Inside a sharp turn sections cross; then their union is the shape."""
    outline = Polygon(np.vstack([first, second[::-1]]))
    if outline.is_valid:
        return outline
    corners = np.stack([first[:-1], first[1:], second[1:], second[:-1]], axis=1)
    cells = [shapely.MultiPoint(cell).convex_hull for cell in corners]
    joined = shapely.union_all(cells).buffer(SLIT_YD, join_style="mitre").buffer(-SLIT_YD, join_style="mitre")
    return areal(joined) or Polygon()
