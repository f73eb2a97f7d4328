r"""A smaller graph with the same values: states without a decision and without strokes are taken out.

A state with one choice whose outcomes all cost zero strokes is a chance event; with T its rows, every outcome
that led to it leads on to where it leads,

.. math:: R = K + T K + T^2 K + \dots, \qquad p'(s', c \mid s, a) = \sum_r p(r, c \mid s, a) R(r, s'),

K the identity on the states that stay. The sum ends because zero-stroke outcomes cannot form a cycle. Values,
distributions of strokes and visits of the states that stay are unchanged (Puterman M.L., 1994, *Markov Decision
Processes*, appendix A, for the reduction of a chain).
"""

from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array, diags_array, hstack

from caddiebrain.graph import StateGraph
from caddiebrain.solve.layout import rows_of

__all__ = ["Contraction", "contract"]


@dataclass(frozen=True)
class Contraction:
    """A contracted graph and where its states and choices come from.

    Attributes
    ----------
    graph : StateGraph
        The same choices in the same order at the states that stay; outcomes to the same state at the same
        strokes are one.
    states : array of int64, shape (S',)
        State each had before.
    choices : array of int64, shape (C',)
        Running index each had before.
    spread : csr_array, shape (S, S')
        Where a play that is in a state of the old graph is next in one that stays.
    first_choice : array of int64, shape (S,)
        First choice of every state of the old graph: the only one where the state went.
    """

    graph: StateGraph
    states: NDArray[np.int64]
    choices: NDArray[np.int64]
    spread: Any
    first_choice: NDArray[np.int64]

    def state(self, before: int) -> int:
        """Return the new number of a state that stays; -1 if it went."""
        at = int(np.searchsorted(self.states, before))
        return at if at < len(self.states) and self.states[at] == before else -1


def contract(graph: StateGraph, keep: Iterable[Hashable] = ()) -> Contraction:
    """Take out the states without a decision and without strokes.

    Parameters
    ----------
    graph : StateGraph
    keep : iterable of hashable
        Labels of states that stay whatever they are: starts of play.

    Raises
    ------
    UnknownError
        If no state has a label to keep.
    """
    stays = _deciding(graph)
    stays[[graph.index(label) for label in keep]] = True
    states = np.flatnonzero(stays)
    spread = _resolved(graph, stays)[:, states]
    choices = np.flatnonzero(stays[graph.choice_state])
    table = rows_of(graph, graph.outcome_state, graph.n_states, choices)
    strokes = _entries(graph, choices)
    parts = []
    most = int(strokes.max(initial=0))
    for cost in range(most + 1):
        paid = np.where(strokes == cost, table.data, 0.0)
        rows = csr_array((paid, table.indices, table.indptr), shape=table.shape, copy=True)
        rows.eliminate_zeros()  # in place
        parts.append(rows @ spread)
    merged = csr_array(hstack(parts, format="csr"))
    merged.eliminate_zeros()
    labels, names = graph.state_labels, graph.choice_labels
    small = StateGraph(
        np.concatenate(([0], np.cumsum(np.diff(graph.choice_start)[states]))),
        merged.indptr.astype(np.int64),
        (merged.indices % len(states)).astype(np.int32),
        merged.data,
        (merged.indices // len(states)).astype(np.uint8),
        int(np.searchsorted(states, graph.goal)),
        None if labels is None else tuple(labels[int(s)] for s in states),
        None if names is None else tuple(names[int(c)] for c in choices),
    )
    return Contraction(small, states, choices, spread, graph.choice_start[:-1])


def _deciding(graph: StateGraph) -> NDArray[np.bool_]:
    """Return which states have a decision or spend strokes, the goal included."""
    costly = np.add.reduceat(graph.outcome_strokes.astype(np.int64), graph.outcome_start[:-1]) > 0
    spends = np.bincount(graph.choice_state, weights=costly, minlength=graph.n_states) > 0
    deciding: NDArray[np.bool_] = spends | (np.diff(graph.choice_start) != 1)
    return deciding


def _entries(graph: StateGraph, choices: NDArray[np.int64]) -> NDArray[np.uint8]:
    """Return the strokes of the outcomes of some choices, in order."""
    chosen = np.zeros(graph.n_choices, dtype=bool)
    chosen[choices] = True
    strokes: NDArray[np.uint8] = graph.outcome_strokes[np.repeat(chosen, np.diff(graph.outcome_start))]
    return strokes


def _resolved(graph: StateGraph, stays: NDArray[np.bool_]) -> Any:
    """Return where every state leads once chance events are played, csr (S, S), to states that stay."""
    going = np.flatnonzero(~stays)
    total = diags_array(stays.astype(np.float64), format="csr")
    if len(going) == 0:
        return csr_array(total)
    inner = rows_of(graph, graph.outcome_state, graph.n_states, graph.choice_start[going])
    lengths = np.zeros(graph.n_states, dtype=np.int64)
    lengths[going] = np.diff(inner.indptr)
    indptr = np.concatenate(([0], np.cumsum(lengths)))
    step = csr_array((inner.data, inner.indices, indptr), shape=(graph.n_states, graph.n_states))
    settled = diags_array(stays.astype(np.float64), format="csr")
    moving = diags_array((~stays).astype(np.float64), format="csr")
    front = step
    while front.nnz:
        total = total + front @ settled
        front = csr_array(front @ moving)
        front.eliminate_zeros()
        front = front @ step
    total = csr_array(total)
    total.eliminate_zeros()
    return total
