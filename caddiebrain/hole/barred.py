"""Full shots that trees all but rule out, found before anything is flown.

Beside woods a good part of the fan of aims runs into them. Where every line about an aim is under the trees at the
same distances hardly a ball gets through; where another shot from the same place is much freer, that one is left
out without working out where its balls come down.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.arsenal import Arsenal
from caddiebrain.hole.choices import ChoiceTable, Kind
from caddiebrain.hole.crossings import Arc, Crossings, Flights
from caddiebrain.hole.sight import Sight
from caddiebrain.hole.swings import FullSwing

__all__ = ["barred"]

_THROUGH = 0.15
"""Shots that get through less often are barred ..."""
_FREER = 2.0
"""... where another from the same place gets through so many times as often."""
_RAYS = 1
"""Rays to either side of an aim that must be under trees, too, to count; a curving ball's whole way is added."""

Floats = NDArray[np.float64]


def barred(
    sight: Sight | None, table: ChoiceTable, lie: NDArray[np.uint8], arsenal: Arsenal
) -> NDArray[np.bool_]:
    """Mark full shots not worth flying, (choices,); never the freest of a place, never aims laid finely at once.

    Parameters
    ----------
    sight : Sight or None
        Trees seen from the nodes.
    lie : ndarray of uint8 (choices,)
        Lie codes the choices are played from.
    """
    marked = np.zeros(len(table), dtype=bool)
    if sight is None:
        return marked
    rows = np.flatnonzero((table.kind == Kind.FULL) & (table.step > 0) & (sight.row[table.node] >= 0))
    if rows.size == 0:
        return marked
    swing, swings = np.empty(len(rows), dtype=np.int64), list[FullSwing]()
    for code in np.flatnonzero(np.bincount(lie[rows])):
        at = np.flatnonzero(lie[rows] == code)
        own = arsenal.full[int(code)]
        swing[at] = len(swings) + np.searchsorted([s.index for s in own], table.index[rows[at]])
        swings.extend(own)
    through = np.exp(-_free_paths(sight, table.take(rows), swing, swings))
    freest = np.zeros(len(sight.row))
    np.maximum.at(freest, table.node[rows], through)
    marked[rows] = (through < _THROUGH) & (through * _FREER < freest[table.node[rows]])
    return marked


def _free_paths(
    sight: Sight, table: ChoiceTable, swing: NDArray[np.int64], swings: Sequence[FullSwing]
) -> Floats:
    """Mean free paths of trees that every line about each choice meets, (choices,); ``swing`` is its place."""
    rays = np.array([_RAYS + sight.rays_within(_stray(s)) for s in swings], dtype=np.int64)[swing]
    under = sight.under_all(sight.row[table.node], table.heading, rays)
    crossings = _crossings(sight, swings)
    met = np.zeros(len(table))
    for leg, (samples, gap) in enumerate(zip(crossings.leg, crossings.gap, strict=True)):
        met += np.bitwise_count(under[leg // 4] & samples.take(swing)) * (sight.step_yd / gap)
    return met


def _stray(swing: FullSwing) -> float:
    """How far off its heading a ball may be seen on its way, radians."""
    carry = swing.carry.mean()
    return float(abs(swing.pattern.curve_yd) / carry + np.abs(swing.drift / swing.carry).max())


def _crossings(sight: Sight, swings: Sequence[FullSwing]) -> Crossings:
    """Where swings that fly as meant cross the canopies; one bundle each, the way there taken straight."""
    carry, apex, share = (
        np.array([v.mean() for v in values])
        for values in zip(*((s.carry, s.apex, s.apex_share) for s in swings), strict=True)
    )
    straight = Flights(Arc(carry, apex, share), np.zeros(len(carry)), None)
    return Crossings.of(sight.canopies, straight, carry[:, None])
