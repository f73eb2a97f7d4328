r"""Which choices can matter for budgets: a working set, and the proof that nothing outside it is needed.

Write W for the best values (see ``budget``), M for the largest reward (at least 0), Q_k(a; X) for the mean of X
after choice a with k strokes left. Layers swept over a working set alone give X <= W. One product of all choices
with all layers at once then gives Q(.; X), and from it how far off X can be:

* absolute: ``W_k - X_k <= D_k``, where D_k adds, layer by layer and level by level, the largest excess
  ``max_a Q_k(a; X) - X_k(s)`` found there, for a row passes on at most the error of what it leads to;
* relative: ``M - W_k >= (1 - R_k) (M - X_k)``, where 1 - R_k multiplies the smallest ratios
  ``(M - max_a Q_k(a; X)) / (M - X_k(s))``, for M - Q is a mean of what it leads to. This one keeps its grip where
  the reward is nearly certain.

Choice a is idle with k strokes left when ``Q_k(a; X) + D < X_k(s)`` or ``(1 - R) (M - Q_k(a; X)) > M - X_k(s)``
(D and R of what it leads to; margins for ties and rounding): then Q_k(a; W) < X_k(s) <= W_k(s). Choices idle in
every layer are left out of the final sweep. By induction over layers that sweep returns W itself, but for states
and layers not looked at because ``M - X <= LOSS`` or, rewards not being negative, ``X + D <= LOSS``: the answer is
below W by LOSS at most.

The product costs a fraction of the sweeps it replaces since a matrix is read once for all layers. When too many
choices are left, the best ones found join the working set and the product is taken again, once.
Source: action elimination after MacQueen J. (1967), *Operations Research* 15:559-561, here over layers.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.graph import StateGraph
from caddiebrain.solve.layers import LOSS, TIE, layer_values
from caddiebrain.solve.layout import layer_blocks, rows_of, spans

__all__ = ["choices_that_matter", "worthwhile"]

SEED = 0.03
"""Part of the choices in the first working set: those that lose least on average."""
WIDE = 0.5
"""Part of the choices looked at before the proof is first tried."""
SKIP = 3
"""Every third layer is looked at then."""
FEW = 0.3
"""Part of the choices that may be left when the proof is done at the first try."""
MANY_CHOICES, MANY_LAYERS = 100_000, 30
"""Sizes from which on the proof was measured to cost less than it saves."""
MOST_PRODUCTS = 60_000_000
"""Choices times layers held at a time."""
PIECE = 2048
"""Choices multiplied at a time, so that their products stay near at hand."""
RELATIVE_FROM = 1e-12
"""Distances to the largest reward below this are too small to compare by ratio."""


@dataclass(frozen=True)
class _Open:
    """The states with something to choose and no zero-stroke outcomes, and their choices.

    Choices of other states are few and short: they are always swept.
    """

    states: NDArray[np.int64]
    choices: NDArray[np.int64]
    starts: NDArray[np.int64]

    @classmethod
    def of(cls, graph: StateGraph, among: NDArray[np.bool_] | None = None) -> "_Open":
        """Find them; ``among`` marks the choices to look at, at least one in every state."""
        counts = np.diff(graph.choice_start)
        states = np.flatnonzero((counts > 1) & (graph.level == 0))
        choices = spans(graph.choice_start[states], counts[states])
        counts = counts[states]
        if among is not None:
            counts = np.add.reduceat(among[choices], np.cumsum(counts) - counts, dtype=np.int64)
            choices = choices[among[choices]]
        return cls(states, choices, np.cumsum(counts) - counts)

    @property
    def lengths(self) -> NDArray[np.int64]:
        """Choices of each state."""
        return np.diff(np.append(self.starts, len(self.choices)))

    def pieces(self) -> Iterator[tuple[slice, NDArray[np.int64]]]:
        """Yield the choices some at a time, with the state of each, numbered as in ``states``."""
        owner = np.repeat(np.arange(len(self.states)), self.lengths)
        for low in range(0, len(owner), PIECE):
            yield slice(low, low + PIECE), owner[low : low + PIECE]


def worthwhile(graph: StateGraph, layers: int) -> bool:
    """Return whether looking for the choices that matter is likely to pay."""
    return graph.n_choices >= MANY_CHOICES and layers >= MANY_LAYERS


def choices_that_matter(
    graph: StateGraph, reward: NDArray[np.float64], strokes: NDArray[np.float64]
) -> NDArray[np.bool_] | None:
    """Return which choices to sweep, shape (C,), proven enough; None when there is too much to hold or nothing.

    Parameters
    ----------
    reward : array of float64, shape (K + 1,)
        For reaching the goal with k strokes left; of size 1 at most.
    strokes : array of float64, shape (C,)
        Expected strokes of each choice.
    """
    every = _Open.of(graph)
    if len(every.choices) == 0 or len(every.choices) * len(reward) > MOST_PRODUCTS:
        return None
    loss = strokes[every.choices] - np.repeat(
        np.minimum.reduceat(strokes[every.choices], every.starts), every.lengths
    )
    keep = np.ones(graph.n_choices, dtype=bool)
    keep[every.choices] = loss <= _quantile(loss, SEED)
    wide = keep.copy()
    wide[every.choices] = loss <= _quantile(loss, WIDE)
    seen = _Open.of(graph, wide)
    table = layer_values(graph, layer_blocks(graph, keep), reward)
    rows = np.arange(0, len(reward), SKIP)
    keep[seen.choices[_best(seen, table, rows, reward, _products(graph, seen, table, rows))]] = True
    rows = np.arange(len(reward))
    for again in (True, False):
        table = layer_values(graph, layer_blocks(graph, keep), reward)
        products = _products(graph, every, table, rows)
        idle = _idle(graph, every, table, products, reward)
        share = 1.0 - float(idle.mean())
        if share <= FEW or not again:
            break
        keep[every.choices[_best(every, table, rows, reward, products)]] = True
    keep[every.choices[~idle]] = True  # what gave X stays, so that no value falls below it
    return keep


def _quantile(loss: NDArray[np.float64], part: float) -> float:
    place = int(part * (len(loss) - 1))
    return float(np.partition(loss, place)[place])


def _products(
    graph: StateGraph, part: _Open, table: NDArray[np.float64], rows: NDArray[np.int64]
) -> NDArray[np.float64]:
    """Return the mean of some rows of the table after each choice, shape (choices, rows)."""
    most, states = graph.most_strokes, graph.n_states
    stack = np.empty((most, states, len(rows)))
    for j in range(most):
        stack[j] = table[1 + j + rows].T
    matrix = rows_of(graph, graph.outcome_column, most * states, part.choices)
    products: NDArray[np.float64] = matrix @ stack.reshape(most * states, len(rows))
    return products


def _best(
    part: _Open,
    table: NDArray[np.float64],
    rows: NDArray[np.int64],
    reward: NDArray[np.float64],
    products: NDArray[np.float64],
) -> NDArray[np.bool_]:
    """Mark the choices that are best in a layer where something is at stake."""
    values = table[rows][:, part.states].T
    bar = np.maximum.reduceat(products, part.starts, axis=0) - TIE
    ceiling = max(0.0, float(reward.max()))
    bar[(values <= LOSS) | (values >= ceiling - LOSS)] = np.inf
    found = np.empty(len(products), dtype=bool)
    for piece, owner in part.pieces():
        found[piece] = (products[piece] >= bar[owner]).any(axis=1)
    return found


def _idle(
    graph: StateGraph,
    part: _Open,
    table: NDArray[np.float64],
    products: NDArray[np.float64],
    reward: NDArray[np.float64],
) -> NDArray[np.bool_]:
    """Return which choices are proven idle in every layer; see the head of the file."""
    values = np.ascontiguousarray(table[: len(reward), part.states].T)
    ceiling = max(0.0, float(reward.max()))
    short = ceiling - values
    weight = np.where(short > RELATIVE_FROM, 1.0 / np.maximum(short, RELATIVE_FROM), 0.0)
    excess, share = np.zeros(len(reward)), np.zeros(len(reward))
    for piece, owner in part.pieces():
        more = products[piece] - values[owner]
        np.maximum(excess, more.max(axis=0), out=excess)
        more *= weight[owner]
        np.maximum(share, more.max(axis=0), out=share)
    off = float(np.abs(graph.choice_sums - 1.0).max())  # rows that do not sum to one exactly
    longest = int(np.diff(graph.outcome_start).max())
    small = (longest + 2) * float(np.finfo(np.float64).eps) + off
    absolute, relative, slack = _errors(excess + small, share, small, 2 + int(graph.level.max()))
    with np.errstate(over="ignore", divide="ignore"):
        by_ratio = ceiling - (short + TIE + slack) / relative
    bar = np.maximum(values - absolute - TIE - small, by_ratio)
    settled = short <= LOSS
    if reward.min() >= 0.0:  # and so are all values
        settled |= values + absolute + excess <= LOSS
    bar[settled] = np.inf
    idle = np.empty(len(products), dtype=bool)
    for piece, owner in part.pieces():
        idle[piece] = (products[piece] < bar[owner]).all(axis=1)
    return idle


def _errors(
    excess: NDArray[np.float64], share: NDArray[np.float64], small: float, steps: int
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return D, 1 - R and the slack of the latter for what each layer's choices lead to, shape (layers,)."""
    layers = len(excess)
    absolute, relative, slack = np.zeros(layers), np.ones(layers), np.zeros(layers)
    d, q, e = 0.0, 1.0, RELATIVE_FROM
    for row in range(layers - 1, -1, -1):  # fewest strokes left first
        absolute[row], relative[row], slack[row] = d, q, e
        d = (1.0 + small) ** steps * d + float(excess[row])
        q, e = q * max(1.0 - float(share[row]), 0.0), e + steps * small
    return absolute, relative, slack
