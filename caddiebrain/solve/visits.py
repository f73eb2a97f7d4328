r"""Where play under a policy for budgets passes through: the mass in every state by strokes left.

With mass m_k(s) before a choice with k strokes left,

.. math:: m_{k-c}(s') \mathrel{+}= m_k(s) \, p(s', c \mid s, \pi(s, k)),

k from high to low and, within k, states from the highest level down, so that zero-stroke outcomes are in before
the states they lead to are left. Chance events, of which a hole has many, are followed all at once.
"""

from collections.abc import Hashable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from caddiebrain.errors import InputError, SolveError
from caddiebrain.graph import StateGraph
from caddiebrain.solve.layout import rows_of
from caddiebrain.solve.passage import Passage, levels
from caddiebrain.solve.policy import checked_policy, checked_state

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
    graph: StateGraph,
    policy: ArrayLike,
    start: Hashable,
    start_mass: ArrayLike,
    *,
    seldom: float = 0.0,
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
    seldom : float
        Visits of a state with one number of strokes left that are not followed further; 0 follows everything.

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
    top = len(table) - 1
    held = np.zeros((len(table) + graph.most_strokes, graph.n_states))  # row r: top - r strokes left
    held[: top + 1, graph.index(start)] = mass[::-1]
    passage = Passage(graph)
    for row in range(top + 1):
        passage.play(held, row, table[top - row], seldom)
    return BudgetVisits(held[top::-1], float(held[top + 1 :].sum()))


def expected_visits(graph: StateGraph, choice: ArrayLike, start: int) -> NDArray[np.float64]:
    """Return how often a stationary policy is expected to be in each state, shape (S,); the goal counts nothing.

    Follows the mass move by move; quicker than the linear system of ``visit_frequencies`` where play ends soon.

    Parameters
    ----------
    choice : array of int, shape (S,)
        Running index of the choice made in each state; ignored at the goal.
    start : int
        Index of the state play starts in: ``graph.index(label)``.

    Raises
    ------
    InputError
        If the policy names a choice that is not open in its state, or the start is no index of a state.
    SolveError
        If play is still under way after 10,000 moves.
    """
    picked = checked_policy(graph, choice)[0]
    rows = rows_of(graph, graph.outcome_state, graph.n_states)
    parts = tuple(levels(graph, rows, lambda choices: rows[choices]))
    under_way, total = np.zeros(graph.n_states), np.zeros(graph.n_states)
    under_way[checked_state(graph, "expected_visits", "start", start)] = 1.0
    for _ in range(_MOVES):
        under_way[graph.goal] = 0.0
        if under_way.sum() <= _ENDED:
            return total
        for part in parts:
            here = under_way[part.states]
            total[part.states] += here
            under_way[part.states] = 0.0
            part.follow(here, picked, under_way)
    raise SolveError(f"play is still under way after {_MOVES} moves; the policy may never reach the goal")
