r"""Where play under a policy ends up: exact distributions of strokes, no sampling.

With t strokes taken, mass m_t(s) over states moves forward,

.. math:: m_{t+c}(s') \mathrel{+}= m_t(s) \, p(s', c \mid s, \pi(s, t)),

t by t and, within t, states from the highest level down, so that zero-stroke outcomes are in before the states they
lead to are left. A policy for budgets chooses by the strokes left, budget - t; once they run out it goes on with its
row 0, which the tie rule makes the choice with the fewest expected strokes.
"""

from collections.abc import Hashable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from caddiebrain.errors import InputError, number_faults
from caddiebrain.graph import StateGraph
from caddiebrain.solve.passage import Passage
from caddiebrain.solve.policy import checked_budget, checked_policy

__all__ = ["BudgetFlow", "ScoreDistribution", "budget_flow", "score_pmf"]

NEGLIGIBLE = 1e-13
"""Mass not followed further when the number of strokes is left open."""
LONGEST = 10_000


@dataclass(frozen=True)
class ScoreDistribution:
    """Chances of every total of strokes; behaves as the array ``pmf``.

    Attributes
    ----------
    pmf : array of float64, shape (n + 1,)
        Chance of reaching the goal in exactly 0, 1, ... n strokes.
    beyond : float
        Chance of needing more than n strokes, or of never getting there.
    """

    pmf: NDArray[np.float64]
    beyond: float

    def __array__(self, dtype: Any = None, copy: bool | None = None) -> NDArray[Any]:
        return np.array(self.pmf, dtype=dtype)

    def __len__(self) -> int:
        return len(self.pmf)

    def __getitem__(self, item: Any) -> Any:
        return self.pmf[item]

    def chance(self, strokes: int) -> float:
        """Return the chance of at most so many strokes."""
        return float(self.pmf[: max(strokes + 1, 0)].sum())

    @property
    def mean(self) -> float:
        """Mean strokes of the totals in the table; exact when nothing lies beyond."""
        return float(np.arange(len(self.pmf)) @ self.pmf)


@dataclass(frozen=True)
class BudgetFlow:
    """What becomes of mass spread over strokes left.

    Attributes
    ----------
    at_goal : array of float64, shape (K + 1,)
        Mass that reached the goal, by strokes left.
    spent : array of float64, shape (S,)
        Mass that ran out of strokes, by the state it then stood in; at the goal: one stroke or more too many.
    """

    at_goal: NDArray[np.float64]
    spent: NDArray[np.float64]

    @property
    def below(self) -> float:
        """Mass that ran out of strokes."""
        return float(self.spent.sum())


def score_pmf(
    graph: StateGraph,
    policy: ArrayLike,
    start: Hashable,
    *,
    strokes: int | None = None,
    budget: int | None = None,
) -> ScoreDistribution:
    """Return the exact distribution of strokes from a start to the goal.

    Parameters
    ----------
    policy : array of int, shape (S,) or (K + 1, S)
        Running index of the choice made in each state, or with each number of strokes left in each state.
    start : hashable
        Label of the state play starts in.
    strokes : int, optional
        Longest total in the table; by default until less than 1e-13 of the mass is left (or 10,000 strokes).
    budget : int, optional
        Strokes left at the start, for a policy by strokes left; by default its K.

    Raises
    ------
    InputError
        If the policy names a choice that is not open in its state, the budget lies outside the policy, or ``strokes``
        is no whole number.
    UnknownError
        If no state has the label.
    """
    table = checked_policy(graph, policy)
    left = 0 if len(table) == 1 else checked_budget(table, budget)
    longest = LONGEST if strokes is None else strokes
    faults = number_faults(
        "strokes", longest, 0, 1_000_000, "a whole number of strokes, 0 or more", whole=True
    )
    if faults:
        raise InputError("score_pmf", faults)
    # Row 0 holds the mass with t strokes taken, row 1 with t + 1, and so on.
    held = np.zeros((graph.most_strokes + 1, graph.n_states))
    held[0, graph.index(start)] = 1.0
    passage = Passage(graph)
    pmf: list[float] = []
    remaining = 1.0
    for t in range(int(longest) + 1):
        passage.play(held, 0, table[max(left - t, 0)])
        pmf.append(float(held[0, graph.goal]))
        held[:-1] = held[1:]
        held[-1] = 0.0
        remaining = float(held.sum())
        if strokes is None and remaining < NEGLIGIBLE:
            break
    return ScoreDistribution(np.array(pmf), remaining)


def budget_flow(graph: StateGraph, policy: ArrayLike, start: Hashable, start_mass: ArrayLike) -> BudgetFlow:
    """Play a policy for budgets with mass spread over strokes left; return where the mass ends.

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
    rows = len(table)
    if mass.shape != (rows,) or not np.all(mass >= 0.0):
        found = f"shape {mass.shape}, least {mass.min(initial=0.0):g}"
        raise InputError.one("budget_flow", "start_mass", found, f"shape ({rows},), none negative")
    held = np.zeros((rows + graph.most_strokes, graph.n_states))  # most strokes left first
    held[:rows, graph.index(start)] = mass[::-1]
    passage = Passage(graph)
    for row in range(rows):
        passage.play(held, row, table[rows - 1 - row])
    return BudgetFlow(held[rows - 1 :: -1, graph.goal].copy(), held[rows:].sum(axis=0))
