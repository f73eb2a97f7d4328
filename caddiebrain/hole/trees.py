"""What trees do to a flight: the chance that it is stopped, and where the ball then drops.

From every node rays are cast over the tree raster and the yards of trees under each ray are summed. A flight
that climbs through the canopy, or comes down through it, is stopped with chance 1 - exp(-yards / gap), ``gap``
being the mean free path the map gives (below the branches, that between trunks). A draw or a fade
is followed along its bend, and so is a ball that the wind carries sideways, late in its flight.
"""

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from caddiebrain.flight import curve_profile, drift_profile, shares_above
from caddiebrain.hole.sight import Bits, Rays, Sight, samples_upto

__all__ = ["Arc", "Bundles", "Flights", "Stopped", "stopped_high", "stopped_low"]

Floats = NDArray[np.float64]

_PIECES = 3
"""Pieces a curving way is taken in, on the way up and on the way down."""
_PIECES_IN_WIND = 1
"""The same for a straight ball in the wind: three moved a chance of 0.553 on three holes by 0.0003."""
_NEVER = 1e-6
"""Chances of being stopped below this are not followed up."""


@dataclass(frozen=True)
class Arc:
    """Height of flights: ``carry``, ``apex`` in yards, ``apex_share`` of the carry at which it is highest; alike."""

    carry: Floats
    apex: Floats
    apex_share: Floats

    def crossings(self, height: float) -> tuple[Floats, Floats]:
        """Shares of the carry at which the flights rise above and fall below a height; see `shares_above`."""
        return shares_above(height, self.apex, self.apex_share)


@dataclass(frozen=True)
class Flights:
    """How the shots of rows fly, (rows,).

    Parameters
    ----------
    arc : Arc
        Over all winds.
    bend : ndarray
        Sideways move in the air as a share of the carry, positive to the right (a draw's is negative).
    push : ndarray or None
        What the wind adds to that; None in still air.
    """

    arc: Arc
    bend: Floats
    push: Floats | None

    @property
    def straight(self) -> bool:
        """Whether none leaves the straight way to its landing."""
        return self.push is None and not self.bend.any()


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


def stopped_high(sight: Sight, node: NDArray[np.int64], shots: Bundles, flights: Flights) -> Stopped:
    """Chance that full shots are stopped by trees.

    Parameters
    ----------
    node : ndarray (rows,)
        Nodes that see trees.
    shots : Bundles
        Where they land; a short one flies as high in less ground.
    flights : Flights
    """
    up_to, down_from = flights.arc.crossings(max(canopy.top for canopy in sight.canopies))
    row = np.broadcast_to(sight.row[node][:, None], shots.heading.shape)
    length = shots.length
    ways = ((0.0 * length, up_to[:, None] * length), (down_from[:, None] * length, length))
    stray = np.abs(flights.bend) + (0.0 if flights.push is None else np.abs(flights.push))
    met = sight.meets(row, shots.heading, stray[:, None], ways)
    of_row = np.nonzero(met)[0]
    path = _Path(sight, row[met], shots.heading[met], length[met], flights, of_row)
    keep_up, keep_down = _kept(path)
    chance, heading, distance = (np.zeros((*met.shape, 2)) for _ in range(3))
    chance[met] = np.stack([1.0 - keep_up, keep_up * (1.0 - keep_down)], axis=-1)
    ends = (np.zeros(len(of_row)), up_to[of_row]), (down_from[of_row], np.ones(len(of_row)))
    for way, (start, stop) in enumerate(ends):
        hit = chance[met, way] > _NEVER
        line, far = path.heading_at(np.full(len(node), 0.9 * way))[hit], path.length[hit]
        at = np.flatnonzero(met)[hit]
        place = sight.first_trees(path.row[hit], line, start[hit] * far, stop[hit] * far)
        heading.reshape(-1, 2)[at, way], distance.reshape(-1, 2)[at, way] = place
    return Stopped(shots.edges, chance, distance, heading)


def _kept(path: "_Path") -> tuple[Floats, Floats]:
    """Chances of getting through the trees on the way up and on the way down."""
    up, down = np.zeros(path.row.shape), np.zeros(path.row.shape)
    start, landing = path.start_and_landing
    for i, canopy in enumerate(path.sight.canopies):
        base_up, base_down = path.crossings(canopy.base)
        top_up, top_down = path.crossings(canopy.top)
        up += path.free_paths(i, (start, base_up, top_up), (canopy.trunk_gap, canopy.gap))
        down += path.free_paths(i, (top_down, base_down, landing), (canopy.gap, canopy.trunk_gap))
    return np.exp(-up), np.exp(-down)


@dataclass(frozen=True)
class _Mark:
    """Points of the ways: shares of the carry by row of flights, and the samples up to there by way."""

    share: Floats
    upto: Bits


@dataclass(frozen=True)
class _Path:
    """The ways of shots (n,) over the ground, straight or bent; ``of_row`` (n,) tells each one's row of flights."""

    sight: Sight
    row: NDArray[np.int64]
    heading: Floats
    length: Floats
    flights: Flights
    of_row: NDArray[np.int64]

    def heading_at(self, share: Floats) -> Floats:
        """Direction, from where they were struck, of balls that have flown shares (rows,) of their carry."""
        flights = self.flights
        if flights.straight:
            return self.heading
        share = np.maximum(share, 1e-3)
        turn = curve_profile(share, flights.bend) / share
        if flights.push is not None:
            # The chord to the landing holds the whole drift; on the way the ball has only part of it.
            turn += drift_profile(share, flights.push) / share - flights.push
        return self.heading + turn[self.of_row]

    def free_paths(self, canopy: int, marks: tuple[_Mark, ...], gaps: tuple[float, ...]) -> Floats:
        """Mean free paths of trees met between successive marks."""
        total = np.zeros(self.row.shape)
        for (start, stop), gap in zip(pairwise(marks), gaps, strict=True):
            total += self._yards(canopy, start, stop) / gap
        return total

    def _yards(self, canopy: int, start: _Mark, stop: _Mark) -> Floats:
        """Yards of trees between two marks; a bent way is taken in pieces."""
        if self.flights.straight:
            return self._line.yards(canopy, start.upto, stop.upto)
        # Wind moves a ball late: most of its way up is straight.
        pieces = _PIECES if self.flights.bend.any() else _PIECES_IN_WIND
        inner = np.linspace(start.share, stop.share, pieces + 1)[1:-1]
        marks = (start, *(self._mark(share) for share in inner), stop)
        total = np.zeros(self.row.shape)
        for a, b in pairwise(marks):
            rays = self.sight.rays(self.row, self.heading_at(0.5 * (a.share + b.share)))
            total += rays.yards(canopy, a.upto, b.upto)
        return total

    @cached_property
    def _line(self) -> Rays:
        return self.sight.rays(self.row, self.heading)

    @cached_property
    def start_and_landing(self) -> tuple[_Mark, _Mark]:
        """The two ends of the ways."""
        rows = len(self.flights.bend)
        return self._mark(np.zeros(rows)), self._mark(np.ones(rows))

    def crossings(self, height: float) -> tuple[_Mark, _Mark]:
        """Where the balls rise above a height and fall below it."""
        if height not in self._known:
            up, down = self.flights.arc.crossings(height)
            self._known[height] = self._mark(up), self._mark(down)
        return self._known[height]

    @cached_property
    def _known(self) -> dict[float, tuple[_Mark, _Mark]]:
        return {}

    def _mark(self, share: Floats) -> _Mark:
        return _Mark(share, samples_upto(share[self.of_row] * self.length))


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
