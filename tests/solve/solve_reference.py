"""The same questions answered without our solvers: exact fractions, and a general-purpose library."""

import warnings
from fractions import Fraction
from functools import cache
from itertools import product
from typing import Any

import numpy as np
from graph_zoo import Exact
from numpy.typing import NDArray
from quantecon.markov import DiscreteDP, backward_induction
from scipy.sparse import csr_matrix

from caddiebrain.graph import StateGraph

__all__ = ["exact_budget", "exact_expected", "library_budget", "library_expected"]


def exact_expected(table: Exact) -> dict[Any, Fraction]:
    """Fewest expected strokes by trying every stationary policy, each solved by elimination in fractions."""
    states = list(table)
    best: dict[Any, Fraction] = {}
    for picked in product(*(table[s].values() for s in states)):
        value = _solve(states, dict(zip(states, picked, strict=True)))
        if value is not None:
            best = {s: min(v, best.get(s, v)) for s, v in value.items()}
    return best


def _solve(states: list[Any], rows: dict[Any, list[tuple[Any, Fraction, int]]]) -> dict[Any, Fraction] | None:
    place = {s: i for i, s in enumerate(states)}
    a = [[Fraction(int(i == j)) for j in range(len(states) + 1)] for i in range(len(states))]
    for s in states:
        a[place[s]][-1] = sum((p * k for _, p, k in rows[s]), Fraction(0))
        for target, p, _ in rows[s]:
            if target in place:
                a[place[s]][place[target]] -= p
    for i in range(len(a)):
        pivot = next((r for r in range(i, len(a)) if a[r][i] != 0), None)
        if pivot is None:
            return None  # a policy that never ends
        a[i], a[pivot] = a[pivot], a[i]
        a[i] = [x / a[i][i] for x in a[i]]
        for r in range(len(a)):
            if r != i and a[r][i]:
                a[r] = [x - a[r][i] * y for x, y in zip(a[r], a[i], strict=True)]
    value = {s: a[place[s]][-1] for s in states}
    return None if min(value.values()) < 0 else value


def exact_budget(
    table: Exact, budget: int, reward: tuple[Fraction, ...] | None = None
) -> dict[Any, list[Fraction]]:
    """Best chance (or mean reward) for each number of strokes left, by plain recursion in fractions."""
    paid = reward or (Fraction(1),) * (budget + 1)

    @cache
    def best(state: Any, left: int) -> Fraction:
        if left < 0:
            return Fraction(0)
        if state not in table:
            return paid[left]
        return max(
            sum((p * best(target, left - k) for target, p, k in row), Fraction(0))
            for row in table[state].values()
        )

    return {s: [best(s, k) for k in range(budget + 1)] for s in table}


def _pairs(
    rows: list[list[tuple[int, float]]], owner: list[int], reward: list[float], states: int
) -> DiscreteDP:
    """State-action pairs for the library, undiscounted."""
    start = np.concatenate(([0], np.cumsum([len(r) for r in rows])))
    column, prob = (np.array(x) for x in zip(*(e for r in rows for e in r), strict=True))
    chance = csr_matrix((prob, column, start), shape=(len(rows), states))
    action = [i - owner.index(s) for i, s in enumerate(owner)]
    with warnings.catch_warnings():
        warnings.simplefilter(
            "ignore"
        )  # it says that it cannot do infinite horizons undiscounted; we ask for none
        return DiscreteDP(np.array(reward), chance, 1.0, np.array(owner), np.array(action))


def _outcomes(graph: StateGraph, c: int) -> list[tuple[int, float, int]]:
    span = slice(int(graph.outcome_start[c]), int(graph.outcome_start[c + 1]))
    return list(
        zip(
            graph.outcome_state[span].tolist(),
            graph.outcome_prob[span].tolist(),
            graph.outcome_strokes[span].tolist(),
            strict=True,
        )
    )


def library_expected(graph: StateGraph, horizon: int) -> NDArray[np.float64]:
    """Fewest expected strokes over so many moves, by quantecon's backward induction, shape (S,)."""
    rows, owner, reward = [], [], []
    for s in range(graph.n_states):
        for c in range(int(graph.choice_start[s]), int(graph.choice_start[s + 1])):
            rows.append([(t, p) for t, p, _ in _outcomes(graph, c)])
            reward.append(-sum(p * k for _, p, k in _outcomes(graph, c)))
            owner.append(s)
        if s == graph.goal:
            rows.append([(s, 1.0)])
            reward.append(0.0)
            owner.append(s)
    values, _ = backward_induction(_pairs(rows, owner, reward, graph.n_states), horizon)
    return -values[0]


def library_budget(
    graph: StateGraph, budget: int, reward: NDArray[np.float64] | None = None
) -> NDArray[np.float64]:
    """Best chance by quantecon's backward induction over moves, states being (state, strokes left), (K + 1, S)."""
    layers, states = budget + 1, graph.n_states
    dead = layers * states
    rows, owner = [], []
    for k in range(layers):
        for s in range(states):
            for c in range(int(graph.choice_start[s]), int(graph.choice_start[s + 1])):
                rows.append(
                    [((k - d) * states + t if d <= k else dead, p) for t, p, d in _outcomes(graph, c)]
                )
                owner.append(k * states + s)
            if s == graph.goal:
                rows.append([(k * states + s, 1.0)])
                owner.append(k * states + s)
    rows.append([(dead, 1.0)])
    owner.append(dead)
    term = np.zeros(dead + 1)
    term[graph.goal + states * np.arange(layers)] = 1.0 if reward is None else reward
    moves = (layers + 1) * (int(graph.level.max()) + 1) + 1  # a stroke at least once a run of free outcomes
    values, _ = backward_induction(_pairs(rows, owner, [0.0] * len(rows), dead + 1), moves, v_term=term)
    return values[0][:-1].reshape(layers, states)
