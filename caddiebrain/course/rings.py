"""Rings of an OpenStreetMap multipolygon from the ways it is made of.

Member ways are pieces of rings in any order and direction. A ring is whole when every end meets another end:
walking along unused pieces from end to end then closes. A walk that comes back to a spot it has passed cuts
off a ring there, so rings that touch at a node come out one by one. Rings inside rings are holes, rings
inside those islands (even-odd), whatever roles the members claim.

Source: OpenStreetMap wiki, Relation:multipolygon.
"""

from collections.abc import Hashable, Sequence
from typing import TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

__all__ = ["area_of_rings", "join_rings"]

Node = TypeVar("Node", bound=Hashable)


def join_rings(pieces: Sequence[Sequence[Node]]) -> tuple[list[list[Node]], int]:
    """Join pieces into closed rings.

    Parameters
    ----------
    pieces : sequence of sequence
        Each a run of node identities, at least two long.

    Returns
    -------
    rings : list of list
        Closed: the first identity is also the last. At least four long.
    loose : int
        How many ends met no other end.
    """
    at: dict[Node, list[int]] = {}
    for index, piece in enumerate(pieces):
        at.setdefault(piece[0], []).append(index)
        at.setdefault(piece[-1], []).append(index)
    used = [False] * len(pieces)
    rings: list[list[Node]] = []
    loose = 0
    for start in range(len(pieces)):
        if used[start]:
            continue
        path: dict[Node, int] = {pieces[start][0]: 0}
        onward: int | None = start
        while onward is not None:
            used[onward] = True
            piece, tip = pieces[onward], next(reversed(path))
            _walk(path, piece[1:] if piece[0] == tip else piece[-2::-1], rings)
            tip = next(reversed(path))
            onward = _unused(at[tip], used)
        loose += 2 if len(path) > 1 else 0
    return [ring for ring in rings if len(ring) >= 4], loose


def area_of_rings(rings: Sequence[NDArray[np.float64]]) -> Polygon | MultiPolygon | None:
    """Return the ground that lies within an odd number of rings.

    Parameters
    ----------
    rings : sequence of ndarray of shape (n, 2)
        Closed.

    Returns
    -------
    Polygon, MultiPolygon or None
        None where there is no ring. May be invalid where rings cross.
    """
    if not rings:
        return None
    plain = [Polygon(ring) for ring in rings]
    order = sorted(range(len(plain)), key=lambda index: -plain[index].area)
    spots = [_inner_spot(polygon) for polygon in plain]
    depth, parent = [0] * len(plain), [-1] * len(plain)
    tree = shapely.STRtree(plain)
    rank = {index: place for place, index in enumerate(order)}
    for index in order:
        around = [int(j) for j in tree.query(spots[index], predicate="within") if rank[int(j)] < rank[index]]
        depth[index] = len(around)
        parent[index] = max(around, key=lambda j: rank[j], default=-1)
    cut_outs: dict[int, list[NDArray[np.float64]]] = {}
    for index in order:
        if depth[index] % 2 == 1:
            cut_outs.setdefault(parent[index], []).append(rings[index])
    polygons = [Polygon(rings[i], cut_outs.get(i, [])) for i in order if depth[i] % 2 == 0]
    return polygons[0] if len(polygons) == 1 else MultiPolygon(polygons)


def _unused(pieces: list[int], used: Sequence[bool]) -> int | None:
    """Take a piece that is not used yet; used ones are dropped, so that none is looked at twice."""
    while pieces:
        if not used[pieces[-1]]:
            return pieces[-1]
        pieces.pop()
    return None


def _walk(path: dict[Node, int], nodes: Sequence[Node], rings: list[list[Node]]) -> None:
    """Carry a path on along nodes, and cut off a ring wherever it comes back to a spot on itself."""
    for node in nodes:
        if node not in path:
            path[node] = len(path)
            continue
        ring = [node]
        while (tip := next(reversed(path))) != node:
            ring.append(tip)
            del path[tip]
        rings.append([*ring, node])


def _inner_spot(polygon: Polygon) -> shapely.Point:
    """A spot inside a ring; rings that cross themselves may have none and give a corner."""
    try:
        return polygon.representative_point()
    except shapely.errors.GEOSException:
        return shapely.Point(polygon.exterior.coords[0])
