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
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from caddiebrain.graph import StateGraph
from caddiebrain.graph.spans import spans
from caddiebrain.solve.block import Block

__all__ = ["blocks", "layer_blocks", "own_row_too", "rows_of", "shifted_columns"]


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
