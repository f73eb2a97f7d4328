"""Products of all choices with a vector, shared out among cores where a graph is large.

A reading of a large graph takes as long as its outcomes take to come from memory, and two cores read nearly twice as
fast; scipy lets go of the interpreter's lock while it multiplies.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from caddiebrain.graph import StateGraph
from caddiebrain.solve.layout import rows_of
from caddiebrain.solve.threads import Threads, threads

__all__ = ["Product", "products"]

MANY_OUTCOMES = 2_000_000
"""Outcomes from which on a second core pays."""

Floats = NDArray[np.float64]


class Product:
    """The mean of a vector over the outcomes of every choice; without threads in one run.

    Attributes
    ----------
    parts : dict of csr_array
        With threads, the rows of each share by the first of them.
    """

    def __init__(self, graph: StateGraph, team: Threads | None = None) -> None:
        self._team, self._table = team, rows_of(graph, graph.outcome_state, graph.n_states)
        self._shares = [] if team is None else team.shares(graph.outcome_start)
        self.parts = {low: _part(self._table, low, high) for low, high in self._shares}

    def __call__(self, value: Floats) -> Floats:
        """Return the mean of a vector of shape (S,) for each choice, shape (C,)."""
        if self._team is None:
            mean: Floats = self._table @ value
            return mean
        total = np.empty(self._table.shape[0])
        self._team.run(self._fill, self._shares, value, total)
        return total

    def _fill(self, low: int, high: int, value: Floats, total: Floats) -> None:
        total[low:high] = self.parts[low] @ value


def _part(table: Any, low: int, high: int) -> Any:
    """Return a run of rows, nothing of them copied."""
    begin = table.indptr[low : high + 1]
    span = slice(int(begin[0]), int(begin[-1]))
    part = csr_array((high - low, table.shape[1]))
    # Handed to the constructor, short views of long arrays would be copied.
    part.data, part.indices, part.indptr = table.data[span], table.indices[span], begin - begin[0]
    return part


@contextmanager
def products(graph: StateGraph) -> Iterator[Product]:
    """Hand out products over a graph; threads they need end with the context."""
    if graph.n_outcomes < MANY_OUTCOMES:
        yield Product(graph)
        return
    with threads() as team:
        yield Product(graph, team if team.count > 1 else None)
