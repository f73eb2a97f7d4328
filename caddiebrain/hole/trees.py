"""What trees do to a flight: the chance that it is stopped, and where the ball then drops.

From every node rays are cast over the tree raster and the yards of trees under each ray are summed. A flight
that climbs through the canopy, or comes down through it, is stopped with chance 1 - exp(-yards / gap), ``gap``
being the mean free path the map gives (below the branches, that between trunks). A draw or a fade
is followed along its bend, and so is a ball that the wind carries sideways, late in its flight.
"""

from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from caddiebrain.flight import curve_profile, drift_profile, shares_above
from caddiebrain.hole.ground import Canopy, Ground

__all__ = ["Arc", "Bundles", "Sight", "Stopped", "sight_from", "stopped_high", "stopped_low"]

_DIRECTIONS = 120
_STEP = 7.5
_RANGE = 270.0
_COARSE = 3.0
_PIECES = 3
"""Pieces a curving way is taken in, on the way up and on the way down."""
_PIECES_IN_WIND = 1
"""The same for a straight ball in the wind: three moved a chance of 0.553 on three holes by 0.0003."""
_RAYS_PER_RADIAN = _DIRECTIONS / (2 * np.pi)
_SAMPLES = round(_RANGE / _STEP)
_NEVER = 1e-6
"""Chances of being stopped below this are not followed up."""


@dataclass(frozen=True)
class Arc:
    """Height of a flight: ``carry``, ``apex`` in yards, ``apex_share`` of the carry at which it is highest."""

    carry: float
    apex: float
    apex_share: float

    def crossings(self, height: float) -> tuple[float, float]:
        """Shares of the carry at which the flight rises above and falls below a height; see `shares_above`."""
        up, down = shares_above(height, self.apex, self.apex_share)
        return float(up), float(down)


@dataclass(frozen=True)
class Sight:
    """Trees seen from nodes.

    Parameters
    ----------
    canopies : tuple of Canopy
    samples : tuple of ndarray of uint8 (seeing nodes, directions, samples)
        For each canopy, how many samples of a ray up to each distance, from 0 yards on, lie under trees.
    ahead : tuple of ndarray of uint8 (seeing nodes, directions, samples + 2)
        For each canopy, the first sample under trees from each sample of a ray on; the number of samples if none.
    row : ndarray (nodes,)
        Row of a node in ``samples``; -1 for nodes that see no trees.
    """

    canopies: tuple[Canopy, ...]
    samples: tuple[NDArray[np.uint8], ...]
    ahead: tuple[NDArray[np.uint8], ...]
    row: NDArray[np.int64]

    def direction(self, heading: NDArray[np.floating]) -> NDArray[np.int64]:
        """Ray nearest to each heading (radians)."""
        ray: NDArray[np.int64] = np.rint(heading * _RAYS_PER_RADIAN).astype(np.int64) % _DIRECTIONS
        return ray

    def yards(
        self,
        canopy: int,
        row: NDArray[np.int64],
        heading: NDArray[np.floating],
        distance: NDArray[np.floating],
    ) -> NDArray[np.float64]:
        """Yards of trees along headings (radians) up to distances, linear between the two nearest rays."""
        return self.yards_on(canopy, self.rays(row, heading), distance)

    def rays(self, row: NDArray[np.int64], heading: NDArray[np.floating]) -> "_Rays":
        """Find the two rays beside each heading."""
        place = heading * _RAYS_PER_RADIAN
        low = np.floor(place)
        ray = low.astype(np.int64) % _DIRECTIONS
        start = (row * _DIRECTIONS + ray) * (_SAMPLES + 1)
        above = np.where(
            ray == _DIRECTIONS - 1, start - (_DIRECTIONS - 1) * (_SAMPLES + 1), start + _SAMPLES + 1
        )
        return _Rays(start, above, (place - low) * _STEP)

    def yards_on(self, canopy: int, rays: "_Rays", distance: NDArray[np.floating]) -> NDArray[np.float64]:
        """Yards of trees on rays up to distances."""
        sample = np.clip(distance * (1.0 / _STEP) + 0.5, 0, _SAMPLES).astype(np.int64)
        seen = self.samples[canopy].reshape(-1)
        below = seen.take(rays.below + sample)
        yards: NDArray[np.float64] = (
            below * (_STEP - rays.share) + seen.take(rays.above + sample) * rays.share
        )
        return yards

    def first_trees(
        self,
        row: NDArray[np.int64],
        heading: NDArray[np.floating],
        start: NDArray[np.floating],
        stop: NDArray[np.floating],
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Direction and distance of a place some way into the first trees between two distances.

        On the nearer of the two rays beside each heading, on the other where that has no trees. All arrays (n,).
        """
        nearest = self.direction(heading)
        other = nearest + np.where(heading * _RAYS_PER_RADIAN % _DIRECTIONS > nearest, 1, -1)
        first = np.clip(np.rint(start / _STEP).astype(np.int64), 0, _SAMPLES)
        last = np.maximum(np.rint(stop / _STEP).astype(np.int64), first + 1)
        near, far = (self._into_trees(row, ray % _DIRECTIONS, first, last) for ray in (nearest, other))
        ray = np.where(near < _SAMPLES, nearest, np.where(far < _SAMPLES, other, nearest))
        sample = np.where(near < _SAMPLES, near, np.where(far < _SAMPLES, far, first))
        return ray / _RAYS_PER_RADIAN, (sample + 0.5) * _STEP

    def _into_trees(
        self,
        row: NDArray[np.int64],
        ray: NDArray[np.int64],
        first: NDArray[np.int64],
        last: NDArray[np.int64],
    ) -> NDArray[np.int64]:
        """First sample under trees, or the one behind it where trees go on; ``_SAMPLES`` if there is none."""
        found = np.full(len(row), _SAMPLES, dtype=np.int64)
        for ahead in self.ahead:
            one = ahead[row, ray, first].astype(np.int64)
            one = np.where(one < last, one, _SAMPLES)
            two = ahead[row, ray, one + 1]
            found = np.minimum(found, np.where((two == one + 1) & (two < last), two, one))
        return found


@dataclass(frozen=True)
class _Rays:
    """The rays on either side of headings: where their samples start, and the share of the upper one in yards."""

    below: NDArray[np.int64]
    above: NDArray[np.int64]
    share: NDArray[np.float64]


@dataclass(frozen=True)
class Bundles:
    """Shots taken together because they go much the same way.

    Parameters
    ----------
    edges : ndarray of int64 (bundles + 1,)
        Bundle k holds the points from ``edges[k]`` to ``edges[k + 1]``.
    heading, length : ndarray (rows, bundles)
        Mean direction in radians and mean distance in yards from the ball.
    """

    edges: NDArray[np.int64]
    heading: NDArray[np.float64]
    length: NDArray[np.float64]


@dataclass(frozen=True)
class Stopped:
    """Flights stopped by trees on the way up and down: ``chance``, ``distance``, ``heading`` (rows, bundles, 2)."""

    edges: NDArray[np.int64]
    chance: NDArray[np.float64]
    distance: NDArray[np.float64]
    heading: NDArray[np.float64]

    def some(self, rows: NDArray[np.bool_]) -> "Stopped":
        """Return some of the rows."""
        return Stopped(self.edges, self.chance[rows], self.distance[rows], self.heading[rows])


def sight_from(ground: Ground, x: NDArray[np.float64], y: NDArray[np.float64]) -> Sight | None:
    """Cast rays from positions over the trees of a hole; None where there are no trees.

    ``Sight.row`` is -1 for positions that see none.
    """
    if not ground.canopies:
        return None
    angle = np.arange(_DIRECTIONS) * (2 * np.pi / _DIRECTIONS)
    distance = (np.arange(_SAMPLES) + 0.5) * _STEP
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
        upto = np.cumsum(seen, axis=2, dtype=np.uint8)
        samples.append(np.concatenate([np.zeros_like(upto[:, :, :1]), upto], axis=2))
    sees = np.any([s[:, :, -1].any(axis=1) for s in samples], axis=0)
    number = np.where(sees, np.cumsum(sees) - 1, -1)
    seen_from = tuple(s[sees] for s in samples)
    return Sight(ground.canopies, seen_from, tuple(_ahead(s) for s in seen_from), number)


def _ahead(upto: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """First sample under trees from each sample on (..., samples + 2)."""
    place = np.where(np.diff(upto, axis=2) > 0, np.arange(_SAMPLES, dtype=np.uint8), np.uint8(_SAMPLES))
    ahead = np.full((*upto.shape[:2], _SAMPLES + 2), _SAMPLES, dtype=np.uint8)
    ahead[:, :, :_SAMPLES] = np.minimum.accumulate(place[:, :, ::-1], axis=2)[:, :, ::-1]
    return ahead


def stopped_high(
    sight: Sight,
    node: NDArray[np.int64],
    shots: Bundles,
    arc: Arc,
    curve: float = 0.0,
    drift: NDArray[np.float64] | None = None,
) -> Stopped:
    """Chance that full shots are stopped by trees.

    Parameters
    ----------
    node : ndarray (rows,)
        Nodes that see trees.
    shots : Bundles
        Where they land; a short one flies as high in less ground.
    arc : Arc
        Of the mean carry.
    curve : float
        Sideways move in the air, yards to the right (a draw's is negative).
    drift : ndarray (rows,), optional
        What the wind adds to that, yards to the right.
    """
    row = np.broadcast_to(sight.row[node][:, None], shots.heading.shape)
    pushed = None if drift is None else drift[:, None] / arc.carry
    path = _Path(sight, row, shots.heading, shots.length, curve / arc.carry, pushed)
    keep_up, keep_down = np.ones(row.shape), np.ones(row.shape)
    highest = 0.0
    for i, canopy in enumerate(sight.canopies):
        base_up, base_down = arc.crossings(canopy.base)
        top_up, top_down = arc.crossings(canopy.top)
        up = path.yards(i, 0.0, base_up) / canopy.trunk_gap + path.yards(i, base_up, top_up) / canopy.gap
        down = path.yards(i, top_down, base_down) / canopy.gap
        down = down + path.yards(i, base_down, 1.0) / canopy.trunk_gap
        keep_up, keep_down = keep_up * np.exp(-up), keep_down * np.exp(-down)
        highest = max(highest, canopy.top)
    chance = np.stack([1.0 - keep_up, keep_up * (1.0 - keep_down)], axis=-1)
    up_to, down_from = arc.crossings(highest)
    heading, distance = np.zeros(chance.shape), np.zeros(chance.shape)
    for way, (start, stop) in enumerate(((0.0, up_to), (down_from, 1.0))):
        hit = chance[..., way] > _NEVER
        line, length = path.heading_at(0.9 * way)[hit], path.length[hit]
        place = sight.first_trees(row[hit], line, start * length, stop * length)
        heading[..., way][hit], distance[..., way][hit] = place
    return Stopped(shots.edges, chance, distance, heading)


@dataclass(frozen=True)
class _Path:
    """The way of shots over the ground, straight or bent.

    ``bend`` is the sideways move of the shot's own curve as a share of the carry, ``push`` (rows, 1) that of the
    wind.
    """

    sight: Sight
    row: NDArray[np.int64]
    heading: NDArray[np.float64]
    length: NDArray[np.float64]
    bend: float
    push: NDArray[np.float64] | None
    known: dict[tuple[int, float], NDArray[np.float64]] = field(default_factory=dict)

    def heading_at(self, share: float) -> NDArray[np.float64]:
        """Direction, from where it was struck, of a ball that has flown a share of its carry."""
        if self._straight:
            return self.heading
        share = max(share, 1e-3)
        heading = self.heading + float(curve_profile(share, self.bend)) / share
        if self.push is None:
            return heading
        # The chord to the landing holds the whole drift; on the way the ball has only part of it.
        return heading + (drift_profile(share, self.push) / share - self.push)

    @property
    def _straight(self) -> bool:
        return self.bend == 0.0 and self.push is None

    def yards(self, canopy: int, start: float, stop: float) -> NDArray[np.float64]:
        """Yards of trees between two shares of the carry; a bent way is taken in pieces."""
        if self._straight:
            return self._upto(canopy, stop) - self._upto(canopy, start)
        # Wind moves a ball late: most of its way up is straight.
        pieces = _PIECES if self.bend else _PIECES_IN_WIND
        total = np.zeros(self.heading.shape)
        for a, b in pairwise(np.linspace(start, stop, pieces + 1)):
            rays = self.sight.rays(self.row, self.heading_at(0.5 * float(a + b)))
            upto = self.sight.yards_on(canopy, rays, b * self.length)
            total += upto - self.sight.yards_on(canopy, rays, a * self.length)
        return total

    @cached_property
    def _rays(self) -> _Rays:
        return self.sight.rays(self.row, self.heading)

    def _upto(self, canopy: int, share: float) -> NDArray[np.float64]:
        """Yards of trees on a straight way up to a share of the carry; most are asked for twice."""
        known = self.known.get((canopy, share))
        if known is None:
            known = self.sight.yards_on(canopy, self._rays, share * self.length)
            self.known[canopy, share] = known
        return known


def stopped_low(sight: Sight, node: NDArray[np.int64], shots: Bundles) -> Stopped:
    """Chance that low shots, under the branches all the way, hit a trunk before they stop."""
    row = np.broadcast_to(sight.row[node][:, None], shots.heading.shape)
    depth = np.zeros(row.shape)
    for i, canopy in enumerate(sight.canopies):
        depth += sight.yards(i, row, shots.heading, shots.length) / canopy.trunk_gap
    chance = np.stack([-np.expm1(-depth), np.zeros(row.shape)], axis=-1)
    heading, distance = np.zeros(chance.shape), np.zeros(chance.shape)
    hit = chance[..., 0] > _NEVER
    length = shots.length[hit]
    place = sight.first_trees(row[hit], shots.heading[hit], 0.0 * length, length)
    heading[..., 0][hit], distance[..., 0][hit] = place
    return Stopped(shots.edges, chance, distance, heading)
