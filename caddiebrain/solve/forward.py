r"""Where play under a policy ends up: exact distributions of strokes, no sampling.

With t strokes taken, mass m_t(s) over states moves forward,

.. math:: m_{t+c}(s') \mathrel{+}= m_t(s) \, p(s', c \mid s, \pi(s, t)),

t by t; zero-stroke outcomes are followed within t until none is left, at most one round a level. A policy for
budgets chooses by the strokes left, budget - t; once they run out it goes on with its row 0, which the tie rule
makes the choice with the fewest expected strokes.
"""

from collections.abc import Hashable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse import csr_array

from caddiebrain.errors import InputError
from caddiebrain.graph import StateGraph
from caddiebrain.solve.layout import spans
from caddiebrain.solve.policy import checked_policy

__all__ = ["BudgetFlow", "ScoreDistribution", "budget_flow", "score_pmf"]

NEGLIGIBLE = 1e-13
"""Mass not followed further when the number of strokes is left open."""
DUST = 1e-15
"""Mass with a number of strokes left that is not followed: it stays out of the goal's sums."""
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
        If the policy names a choice that is not open in its state, or the budget lies outside the policy.
    UnknownError
        If no state has the label.
    """
    table = checked_policy(graph, policy)
    left = _budget(table, budget)
    longest = LONGEST if strokes is None else int(strokes)
    window = int(graph.outcome_strokes.max(initial=0)) + 1
    ring = np.zeros((window, graph.n_states))  # mass with t, t + 1, ... strokes taken, t modulo the window
    ring[0, graph.index(start)] = 1.0
    play = _Play(graph, table[left], window)
    pmf: list[float] = []
    remaining = 1.0
    for t in range(longest + 1):
        mass = ring[t % window].copy()
        ring[t % window] = 0.0
        home, later = play.stroke(table[max(left - t, 0)], mass)
        pmf.append(home)
        for c in range(1, window):
            ring[(t + c) % window] += later[c]
        remaining = float(ring.sum())
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
    if mass.shape != (len(table),) or not np.all(mass >= 0.0):
        found = f"shape {mass.shape}, least {mass.min(initial=0.0):g}"
        raise InputError.one("budget_flow", "start_mass", found, f"shape ({len(table)},), none negative")
    first, top = graph.index(start), len(table) - 1
    window = int(graph.outcome_strokes.max(initial=0)) + 1
    held = np.zeros((len(table) + window - 1, graph.n_states))  # row k + window - 1: k strokes left
    held[window - 1 :, first] = mass
    at_goal = np.zeros(len(table))
    play = _Play(graph, table[int(np.argmax(mass))], window)
    for k in range(top, -1, -1):
        row = k + window - 1
        if held[row].sum() > DUST:
            at_goal[k], later = play.stroke(table[k], held[row])
            for c in range(1, window):
                held[row - c] += later[c]
    return BudgetFlow(at_goal, held[: window - 1].sum(axis=0))


class _Play:
    """Moves mass one stroke on under any policy; quickly where it agrees with a policy known beforehand.

    Policies for neighbouring budgets differ in few states. The rows of the known policy stand ready as one matrix
    for each number of strokes; rows of other choices are gathered when they are needed.
    """

    def __init__(self, graph: StateGraph, usual: NDArray[np.int64], window: int) -> None:
        self.graph, self.usual, self.window = graph, usual, window
        states = np.flatnonzero(usual >= 0)
        place, chance, starts = self._outcomes(usual[states])
        owner = np.repeat(states, np.diff(starts))
        shape = (window * graph.n_states, graph.n_states)
        self.usual_moves = csr_array((chance, (place, owner)), shape=shape)

    def _outcomes(
        self, choices: NDArray[np.int64]
    ) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.int64]]:
        """Where each choice leads (strokes * S + state), with what chance, and where its outcomes start."""
        graph = self.graph
        lengths = graph.outcome_start[choices + 1] - graph.outcome_start[choices]
        take = spans(graph.outcome_start[choices], lengths)
        place = graph.outcome_state[take] + graph.n_states * graph.outcome_strokes[take].astype(np.int64)
        return place, graph.outcome_prob[take], np.concatenate(([0], np.cumsum(lengths)))

    def stroke(
        self, choice: NDArray[np.int64], mass: NDArray[np.float64]
    ) -> tuple[float, NDArray[np.float64]]:
        """Play one stroke with the mass in every state.

        Returns the mass at the goal before it, zero-stroke outcomes followed, and the mass after it by strokes
        spent, shape (window, S), row 0 unused.
        """
        after, home = np.zeros((self.window, self.graph.n_states)), 0.0
        usual = choice == self.usual
        mass = mass.copy()
        while True:
            home += float(mass[self.graph.goal])
            mass[self.graph.goal] = 0.0
            if not mass.any():
                return home, after
            moved = self.usual_moves @ np.where(usual, mass, 0.0)
            other = np.flatnonzero((mass > 0.0) & ~usual)
            if len(other):
                place, chance, starts = self._outcomes(choice[other])
                weight = chance * np.repeat(mass[other], np.diff(starts))
                moved += np.bincount(place, weights=weight, minlength=len(moved))
            rows = moved.reshape(self.window, -1)
            after[1:] += rows[1:]
            mass = rows[0]


def _budget(table: NDArray[np.int64], budget: int | None) -> int:
    if len(table) == 1:
        return 0
    left = len(table) - 1 if budget is None else int(budget)
    if not 0 <= left < len(table):
        raise InputError.one(
            "policy", "budget", str(budget), f"0 to {len(table) - 1}, the rows of the policy"
        )
    return left
