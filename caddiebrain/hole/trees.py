"""What trees do to a flight: the chance that it is stopped, and where the ball then drops.

From every node rays are cast over the tree raster and the yards of trees under each ray are summed. A flight
that climbs through the canopy, or comes down through it, is stopped with chance 1 - exp(-yards / gap), ``gap``
being the mean free path the map gives (below the branches, that between trunks). A draw or a fade
is followed along its bend, and so is a ball that the wind carries sideways, late in its flight.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.crossings import Crossings
from caddiebrain.hole.sight import Bits, Rays, Sight

__all__ = ["Bundles", "Stopped", "stopped_high", "stopped_low"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_AT_ONCE = 64_000
"""Pieces of ways worked out together, so that they stay near at hand."""
_NEVER = 1e-6
"""Chances of being stopped below this are not followed up."""


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
    sight: Sight, node: Ints, line: Ints, edges: Ints, heading: Floats, crossings: Crossings
) -> Stopped:
    """Chance that full shots are stopped by trees.

    Parameters
    ----------
    node : ndarray (rows,)
        Nodes that see trees.
    line : ndarray (rows,)
        Which of the lines of ``crossings`` each row plays.
    edges : ndarray (bundles + 1,)
        Bundle k holds the points from ``edges[k]`` to ``edges[k + 1]``.
    heading : ndarray (rows, bundles)
        Mean direction of each bundle, radians.
    """
    bundles = heading.shape[1]
    row = np.broadcast_to(sight.row[node][:, None], heading.shape)
    seen = sight.about(row, heading, crossings.flights.stray)
    wanted = crossings.wanted.reshape(-1, bundles)[line]
    met = np.flatnonzero(np.bitwise_or.reduce(seen, axis=0) & wanted)
    of_row, bundle = np.divmod(met, bundles)
    path = _Path(
        sight,
        sight.row[node][of_row],
        heading.ravel()[met],
        seen.reshape(len(seen), -1)[:, met],
        crossings,
        line[of_row],
        line[of_row] * bundles + bundle,
    )
    keep_up, keep_down = _kept(path)
    chance, turn, distance = (np.zeros((heading.size, 2)) for _ in range(3))
    often = np.stack([1.0 - keep_up, keep_up * (1.0 - keep_down)], axis=1)
    chance[met] = often
    hit, way = np.nonzero(often > _NEVER)
    turn[met[hit], way], distance[met[hit], way] = path.first_trees(way, hit)
    shape = (*heading.shape, 2)
    return Stopped(edges, chance.reshape(shape), distance.reshape(shape), turn.reshape(shape))


def _kept(path: "_Path") -> tuple[Floats, Floats]:
    """Chances of getting through the trees on the way up and on the way down."""
    legs, shape = len(path.crossings.gap), (len(path.seen), 2, 2, len(path.row))
    met = np.empty((legs, len(path.row)))
    size = max(1, _AT_ONCE // legs)
    for low in range(0, len(path.row), size):
        met[:, low : low + size] = path.some(slice(low, low + size)).free_paths()
    up, down = np.exp(-met.reshape(shape).sum(axis=2).sum(axis=0))
    return up, down


@dataclass(frozen=True)
class _Path:
    """The ways of shots (n,) over the ground, straight or bent.

    ``seen`` (canopies, n) holds the samples that may lie under trees, ``line`` and ``pair`` (n,) those of the
    crossings.
    """

    sight: Sight
    row: Ints
    heading: Floats
    seen: Bits
    crossings: Crossings
    line: Ints
    pair: Ints

    def some(self, part: slice) -> "_Path":
        """Return some of the ways."""
        return _Path(
            self.sight,
            self.row[part],
            self.heading[part],
            self.seen[:, part],
            self.crossings,
            self.line[part],
            self.pair[part],
        )

    def first_trees(self, way: Ints, hit: Ints) -> tuple[Floats, Floats]:
        """Direction and distance of where some balls are stopped on the way up (0) or down (1)."""
        crossings, line, heading = self.crossings, self.line[hit], self.heading[hit]
        far, down = crossings.length.take(self.pair[hit]), way == 1
        start = np.where(down, crossings.down_from[line], 0.0) * far
        stop = np.where(down, 1.0, crossings.up_to[line]) * far
        if not crossings.flights.straight:
            lines = len(crossings.up_to)
            turn = np.stack([crossings.flights.turn_at(np.full(lines, 0.9 * end)) for end in (0, 1)])
            heading = heading + turn[way, line]
        return self.sight.first_trees(self.row[hit], heading, start, stop)

    def free_paths(self) -> Floats:
        """Mean free paths of trees met on each leg, (legs, n); a bent way is taken in pieces."""
        crossings, n = self.crossings, len(self.row)
        leg = crossings.leg.take(self.pair, axis=1)
        met = np.zeros(leg.shape)
        leg.reshape(len(self.seen), 4, n)[:] &= self.seen[:, None]
        of_leg, way = np.divmod(np.flatnonzero(leg), n)
        pieces = crossings.piece.take(of_leg * crossings.leg.shape[1] + self.pair[way], axis=1)
        rays = self._rays(of_leg, way)
        yards = rays.yards(of_leg // 4, pieces)
        met.ravel()[of_leg * n + way] = yards.sum(axis=0) / crossings.gap[of_leg]
        return met

    def _rays(self, leg: Ints, way: Ints) -> Rays:
        """Rays along some legs of some ways, (pieces, legs) where they are bent."""
        crossings = self.crossings
        heading = self.heading[way]
        if crossings.turn is not None:
            heading = heading + crossings.turn.take(leg * len(crossings.up_to) + self.line[way], axis=1)
        return self.sight.rays(self.row[way], heading)


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
