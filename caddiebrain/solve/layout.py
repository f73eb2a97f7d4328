"""The arrays a sweep runs over: rows of choices as sparse matrices, level by level.

A state without zero-stroke outcomes depends on other layers (or the last sweep) only, so all of them are swept
together; states with zero-stroke outcomes follow, level after level, so that what they lead to at once is known.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from caddiebrain.graph import StateGraph

__all__ = ["Block", "blocks", "mean_strokes", "rows_of", "shifted_columns", "spans"]


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
    """

    states: NDArray[np.int64]
    choices: NDArray[np.int64]
    starts: NDArray[np.int64]
    matrix: Any


def spans(starts: NDArray[np.int64], lengths: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return start, start + 1, ... of each span, one after the other."""
    ends = np.cumsum(lengths)
    total = int(ends[-1]) if len(ends) else 0
    return np.repeat(starts - ends + lengths, lengths) + np.arange(total)


def rows_of(graph: StateGraph, columns: NDArray[Any], width: int, choices: NDArray[np.int64] | None) -> Any:
    """Return the probabilities of some choices (None: all) as rows of a csr_array over the given columns."""
    # One index type throughout keeps scipy from copying.
    itype = np.int32 if max(width, graph.n_outcomes) < 2**31 - 1 else np.int64
    prob, start = graph.outcome_prob, graph.outcome_start
    if choices is None:
        parts = (prob, columns.astype(itype, copy=False), start.astype(itype))
        return _csr(parts, (graph.n_choices, width))
    first, last = start[choices], start[choices + 1]
    offset = np.concatenate(([0], np.cumsum(last - first)))
    if len(choices) and choices[-1] - choices[0] + 1 == len(choices) and np.all(np.diff(choices) == 1):
        take: Any = slice(int(first[0]), int(last[-1]))  # neighbours: a view, no copy
    else:
        take = spans(first, last - first)
    return _csr(
        (prob[take], columns[take].astype(itype, copy=False), offset.astype(itype)), (len(choices), width)
    )


def _csr(parts: tuple[Any, Any, Any], shape: tuple[int, int]) -> Any:
    return csr_array(parts, shape=shape, copy=False)


def shifted_columns(graph: StateGraph) -> tuple[NDArray[Any], int]:
    """Return each outcome's place in a window of layers, and the number of layers in a window.

    The window holds layers k - m to k one after the other (m: most strokes of an outcome), so an outcome of j
    strokes to state s stands at ``(m - j) * S + s``.
    """
    most = int(graph.outcome_strokes.max(initial=0))
    if (most + 1) * graph.n_states < 2**31 - 1:
        layer = (most - np.arange(most + 1)).astype(np.int32) * np.int32(graph.n_states)
        return layer[graph.outcome_strokes] + graph.outcome_state, most + 1
    wide = (most - graph.outcome_strokes.astype(np.int64)) * graph.n_states
    return wide + graph.outcome_state, most + 1


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
    return tuple(_blocks(graph, columns, width, keep))


def _blocks(
    graph: StateGraph, columns: NDArray[Any], width: int, keep: NDArray[np.bool_] | None
) -> Iterator[Block]:
    counts = np.diff(graph.choice_start)
    if keep is not None:
        running = np.concatenate(([0], np.cumsum(keep)))
        counts = np.diff(running[graph.choice_start])
    by_level = np.argsort(graph.level, kind="stable")
    by_level = by_level[by_level != graph.goal]
    edges = np.flatnonzero(np.diff(graph.level[by_level])) + 1
    for states in np.split(by_level, edges):
        if len(states) == 0:
            continue
        choices = spans(graph.choice_start[states], np.diff(graph.choice_start)[states])
        if keep is not None:
            choices = choices[keep[choices]]
        starts = np.concatenate(([0], np.cumsum(counts[states])))[:-1]
        yield Block(states, choices, starts, rows_of(graph, columns, width, choices))


def mean_strokes(graph: StateGraph) -> NDArray[np.float64]:
    """Return the mean strokes each choice costs at once, shape (C,)."""
    if graph.n_choices == 0:
        return np.zeros(0)
    return np.add.reduceat(graph.outcome_prob * graph.outcome_strokes, graph.outcome_start[:-1])
