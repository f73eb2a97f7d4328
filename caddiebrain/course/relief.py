"""Where the Rules let a ball be dropped: exact geometry, in the yards of a hole.

Rules of Golf 2023: 17.1d (penalty area), 19.2 and 19.3 (unplayable), and Model Local Rule E-5 where the committee has
adopted it. Everything a plan drops goes through here; which of the places is best, a plan says.

Not nearer the hole means: not inside the circle about the hole through the reference point. A club-length is that of
the longest club other than the putter (definition of club-length), 45 inches.
"""

from collections.abc import Sequence
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry.base import BaseGeometry

from caddiebrain.course.lies import PRECEDENCE
from caddiebrain.course.model import Hole, Point
from caddiebrain.terms import Lie

__all__ = [
    "CLUB_LENGTH_YD",
    "TWO_CLUBS_YD",
    "Edges",
    "back_on_the_line",
    "beside",
    "crossing",
    "fairway_points",
    "onto_edge",
]

CLUB_LENGTH_YD = 45.0 / 36.0
"""A driver of 45 inches."""
TWO_CLUBS_YD = 2.0 * CLUB_LENGTH_YD

_SAME_YD = 1e-9
_OWN_YD = 25.0
"""A piece of fairway this near to the line of play is the hole's own; others belong to its neighbours."""
Floats = NDArray[np.float64]
Ways = tuple[Floats, Floats]
"""Heading, radians clockwise from the y axis, and distance, yards, from a reference point."""


def back_on_the_line(x: Floats, y: Floats, pin: Point, back_yd: ArrayLike) -> Ways:
    """Straight back from the hole (Rules 17.1d(2), 19.2b, 19.3).

    Parameters
    ----------
    x, y : ndarray (n,)
        Reference points: where balls crossed the edge, or where they lie.
    pin : tuple of float
    back_yd : array_like (k,)
        How far behind the reference points.

    Returns
    -------
    tuple of ndarray (n, k)
        Heading and distance from each reference point.
    """
    away = np.arctan2(x - pin[0], y - pin[1])[:, None]
    heading, distance = np.broadcast_arrays(away, np.asarray(back_yd, dtype=np.float64))
    return heading, distance


def beside(x: Floats, y: Floats, pin: Point, turns: int, reach_yd: ArrayLike = (TWO_CLUBS_YD,)) -> Ways:
    """Points within two club-lengths, not nearer the hole (Rules 17.1d(3), 19.2c, 19.3a).

    On each circle about the reference point that part is an arc. Its ends are level with the reference point: as far
    from the hole, to the left and to the right. The points divide the arc evenly, ends included, left to right.

    Parameters
    ----------
    x, y : ndarray (n,)
        Reference points.
    pin : tuple of float
    turns : int
        Points on each circle; an odd number has one straight back.
    reach_yd : array_like (k,)
        Radius of each circle, up to two club-lengths.

    Returns
    -------
    tuple of ndarray (n, k * turns)
        Heading and distance from each reference point, circle by circle.
    """
    away_x, away_y = x - pin[0], y - pin[1]
    reach = np.asarray(reach_yd, dtype=np.float64)
    # |away + reach u| = |away| at a turn t from straight back with cos t = -reach / (2 |away|).
    level = -reach / np.maximum(2.0 * np.hypot(away_x, away_y), _SAME_YD)[:, None]
    arc = np.arccos(np.maximum(level, -1.0))[:, :, None] * -np.linspace(-1.0, 1.0, turns)
    heading = np.arctan2(away_x, away_y)[:, None, None] + arc
    shape = (len(x), reach.size * turns)
    distance = np.broadcast_to(reach[:, None], heading.shape)
    return heading.reshape(shape), distance.reshape(shape)


def crossing(start: Floats, rest: Floats, area: BaseGeometry) -> Floats:
    """Where balls last crossed the edge of the area they came to rest in (Rules 17.1d, E-5).

    Parameters
    ----------
    start, rest : ndarray (n, 2)
        Where balls were played and where they lie; the way between is straight.
    area : shapely geometry

    Returns
    -------
    ndarray (n, 2)
        For a ball whose way meets no edge, the nearest point of the edge.
    """
    edge = shapely.boundary(area)
    way = shapely.linestrings(np.stack([start, rest], axis=1))
    met, which = shapely.get_coordinates(shapely.intersection(way, edge), return_index=True)
    place = onto_edge(rest, edge)
    # Nearest the rest last, so that it is what is kept.
    order = np.argsort(-np.hypot(*(met - rest[which]).T), kind="stable")
    place[which[order]] = met[order]
    return place


def onto_edge(place: Floats, edge: BaseGeometry) -> Floats:
    """Nearest points (n, 2) of an edge; places (n, 2) themselves where there is none."""
    if edge.is_empty or not len(place):
        return place.copy()
    shapely.prepare(edge)
    with np.errstate(divide="ignore", invalid="ignore"):  # of sides of no length to speak of
        nearest: Floats = shapely.get_coordinates(shapely.shortest_line(shapely.points(place), edge))[1::2]
    return np.where(np.isfinite(nearest), nearest, place)


def fairway_points(x: Floats, y: Floats, pin: Point, edges: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """Fairway reference points of Model Local Rule E-5: of the fairway, the nearest point not nearer the hole.

    Parameters
    ----------
    x, y : ndarray (n,)
        Where balls are lost or crossed the boundary, outside the fairway.
    pin : tuple of float
    edges : ndarray (m, 4)
        Sides of the fairway: from x, y, to x, y.

    Returns
    -------
    tuple of ndarray
        Points (n, 2), and whether there is one (n,).
    """
    ball, none = np.stack([x, y], axis=1), np.zeros(len(x), dtype=bool)
    if not len(edges) or not len(x):
        return ball, none
    a, along = edges[:, :2], edges[:, 2:] - edges[:, :2]
    square = np.maximum((along**2).sum(axis=1), _SAME_YD**2)
    # On a side, |a + t along - pin| = |ball - pin| where t solves a quadratic; between its roots is nearer the hole.
    half = ((a - pin) * along).sum(axis=1) / square
    gap = (((a - pin) ** 2).sum(axis=1) - ((ball - pin) ** 2).sum(axis=1)[:, None]) / square
    root = half**2 - gap
    width = np.sqrt(np.maximum(root, 0.0))
    foot = ((ball[:, None] - a) * along).sum(axis=2) / square
    low = np.where(root > 0.0, np.minimum(1.0, -half - width), 1.0)
    high = np.where(root > 0.0, np.maximum(0.0, -half + width), 0.0)
    share = np.stack(
        [np.clip(foot, 0.0, np.maximum(low, 0.0)), np.clip(foot, np.minimum(high, 1.0), 1.0)], axis=2
    )
    open_ = np.stack([low >= 0.0, high <= 1.0], axis=2)
    spot = a[:, None] + share[..., None] * along[:, None]
    far = np.where(open_, np.hypot(*np.moveaxis(spot - ball[:, None, None], 3, 0)), np.inf).reshape(
        len(x), -1
    )
    best = far.argmin(axis=1)
    rows = np.arange(len(x))
    return spot.reshape(len(x), -1, 2)[rows, best], np.isfinite(far[rows, best])


class Edges:
    """Exact edges, in a hole's yards, of the ground that costs strokes and of the hole's own fairway.

    Where areas overlap, the lie of `caddiebrain.course.lies.PRECEDENCE` holds, as everywhere.

    Parameters
    ----------
    hole : Hole
    """

    def __init__(self, hole: Hole) -> None:
        self.hole = hole

    @cached_property
    def penalty(self) -> BaseGeometry:
        """Penalty areas, yellow and red."""
        return self._ground(Lie.YELLOW, Lie.RED)

    @cached_property
    def out(self) -> BaseGeometry:
        """Out of bounds."""
        return self._ground(Lie.OUT)

    @cached_property
    def barred(self) -> BaseGeometry:
        """Where no ball may be dropped."""
        barred: BaseGeometry = shapely.union(self.penalty, self.out)
        shapely.prepare(barred)
        return barred

    @cached_property
    def fairway(self) -> Floats:
        """Sides (m, 4) of the fairway of the hole being played: every piece that comes near its line, and no tee."""
        line = shapely.LineString(self.hole.line)
        pieces = [p for p in shapely.get_parts(self._ground(Lie.FAIRWAY)) if p.distance(line) <= _OWN_YD]
        rings = [shapely.get_coordinates(ring) for ring in shapely.get_rings(pieces)]
        sides = [np.concatenate([ring[:-1], ring[1:]], axis=1) for ring in rings]
        return np.concatenate(sides) if sides else np.zeros((0, 4))

    @cached_property
    def bunkers(self) -> NDArray[np.object_]:
        """Bunkers, one by one."""
        bunkers: NDArray[np.object_] = shapely.get_parts(self._ground(Lie.SAND))
        return bunkers

    def may_drop(self, x: Floats, y: Floats) -> NDArray[np.bool_]:
        """Whether points (n,) are in bounds and outside every penalty area."""
        if self.barred.is_empty:
            return np.ones(len(x), dtype=bool)
        dry: NDArray[np.bool_] = ~shapely.contains_xy(self.barred, x, y)
        return dry

    def _ground(self, *lies: Lie) -> BaseGeometry:
        """Ground that has one of some lies that follow each other in precedence."""
        before = PRECEDENCE[: min(PRECEDENCE.index(lie) for lie in lies)]
        ground = _union(self.hole, lies)
        over = _union(self.hole, before) if not ground.is_empty else ground
        rest: BaseGeometry = shapely.difference(ground, over)
        return rest


def _union(hole: Hole, lies: Sequence[Lie]) -> BaseGeometry:
    union: BaseGeometry = shapely.union_all(
        [shapely.make_valid(a.shape) for a in hole.areas if a.lie in lies]
    )
    return union
