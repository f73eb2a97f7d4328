r"""Best chance of reaching the goal within a budget of strokes: backward induction over the strokes left.

With k strokes left,

.. math:: W_k(s) = \max_a \sum p(s', c \mid s, a) \, W_{k-c}(s'), \qquad W_k(\text{goal}) = f_k, \quad W_{k<0} = 0,

where f is 1 for the plain chance; any f in [0, 1] gives the best mean reward for arriving with k strokes left. A
layer depends on lower layers through strokes and on itself through zero-stroke outcomes, which run down the levels
of the graph; so one pass, k = 0 to K and level by level within k, is exact. All budgets come out of it.

Ties: choices within 1e-12 of the best are equal; of those the one with the fewest expected strokes (to nine
decimals) is named, then the one with the lowest index.

Source: Bellman R. (1957), *Dynamic Programming*; Puterman M.L. (1994), *Markov Decision Processes*, chapter 4.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from caddiebrain.errors import InputError
from caddiebrain.graph import StateGraph
from caddiebrain.solve.expected import choice_values, fewest_strokes
from caddiebrain.solve.layout import Block, blocks, shifted_columns
from caddiebrain.solve.records import BudgetSolution, Status

__all__ = ["TIE", "best_layers", "within_budget"]

TIE = 1e-12
"""Choices this close to the best are equal."""


def within_budget(
    graph: StateGraph,
    budget: int,
    finish: ArrayLike | None = None,
    tiebreak: ArrayLike | None = None,
    *,
    prune: bool = True,
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
    prune : bool
        Sweep only the choices that can matter, and prove that the others cannot.

    Returns
    -------
    BudgetSolution
        Row k of ``value``: with k strokes left.

    Raises
    ------
    InputError
        If the budget is negative or an array has the wrong shape or range.
    """
    return best_layers(graph, _reward(budget, finish), tiebreak, prune=prune)


def best_layers(
    graph: StateGraph, reward: NDArray[np.float64], tiebreak: ArrayLike | None, *, prune: bool
) -> BudgetSolution:
    """Run the layers for any reward by strokes left; see ``within_budget``."""
    strokes = _tiebreak(graph, tiebreak)
    columns, window = shifted_columns(graph)
    parts = blocks(graph, columns, window * graph.n_states)
    value, choice = sweep_layers(graph, parts, window, reward, _ranks(graph, strokes))
    return BudgetSolution(value, choice, Status.PROVEN, 0.0, graph.n_choices, 1)


def _reward(budget: int, finish: ArrayLike | None) -> NDArray[np.float64]:
    if int(budget) != budget or budget < 0:
        raise InputError.one("within_budget", "budget", str(budget), "a whole number of strokes, 0 or more")
    if finish is None:
        return np.ones(int(budget) + 1)
    reward = np.asarray(finish, dtype=np.float64)
    if reward.shape != (budget + 1,):
        raise InputError.one("within_budget", "finish", f"shape {reward.shape}", f"shape ({budget + 1},)")
    if not (np.all(reward >= 0.0) and np.all(reward <= 1.0 + 1e-9)):
        bad = int(np.flatnonzero(~((reward >= 0.0) & (reward <= 1.0 + 1e-9)))[0])
        raise InputError.one("within_budget", f"finish[{bad}]", str(reward[bad]), "a reward from 0 to 1")
    return reward


def _tiebreak(graph: StateGraph, tiebreak: ArrayLike | None) -> NDArray[np.float64]:
    if tiebreak is None:
        return choice_values(graph, fewest_strokes(graph).value)
    strokes = np.asarray(tiebreak, dtype=np.float64)
    if strokes.shape != (graph.n_choices,):
        raise InputError.one(
            "within_budget", "tiebreak", f"shape {strokes.shape}", f"shape ({graph.n_choices},)"
        )
    return strokes


def _ranks(graph: StateGraph, strokes: NDArray[np.float64]) -> NDArray[np.int64]:
    """Return each choice's place in the order of preference among equals, all choices of the graph together."""
    ranks = np.empty(graph.n_choices, dtype=np.int64)
    ranks[np.argsort(np.round(strokes, 9), kind="stable")] = np.arange(graph.n_choices)
    return ranks


def sweep_layers(
    graph: StateGraph,
    parts: tuple[Block, ...],
    window: int,
    reward: NDArray[np.float64],
    ranks: NDArray[np.int64],
) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
    """Run all layers over the given blocks; return value (K + 1, S) and choice (K + 1, S)."""
    layers, states, pad = len(reward), graph.n_states, window - 1
    table = np.zeros((pad + layers, states))  # the layers below 0 strokes left come first
    table[pad:, graph.goal] = reward
    choice = np.full((layers, states), -1, dtype=np.int32)
    by_rank = np.argsort(ranks)
    for k in range(layers):
        seen = table[k : k + window].reshape(-1)
        for part in parts:
            mean = part.matrix @ seen
            best = np.maximum.reduceat(mean, part.starts)
            table[pad + k, part.states] = best
            choice[k, part.states] = by_rank[_preferred(part, mean, best, ranks)]
    return table[pad:], choice


def _preferred(
    part: Block, mean: NDArray[np.float64], best: NDArray[np.float64], ranks: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Return, state by state, the lowest rank among the choices as good as the best."""
    lengths = np.diff(np.append(part.starts, len(mean)))
    hit = np.flatnonzero(mean >= np.repeat(best - TIE, lengths))
    owner = np.searchsorted(part.starts, hit, side="right")
    edges = np.concatenate(([0], np.flatnonzero(np.diff(owner)) + 1))
    return np.minimum.reduceat(ranks[part.choices[hit]], edges)
