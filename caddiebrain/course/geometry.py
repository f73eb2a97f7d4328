"""Small plane geometry that several files of this room need. Yards throughout."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely import MultiPolygon, Polygon

__all__ = ["Frame", "areal", "far_side", "play_line", "right_side", "side_strip"]

FAR = 1.0e5
"""Longer than any extract is wide."""


@dataclass(frozen=True)
class Frame:
    """The axes of a hole inside a larger plane: origin at the tee, y toward the pin, x to the right."""

    origin: tuple[float, float]
    ahead: tuple[float, float]
    """Unit vector of the y axis."""

    @classmethod
    def between(cls, tee: ArrayLike, pin: ArrayLike) -> "Frame":
        """Return the frame of a hole; a hole of no length looks along the plane's y axis."""
        start, end = np.asarray(tee, dtype=np.float64), np.asarray(pin, dtype=np.float64)
        length = float(np.hypot(*(end - start)))
        ahead = (end - start) / length if length > 0 else np.array([0.0, 1.0])
        return cls((float(start[0]), float(start[1])), (float(ahead[0]), float(ahead[1])))

    def to_local(self, xy: ArrayLike) -> NDArray[np.float64]:
        """Turn (n, 2) spots of the plane into the hole's axes."""
        offset = np.asarray(xy, dtype=np.float64).reshape(-1, 2) - self.origin
        ex, ey = self.ahead
        local: NDArray[np.float64] = offset @ np.array([[ey, ex], [-ex, ey]])
        return local

    def to_plane(self, xy: ArrayLike) -> NDArray[np.float64]:
        """Turn (n, 2) spots of the hole's axes into the plane."""
        ex, ey = self.ahead
        turned = np.asarray(xy, dtype=np.float64).reshape(-1, 2) @ np.array([[ey, -ex], [ex, ey]])
        placed: NDArray[np.float64] = turned + np.array(self.origin)
        return placed


def areal(shape: shapely.Geometry) -> Polygon | MultiPolygon | None:
    """Return the part of a shape that has an area; None where there is none."""
    if isinstance(shape, Polygon | MultiPolygon):
        return None if shape.is_empty else shape
    parts = [p for p in shapely.get_parts(shape) if isinstance(p, Polygon | MultiPolygon) and p.area > 0]
    flat = [polygon for part in parts for polygon in shapely.get_parts(part)]
    if not flat:
        return None
    return flat[0] if len(flat) == 1 else MultiPolygon(flat)


def play_line(line: NDArray[np.float64], tee: ArrayLike, pin: ArrayLike) -> NDArray[np.float64]:
    """Draw a hole's line anew from a tee to a pin, keeping the turns of a dogleg between them.

    Parameters
    ----------
    line : ndarray of shape (n, 2)
        From tee to green; its own ends are not kept.
    tee, pin : array_like of shape (2,)
        The new ends.

    Returns
    -------
    ndarray of shape (m, 2)
    """
    start, end = np.asarray(tee, dtype=np.float64), np.asarray(pin, dtype=np.float64)
    drawn = shapely.LineString(line)
    along = np.concatenate([[0.0], np.hypot(*np.diff(line, axis=0).T).cumsum()])[1:-1]
    first = drawn.project(shapely.Point(start))
    last = drawn.project(shapely.Point(end))
    turns = line[1:-1][(along > first + 1.0) & (along < last - 1.0)]
    return np.vstack([start, turns, end])


def side_strip(boundary: shapely.LineString, depth: float) -> Polygon | MultiPolygon:
    """Return the ground within a depth of a boundary line, to both sides of it and not beyond its ends."""
    return boundary.buffer(depth, cap_style="flat", join_style="mitre", mitre_limit=2.0)


def far_side(
    boundary: shapely.LineString, strip: Polygon | MultiPolygon, line: shapely.LineString
) -> Polygon | MultiPolygon | None:
    """Return the ground beside a boundary line, on the side away from a line of play.

    Parameters
    ----------
    boundary : LineString
        A line that marks out of bounds; a closed one marks what lies inside it or outside it.
    strip : Polygon or MultiPolygon
        The ground beside the boundary that counts, as `side_strip` gives it (slow to work out, the same for
        every hole).
    line : LineString
        The line of play: the side that holds more of it is in bounds.

    Returns
    -------
    Polygon, MultiPolygon or None
    """
    if boundary.is_closed and len(boundary.coords) >= 4:
        inside = areal(shapely.make_valid(Polygon(boundary.coords)))
        if inside is None:
            return None
        ring_holds_play = line.intersection(inside).length > line.length / 2
        return areal(strip.difference(inside) if ring_holds_play else inside)
    ground = shapely.box(*shapely.total_bounds([strip, line])).buffer(10.0, join_style="mitre")
    cut = shapely.node(shapely.MultiLineString([_carried_on(boundary), *_edges(ground)]))
    sides = [
        side for side in shapely.get_parts(shapely.polygonize([cut])) if ground.contains(side.buffer(-0.01))
    ]
    out = [side for side in sides if line.intersection(side).length <= line.length / 2]
    return areal(shapely.union_all(out).intersection(strip)) if out else None


def right_side(boundary: shapely.LineString, depth: float) -> Polygon | MultiPolygon | None:
    """Return the strip of a given depth to the right of a directed line, as a coastline has its water."""
    return areal(shapely.make_valid(boundary.buffer(-depth, single_sided=True, join_style="mitre")))


def _carried_on(line: shapely.LineString) -> shapely.LineString:
    """Carry a line straight on at both ends, beyond any map."""
    spots = np.asarray(line.coords)
    spots = spots[np.concatenate([[True], np.any(np.diff(spots, axis=0) != 0, axis=1)])]
    head, tail = spots[0] - spots[1], spots[-1] - spots[-2]
    first = spots[0] + FAR * head / np.hypot(*head)
    last = spots[-1] + FAR * tail / np.hypot(*tail)
    return shapely.LineString(np.vstack([first, spots, last]))


def _edges(ground: Polygon) -> list[shapely.LineString]:
    return [shapely.LineString(ground.exterior.coords)]
