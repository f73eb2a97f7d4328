r"""Best chance of reaching the goal within a budget of strokes: backward induction over the strokes left.

With k strokes left,

.. math:: W_k(s) = \max_a \sum p(s', c \mid s, a) W_{k-c}(s'), \qquad W_k(\text{goal}) = f_k, \quad W_{k<0} = 0,

where f is 1 for the plain chance; any other f gives the best mean reward for arriving with k strokes left. A layer
depends on lower layers through strokes and on itself through zero-stroke outcomes, which run down the levels of
the graph; so one pass, k = 0 to K and level by level within k, is exact. All budgets come out of it.

On large graphs, where numba is installed, only the choices that can matter in a layer are looked at there, and a bound
proves that the others cannot: see ``screen``.

Ties: choices within 1e-12 of the best are equal; of those the one with the fewest expected strokes (to nine
decimals) is named, then the one with the lowest index.

Sources: Bellman R. (1957), *Dynamic Programming*; Puterman M.L. (1994), *Markov Decision Processes*, chapter 4.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from caddiebrain.errors import InputError, number_faults
from caddiebrain.graph import StateGraph
from caddiebrain.solve.expected import choice_values, fewest_strokes
from caddiebrain.solve.layers import sweep_layers
from caddiebrain.solve.layout import layer_blocks
from caddiebrain.solve.records import BudgetSolution, Status
from caddiebrain.solve.screen import Screen, worthwhile
from caddiebrain.solve.threads import threads

__all__ = ["best_layers", "within_budget"]


def within_budget(
    graph: StateGraph,
    budget: int,
    finish: ArrayLike | None = None,
    tiebreak: ArrayLike | None = None,
    *,
    prune: bool | None = None,
) -> BudgetSolution:
    """Find the best choice for every state and every number of strokes left, 0 to ``budget``.

    Parameters
    ----------
    graph : StateGraph
    budget : int
        Most strokes left, K.
    finish : array of float, shape (K + 1,), optional
        Reward, 0 to 1, for reaching the goal with k strokes left. By default 1: the value is a chance.
    tiebreak : array of float, shape (C,), optional
        Expected strokes of each choice, to choose among equals; worked out when not given.
    prune : bool, optional
        Whether to look only at the choices that are not proven idle, which takes numba (extra ``compiled``). By
        default on graphs of very many choices, where it pays.

    Returns
    -------
    BudgetSolution
        Row k of ``value``: with k strokes left.

    Raises
    ------
    InputError
        If the budget is negative, an array has the wrong shape or range, or ``prune`` asks for numba in vain.
    """
    return best_layers(graph, _reward(budget, finish), tiebreak, prune=prune)


def best_layers(
    graph: StateGraph, reward: NDArray[np.float64], tiebreak: ArrayLike | None, *, prune: bool | None
) -> BudgetSolution:
    """Run the layers for any reward by strokes left, of size 1 at most; see ``within_budget``."""
    strokes, parts = np.round(_tiebreak(graph, tiebreak), 9), layer_blocks(graph)
    prune = worthwhile(graph) if prune is None else prune
    if not prune or not parts or parts[0].first_row == 0:  # then every state has zero-stroke outcomes
        value, choice, swept = sweep_layers(graph, parts, reward, strokes)
        return BudgetSolution(value, choice, Status.PROVEN, 0.0, swept)
    with threads() as team:
        screen = Screen(graph, parts, max(0.0, float(reward.max())), len(reward), strokes, team)
        value, choice, swept = sweep_layers(graph, parts, reward, strokes, screen.decide)
    return BudgetSolution(value, choice, Status.PROVEN, screen.residual, swept)


def _reward(budget: int, finish: ArrayLike | None) -> NDArray[np.float64]:
    faults = number_faults("budget", budget, 0, 1e9, "a whole number of strokes, 0 or more", whole=True)
    if faults:
        raise InputError("within_budget", faults)
    if finish is None:
        return np.ones(int(budget) + 1)
    reward = np.asarray(finish, dtype=np.float64)
    if reward.shape != (budget + 1,):
        raise InputError.one("within_budget", "finish", f"shape {reward.shape}", f"shape ({budget + 1},)")
    off = np.flatnonzero(~((reward >= 0.0) & (reward <= 1.0 + 1e-9)))
    if len(off):
        where = f"finish[{off[0]}]"
        raise InputError.one("within_budget", where, str(reward[off[0]]), "a reward from 0 to 1")
    return reward


def _tiebreak(graph: StateGraph, tiebreak: ArrayLike | None) -> NDArray[np.float64]:
    if tiebreak is None:
        return choice_values(graph, fewest_strokes(graph).value)
    strokes = np.asarray(tiebreak, dtype=np.float64)
    if strokes.shape != (graph.n_choices,) or np.isnan(strokes).any():
        found = f"shape {strokes.shape}" + (" with nan" if np.isnan(strokes).any() else "")
        raise InputError.one("within_budget", "tiebreak", found, f"shape ({graph.n_choices},)")
    return strokes
