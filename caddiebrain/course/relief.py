"""Where the Rules let a ball be dropped: exact geometry, in the yards of a hole.

Rules of Golf 2023: 14.6 (replay), 17.1d (penalty area), 18.2 (lost, out of bounds), 19.2 and 19.3
(unplayable), and Model Local Rule E-5 where the committee has adopted it. The player may choose among what
is offered here; local rules and the committee decide.

Not nearer the hole means: not inside the circle about the hole through the reference point. A club-length is
that of the player's longest club other than the putter (definition of club-length), 45 inches unless told.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from caddiebrain.course.geometry import areal
from caddiebrain.course.model import Point

__all__ = [
    "CLUB_LENGTH_YD",
    "Relief",
    "back_line",
    "back_on_the_line",
    "crossing_point",
    "fairway_drop",
    "lateral_area",
    "lateral_drop",
    "penalty_area_relief",
    "stroke_and_distance",
    "unplayable_relief",
]

CLUB_LENGTH_YD = 45.0 / 36.0
"""A driver of 45 inches."""
FARTHEST_BACK_YD = 200.0
"""How far back on the line is looked; the Rules set no limit."""

_TOUCH_YD = 1e-9
_CIRCLE_STEPS = 256
"""Corners per quarter circle: off by 0.005 yards at 250 yards."""


@dataclass(frozen=True)
class Relief:
    """One way on.

    Parameters
    ----------
    rule : str
        Number of the rule.
    spot : tuple of float
        Where the ball is dropped, yards in the hole's axes.
    penalty : int
        Penalty strokes.
    replay : bool
        True where the stroke is played again from where it was made.
    """

    rule: str
    spot: Point
    penalty: int
    replay: bool = False


def stroke_and_distance(previous: Point, rule: str = "14.6") -> Relief:
    """Play again from where the last stroke was made (Rules 14.6, 17.1d(1), 18.2b, 19.2a)."""
    return Relief(rule, (float(previous[0]), float(previous[1])), penalty=1, replay=True)


def crossing_point(path: ArrayLike, area: BaseGeometry) -> Point | None:
    """Return where a ball last crossed into an area (Rules 17.1d and 18.2, E-5).

    Parameters
    ----------
    path : array_like of shape (n, 2)
        The ball's way over the ground, from the stroke to its rest.
    area : shapely geometry
        A penalty area, or ground out of bounds.

    Returns
    -------
    tuple of float or None
        None where the ball does not come to rest inside, or was inside all the way.
    """
    spots = np.asarray(path, dtype=np.float64).reshape(-1, 2)
    steps = np.hypot(*np.diff(spots, axis=0).T)
    passed = np.concatenate([[0.0], steps.cumsum()])
    entry, left = None, -1.0
    for start, end, before in zip(spots[:-1], spots[1:], passed[:-1], strict=True):
        for first, last in _stretches(start, end, area):
            if before + first > left + _TOUCH_YD:
                entry = before + first
            left = before + last
    if entry is None or left < passed[-1] - _TOUCH_YD:
        return None
    if entry <= _TOUCH_YD and area.contains(shapely.Point(spots[0])):
        return None
    spot = [float(np.interp(entry, passed, spots[:, axis])) for axis in (0, 1)]
    return spot[0], spot[1]


def _stretches(start: ArrayLike, end: ArrayLike, area: BaseGeometry) -> list[tuple[float, float]]:
    """Where a straight step lies inside an area: from and to, in yards along the step, in order."""
    step = shapely.LineString([start, end])
    if step.length == 0.0:
        return []
    inside = [part for part in shapely.get_parts(step.intersection(area)) if part.length > 0.0]
    ends = [sorted(step.project(shapely.Point(corner)) for corner in part.coords) for part in inside]
    return sorted((reach[0], reach[-1]) for reach in ends)


def back_line(
    reference: Point,
    pin: Point,
    *,
    barred: BaseGeometry | None = None,
    within: BaseGeometry | None = None,
    farthest_yd: float = FARTHEST_BACK_YD,
) -> BaseGeometry:
    """Return the line straight back from the hole through a reference point, as far as it may be used.

    Parameters
    ----------
    reference : tuple of float
        The crossing point (17.1d(2)) or the ball (19.2b).
    pin : tuple of float
        The hole.
    barred : shapely geometry, optional
        Where no ball may be dropped: the same penalty area, out of bounds.
    within : shapely geometry, optional
        Where it must be dropped: a bunker (19.3a).
    farthest_yd : float
        Length looked at.

    Returns
    -------
    shapely geometry
        One or several lines; empty where there is none.
    """
    away = np.subtract(reference, pin)
    length = hypot(*away)
    if length == 0.0:
        return shapely.LineString()
    end = np.add(reference, farthest_yd * away / length)
    line: BaseGeometry = shapely.LineString([reference, end])
    if barred is not None:
        line = line.difference(barred)
    if within is not None:
        line = line.intersection(within)
    return line


def back_on_the_line(
    reference: Point,
    pin: Point,
    *,
    back_yd: float = 0.0,
    barred: BaseGeometry | None = None,
    within: BaseGeometry | None = None,
) -> Point | None:
    """Return the first spot on the back line at least so far behind the reference point.

    Parameters
    ----------
    back_yd : float
        Wished distance behind the reference point, yards.

    Returns
    -------
    tuple of float or None
        None where the line offers none.
    """
    line = back_line(reference, pin, barred=barred, within=within)
    start = shapely.Point(reference)
    best: tuple[float, Point] | None = None
    for part in shapely.get_parts(line):
        ends = [start.distance(shapely.Point(corner)) for corner in part.coords]
        if not ends or max(ends) < back_yd:
            continue
        away = max(back_yd, min(ends))
        unit = np.subtract(reference, pin) / hypot(*np.subtract(reference, pin))
        x, y = np.add(reference, away * unit)
        if best is None or away < best[0]:
            best = (away, (float(x), float(y)))
    return best[1] if best else None


def lateral_area(
    reference: Point,
    pin: Point,
    *,
    barred: BaseGeometry | None = None,
    within: BaseGeometry | None = None,
    club_length_yd: float = CLUB_LENGTH_YD,
) -> BaseGeometry:
    """Return the relief area two club-lengths about a point, not nearer the hole (17.1d(3), 19.2c, 19.3a)."""
    area: BaseGeometry = _disc(reference, 2.0 * club_length_yd).difference(_disc(pin, _gap(reference, pin)))
    if barred is not None:
        area = area.difference(barred)
    return area if within is None else area.intersection(within)


def lateral_drop(
    reference: Point,
    pin: Point,
    *,
    barred: BaseGeometry | None = None,
    within: BaseGeometry | None = None,
    club_length_yd: float = CLUB_LENGTH_YD,
) -> Point | None:
    """Return the lateral drop that most players take: level with the reference point, two club-lengths off.

    Of the two spots that are two club-lengths from the reference point and as far from the hole as it, the
    one that is allowed and farther from the barred ground; where neither is, the spot of the relief area
    that is nearest to the hole.

    Returns
    -------
    tuple of float or None
        None where there is no relief area.
    """
    area = lateral_area(reference, pin, barred=barred, within=within, club_length_yd=club_length_yd)
    if areal(area) is None:
        return None
    level = _level_spots(reference, pin, 2.0 * club_length_yd)
    allowed = [
        spot
        for spot in level
        if (barred is None or not barred.intersects(shapely.Point(spot)))
        and (within is None or within.intersects(shapely.Point(spot)))
    ]
    if allowed:
        if barred is None:
            return allowed[0]
        return max(allowed, key=lambda spot: float(barred.distance(shapely.Point(spot))))
    nearest = nearest_points(area, shapely.Point(pin))[0]
    return float(nearest.x), float(nearest.y)


def penalty_area_relief(
    path: ArrayLike,
    area: BaseGeometry,
    pin: Point,
    *,
    red: bool,
    out: BaseGeometry | None = None,
    club_length_yd: float = CLUB_LENGTH_YD,
) -> tuple[Relief, ...]:
    """Return the options of Rule 17.1d for a ball in a penalty area, one penalty stroke each.

    Parameters
    ----------
    path : array_like of shape (n, 2)
        The ball's way over the ground; its first spot is where the stroke was made.
    area : shapely geometry
        The penalty area.
    red : bool
        Red adds lateral relief to the two options of yellow.
    out : shapely geometry, optional
        Ground out of bounds, where nothing may be dropped.
    """
    spots = np.asarray(path, dtype=np.float64).reshape(-1, 2)
    options = [stroke_and_distance((float(spots[0, 0]), float(spots[0, 1])), "17.1d(1)")]
    crossed = crossing_point(spots, area)
    if crossed is None:
        return tuple(options)
    barred = area if out is None else area.union(out)
    behind = back_on_the_line(crossed, pin, barred=barred)
    if behind is not None:
        options.append(Relief("17.1d(2)", behind, 1))
    beside = lateral_drop(crossed, pin, barred=barred, club_length_yd=club_length_yd) if red else None
    if beside is not None:
        options.append(Relief("17.1d(3)", beside, 1))
    return tuple(options)


def unplayable_relief(
    ball: Point,
    previous: Point,
    pin: Point,
    *,
    bunker: BaseGeometry | None = None,
    barred: BaseGeometry | None = None,
    back_yd: float = 0.0,
    club_length_yd: float = CLUB_LENGTH_YD,
) -> tuple[Relief, ...]:
    """Return the options of Rule 19.2, or of 19.3 for a ball in a bunker.

    Parameters
    ----------
    ball, previous, pin : tuple of float
        Where the ball lies, where the last stroke was made, the hole.
    bunker : shapely geometry, optional
        The bunker the ball lies in: lateral and back-on-the-line relief stay in it (19.3a), and for two
        strokes in all the ball may be dropped behind it (19.3b).
    barred : shapely geometry, optional
        Ground out of bounds.
    back_yd : float
        Wished distance behind the ball for back on the line.
    """
    inside = "19.3a" if bunker is not None else ""
    options = [stroke_and_distance(previous, "19.2a")]
    behind = back_on_the_line(ball, pin, back_yd=back_yd, barred=barred, within=bunker)
    if behind is not None:
        options.append(Relief(inside or "19.2b", behind, 1))
    beside = lateral_drop(ball, pin, barred=barred, within=bunker, club_length_yd=club_length_yd)
    if beside is not None:
        options.append(Relief(inside or "19.2c", beside, 1))
    if bunker is not None:
        outside = bunker if barred is None else bunker.union(barred)
        behind = back_on_the_line(ball, pin, barred=outside)
        if behind is not None:
            options.append(Relief("19.3b", behind, 2))
    return tuple(options)


def fairway_drop(
    ball: Point,
    pin: Point,
    fairways: Sequence[BaseGeometry],
    *,
    barred: BaseGeometry | None = None,
    club_length_yd: float = CLUB_LENGTH_YD,
) -> Relief | None:
    """Return the drop of Model Local Rule E-5, two penalty strokes.

    The fairway reference point is the spot of the hole's fairway nearest to where the ball is lost or
    crossed the boundary, not nearer the hole. The ball may be dropped up to two club-lengths to the fairway
    side of the line from the hole through it; that is the spot given, as nobody would drop shorter.

    Parameters
    ----------
    ball : tuple of float
        Ball reference point: where it lies lost, or last crossed the boundary.
    fairways : sequence of shapely geometry
        Of the hole being played.
    barred : shapely geometry, optional
        Bunkers, penalty areas, greens and ground out of bounds: the drop must be in the general area.

    Returns
    -------
    Relief or None
        None where no fairway is as far from the hole as the ball.
    """
    ground: BaseGeometry = shapely.union_all(list(fairways)).difference(_disc(pin, _gap(ball, pin)))
    if barred is not None:
        ground = ground.difference(barred)
    if ground.is_empty:
        return None
    edge = nearest_points(ground, shapely.Point(ball))[0]
    along = np.subtract((edge.x, edge.y), pin)
    side = np.array([along[1], -along[0]]) / hypot(*along)
    if side @ np.subtract((edge.x, edge.y), ball) < 0:
        side = -side
    for share in (1.0, 0.5, 0.0):
        x, y = np.array([edge.x, edge.y]) + share * 2.0 * club_length_yd * side
        if barred is None or not barred.intersects(shapely.Point(x, y)):
            return Relief("E-5", (float(x), float(y)), 2)
    return None


def _gap(a: Point, b: Point) -> float:
    return hypot(a[0] - b[0], a[1] - b[1])


def _disc(centre: Point, radius: float) -> BaseGeometry:
    return shapely.Point(centre).buffer(radius, quad_segs=_CIRCLE_STEPS)


def _level_spots(reference: Point, pin: Point, radius: float) -> list[Point]:
    """Both spots at a radius from the reference point and as far from the hole as it: right one first."""
    gap = _gap(reference, pin)
    if gap * 2.0 < radius or gap == 0.0:
        return []
    ahead = np.subtract(pin, reference) / gap
    right = np.array([ahead[1], -ahead[0]])
    forward = radius * radius / (2.0 * gap)
    aside = (radius * radius - forward * forward) ** 0.5
    spots = [np.add(reference, forward * ahead + side * aside * right) for side in (1.0, -1.0)]
    return [(float(x), float(y)) for x, y in spots]
