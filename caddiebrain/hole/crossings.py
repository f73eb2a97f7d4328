"""Where flights rise into canopies, through them, and fall back: the same for every shot of a swing in one wind.

A line is a swing in one wind, a pair a line with one bundle of its points: pair ``line * bundles + bundle``.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Self

import numpy as np
from numpy.typing import NDArray

from caddiebrain.flight import curve_profile, drift_profile, shares_above
from caddiebrain.hole.ground import Canopy
from caddiebrain.hole.sight import Bits, samples_upto

__all__ = ["Arc", "Crossings", "Flights"]

Floats = NDArray[np.float64]

_PIECES = 3
"""Pieces a curving way is taken in, on the way up and on the way down."""
_PIECES_IN_WIND = 1
"""The same for a straight ball in the wind: three moved a chance of 0.553 on three holes by 0.0003."""


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
    """How shots fly, (lines,).

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

    @cached_property
    def stray(self) -> Floats:
        """How far off their heading balls may be seen on their way, radians."""
        stray: Floats = np.abs(self.bend) + (0.0 if self.push is None else np.abs(self.push))
        return stray

    def turn_at(self, share: Floats) -> Floats:
        """How far off their heading balls are seen from the start, radians, at shares (..., lines) of the carry."""
        share = np.maximum(share, 1e-3)
        turn = curve_profile(share, self.bend) / share
        if self.push is not None:
            # The chord to the landing holds the whole drift; on the way the ball has only part of it.
            turn += drift_profile(share, self.push) / share - self.push
        return np.asarray(turn)


@dataclass(frozen=True)
class Crossings:
    """Samples of a ray on which pairs can meet trees.

    A leg is a stretch under a canopy or in it on the way up, in it or under it on the way down, for one canopy
    after the other: ``leg = 4 * canopy + 2 * way + place``.

    Parameters
    ----------
    flights : Flights
        Of each line.
    length : ndarray (lines, bundles)
        Yards to where the points come down; a short one flies as high in less ground.
    up_to, down_from : ndarray (lines,)
        Shares of the carry at which flights are above all trees, and below again.
    wanted : ndarray of uint64 (pairs,)
        Samples below that.
    leg : ndarray of uint64 (legs, pairs)
        Samples of each leg.
    gap : ndarray (legs,)
        Mean free path of a leg, yards.
    piece : ndarray of uint64 (pieces, legs * pairs)
        Samples of each piece of a leg; straight ones have one.
    turn : ndarray (pieces, legs * lines) or None
        How far off the heading each piece is seen, radians; None where all are straight.
    """

    flights: Flights
    length: Floats
    up_to: Floats
    down_from: Floats
    wanted: Bits
    leg: Bits
    gap: Floats
    piece: Bits
    turn: Floats | None

    @classmethod
    def of(cls, canopies: Sequence[Canopy], flights: Flights, length: Floats) -> Self:
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
        leg = _between(np.moveaxis(mark, 2, 0), length)
        piece = _between(cut, length)
        up_to, down_from = arc.crossings(max(canopy.top for canopy in canopies))
        wanted = samples_upto(up_to[:, None] * length)
        wanted |= samples_upto(down_from[:, None] * length) ^ samples_upto(length)
        return cls(
            flights,
            length,
            up_to,
            down_from,
            wanted.ravel(),
            np.ascontiguousarray(np.moveaxis(leg, 0, 2)).reshape(gap.size, -1),
            gap.ravel(),
            piece.reshape(len(piece), -1),
            None if turn is None else turn.reshape(len(turn), -1),
        )


def _between(share: Floats, length: Floats) -> Bits:
    """Samples between neighbours of shares (ends, ..., lines) of lengths (lines, bundles): (ends - 1, ..., pairs)."""
    upto = samples_upto(share[..., None] * length)
    stretch: Bits = upto[1:] ^ upto[:-1]
    return stretch.reshape(*stretch.shape[:-2], -1)
