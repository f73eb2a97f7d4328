"""The arrays a sweep runs over: rows of choices as sparse matrices, level by level.

A state without zero-stroke outcomes depends on other layers (or the last sweep) only, so all of them are swept
together; states with zero-stroke outcomes follow, level after level, so that what they lead to is known by then. Of
these, states with one choice, of which a hole has many, have a block of their own: there is nothing to choose.

Sweeps over strokes left work on a table of layers, most strokes left first: row r + j is j strokes below row r. A
block of level 0 looks from one row below its own on: an outcome of j strokes to state s stands at column
``(j - 1) * S + s``, for j = 1 the graph's own array, nothing copied. The other blocks look from their own row on:
column ``j * S + s``.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from caddiebrain.graph import StateGraph
from caddiebrain.graph.spans import spans

__all__ = [
    "Block",
    "blocks",
    "first_hits",
    "in_single_precision",
    "layer_blocks",
    "own_row_too",
    "rows_of",
    "shifted_columns",
]


@dataclass(frozen=True)
class Block:
    """The states of one level with the choices swept in them.

    Attributes
    ----------
    states : array of int64, shape (n,)
    choices : array of int64, shape (m,)
        Running indices, grouped by state.
    starts : array of int64, shape (n,)
        First row of each state.
    matrix : csr_array, shape (m, columns)
        Probabilities, one row a choice.
    first_row : int
        How many rows below its own the block looks from, in a table of layers.
    """

    states: NDArray[np.int64]
    choices: NDArray[np.int64]
    starts: NDArray[np.int64]
    matrix: Any
    first_row: int = 0

    @cached_property
    def lengths(self) -> NDArray[np.int64]:
        """Choices of each state, shape (n,)."""
        return np.diff(np.append(self.starts, len(self.choices)))

    @cached_property
    def decides(self) -> bool:
        """Whether any state has more than one choice."""
        return len(self.choices) > len(self.states)

    @cached_property
    def owner(self) -> NDArray[np.int64]:
        """Place among ``states`` of the state each row belongs to, shape (m,)."""
        return np.repeat(np.arange(len(self.starts)), self.lengths)

    def least(self, total: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the least of each state's rows, shape (n,)."""
        return np.minimum.reduceat(total, self.starts) if self.decides else total

    def most(self, total: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the most of each state's rows, shape (n,)."""
        return np.maximum.reduceat(total, self.starts) if self.decides else total

    def seen(self, table: NDArray[np.float64], row: int) -> NDArray[np.float64]:
        """Return what the block sees from a row of a table of layers (rows, S), flat."""
        first = row + self.first_row
        return table[first : first + self.matrix.shape[1] // table.shape[1]].reshape(-1)

    def only(self, rows: NDArray[np.int64]) -> "Block":
        """Return the block with some of its choices, at least one of every state, in order; nothing is copied."""
        starts = np.searchsorted(rows, self.starts)
        return Block(self.states, self.choices[rows], starts, _Rows(self.matrix, rows), self.first_row)


class _Rows:
    """Some rows of a csr_array, in rising order, to multiply where they stand.

    scipy adds up row i from ``indptr[i]`` to ``indptr[i + 1]``, and nothing when the second is not the larger. With
    the rows taken last to first, each start followed by its end, every second row goes back and is empty.
    """

    def __init__(self, whole: Any, rows: NDArray[np.int64]) -> None:
        self.shape = (len(rows), whole.shape[1])
        indptr = np.empty(2 * len(rows), dtype=whole.indptr.dtype)
        indptr[-2::-2], indptr[::-2] = whole.indptr[rows], whole.indptr[rows + 1]
        self.there_and_back = _unchecked(whole.data, whole.indices, indptr, whole.shape[1])

    def __matmul__(self, vector: NDArray[np.float64]) -> NDArray[np.float64]:
        product: NDArray[np.float64] = (self.there_and_back @ vector)[::-2]
        return np.ascontiguousarray(product)


def in_single_precision(whole: Any, first: int, last: int) -> Any:
    """Return some neighbouring rows of a csr_array in single precision."""
    a, b = whole.indptr[first], whole.indptr[last]
    data = whole.data[a:b].astype(np.float32)
    return _unchecked(data, whole.indices[a:b], whole.indptr[first : last + 1] - a, whole.shape[1])


def _unchecked(data: NDArray[Any], indices: NDArray[Any], indptr: NDArray[Any], width: int) -> Any:
    """Return a csr_array of the very arrays given: its own constructor copies what is a small part of another."""
    table = csr_array((len(indptr) - 1, width), dtype=data.dtype)
    table.data, table.indices, table.indptr = data, indices, indptr
    return table


def first_hits(part: Block, hit: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the first of the given rows in each state; every state has one."""
    first = np.empty(len(part.starts), dtype=np.int64)
    first[part.owner[hit[::-1]]] = hit[::-1]  # the last assignment stands
    return first


def rows_of(
    graph: StateGraph, columns: NDArray[Any], width: int, choices: NDArray[np.int64] | None = None
) -> Any:
    """Return the probabilities of some choices (None: all) as rows of a csr_array over the given columns."""
    small = max(width, graph.n_outcomes) < 2**31 - 1
    itype: Any = np.int32 if small else np.int64  # one type of index keeps scipy from copying
    prob, columns = graph.outcome_prob, columns.astype(itype, copy=False)
    start = graph.outcome_start.astype(itype)
    if choices is not None and _neighbours(choices):
        low, high = int(choices[0]), int(choices[-1]) + 1  # neighbours: no copy of the outcomes
        span = slice(int(start[low]), int(start[high]))
        view = (prob[span], columns[span], start[low : high + 1] - start[low])
        return csr_array(view, shape=(high - low, width), copy=False)
    table = csr_array((prob, columns, start), shape=(graph.n_choices, width), copy=False)
    return table if choices is None else table[choices]


def blocks(
    graph: StateGraph, columns: NDArray[Any], width: int, keep: NDArray[np.bool_] | None = None
) -> tuple[Block, ...]:
    """Cut the graph into blocks by level, lowest first.

    Parameters
    ----------
    columns : array of int, shape (N,)
        Column of each outcome.
    width : int
        Number of columns.
    keep : array of bool, shape (C,), optional
        Choices to sweep; by default all.
    """
    return tuple(
        Block(states, choices, starts, rows_of(graph, columns, width, choices))
        for states, choices, starts in _levels(graph, keep)
    )


def shifted_columns(graph: StateGraph) -> tuple[NDArray[Any], int]:
    """Return each outcome's place in a window of layers in rising order, and the number of layers in it.

    The window holds layers k - m to k one after the other (m: most strokes of an outcome), so an outcome of j
    strokes to state s stands at ``(m - j) * S + s``.
    """
    most = graph.most_strokes
    wide = (most + 1) * graph.n_states >= 2**31 - 1
    layer: NDArray[Any] = (most - np.arange(most + 1)).astype(np.int64 if wide else np.int32) * graph.n_states
    return layer[graph.outcome_strokes] + graph.outcome_state, most + 1


def layer_blocks(graph: StateGraph, keep: NDArray[np.bool_] | None = None) -> tuple[Block, ...]:
    """Cut the graph into blocks by level, lowest first, for sweeps over a table of layers.

    Parameters
    ----------
    keep : array of bool, shape (C,), optional
        Choices to sweep; by default all.
    """
    most = graph.most_strokes
    parts = []
    for states, choices, starts in _levels(graph, keep):
        if graph.level[states[0]] == 0:
            matrix, first = rows_of(graph, graph.outcome_column, most * graph.n_states, choices), 1
        else:
            matrix, first = own_row_too(graph, choices), 0
        parts.append(Block(states, choices, starts, matrix, first))
    return tuple(parts)


def own_row_too(graph: StateGraph, choices: NDArray[np.int64]) -> Any:
    """Return rows that look from their own row of the table on."""
    lengths = graph.outcome_start[choices + 1] - graph.outcome_start[choices]
    take: Any = spans(graph.outcome_start[choices], lengths)
    if _neighbours(choices):
        take = slice(int(graph.outcome_start[choices[0]]), int(graph.outcome_start[choices[-1] + 1]))
    shape = (len(choices), (graph.most_strokes + 1) * graph.n_states)
    offset = np.concatenate(([0], np.cumsum(lengths)))
    itype: Any = np.int32 if max(shape[1], offset[-1]) < 2**31 - 1 else np.int64  # small ones are read faster
    columns = graph.outcome_strokes[take].astype(itype) * itype(graph.n_states) + graph.outcome_state[take]
    return csr_array((graph.outcome_prob[take], columns, offset.astype(itype)), shape=shape)


def _neighbours(choices: NDArray[np.int64]) -> bool:
    """Whether choices follow each other without a gap."""
    return len(choices) > 0 and bool(np.all(np.diff(choices) == 1))


def _levels(
    graph: StateGraph, keep: NDArray[np.bool_] | None
) -> Iterator[tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]]:
    """Yield the states of each level, lowest first, their choices to sweep, and where each state's begin."""
    counts = np.diff(graph.choice_start)
    if keep is not None:
        running = np.concatenate(([0], np.cumsum(keep)))
        counts = np.diff(running[graph.choice_start])
    for level in range(int(graph.level.max(initial=0)) + 1):
        here = np.flatnonzero(graph.level == level)
        here = here[here != graph.goal]
        one = counts[here] == 1
        parts = (here[one], here[~one]) if level else _first_run(graph, here) if keep is None else (here,)
        for states in parts:
            if len(states) == 0:
                continue
            choices = spans(graph.choice_start[states], np.diff(graph.choice_start)[states])
            if keep is not None:
                choices = choices[keep[choices]]
            yield states, choices, np.concatenate(([0], np.cumsum(counts[states])))[:-1]


def _first_run(graph: StateGraph, states: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Cut states where there is the first gap between their choices, if most stand before it: those need no copy."""
    gaps = np.flatnonzero(graph.choice_start[states[:-1] + 1] != graph.choice_start[states[1:]])
    cut = int(gaps[0]) + 1 if len(gaps) and 2 * gaps[0] >= len(states) else len(states)
    return states[:cut], states[cut:]
