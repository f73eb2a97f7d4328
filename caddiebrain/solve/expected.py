r"""Fewest expected strokes: modified policy iteration with proven bounds.

With strokes c and next state s' of an outcome of choice a in state s,

.. math:: V(s) = \min_a \sum p(s', c \mid s, a) \, (c + V(s')), \qquad V(\text{goal}) = 0,

a stochastic shortest path problem: every stroke costs at least one, and zero-stroke outcomes cannot form a cycle
(the graph refuses one), so a policy that may never reach the goal costs infinitely much. Write T for the right-hand
side. A sweep applies T level by level; between sweeps the policy just found is evaluated on its own rows alone.

**Bounds.** Let v be any vector with v(goal) = 0, e a bound on ``|v - Tv|`` including rounding, l(s) the level of s
and L the highest one. Put ``t = e (1 + L)`` and ``w = (1 - t) v - e l``. For every choice with zero-stroke mass p0
and the rest p1 = 1 - p0, the mean cost is at least p1, zero-stroke outcomes lead at least one level down and the
others at most L up, so ``(Tw)(s) - w(s) >= t p1 + e p0 - e L p1 - (1 - t) e >= 0``. T is monotone, hence
``w <= Tw <= T_pi^n w -> V_pi`` for every policy pi that reaches the goal: w is a lower bound. With
``f = e / (1 - t)`` in place of e the same steps show ``u = (1 + f (1 + L)) v + f l`` has ``u >= T_pi u`` for the
policy that attains Tv; as u >= 0, ``u >= T_pi^n u >= T_pi^n 0 -> V_pi``, so u is an upper bound and pi reaches the
goal. Rows that sum to 1 within 1e-9 only widen e by the factor ``1 / (1 - 1e-9 (1 + L))``. Rounding: a sum of n
products is off by at most n u / (1 - n u) times the largest value, u the unit roundoff.

Stops when the bounds meet within ``tol``, or after ``max_sweeps``, and says which.
Source: Bertsekas D.P., Tsitsiklis J.N. (1991), An analysis of stochastic shortest path problems, *Mathematics of
Operations Research* 16(3):580-595; Puterman M.L. (1994), *Markov Decision Processes*, section 6.5.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from caddiebrain.graph import StateGraph
from caddiebrain.solve.layout import Block, blocks, mean_strokes, rows_of
from caddiebrain.solve.records import ExpectedSolution, Status

__all__ = ["choice_values", "fewest_strokes"]

UNIT = float(np.finfo(np.float64).eps) / 2.0
EVALUATIONS = 40
"""Most evaluation sweeps of a policy between two sweeps over all choices."""


def fewest_strokes(graph: StateGraph, tol: float = 1e-9, *, max_sweeps: int = 1000) -> ExpectedSolution:
    """Find the choice with the fewest expected strokes in every state.

    Parameters
    ----------
    graph : StateGraph
    tol : float
        How closely the bounds shall meet, in strokes.
    max_sweeps : int
        Most sweeps over all choices.

    Returns
    -------
    ExpectedSolution
        ``status`` is ``stopped`` when the bounds did not meet.
    """
    cost = mean_strokes(graph)
    parts = blocks(graph, graph.outcome_state, graph.n_states)
    value = np.zeros(graph.n_states)
    choice = np.full(graph.n_states, -1, dtype=np.int64)
    slack = _rounding(graph)
    sweeps, residual = 0, np.inf
    while True:
        before = value.copy()
        _sweep(parts, cost, value, choice)
        sweeps += 1
        change = np.abs(value - before).max(initial=0.0)
        if change <= 1e-13 * (1.0 + value.max(initial=0.0)) or sweeps >= max_sweeps:
            residual = max(_residual(parts, cost, value), 0.0) + slack * (1.0 + value.max(initial=0.0))
            lower, upper = _bounds(graph, value, residual)
            if (upper - lower).max(initial=0.0) <= tol or change == 0.0 or sweeps >= max_sweeps:
                break
        _evaluate_some(graph, cost, value, choice, change * 1e-3)
    met = bool((upper - lower).max(initial=0.0) <= tol)
    return ExpectedSolution(
        value, choice, lower, upper, Status.PROVEN if met else Status.STOPPED, float(residual), sweeps + 1
    )


def _rounding(graph: StateGraph) -> float:
    """Bound the rounding of one backup, as a share of one plus the largest value."""
    longest = int(np.diff(graph.outcome_start).max(initial=0)) + 2
    return longest * UNIT / (1.0 - longest * UNIT)


def _sweep(
    parts: tuple[Block, ...], cost: NDArray[np.float64], value: NDArray[np.float64], choice: NDArray[np.int64]
) -> None:
    """Apply one backup in place, level by level; the first of equal choices is kept."""
    for part in parts:
        total = part.matrix @ value + cost[part.choices]
        best = np.minimum.reduceat(total, part.starts)
        value[part.states] = best
        lengths = np.diff(np.append(part.starts, len(total)))
        hit = np.flatnonzero(total <= np.repeat(best, lengths))
        owner = np.repeat(np.arange(len(best)), lengths)[hit]
        first = np.empty(len(best), dtype=np.int64)
        first[owner[::-1]] = hit[::-1]  # the last assignment stands: the first hit
        choice[part.states] = part.choices[first]


def _residual(parts: tuple[Block, ...], cost: NDArray[np.float64], value: NDArray[np.float64]) -> float:
    """Return the largest change of a backup of all states at once."""
    worst = 0.0
    for part in parts:
        best = np.minimum.reduceat(part.matrix @ value + cost[part.choices], part.starts)
        worst = max(worst, float(np.abs(best - value[part.states]).max()))
    return worst


def _bounds(
    graph: StateGraph, value: NDArray[np.float64], residual: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return proven lower and upper bounds from a vector and its residual; see the head of the file."""
    top = float(graph.level.max(initial=0))
    error = residual / (1.0 - 1e-9 * (1.0 + top))
    share = error * (1.0 + top)
    lower = (1.0 - share) * value - error * graph.level
    if share >= 1.0:
        return np.zeros_like(value), np.full_like(value, np.inf)
    wider = error / (1.0 - share)
    upper = (1.0 + wider * (1.0 + top)) * value + wider * graph.level
    return lower, upper


def _evaluate_some(
    graph: StateGraph,
    cost: NDArray[np.float64],
    value: NDArray[np.float64],
    choice: NDArray[np.int64],
    enough: float,
) -> None:
    """Follow a policy for some sweeps, in place."""
    acting = np.flatnonzero(choice >= 0)
    rows = rows_of(graph, graph.outcome_state, graph.n_states, choice[acting])
    paid = cost[choice[acting]]
    for _ in range(EVALUATIONS):
        after = rows @ value + paid
        moved = np.abs(after - value[acting]).max(initial=0.0)
        value[acting] = after
        if moved <= enough:
            return


def choice_values(graph: StateGraph, value: ArrayLike) -> NDArray[np.float64]:
    """Return the expected strokes of each choice, shape (C,), when play goes on with the given values.

    Parameters
    ----------
    value : array of float, shape (S,)
        Expected strokes from each state.
    """
    table = rows_of(graph, graph.outcome_state, graph.n_states, None)
    total: NDArray[np.float64] = table @ np.asarray(value, dtype=np.float64) + mean_strokes(graph)
    return total
