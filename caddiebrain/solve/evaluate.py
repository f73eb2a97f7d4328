r"""A stationary policy in numbers: expected strokes and expected visits, by one sparse solve each.

With P the policy's transition matrix among the states from which it surely ends, c its mean strokes and e the
start,

.. math:: V = c + P V, \qquad x = e + P^T x,

both by sparse LU. Where the policy may never reach the goal V is infinite.
Source: Puterman M.L. (1994), *Markov Decision Processes*, appendix A.
"""

from collections.abc import Hashable
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse import csr_array, eye_array
from scipy.sparse.linalg import spsolve

from caddiebrain.errors import SolveError
from caddiebrain.graph import StateGraph
from caddiebrain.solve.policy import policy_rows, surely_ending

__all__ = ["evaluate", "visit_frequencies"]


def evaluate(graph: StateGraph, choice: ArrayLike) -> NDArray[np.float64]:
    """Return the expected strokes of a stationary policy from each state, shape (S,).

    Parameters
    ----------
    choice : array of int, shape (S,)
        Running index of the choice made in each state; ignored at the goal.

    Returns
    -------
    array of float64, shape (S,)
        Infinite where the policy may never reach the goal.

    Raises
    ------
    InputError
        If the policy names a choice that is not open in its state.
    """
    rows, strokes = policy_rows(graph, choice)
    paid = csr_array((rows.data * strokes, rows.indices, rows.indptr), shape=rows.shape).sum(axis=1)
    value = np.full(graph.n_states, np.inf)
    value[graph.goal] = 0.0
    ending = surely_ending(rows, graph.goal)
    ending[graph.goal] = False
    inner = np.flatnonzero(ending)
    if len(inner):
        value[inner] = spsolve(_system(rows, inner), paid[inner])
    return value


def visit_frequencies(graph: StateGraph, choice: ArrayLike, start: Hashable) -> NDArray[np.float64]:
    """Return how often a stationary policy is expected to be in each state, shape (S,); the goal counts once.

    Parameters
    ----------
    choice : array of int, shape (S,)
        Running index of the choice made in each state; ignored at the goal.
    start : hashable
        Label of the state play starts in; that visit counts.

    Raises
    ------
    InputError
        If the policy names a choice that is not open in its state.
    SolveError
        If the policy may never reach the goal from the start: some visits are infinite.
    UnknownError
        If no state has the label.
    """
    first = graph.index(start)
    rows, _ = policy_rows(graph, choice)
    ending = surely_ending(rows, graph.goal)
    visits = np.zeros(graph.n_states)
    visits[graph.goal] = 1.0
    if first == graph.goal:
        return visits
    if not ending[first]:
        raise SolveError(f"the policy may never reach the goal from {start!r}; choose one that does")
    ending[graph.goal] = False
    inner = np.flatnonzero(ending)
    visits[inner] = spsolve(_system(rows, inner).T.tocsc(), (inner == first).astype(np.float64))
    return visits


def _system(rows: Any, inner: NDArray[np.int64]) -> Any:
    """Return identity minus transitions among some states, csc."""
    return (eye_array(len(inner), format="csr") - rows[inner][:, inner]).tocsc()
