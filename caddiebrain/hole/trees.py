"""What trees do to a flight: the chance that it is stopped, and where the ball then drops.

From every node rays are cast over the tree raster and the yards of trees under each ray are summed. A flight
that climbs through the canopy, or comes down through it, is stopped with chance 1 - exp(-yards / gap), ``gap``
being the mean free path the map gives (below the branches, that between trunks). A draw or a fade
is followed along its bend.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from caddiebrain.flight import curve_profile, shares_above
from caddiebrain.hole.ground import Canopy, Ground

__all__ = ["Arc", "Sight", "Stopped", "sight_from", "stopped_high", "stopped_low"]

_DIRECTIONS = 120
_STEP = 7.5
_RANGE = 270.0
_COARSE = 3.0
_PIECES = 3


@dataclass(frozen=True)
class Arc:
    """Height of a flight: ``carry``, ``apex`` in yards, ``apex_share`` of the carry at which it is highest."""

    carry: float
    apex: float
    apex_share: float

    def crossings(self, height: float) -> tuple[float, float]:
        """Distances at which the flight rises above and falls below a height; the apex twice if it never does."""
        up, down = shares_above(height, self.apex, self.apex_share)
        return float(up) * self.carry, float(down) * self.carry


@dataclass(frozen=True)
class Sight:
    """Trees seen from nodes.

    Parameters
    ----------
    canopies : tuple of Canopy
    samples : tuple of ndarray of uint8 (seeing nodes, directions, samples)
        For each canopy, how many samples of a ray up to each distance lie under trees.
    first : tuple of ndarray of float32 (seeing nodes, directions)
        For each canopy, distance of the first trees on each ray.
    row : ndarray (nodes,)
        Row of a node in ``samples``; -1 for nodes that see no trees.
    """

    canopies: tuple[Canopy, ...]
    samples: tuple[NDArray[np.uint8], ...]
    first: tuple[NDArray[np.float32], ...]
    row: NDArray[np.int64]

    def direction(self, heading: NDArray[np.floating]) -> NDArray[np.int64]:
        """Ray nearest to each heading (radians)."""
        ray: NDArray[np.int64] = np.rint(heading * (_DIRECTIONS / (2 * np.pi))).astype(np.int64) % _DIRECTIONS
        return ray

    def yards(
        self, canopy: int, row: NDArray[np.int64], ray: NDArray[np.int64], distance: NDArray[np.floating]
    ) -> NDArray[np.float64]:
        """Yards of trees along a ray up to a distance."""
        sample = np.clip(np.rint(distance / _STEP).astype(np.int64), 0, round(_RANGE / _STEP) - 1)
        yards: NDArray[np.float64] = self.samples[canopy][row, ray, sample] * _STEP
        return yards


@dataclass(frozen=True)
class Stopped:
    """Flights stopped by trees: ``chance`` (rows, groups, 2) on the way up and down, ``distance`` likewise."""

    chance: NDArray[np.float64]
    distance: NDArray[np.float64]
    heading: NDArray[np.float64]

    def some(self, rows: NDArray[np.bool_]) -> "Stopped":
        """Return some of the rows."""
        return Stopped(self.chance[rows], self.distance[rows], self.heading[rows])


def sight_from(ground: Ground, x: NDArray[np.float64], y: NDArray[np.float64]) -> Sight | None:
    """Cast rays from positions over the trees of a hole; None where there are no trees.

    ``Sight.row`` is -1 for positions that see none.
    """
    if not ground.canopies:
        return None
    angle = np.arange(_DIRECTIONS) * (2 * np.pi / _DIRECTIONS)
    distance = (np.arange(round(_RANGE / _STEP)) + 0.5) * _STEP
    pad = int(_RANGE / _COARSE) + 2
    frame = ground.frame
    factor = max(1, round(_COARSE / frame.cell))
    samples = []
    for canopy in ground.canopies:
        grid = canopy.stands.reshape(frame.rows, frame.columns)[factor // 2 :: factor, factor // 2 :: factor]
        padded = np.pad(grid, pad).astype(np.uint8)
        width = padded.shape[1]
        side = factor * frame.cell
        column = np.clip(((x - frame.x_min) / side).astype(np.int64), 0, grid.shape[1] - 1) + pad
        row = np.clip(((y - frame.y_min) / side).astype(np.int64), 0, grid.shape[0] - 1) + pad
        step_column = np.rint(np.outer(np.sin(angle), distance) / side).astype(np.int64)
        step_row = np.rint(np.outer(np.cos(angle), distance) / side).astype(np.int64)
        start = (row * width + column).astype(np.int32)
        offset = (step_row * width + step_column).astype(np.int32)
        seen = padded.ravel()[start[:, None, None] + offset]
        samples.append(np.cumsum(seen, axis=2, dtype=np.uint8))
    sees = np.any([s[:, :, -1].any(axis=1) for s in samples], axis=0)
    number = np.where(sees, np.cumsum(sees) - 1, -1)
    seen_from = tuple(s[sees] for s in samples)
    first = tuple((np.argmax(s > 0, axis=2) * _STEP).astype(np.float32) for s in seen_from)
    return Sight(ground.canopies, seen_from, first, number)


def stopped_high(
    sight: Sight, node: NDArray[np.int64], heading: NDArray[np.float64], arc: Arc, curve: float = 0.0
) -> Stopped:
    """Chance that full shots are stopped by trees.

    Parameters
    ----------
    node : ndarray (rows,)
        Nodes that see trees.
    heading : ndarray (rows, groups)
        Direction of the landing from the ball, radians.
    curve : float
        Sideways move in the air, yards to the right (a draw's is negative).
    """
    path = _Path(sight, np.broadcast_to(sight.row[node][:, None], heading.shape), heading, arc, curve)
    keep_up, keep_down = np.ones(heading.shape), np.ones(heading.shape)
    at_up, at_down = np.full(heading.shape, np.inf), np.full(heading.shape, np.inf)
    start = path.heading_at(0.0)
    ray_start = sight.direction(start)
    for i, canopy in enumerate(sight.canopies):
        base_up, base_down = arc.crossings(canopy.base)
        top_up, top_down = arc.crossings(canopy.top)
        up = path.yards(i, 0.0, base_up) / canopy.trunk_gap + path.yards(i, base_up, top_up) / canopy.gap
        down = path.yards(i, top_down, base_down) / canopy.gap
        down = down + path.yards(i, base_down, arc.carry) / canopy.trunk_gap
        keep_up, keep_down = keep_up * np.exp(-up), keep_down * np.exp(-down)
        hit = np.minimum(sight.first[i][path.row, ray_start] + 0.5 * canopy.gap, top_up)
        at_up = np.where(up > 0, np.minimum(at_up, hit), at_up)
        at_down = np.where(down > 0, np.minimum(at_down, 0.5 * (top_down + arc.carry)), at_down)
    chance = np.stack([1.0 - keep_up, keep_up * (1.0 - keep_down)], axis=-1)
    distance = np.stack([at_up, at_down], axis=-1)
    end = path.heading_at(0.9)
    return Stopped(chance, np.where(np.isfinite(distance), distance, 0.0), np.stack([start, end], axis=-1))


@dataclass(frozen=True)
class _Path:
    """The way of shots over the ground, straight or bent."""

    sight: Sight
    row: NDArray[np.int64]
    heading: NDArray[np.float64]
    arc: Arc
    curve: float

    def heading_at(self, share: float) -> NDArray[np.float64]:
        """Direction, from where it was struck, of a ball that has flown a share of its carry."""
        if self.curve == 0.0:
            return self.heading
        share = max(share, 1e-3)
        return self.heading + float(curve_profile(share, self.curve)) / (share * self.arc.carry)

    def yards(self, canopy: int, start: float, stop: float) -> NDArray[np.float64]:
        """Yards of trees between two distances; a bent way is taken in pieces."""
        pieces = 1 if self.curve == 0.0 else _PIECES
        total = np.zeros(self.heading.shape)
        edges = np.linspace(start, stop, pieces + 1)
        for a, b in pairwise(edges):
            ray = self.sight.direction(self.heading_at(0.5 * float(a + b) / self.arc.carry))
            upto = self.sight.yards(canopy, self.row, ray, np.asarray(b))
            total += upto - self.sight.yards(canopy, self.row, ray, np.asarray(a))
        return total


def stopped_low(
    sight: Sight, node: NDArray[np.int64], heading: NDArray[np.float64], distance: NDArray[np.float64]
) -> Stopped:
    """Chance that low shots, under the branches all the way, hit a trunk within ``distance`` (rows,) yards."""
    ray = sight.direction(heading)
    row = np.broadcast_to(sight.row[node][:, None], ray.shape)
    keep = np.ones(ray.shape)
    at = np.full(ray.shape, np.inf)
    for i, canopy in enumerate(sight.canopies):
        depth = sight.yards(i, row, ray, distance[:, None]) / canopy.trunk_gap
        keep = keep * np.exp(-depth)
        hit = sight.first[i][row, ray] + 0.3 * canopy.trunk_gap
        at = np.where(depth > 0, np.minimum(at, np.minimum(hit, distance[:, None])), at)
    chance = np.stack([1.0 - keep, np.zeros_like(keep)], axis=-1)
    where = np.where(np.isfinite(at), at, 0.0)
    return Stopped(chance, np.stack([where, where], -1), np.stack([heading, heading], axis=-1))
