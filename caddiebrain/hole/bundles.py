"""Points of a shot that go much the same way, followed into trees together."""

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.points import ErrorPoints
from caddiebrain.hole.swings import Offsets
from caddiebrain.hole.trees import Bundles

__all__ = ["bundle_means", "bundles_of", "group_edges"]

_GROUPS = ((50, 3, 1), (400, 6, 2))
"""Up to so many points, solid and mishit shots are followed into trees in so many directions each."""
_TEE_GROUPS = (36, 10)


def group_edges(points: ErrorPoints) -> NDArray[np.int64]:
    """Edges of bundles of points of like direction, solid ones first; a mishit comes down in other trees."""
    # With few directions the best aim is the one whose directions happen to miss the trees.
    n, solid = len(points.weight), int(points.solid.sum())
    many = next(((s, m) for most, s, m in _GROUPS if n <= most), _TEE_GROUPS)
    return np.unique(np.concatenate([_parts(0, solid, many[0]), _parts(solid, n, many[1])]))


def _parts(start: int, stop: int, parts: int) -> NDArray[np.int64]:
    """Edges that cut a range into parts, smaller ones at both ends: it is the wide shots that meet trees."""
    share = 0.5 - 0.5 * np.cos(np.pi * np.arange(parts + 1) / parts)
    return np.rint(start + (stop - start) * share).astype(np.int64)


def bundle_means(
    along: NDArray[np.float32], across: NDArray[np.float32], edges: NDArray[np.int64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Mean direction off the aimed line, radians, and mean distance of each bundle of points (..., bundles)."""
    turn = np.arctan2(across, along).astype(np.float64)
    length = np.hypot(across, along).astype(np.float64)
    # Points of a bundle weigh alike, for a bundle is of one part of the mixture.
    first, size = edges[:-1], np.diff(edges)
    return np.add.reduceat(turn, first, axis=-1) / size, np.add.reduceat(length, first, axis=-1) / size


def bundles_of(heading: NDArray[np.float32], offsets: Offsets, points: ErrorPoints) -> Bundles:
    """Bundle the points of shots aimed along headings (rows,)."""
    edges = group_edges(points)
    turn, length = bundle_means(offsets.along, offsets.across, edges)
    lines = heading[:, None].astype(np.float64) + turn
    return Bundles(edges, lines, np.broadcast_to(length, lines.shape))
