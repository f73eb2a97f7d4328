"""Full shots that trees all but rule out, found before anything is flown.

Beside woods a good part of the fan of aims runs into them. Where every line about an aim is under the trees at the
same distances hardly a ball gets through; where another shot from the same place is much freer, that one is left
out without working out where its balls come down.
"""

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.arsenal import Arsenal
from caddiebrain.hole.choices import ChoiceTable, Kind
from caddiebrain.hole.points import ErrorPoints
from caddiebrain.hole.sight import Sight
from caddiebrain.hole.swing_set import SwingSet

__all__ = ["barred"]

_THROUGH, _FREER = 0.3, 1.5
"""Shots that get through less often are barred, where another from the same place gets through so much more often."""
_THROUGH_LISTED, _FREER_LISTED = 0.15, 2.0
"""The same in a list of every club, which is to hold the best aim from one place, not nearly the best on average."""
_RAYS = 1
"""Rays to either side of an aim that must be under trees, too, to count; a curving ball's whole way is added."""

Floats = NDArray[np.float64]


def barred(
    sight: Sight | None,
    table: ChoiceTable,
    lie: NDArray[np.uint8],
    arsenal: Arsenal,
    points: ErrorPoints,
    *,
    from_each_swing: bool = False,
) -> NDArray[np.bool_]:
    """Mark full shots not worth flying, (choices,); never the freest of a place, never aims laid finely at once.

    Parameters
    ----------
    sight : Sight or None
        Trees seen from the nodes.
    lie : ndarray of uint8 (choices,)
        Lie codes the choices are played from.
    points : ErrorPoints
        Those of a set of swings that is at hand; how many does not matter.
    from_each_swing : bool
        For a list of every club: aims laid finely, too, but never the freest of a swing.
    """
    marked = np.zeros(len(table), dtype=bool)
    if sight is None:
        return marked
    rows = np.flatnonzero(
        (table.kind == Kind.FULL) & (from_each_swing | (table.step > 0)) & (sight.row[table.node] >= 0)
    )
    if rows.size == 0:
        return marked
    some = table.take(rows)
    through = np.exp(-_free_paths(sight, some, lie[rows], arsenal, points))
    least, freer = (_THROUGH_LISTED, _FREER_LISTED) if from_each_swing else (_THROUGH, _FREER)
    marked[rows] = (through < least) & (through * freer < _most(through, some.node))
    if from_each_swing:
        swing = some.node * (1 + table.index.max()) + some.index
        marked[rows] &= through < _most(through, swing)
    return marked


def _most(through: Floats, group: NDArray[np.int64]) -> Floats:
    """Return the most of each choice's group, (choices,)."""
    most = np.zeros(int(group.max()) + 1)
    np.maximum.at(most, group, through)
    return most[group]


def _free_paths(
    sight: Sight, table: ChoiceTable, lie: NDArray[np.uint8], arsenal: Arsenal, points: ErrorPoints
) -> Floats:
    """Mean free paths of trees that every line about each full shot meets, (choices,)."""
    rays, played = np.empty(len(table), dtype=np.int64), list[tuple[NDArray[np.int64], SwingSet]]()
    for code in np.flatnonzero(np.bincount(lie)):
        at, swings = np.flatnonzero(lie == code), arsenal.swing_set(int(code), points)
        played.append((at, swings))
        rays[at] = _RAYS + sight.rays_within(swings.stray)[np.searchsorted(swings.index, table.index[at])]
    under = sight.under_all(sight.row[table.node], table.heading, rays)
    met = np.zeros(len(table))
    for at, swings in played:
        crossings = swings.as_meant(sight.canopies)
        swing = np.searchsorted(swings.index, table.index[at])
        canopy = np.arange(len(crossings.leg)) // 4
        samples = np.bitwise_count(under[:, at][canopy] & crossings.leg.take(swing, axis=1))
        met[at] = (samples * (sight.step_yd / crossings.gap)[:, None]).sum(axis=0)
    return met
