r"""Fewest expected strokes: modified policy iteration with proven bounds.

With strokes c and next state s' of an outcome of choice a in state s,

.. math:: V(s) = \min_a Q(s, a; V), \quad Q(s, a; V) = \sum p(s', c \mid s, a) (c + V(s')),
          \quad V(\text{goal}) = 0,

a stochastic shortest path problem: every stroke costs at least one, and zero-stroke outcomes cannot form a cycle
(the graph refuses one), so a policy that may never reach the goal costs infinitely much. Write T for the
minimum on the right.

**Method.** A few choices of every state, settled roughly, give a first vector, unless a start is given. From then on
a sweep over all choices finds the best of each state, and these are followed, level by level, until nothing moves.
Large graphs are swept by all cores (``product``). Every sweep over all choices bounds the values it began with, so
the last one is the proof.

**Bounds.** Let v be any vector with v(goal) = 0, e a bound on ``|v - Tv|`` including rounding, l(s) the level of
s and L the highest one. Put ``t = e (1 + L)`` and ``w = (1 - t) v - e l``. For a choice with zero-stroke mass p0
and the rest p1 = 1 - p0, the mean cost is at least p1, zero-stroke outcomes lead at least one level down and the
others at most L up, so ``(Tw)(s) - w(s) >= t p1 + e p0 - e L p1 - (1 - t) e >= 0``. T is monotone, hence
``w <= Tw <= T_pi^n w -> V_pi`` for every policy pi that reaches the goal: w is a lower bound. With
``f = e / (1 - t)`` in place of e the same steps show that ``u = (1 + f (1 + L)) v + f l`` has ``u >= T_pi u`` for
the policy that attains Tv; as u >= 0, ``u >= T_pi^n u >= T_pi^n 0 -> V_pi``, so u is an upper bound and pi
reaches the goal. Rows that sum to 1 within 1e-9 widen e by ``1 / (1 - 1e-9 (1 + L))``.
Rounding: a sum of n products is off by at most n u / (1 - n u) of the largest value, u the unit roundoff.

Stops when the bounds meet within ``tol``, when rounding keeps them apart, or after ``max_sweeps``, and says so.

Sources: Bertsekas D.P., Tsitsiklis J.N. (1991), An analysis of stochastic shortest path problems, *Mathematics of
Operations Research* 16(3):580-595; Puterman M.L. (1994), *Markov Decision Processes*, sections 6.5 and 6.7.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from caddiebrain.errors import InputError, kind_faults
from caddiebrain.graph import StateGraph
from caddiebrain.solve.block import Block, first_hits
from caddiebrain.solve.layout import blocks, rows_of
from caddiebrain.solve.product import Product, products
from caddiebrain.solve.records import ExpectedSolution, Status

__all__ = ["choice_values", "fewest_strokes"]

UNIT = float(np.finfo(np.float64).eps) / 2.0
EVALUATIONS = 30
"""Most evaluations of a policy between two sweeps; after the n-th sweep over all choices n times as many."""
STRIDE = 20
"""The first vector comes from every so many choices of a state."""
ROUGHLY = 1e-3
"""How closely the first vector is settled."""

Floats = NDArray[np.float64]
_Rows = NDArray[np.int64] | slice
_Picked = tuple[NDArray[np.int64], Any, Floats]


@dataclass
class _Play:
    """Values and choices in the making."""

    value: NDArray[np.float64]
    choice: NDArray[np.int64]
    cost: NDArray[np.float64]


def fewest_strokes(
    graph: StateGraph, tol: float = 1e-9, *, start: ArrayLike | None = None, max_sweeps: int = 1000
) -> ExpectedSolution:
    """Find the choice with the fewest expected strokes in every state.

    Parameters
    ----------
    graph : StateGraph
    tol : float
        How closely the bounds shall meet, in strokes.
    start : array of float, shape (S,), optional
        Strokes from each state to begin with, such as a like graph has; near ones save time, any will do.
    max_sweeps : int
        Most sweeps over all choices, and over the few that the first vector comes from.

    Returns
    -------
    ExpectedSolution
        ``status`` is ``stopped`` when the bounds did not meet.

    Raises
    ------
    InputError
        If ``graph`` is none, or ``start`` has the wrong shape or is not finite.
    """
    play = _Play(_start(graph, start), np.full(graph.n_states, -1), graph.mean_strokes)
    if start is None:
        _settle(blocks(graph, graph.outcome_state, graph.n_states, _few(graph)), play, ROUGHLY, max_sweeps)
    with products(graph) as product:
        return _improve(graph, product, play, tol, max_sweeps)


def _improve(graph: StateGraph, product: Product, play: _Play, tol: float, most: int) -> ExpectedSolution:
    """Sweep all choices and follow the best of them in turn, until the bounds meet or rounding is all that moves."""
    slack, top = _rounding(graph), 1.0 + float(graph.level.max(initial=0))
    sweeps = 0
    while True:
        sweeps += 1
        change = _sweep_all(graph, product, play)
        high = 1.0 + float(play.value.max(initial=0.0))
        residual = change + 2.0 * slack * high
        lower, upper = _bounds(graph, play.value, residual)
        met = bool((upper - lower).max(initial=0.0) <= tol)
        if met or sweeps >= most or change <= 2.0 * slack * high:
            break
        enough = max(0.1 * tol / (top * high), slack * high)
        _follow(_policy(graph, play), play, 0.1 * enough, sweeps * EVALUATIONS)
    status = Status.PROVEN if met else Status.STOPPED
    return ExpectedSolution(play.value, play.choice, lower, upper, status, residual, sweeps)


def _start(graph: StateGraph, start: ArrayLike | None) -> NDArray[np.float64]:
    made = "a StateGraph, such as StateGraph.from_choices(...) makes"
    faults = kind_faults("graph", graph, StateGraph, made)
    if faults:
        raise InputError("fewest_strokes", faults)
    if start is None:
        return np.zeros(graph.n_states)
    value = np.array(start, dtype=np.float64)
    if value.shape != (graph.n_states,) or not np.isfinite(value).all():
        found = f"shape {value.shape}" + (
            "" if np.isfinite(value).all() else " with numbers that are not finite"
        )
        raise InputError.one("fewest_strokes", "start", found, f"shape ({graph.n_states},), all finite")
    value[graph.goal] = 0.0
    return value


def _rounding(graph: StateGraph) -> float:
    """Bound the rounding of one backup, as a share of one plus the largest value."""
    longest = int(np.diff(graph.outcome_start).max(initial=0)) + 2
    return longest * UNIT / (1.0 - longest * UNIT)


def _few(graph: StateGraph) -> NDArray[np.bool_]:
    """Mark a few choices of every state, its first among them."""
    place = np.arange(graph.n_choices) - graph.choice_start[graph.choice_state]
    few: NDArray[np.bool_] = place % STRIDE == 0
    return few


def _sweep_all(graph: StateGraph, product: Product, play: _Play) -> float:
    """Note the best choice of each state, the first of equals, and return how much the best values differ."""
    states = np.delete(np.arange(graph.n_states), graph.goal)
    if len(states) == 0:
        return 0.0
    total = product(play.value)
    total += play.cost
    best = np.minimum.reduceat(total, graph.choice_start[states])
    hit = np.flatnonzero(total == np.repeat(best, np.diff(graph.choice_start)[states]))
    play.choice[graph.choice_state[hit[::-1]]] = hit[::-1]  # the last assignment stands
    return float(np.abs(best - play.value[states]).max())


def _policy(graph: StateGraph, play: _Play) -> list[_Picked]:
    """Return the rows of the choices noted, level by level."""
    picked = []
    for level in range(int(graph.level.max(initial=0)) + 1):
        states = np.flatnonzero((graph.level == level) & (play.choice >= 0))
        if len(states):
            rows = play.choice[states]
            matrix = rows_of(graph, graph.outcome_state, graph.n_states, rows)
            picked.append((states, matrix, play.cost[rows]))
    return picked


def _settle(parts: tuple[Block, ...], play: _Play, enough: float, most: int) -> None:
    """Sweep and evaluate until a sweep changes little, or no less than before."""
    last, steady = np.inf, 0
    costs = [play.cost[part.choices] for part in parts]
    for _ in range(most):
        rows, change = _sweep(parts, costs, play)
        steady = steady + 1 if change >= last else 0
        if change <= enough or steady > 3:  # rounding is all that moves
            return
        last = min(last, change)
        picked = [
            (part.states, part.matrix[row] if part.decides else part.matrix, cost[row])
            for part, row, cost in zip(parts, rows, costs, strict=True)
        ]
        _follow(picked, play, 0.01 * change, EVALUATIONS)


def _sweep(parts: tuple[Block, ...], costs: list[Floats], play: _Play) -> tuple[list[_Rows], float]:
    """Apply one backup in place, level by level; return the rows chosen, the first of equals, and the change."""
    rows, change = list[_Rows](), 0.0
    for part, cost in zip(parts, costs, strict=True):
        total = part.matrix @ play.value + cost
        best = part.least(total)
        chosen: _Rows = slice(None)
        if part.decides:
            chosen = first_hits(part, np.flatnonzero(total <= np.repeat(best, part.lengths)))
        change = max(change, float(np.abs(best - play.value[part.states]).max()))
        play.value[part.states] = best
        play.choice[part.states] = part.choices[chosen]
        rows.append(chosen)
    return rows, change


def _follow(picked: list[_Picked], play: _Play, enough: float, most: int) -> None:
    """Follow one choice of each state for some sweeps, in place."""
    for _ in range(most):
        moved = 0.0
        for states, matrix, cost in picked:
            after = matrix @ play.value + cost
            moved = max(moved, float(np.abs(after - play.value[states]).max()))
            play.value[states] = after
        if moved <= enough:
            return


def _bounds(
    graph: StateGraph, value: NDArray[np.float64], residual: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return proven lower and upper bounds from a vector and its residual; see the head of the file."""
    top = float(graph.level.max(initial=0))
    error = residual / (1.0 - 1e-9 * (1.0 + top))
    share = error * (1.0 + top)
    if share >= 1.0:
        return np.zeros_like(value), np.full_like(value, np.inf)
    lower = (1.0 - share) * value - error * graph.level
    wider = error / (1.0 - share)
    upper = (1.0 + wider * (1.0 + top)) * value + wider * graph.level
    return lower, upper


def choice_values(graph: StateGraph, value: ArrayLike) -> NDArray[np.float64]:
    """Return the expected strokes of each choice, shape (C,), when play goes on with the given values.

    Parameters
    ----------
    value : array of float, shape (S,)
        Expected strokes from each state.

    Raises
    ------
    InputError
        If the values have another shape.
    """
    onward = np.asarray(value, dtype=np.float64)
    if onward.shape != (graph.n_states,):
        raise InputError.one("choice_values", "value", f"shape {onward.shape}", f"shape ({graph.n_states},)")
    table = rows_of(graph, graph.outcome_state, graph.n_states)
    total: NDArray[np.float64] = table @ onward + graph.mean_strokes
    return total
