"""Mass moved on through a graph by the choices of a policy: the sweeps of ``layout``, run the other way.

Mass stands in a table of layers, most strokes left first, so that an outcome of j strokes leads j rows on. Within a
layer the states of the highest level go first: what their zero-stroke outcomes lead to is in before it is left.
"""

from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_array, csr_array

from caddiebrain.graph import StateGraph
from caddiebrain.graph.spans import spans
from caddiebrain.solve.layout import own_row_too, rows_of

__all__ = ["ChanceEvents", "Decisions", "Passage", "Picked", "levels"]

Floats = NDArray[np.float64]


class ChanceEvents:
    """States with one choice each, of which a hole has many; together they lead to few columns.

    Parameters
    ----------
    states : array of int, shape (n,)
    rows : csr_array, shape (n, columns)
        Their outcomes.
    """

    def __init__(self, states: NDArray[np.int64], rows: Any) -> None:
        self.states, self.columns = states, rows.shape[1]
        met = np.zeros(rows.shape[1], dtype=bool)
        met[rows.indices] = True
        self._to = np.flatnonzero(met)
        number = np.cumsum(met, dtype=rows.indices.dtype) - 1
        shape = (len(states), len(self._to))
        self._back = csr_array((rows.data, number[rows.indices], rows.indptr), shape=shape).T.tocsr()

    def follow(self, here: Floats, choice: NDArray[np.integer], onward: Floats) -> None:
        """Add to ``onward``, one entry a column, where the mass ``here`` (n,) goes."""
        onward[self._to] += self._back @ here


class Picked:
    """So many rows of a csr_array, to multiply from the left where they stand.

    scipy adds up column i from ``indptr[i]`` to ``indptr[i + 1]``, and nothing when the second is not the larger. With
    the rows taken last to first, and where each begins followed by where it ends, every second column goes back and is
    empty: nothing is copied.

    Parameters
    ----------
    rows : csr_array, shape (m, columns)
    count : int
        At least one.
    """

    def __init__(self, rows: Any, count: int) -> None:
        self._first, self._end = rows.indptr[:-1], rows.indptr[1:]
        self._held = np.zeros(2 * count - 1)
        self._there_and_back: Any = csc_array((rows.shape[1], len(self._held)))
        # Set, for the constructor would copy the arrays.
        self._there_and_back.data, self._there_and_back.indices = rows.data, rows.indices
        self._there_and_back.indptr = np.zeros(2 * count, dtype=rows.indptr.dtype)

    def times(self, mass: Floats, picked: NDArray[np.integer]) -> Floats:
        """Return ``mass`` (count,) times the rows picked (count,), in rising order: an entry a column."""
        first, indptr = self._first.take(picked), self._there_and_back.indptr
        indptr[-2::-2] = first
        indptr[::-2] = np.where(mass != 0.0, self._end.take(picked), first)
        self._held[::-2] = mass
        onward: Floats = self._there_and_back @ self._held
        return onward


class Decisions:
    """States with choices, of which a policy makes one each.

    Parameters
    ----------
    states : array of int, shape (n,)
        In rising order, at least one.
    rows : csr_array, shape (m, columns)
        Outcomes of choices, in rising order.
    number : array of int, shape (C,), optional
        Row of each choice; by default there is a row for every choice of the graph.
    """

    def __init__(self, states: NDArray[np.int64], rows: Any, number: NDArray[np.int32] | None = None) -> None:
        self.states, self.columns = states, rows.shape[1]
        self._number, self._rows = number, Picked(rows, len(states))

    def follow(self, here: Floats, choice: NDArray[np.integer], onward: Floats) -> None:
        """Add to ``onward``, one entry a column, where the mass ``here`` (n,) goes by choices (S,)."""
        chosen = choice.take(self.states)
        onward += self._rows.times(here, chosen if self._number is None else self._number.take(chosen))


def levels(
    graph: StateGraph, lowest: Any, higher: Callable[[NDArray[np.int64]], Any]
) -> Iterator[ChanceEvents | Decisions]:
    """Cut a graph into levels, the highest first, and all but the lowest into decisions and chance events.

    Parameters
    ----------
    lowest : csr_array, shape (C, columns)
        Outcomes of every choice, for the lowest level.
    higher : callable
        Makes a csr_array of the outcomes of some choices of the other levels, a row each.
    """
    counts = np.diff(graph.choice_start)
    for level in range(int(graph.level.max(initial=0)), 0, -1):
        here = np.flatnonzero(graph.level == level)
        here = here[here != graph.goal]
        one = counts[here] == 1
        if one.any():
            yield ChanceEvents(here[one], higher(graph.choice_start[here[one]]))
        if not one.all():
            here = here[~one]
            choices = spans(graph.choice_start[here], counts[here])
            number = np.zeros(graph.n_choices, dtype=np.int32)
            number[choices] = np.arange(len(choices))
            yield Decisions(here, higher(choices), number)
    here = np.flatnonzero(graph.level == 0)
    here = here[here != graph.goal]
    if len(here):
        yield Decisions(here, lowest)


class Passage:
    """A graph made ready for mass to pass through, stroke by stroke.

    Parameters
    ----------
    graph : StateGraph
    """

    def __init__(self, graph: StateGraph) -> None:
        self._rows = graph.most_strokes + 1
        lowest = rows_of(graph, graph.outcome_column, graph.most_strokes * graph.n_states)
        self._levels = tuple(levels(graph, lowest, lambda choices: own_row_too(graph, choices)))

    def play(self, held: Floats, row: int, choice: NDArray[np.integer], seldom: float = 0.0) -> None:
        """Add to the rows below what leaves ``row``, where the mass stays on record as what passed through.

        Parameters
        ----------
        held : array of float64, shape (rows, S)
            Mass by strokes left, most first, and state; below ``row`` there are as many rows as an outcome costs
            strokes.
        choice : array of int, shape (S,)
            Running index of the choice made in each state; ignored at the goal.
        seldom : float
            Mass in one state that is not followed further; 0 follows everything.
        """
        onward = held[row : row + self._rows].reshape(-1)
        for level in self._levels:
            here = held[row].take(level.states)
            if seldom > 0.0:
                here[here <= seldom] = 0.0
            if here.any():
                level.follow(here, choice, onward[-level.columns :])  # the lowest level's start a row below
