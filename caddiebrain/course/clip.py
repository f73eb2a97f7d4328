"""Cut shapes down to a box in time that grows only with their number of corners.

Areas are cut by the four sides of the box in turn (Sutherland & Hodgman 1974, *Communications of the ACM*
17(1):32-42): where an area leaves the box in several prongs, they stay joined along its side by strips of no
width. Lines are cut to the runs of steps that may touch the box.
"""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiPolygon, Polygon

__all__ = ["clip_area", "clip_line"]

Box = Sequence[float] | NDArray[np.float64]
"""West, south, east, north in the units of the shape."""


def clip_area(shape: Polygon | MultiPolygon, box: Box) -> Polygon | MultiPolygon | None:
    """Return the part of an area inside a box; None where there is none. It may touch itself along the box."""
    kept = []
    for polygon in shapely.get_parts(shape):
        outer = _clip_ring(shapely.get_coordinates(polygon.exterior), box)
        inner = [_clip_ring(shapely.get_coordinates(ring), box) for ring in polygon.interiors]
        if len(outer) >= 4:
            kept.append(Polygon(outer, [ring for ring in inner if len(ring) >= 4]))
    if not kept:
        return None
    return kept[0] if len(kept) == 1 else MultiPolygon(kept)


def clip_line(line: LineString, box: Box) -> list[LineString]:
    """Return the runs of a line whose steps may touch a box."""
    spots = shapely.get_coordinates(line)
    low, high = np.minimum(spots[:-1], spots[1:]), np.maximum(spots[:-1], spots[1:])
    touch = ((low <= box[2:4]) & (high >= box[0:2])).all(axis=1)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], touch, [False]]).astype(np.int8)))
    return [LineString(spots[start : end + 1]) for start, end in edges.reshape(-1, 2)]


def _clip_ring(ring: NDArray[np.float64], box: Box) -> NDArray[np.float64]:
    """Cut a closed ring by the four sides of a box; empty where nothing is left."""
    spots = ring[:-1]
    for axis, bound, sign in ((0, box[0], 1.0), (1, box[1], 1.0), (0, box[2], -1.0), (1, box[3], -1.0)):
        if len(spots) == 0:
            break
        spots = _clip_side(spots, axis, bound, sign)
    return np.vstack([spots, spots[:1]]) if len(spots) else spots


def _clip_side(spots: NDArray[np.float64], axis: int, bound: float, sign: float) -> NDArray[np.float64]:
    """Keep what lies on one side of a line: on every step first where it crosses, then its end if inside."""
    onward = np.roll(spots, -1, axis=0)
    depth, depth_on = sign * (spots[:, axis] - bound), sign * (onward[:, axis] - bound)
    inside = depth_on >= 0.0
    crosses = (depth >= 0.0) != inside
    share = np.where(crosses, depth / np.where(crosses, depth - depth_on, 1.0), 0.0)
    cut = spots + share[:, np.newaxis] * (onward - spots)
    cut[:, axis] = bound
    kept: NDArray[np.float64] = np.stack([cut, onward], axis=1)[np.column_stack([crosses, inside])]
    return kept
