"""Policies as tables: one choice a state, or one a state and number of strokes left."""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import breadth_first_order

from caddiebrain.errors import InputError, number_faults
from caddiebrain.graph import StateGraph
from caddiebrain.graph.spans import spans
from caddiebrain.solve.layout import rows_of

__all__ = ["checked_budget", "checked_policy", "checked_state", "policy_rows", "surely_ending"]


def checked_policy(graph: StateGraph, policy: ArrayLike) -> NDArray[np.signedinteger]:
    """Return a policy as running choice indices, shape (rows, S): one row when it is stationary; -1 at the goal.

    Raises
    ------
    InputError
        If it names a choice that is not open in its state.
    """
    table = np.atleast_2d(np.asarray(policy))
    if table.ndim != 2 or table.shape[1] != graph.n_states or table.dtype.kind not in "iu" or not len(table):
        found = f"shape {np.shape(policy)} of {table.dtype}"
        raise InputError.one(
            "policy", "table", found, f"whole numbers, (S,) or (K + 1, S), S = {graph.n_states}"
        )
    # Long tables come as the solvers make them, and are compared and read faster so.
    short = table.dtype == np.int32 and graph.n_choices < 2**31
    bounds = graph.choice_start.astype(np.int32 if short else np.int64)
    low, high = bounds[:-1], bounds[1:]
    off = (table < low) | (table >= high)
    off[:, graph.goal] = False
    if off.any():
        row, s = (int(i[0]) for i in np.nonzero(off))
        where = f"state {graph.states[s]!r}" + (f", {row} strokes left" if len(table) > 1 else "")
        raise InputError.one("policy", where, f"choice {table[row, s]}", f"{low[s]} to {high[s] - 1}")
    checked: NDArray[np.signedinteger] = table.astype(bounds.dtype)
    checked[:, graph.goal] = -1
    return checked


def checked_state(graph: StateGraph, where: str, name: str, state: object) -> int:
    """Return the index of a state; raises InputError for what is none, a label for one."""
    expected = f"the index of a state, 0 to {graph.n_states - 1}, as graph.index(label) gives it"
    faults = number_faults(name, state, 0, graph.n_states - 1, expected, whole=True)
    if faults:
        raise InputError(where, faults)
    return int(state)  # type: ignore[call-overload, no-any-return]  # a number, as just seen


def checked_budget(table: NDArray[np.signedinteger], budget: int | None, where: str = "policy") -> int:
    """Return the strokes left at the start under a policy of so many rows; by default all it knows.

    Raises
    ------
    InputError
        If they are no whole number of its rows.
    """
    top = len(table) - 1
    if budget is None:
        return top
    faults = number_faults("budget", budget, 0, top, f"0 to {top}, the rows of the policy", whole=True)
    if faults:
        raise InputError(where, faults)
    return int(budget)


def policy_rows(graph: StateGraph, choice: ArrayLike) -> tuple[Any, NDArray[np.uint8]]:
    """Return a stationary policy's probabilities, csr (S, S) with an empty row at the goal, and their strokes.

    The strokes, shape (entries,), stand in the order of the matrix's data.
    """
    picked = checked_policy(graph, choice)[0]
    acting = np.flatnonzero(np.arange(graph.n_states) != graph.goal)
    inner = rows_of(graph, graph.outcome_state, graph.n_states, picked[acting])
    lengths = np.zeros(graph.n_states, dtype=inner.indptr.dtype)
    lengths[acting] = np.diff(inner.indptr)
    indptr = np.concatenate(([0], np.cumsum(lengths))).astype(inner.indptr.dtype)
    first = graph.outcome_start[picked[acting]]
    strokes = graph.outcome_strokes[spans(first, lengths[acting].astype(np.int64))]
    shape = (graph.n_states, graph.n_states)
    return csr_array((inner.data, inner.indices, indptr), shape=shape), strokes


def surely_ending(rows: Any, goal: int) -> NDArray[np.bool_]:
    """Return from which states a policy reaches the goal with probability one, shape (S,)."""
    links = csr_array(((rows.data > 0.0).astype(np.int8), rows.indices, rows.indptr), shape=rows.shape)
    back = links.T.tocsr()
    back.eliminate_zeros()
    ends = np.zeros(rows.shape[0], dtype=bool)
    ends[breadth_first_order(back, goal, return_predecessors=False)] = True
    lost: NDArray[Any] = np.flatnonzero(~ends)
    while len(lost):  # whatever may come to a lost state is lost
        ends[lost] = False
        before = np.unique(back[lost].indices)
        lost = before[ends[before]]
    return ends
