"""What trees do to a flight: the chance that it is stopped, and where the ball then drops.

From every node rays are cast over the tree raster and the yards of trees under each ray are summed. A flight
that climbs through the canopy, or comes down through it, is stopped with chance 1 - exp(-yards / gap), ``gap``
being the mean free path the map gives (below the branches, that between trunks). A draw or a fade
is followed along its bend, and so is a ball that the wind carries sideways, late in its flight.
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from caddiebrain.flight import curve_profile, drift_profile, shares_above
from caddiebrain.hole.sight import Bits, Rays, Sight, samples_upto

__all__ = ["Arc", "Arcs", "Bundles", "Stopped", "stopped_high", "stopped_low"]

_PIECES = 3
"""Pieces a curving way is taken in, on the way up and on the way down."""
_PIECES_IN_WIND = 1
"""The same for a straight ball in the wind: three moved a chance of 0.553 on three holes by 0.0003."""
_NEVER = 1e-6
"""Chances of being stopped below this are not followed up."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Arc:
    """Height of a flight: ``carry``, ``apex`` in yards, ``apex_share`` of the carry at which it is highest."""

    carry: float
    apex: float
    apex_share: float

    @lru_cache(maxsize=4096)  # noqa: B019 - arcs are a few numbers, and a hole asks for the same ones again and again
    def crossings(self, height: float) -> tuple[float, float]:
        """Shares of the carry at which the flight rises above and falls below a height; see `shares_above`."""
        up, down = shares_above(height, self.apex, self.apex_share)
        return float(up), float(down)


@dataclass(frozen=True)
class Arcs:
    """Arcs of many flights, each number (rows, 1)."""

    carry: Floats
    apex: Floats
    apex_share: Floats

    def crossings(self, height: float) -> tuple[Floats, Floats]:
        """Return them as `Arc` does, (rows, 1)."""
        return shares_above(height, self.apex, self.apex_share)


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


def stopped_high(
    sight: Sight,
    node: NDArray[np.int64],
    shots: Bundles,
    arc: Arc | Arcs,
    curve: float | Floats = 0.0,
    drift: NDArray[np.float64] | None = None,
) -> Stopped:
    """Chance that full shots are stopped by trees.

    Parameters
    ----------
    node : ndarray (rows,)
        Nodes that see trees.
    shots : Bundles
        Where they land; a short one flies as high in less ground.
    arc : Arc or Arcs
        Of the mean carry.
    curve : float or ndarray (rows, 1)
        Sideways move in the air, yards to the right (a draw's is negative); none or all of an array 0.
    drift : ndarray (rows,), optional
        What the wind adds to that, yards to the right.
    """
    highest = max(canopy.top for canopy in sight.canopies)
    up_to, down_from = arc.crossings(highest)
    bend = curve / arc.carry
    push = np.zeros((len(node), 1)) if drift is None else drift[:, None] / arc.carry
    row = np.broadcast_to(sight.row[node][:, None], shots.heading.shape)
    length = shots.length
    ways = ((0.0 * length, up_to * length), (down_from * length, length))
    met = sight.meets(row, shots.heading, abs(bend) + np.abs(push), ways)
    pushed = None if drift is None else np.broadcast_to(push, met.shape)[met]
    path = _Path(sight, row[met], shots.heading[met], length[met], _of(bend, met), pushed)
    keep_up, keep_down = _kept(path, arc, met)
    chance, heading, distance = (np.zeros((*met.shape, 2)) for _ in range(3))
    chance[met] = np.stack([1.0 - keep_up, keep_up * (1.0 - keep_down)], axis=-1)
    for way, (start, stop) in enumerate(((0.0, _of(up_to, met)), (_of(down_from, met), 1.0))):
        hit = chance[met, way] > _NEVER
        line, far = path.heading_at(0.9 * way)[hit], path.length[hit]
        at = np.flatnonzero(met)[hit]
        place = sight.first_trees(path.row[hit], line, _of(start, hit) * far, _of(stop, hit) * far)
        heading.reshape(-1, 2)[at, way], distance.reshape(-1, 2)[at, way] = place
    return Stopped(shots.edges, chance, distance, heading)


def _of(value: float | Floats, met: NDArray[np.bool_]) -> float | Floats:
    """Return a number as it is, or those of an array that fits ``met``, where it is true."""
    return value if isinstance(value, float) else np.broadcast_to(value, met.shape)[met]


def _kept(path: "_Path", arc: Arc | Arcs, met: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """Chances of getting through the trees on the way up and on the way down."""
    up, down = np.zeros(path.row.shape), np.zeros(path.row.shape)
    for i, canopy in enumerate(path.sight.canopies):
        base_up, base_down = (_of(share, met) for share in arc.crossings(canopy.base))
        top_up, top_down = (_of(share, met) for share in arc.crossings(canopy.top))
        up += path.free_paths(i, (0.0, base_up, top_up), (canopy.trunk_gap, canopy.gap))
        down += path.free_paths(i, (top_down, base_down, 1.0), (canopy.gap, canopy.trunk_gap))
    return np.exp(-up), np.exp(-down)


@dataclass(frozen=True)
class _Path:
    """The ways of shots (n,) over the ground, straight or bent.

    ``bend`` is the sideways move of the shot's own curve as a share of the carry, one number or (n,), ``push`` (n,)
    that of the wind.
    """

    sight: Sight
    row: NDArray[np.int64]
    heading: NDArray[np.float64]
    length: NDArray[np.float64]
    bend: float | Floats
    push: NDArray[np.float64] | None

    def heading_at(self, share: float | Floats) -> NDArray[np.float64]:
        """Direction, from where it was struck, of a ball that has flown a share of its carry."""
        if self._straight:
            return self.heading
        share = np.maximum(share, 1e-3)
        heading = self.heading + curve_profile(share, self.bend) / share
        if self.push is None:
            return heading
        # The chord to the landing holds the whole drift; on the way the ball has only part of it.
        return heading + (drift_profile(share, self.push) / share - self.push)

    @cached_property
    def _straight(self) -> bool:
        return self.push is None and not np.any(self.bend)

    def free_paths(
        self, canopy: int, shares: tuple[float | Floats, ...], gaps: tuple[float, ...]
    ) -> NDArray[np.float64]:
        """Mean free paths of trees met between successive shares of the carry."""
        total = np.zeros(self.row.shape)
        for (start, stop), gap in zip(pairwise(shares), gaps, strict=True):
            total += self._yards(canopy, start, stop) / gap
        return total

    def _yards(self, canopy: int, start: float | Floats, stop: float | Floats) -> NDArray[np.float64]:
        """Yards of trees between two shares of the carry; a bent way is taken in pieces."""
        if self._straight:
            return self._line.yards(canopy, self._upto(start), self._upto(stop))
        # Wind moves a ball late: most of its way up is straight.
        pieces = _PIECES if np.any(self.bend) else _PIECES_IN_WIND
        total = np.zeros(self.row.shape)
        for a, b in pairwise(np.linspace(start, stop, pieces + 1)):
            rays = self.sight.rays(self.row, self.heading_at(0.5 * (a + b)))
            total += rays.yards(canopy, self._upto(a), self._upto(b))
        return total

    @cached_property
    def _line(self) -> Rays:
        return self.sight.rays(self.row, self.heading)

    @cached_property
    def _known(self) -> dict[float, Bits]:
        return {}

    def _upto(self, share: float | Floats) -> Bits:
        if not isinstance(share, float):
            return samples_upto(share * self.length)
        if share not in self._known:
            self._known[share] = samples_upto(share * self.length)
        return self._known[share]


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
