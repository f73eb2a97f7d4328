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
from caddiebrain.hole.crossings import Arc
from caddiebrain.hole.sight import Bits, Sight, samples_upto
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
    met = np.zeros(len(table))
    for canopy, per_sample, leg in _legs(sight, swings):
        met += np.bitwise_count(under[canopy] & leg.take(swing)) * per_sample
    return met


def _stray(swing: FullSwing) -> float:
    """How far off its heading a ball may be seen on its way, radians."""
    carry = swing.carry.mean()
    return float(abs(swing.pattern.curve_yd) / carry + np.abs(swing.drift / swing.carry).max())


def _legs(sight: Sight, swings: Sequence[FullSwing]) -> list[tuple[int, float, Bits]]:
    """Stretches under and in each canopy: its number, mean free paths a sample, and the samples, (swings,)."""
    carry = np.array([s.carry.mean() for s in swings])
    arc = Arc(
        carry,
        np.array([s.apex.mean() for s in swings]),
        np.array([s.apex_share.mean() for s in swings]),
    )
    legs = []
    for i, canopy in enumerate(sight.canopies):
        (up, down), (over, back) = arc.crossings(canopy.base), arc.crossings(canopy.top)
        ends = [samples_upto(share * carry) for share in (0.0 * up, up, over, back, down, 1.0 + 0.0 * up)]
        for first, gap in ((0, canopy.trunk_gap), (1, canopy.gap), (3, canopy.gap), (4, canopy.trunk_gap)):
            legs.append((i, sight.step_yd / gap, ends[first] ^ ends[first + 1]))
    return legs
