r"""Fewest expected strokes: modified policy iteration on a working set, with proven bounds.

With strokes c and next state s' of an outcome of choice a in state s,

.. math:: V(s) = \min_a Q(s, a; V), \quad Q(s, a; V) = \sum p(s', c \mid s, a) (c + V(s')),
          \quad V(\text{goal}) = 0,

a stochastic shortest path problem: every stroke costs at least one, and zero-stroke outcomes cannot form a cycle
(the graph refuses one), so a policy that may never reach the goal costs infinitely much. Write T for the
minimum on the right.

**Method.** A few choices of every state give a first vector v. One sweep over all choices gives Q(.; v). Those
within a margin of the best form the working set; on it sweeps, level by level, alternate with evaluations of the
policy just found until nothing moves: v'. A choice left out costs at least ``Q(s, a; v) - d``, d the largest drop
from v to v', since each row sums to one. If that is at least v'(s) for all of them, no sweep over all choices is
needed to know that none of them helps; those that fail join the set. Should that go on too long, all choices are
swept again from v'.

**Bounds.** Let v be any vector with v(goal) = 0, e a bound on ``|v - Tv|`` including rounding, l(s) the level of
s and L the highest one. Put ``t = e (1 + L)`` and ``w = (1 - t) v - e l``. For a choice with zero-stroke mass p0
and the rest p1 = 1 - p0, the mean cost is at least p1, zero-stroke outcomes lead at least one level down and the
others at most L up, so ``(Tw)(s) - w(s) >= t p1 + e p0 - e L p1 - (1 - t) e >= 0``. T is monotone, hence
``w <= Tw <= T_pi^n w -> V_pi`` for every policy pi that reaches the goal: w is a lower bound. With
``f = e / (1 - t)`` in place of e the same steps show that ``u = (1 + f (1 + L)) v + f l`` has ``u >= T_pi u`` for
the policy that attains Tv; as u >= 0, ``u >= T_pi^n u >= T_pi^n 0 -> V_pi``, so u is an upper bound and pi
reaches the goal. Rows that sum to 1 within 1e-9 widen e by ``1 / (1 - 1e-9 (1 + L))`` and d by 1e-9 of itself.
Rounding: a sum of n products is off by at most n u / (1 - n u) of the largest value, u the unit roundoff.

Stops when the bounds meet within ``tol``, when rounding keeps them apart, or after ``max_sweeps``, and says so.

Sources: Bertsekas D.P., Tsitsiklis J.N. (1991), An analysis of stochastic shortest path problems, *Mathematics of
Operations Research* 16(3):580-595; Puterman M.L. (1994), *Markov Decision Processes*, sections 6.5 and 6.7.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from caddiebrain.errors import InputError, kind_faults
from caddiebrain.graph import StateGraph
from caddiebrain.solve.block import Block, first_hits
from caddiebrain.solve.layout import blocks, rows_of
from caddiebrain.solve.records import ExpectedSolution, Status

__all__ = ["choice_values", "fewest_strokes"]

UNIT = float(np.finfo(np.float64).eps) / 2.0
EVALUATIONS = 30
"""Most evaluations of a policy between two sweeps of the working set."""
STRIDE = 6
"""The first vector comes from every sixth choice of a state."""
WORTHWHILE = 500_000
"""Outcomes from which on a first vector from few choices pays."""
SHARE = 0.1
"""Largest part of the choices taken into a working set, and into it once more, while not all of them must be."""
ATTEMPTS = 4
"""Times a working set is widened before all choices are swept again."""

Floats = NDArray[np.float64]
_Rows = NDArray[np.int64] | slice


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
        Most sweeps over all choices, and most sweeps of one working set.

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
    slack, top = _rounding(graph), 1.0 + float(graph.level.max(initial=0))
    if start is not None:
        parts = blocks(graph, graph.outcome_state, graph.n_states)
        _settle(parts, play, 1e-3, max_sweeps)
    elif graph.n_outcomes >= WORTHWHILE:
        _settle(_some(graph), play, 1e-3, max_sweeps)
    else:
        _settle(blocks(graph, graph.outcome_state, graph.n_states), play, 1e-3, max_sweeps)
    sweeps, change, last = 0, np.inf, np.inf
    while True:
        enough = 0.1 * tol / (top * (1.0 + play.value.max(initial=0.0)))
        change, proven = _round(graph, play, enough, max_sweeps)
        sweeps += 1
        residual = change + 2.0 * slack * (1.0 + play.value.max(initial=0.0))
        lower, upper = _bounds(graph, play.value, residual)
        met = proven and bool((upper - lower).max(initial=0.0) <= tol)
        if met or sweeps >= max_sweeps or (proven and change >= last):
            break
        last = change if proven else last
    if not proven:  # nothing is known of the choices left out
        lower, upper, residual = np.zeros_like(lower), np.full_like(upper, np.inf), np.inf
    status = Status.PROVEN if met else Status.STOPPED
    return ExpectedSolution(play.value, play.choice, lower, upper, status, float(residual), sweeps)


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


def _some(graph: StateGraph) -> tuple[Block, ...]:
    """Return the blocks of a few choices of every state."""
    place = np.arange(graph.n_choices) - graph.choice_start[graph.choice_state]
    return blocks(graph, graph.outcome_state, graph.n_states, place % STRIDE == 0)


def _round(graph: StateGraph, play: _Play, enough: float, most: int) -> tuple[float, bool]:
    """Sweep all choices once, settle on a working set, and see whether what is left out can matter.

    Returns the largest change one more sweep of the working set makes, and whether the rest is proven idle.
    """
    before, state = play.value.copy(), graph.choice_state
    total = rows_of(graph, graph.outcome_state, graph.n_states) @ before
    total += graph.mean_strokes
    best = np.zeros(graph.n_states)
    acting = np.delete(np.arange(graph.n_states), graph.goal)
    best[acting] = np.minimum.reduceat(total, graph.choice_start[acting]) if len(acting) else 0.0
    worse = total - best[state]
    margin = 2.0 * float(np.abs(before - best).max(initial=0.0)) + 1e-9
    share = int(SHARE * len(worse))
    keep = worse <= min(margin, float(np.partition(worse, share)[share]) if share else np.inf)
    for _ in range(ATTEMPTS):
        parts = blocks(graph, graph.outcome_state, graph.n_states, keep)
        _settle(parts, play, enough, most)
        drop = (1.0 + 1e-9) * max(float((before - play.value).max(initial=0.0)), 0.0)
        open_still = ~keep & (total - drop < play.value[state])
        if not open_still.any():
            return _residual(parts, play), True
        if open_still.mean() > SHARE:  # another sweep over all choices costs less
            break
        keep |= open_still
    return np.inf, False


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
        _follow(parts, rows, costs, play, 0.01 * change)


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


def _residual(parts: tuple[Block, ...], play: _Play) -> float:
    """Return the largest change of a backup of all states at once."""
    worst = 0.0
    for part in parts:
        best = part.least(part.matrix @ play.value + play.cost[part.choices])
        worst = max(worst, float(np.abs(best - play.value[part.states]).max()))
    return worst


def _follow(
    parts: tuple[Block, ...], rows: list[_Rows], costs: list[Floats], play: _Play, enough: float
) -> None:
    """Follow the policy just found for some sweeps, in place."""
    picked = [
        (part.states, part.matrix[row] if part.decides else part.matrix, cost[row])
        for part, row, cost in zip(parts, rows, costs, strict=True)
    ]
    for _ in range(EVALUATIONS):
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
