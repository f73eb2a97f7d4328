"""The node whose decision a ball takes: the nearest that stands for ground like the ball's."""

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import KDTree

from caddiebrain.hole.places import Places

__all__ = ["NearestNodes"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class NearestNodes:
    """Finds nodes of a lie; those from which one putts are apart from the rest."""

    def __init__(self, places: Places) -> None:
        self._found: dict[int, tuple[Ints, Any]] = {}
        kind = _kind(places.lie, places.putts)
        for code in np.unique(kind):
            nodes = np.flatnonzero(kind == code)
            self._found[int(code)] = (nodes, KDTree(np.stack([places.x[nodes], places.y[nodes]], axis=1)))

    def of(self, x: Floats, y: Floats, lie: Ints, putts: NDArray[np.bool_]) -> tuple[Ints, Ints]:
        """Find the node of balls (n,), and the lie it stands for.

        Parameters
        ----------
        x, y : ndarray (n,)
            Yards.
        lie : ndarray of int (n,)
            Codes.
        putts : ndarray of bool (n,)
            Whether the ball lies off the green where it can be putted.
        """
        kind, node, stands_for = _kind(lie, putts), np.empty(len(x), np.int64), lie.copy()
        for code in np.unique(kind):
            at = np.flatnonzero(kind == code)
            known = next((k for k in (int(code), int(code) ^ 1) if k in self._found), None)
            if known is None:
                # A sliver that only the fine raster shows is played as the commonest ground.
                known = max(self._found, key=lambda k: len(self._found[k][0]))
                stands_for[at] = known // 2
            nodes, tree = self._found[known]
            node[at] = nodes[tree.query(np.stack([x[at], y[at]], axis=1))[1]]
        return node, stands_for


def _kind(lie: NDArray[np.integer], putts: NDArray[np.bool_]) -> Ints:
    return np.asarray(2 * lie.astype(np.int64) + putts)
