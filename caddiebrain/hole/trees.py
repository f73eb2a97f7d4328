"""What trees do to a flight: the chance that it is stopped, and where the ball then drops.

From every node rays are cast over the tree raster and the yards of trees under each ray are summed. A flight
that climbs through the canopy, or comes down through it, is stopped with chance 1 - exp(-yards / gap), ``gap``
being the mean free path the map gives (below the branches, that between trunks). A draw or a fade
is followed along its bend, and so is a ball that the wind carries sideways, late in its flight.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from caddiebrain.flight import curve_profile, drift_profile, shares_above
from caddiebrain.hole.ground import Canopy
from caddiebrain.hole.sight import Bits, Sight, samples_upto

__all__ = ["Arc", "Bundles", "Flights", "Stopped", "stopped_high", "stopped_low"]

Floats = NDArray[np.float64]

_PIECES = 3
"""Pieces a curving way is taken in, on the way up and on the way down."""
_PIECES_IN_WIND = 1
"""The same for a straight ball in the wind: three moved a chance of 0.553 on three holes by 0.0003."""
_AT_ONCE = 24_000
"""Pieces of ways worked out together, so that they stay near at hand."""
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

    @cached_property
    def curved(self) -> bool:
        """Whether any curves in still air."""
        return bool(self.bend.any())

    @property
    def straight(self) -> bool:
        """Whether none leaves the straight way to its landing."""
        return self.push is None and not self.curved

    @property
    def pieces(self) -> int:
        """Pieces a leg is taken in."""
        # Wind moves a ball late: most of its way up is straight.
        return _PIECES if self.curved else _PIECES_IN_WIND

    def turn_at(self, share: Floats) -> Floats:
        """How far off their heading balls are seen from the start, radians, at shares (..., rows) of the carry."""
        share = np.maximum(share, 1e-3)
        turn = curve_profile(share, self.bend) / share
        if self.push is not None:
            # The chord to the landing holds the whole drift; on the way the ball has only part of it.
            turn += drift_profile(share, self.push) / share - self.push
        return np.asarray(turn)


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
    stray = np.abs(flights.bend) + (0.0 if flights.push is None else np.abs(flights.push))
    seen = sight.about(row, shots.heading, stray)
    wanted = samples_upto(up_to[:, None] * length)
    wanted |= samples_upto(down_from[:, None] * length) ^ samples_upto(length)
    met = np.flatnonzero(np.bitwise_or.reduce(seen, axis=0) & wanted)
    of_row = met // length.shape[1]
    heading, far = shots.heading.ravel()[met], length.ravel()[met]
    path = _Path(
        sight, sight.row[node][of_row], heading, far, seen.reshape(len(seen), -1)[:, met], flights, of_row
    )
    keep_up, keep_down = _kept(path)
    chance, heading, distance = (np.zeros((length.size, 2)) for _ in range(3))
    ends = (np.zeros(len(of_row)), up_to[of_row]), (down_from[of_row], np.ones(len(of_row)))
    for way, often in enumerate((1.0 - keep_up, keep_up * (1.0 - keep_down))):
        chance[met, way] = often
        hit = np.flatnonzero(often > _NEVER)
        start, stop = (end[hit] * path.length[hit] for end in ends[way])
        line = path.heading_at(np.full(len(node), 0.9 * way))[hit]
        place = sight.first_trees(path.row[hit], line, start, stop)
        heading[met[hit], way], distance[met[hit], way] = place
    shape = (*length.shape, 2)
    return Stopped(shots.edges, chance.reshape(shape), distance.reshape(shape), heading.reshape(shape))


def _kept(path: "_Path") -> tuple[Floats, Floats]:
    """Chances of getting through the trees on the way up and on the way down."""
    legs = _Legs.of(path.sight.canopies, path.flights)
    met = np.empty((*legs.gap.shape, len(path.row)))
    size = max(1, _AT_ONCE // legs.gap.size)
    for low in range(0, len(path.row), size):
        met[..., low : low + size] = path.some(slice(low, low + size)).free_paths(legs)
    up, down = np.exp(-met.sum(axis=2).sum(axis=0))
    return up, down


@dataclass(frozen=True)
class _Legs:
    """Stretches of flights under a canopy and in it on the way up, in it and under it on the way down.

    ``mark`` (canopies, 2 ways, 3 ends of legs, rows) are shares of the carry, ``gap`` (canopies, 2 ways, 2 legs) is
    the mean free path. Bent legs are taken in pieces between ``cut`` (pieces + 1, legs * rows), shares of the carry;
    ``turn`` (pieces, legs * rows) is how far off the heading each is, None where all are straight.
    """

    mark: Floats
    gap: Floats
    cut: Floats
    turn: Floats | None

    @classmethod
    def of(cls, canopies: Sequence[Canopy], flights: Flights) -> "_Legs":
        """Find where flights cross each canopy."""
        arc = flights.arc
        mark, gap = np.zeros((len(canopies), 2, 3, len(arc.carry))), np.empty((len(canopies), 2, 2))
        for i, canopy in enumerate(canopies):
            mark[i, 0, 1], mark[i, 1, 1] = arc.crossings(canopy.base)
            mark[i, 0, 2], mark[i, 1, 0] = arc.crossings(canopy.top)
            gap[i] = (canopy.trunk_gap, canopy.gap), (canopy.gap, canopy.trunk_gap)
        mark[:, 1, 2] = 1.0
        cut = np.linspace(mark[:, :, :-1], mark[:, :, 1:], flights.pieces + 1)
        turn = None if flights.straight else flights.turn_at(0.5 * (cut[1:] + cut[:-1]))
        flat = None if turn is None else turn.reshape(len(turn), -1)
        return cls(mark, gap, cut.reshape(len(cut), -1), flat)


@dataclass(frozen=True)
class _Path:
    """The ways of shots (n,) over the ground, straight or bent.

    ``seen`` (canopies, n) holds the samples that may lie under trees, ``of_row`` (n,) each one's row of flights.
    """

    sight: Sight
    row: NDArray[np.int64]
    heading: Floats
    length: Floats
    seen: Bits
    flights: Flights
    of_row: NDArray[np.int64]

    def some(self, part: slice) -> "_Path":
        """Return some of the ways."""
        ways = self.row[part], self.heading[part], self.length[part], self.seen[:, part]
        return _Path(self.sight, *ways, self.flights, self.of_row[part])

    def heading_at(self, share: Floats) -> Floats:
        """Direction, from where they were struck, of balls that have flown shares (rows,) of their carry."""
        return (
            self.heading if self.flights.straight else self.heading + self.flights.turn_at(share)[self.of_row]
        )

    def free_paths(self, legs: _Legs) -> Floats:
        """Mean free paths of trees met on each leg, (canopies, ways, legs, n); a bent way is taken in pieces."""
        upto = samples_upto(legs.mark.take(self.of_row, axis=-1) * self.length)
        may = (upto[:, :, 1:] ^ upto[:, :, :-1]) & self.seen[:, None, None] != 0
        leg, way = np.divmod(np.flatnonzero(may), len(self.row))
        at = leg * legs.mark.shape[-1] + self.of_row[way]
        upto = samples_upto(legs.cut.take(at, axis=1) * self.length[way])
        heading = self.heading[way]
        if legs.turn is not None:
            heading = heading + legs.turn.take(at, axis=1)
        canopy = leg // legs.gap[0].size
        yards = self.sight.rays(self.row[way], heading).yards(canopy, upto[1:] ^ upto[:-1])
        met = np.zeros(may.shape)
        met[may] = yards.sum(axis=0) / legs.gap.ravel()[leg]
        return met


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
