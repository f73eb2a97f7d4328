r"""Where play under a policy for budgets passes through: the mass in every state by strokes left.

With mass m_k(s) before a choice with k strokes left,

.. math:: m_{k-c}(s') \mathrel{+}= m_k(s) \, p(s', c \mid s, \pi(s, k)),

k from high to low and, within k, states from the highest level down, so that zero-stroke outcomes are in before
the states they lead to are left.
"""

from collections.abc import Hashable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from caddiebrain.errors import InputError, SolveError
from caddiebrain.graph import StateGraph
from caddiebrain.solve.layout import rows_of
from caddiebrain.solve.policy import checked_policy, policy_rows

__all__ = ["BudgetVisits", "budget_visits", "expected_visits"]

_ENDED = 1e-12
"""Mass under way that is not followed further."""
_MOVES = 10_000


@dataclass(frozen=True)
class BudgetVisits:
    """Expected visits by strokes left.

    Attributes
    ----------
    visits : array of float64, shape (K + 1, S)
        Row k: expected visits of each state with k strokes left; at the goal, the mass that arrived.
    spent : float
        Mass that ran out of strokes.
    """

    visits: NDArray[np.float64]
    spent: float


def budget_visits(
    graph: StateGraph, policy: ArrayLike, start: Hashable, start_mass: ArrayLike
) -> BudgetVisits:
    """Play a policy for budgets with mass spread over strokes left; return where it passes through.

    Parameters
    ----------
    policy : array of int, shape (K + 1, S)
        Running index of the choice for each number of strokes left and state.
    start : hashable
        Label of the state play starts in.
    start_mass : array of float, shape (K + 1,)
        Mass at the start by strokes left; not negative.

    Raises
    ------
    InputError
        If an array does not fit.
    UnknownError
        If no state has the label.
    """
    table, mass = checked_policy(graph, policy), np.asarray(start_mass, dtype=np.float64)
    if mass.shape != (len(table),) or not np.all(mass >= 0.0):
        found = f"shape {mass.shape}, least {mass.min(initial=0.0):g}"
        raise InputError.one("budget_visits", "start_mass", found, f"shape ({len(table)},), none negative")
    first, states = graph.index(start), graph.n_states
    window = int(graph.outcome_strokes.max(initial=0)) + 1
    columns = graph.outcome_strokes.astype(np.int64) * states + graph.outcome_state
    rows = rows_of(graph, columns, window * states, None)
    pad = window - 1
    held = np.zeros((len(table) + pad, states))  # row k + pad: k strokes left
    held[pad:, first] = mass
    levels = np.unique(graph.level)[::-1]
    for k in range(len(table) - 1, -1, -1):
        row = held[k + pad]
        for level in levels if row.any() else ():
            here = np.flatnonzero((row > 0.0) & (graph.level == level))
            here = here[here != graph.goal]
            if len(here):
                onward = (row[here] @ rows[table[k, here]]).reshape(window, states)
                for cost in range(window):
                    held[k + pad - cost] += onward[cost]
    return BudgetVisits(held[pad:], float(held[:pad].sum()))


def expected_visits(graph: StateGraph, choice: ArrayLike, start: int) -> NDArray[np.float64]:
    """Return how often a stationary policy is expected to be in each state, shape (S,); the goal counts nothing.

    Follows the mass move by move; quicker than the linear system of ``visit_frequencies`` where play ends soon.

    Parameters
    ----------
    choice : array of int, shape (S,)
        Running index of the choice made in each state; ignored at the goal.
    start : int
        Index of the state play starts in.

    Raises
    ------
    SolveError
        If play is still under way after 10,000 moves.
    """
    rows, _ = policy_rows(graph, choice)
    under_way, total = np.zeros(graph.n_states), np.zeros(graph.n_states)
    under_way[start] = 1.0
    for _ in range(_MOVES):
        under_way[graph.goal] = 0.0
        if under_way.sum() <= _ENDED:
            return total
        total += under_way
        under_way = under_way @ rows
    raise SolveError(f"play is still under way after {_MOVES} moves; the policy may never reach the goal")
