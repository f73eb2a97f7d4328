r"""Best mean utility for many utilities of one graph at once.

The recursion of `best_utility`, with a column for every utility: a sweep reads the graph once for all of them.
Once n strokes are taken a utility is constant and the fewest expected strokes are played for. Choices within 1e-12
of the best, on the scale of the utility, are equal; of those the one with the fewest expected strokes (to nine
decimals), then the lowest index.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from caddiebrain.errors import InputError
from caddiebrain.graph import StateGraph
from caddiebrain.solve.block import Block
from caddiebrain.solve.expected import choice_values, fewest_strokes
from caddiebrain.solve.layout import blocks

__all__ = ["ManyUtilities", "best_utilities"]

_TIE = 1e-12

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class ManyUtilities:
    """Best mean utilities and the choices that reach them.

    Attributes
    ----------
    value : array of float64, shape (M, S)
        With no stroke taken.
    choice : array of int32, shape (M, n + 1, S)
        Row t: with t strokes taken, the last row with n or more; -1 at the goal.
    """

    value: Floats
    choice: NDArray[np.int32]

    def __repr__(self) -> str:
        many, layers, states = self.choice.shape
        return f"ManyUtilities({many} utilities, {layers} layers, {states} states)"


def best_utilities(graph: StateGraph, utility: ArrayLike) -> ManyUtilities:
    """Find the best choices for many utilities of the total strokes.

    Parameters
    ----------
    graph : StateGraph
    utility : array of float, shape (M, n + 1)
        Row m: worth of reaching the goal in exactly 0, 1, ... n strokes; more than n are worth the last entry, and
        so is never reaching it.

    Raises
    ------
    InputError
        If the utilities have another shape or are not finite.
    """
    worth = np.asarray(utility, dtype=np.float64)
    if worth.ndim != 2 or 0 in worth.shape or not np.all(np.isfinite(worth)):
        raise InputError.one(
            "best_utilities", "utility", f"shape {worth.shape}", "finite numbers, shape (M, n + 1)"
        )
    many, layers = worth.shape
    states, most = graph.n_states, int(graph.outcome_strokes.max(initial=0))
    columns = (most - graph.outcome_strokes.astype(np.int64)) * states + graph.outcome_state
    parts = blocks(graph, columns, (most + 1) * states)
    plain = fewest_strokes(graph)
    order = np.argsort(np.round(choice_values(graph, plain.value), 9), kind="stable")
    rank = np.empty(graph.n_choices, dtype=np.int64)
    rank[order] = np.arange(graph.n_choices)
    # Rows run from many strokes taken to few; past the last layer a utility stays what it is.
    table = np.empty((most + layers, states, many))
    table[:most] = worth[:, -1]
    choice = np.full((many, layers, states), -1, dtype=np.int32)
    scale = np.maximum(np.ptp(worth, axis=1), 1e-300)
    for k in range(layers):
        row, taken = most + k, layers - 1 - k
        table[row] = worth[:, -1]  # for the goal below, and where the utility has become constant
        table[row, graph.goal] = worth[:, taken]
        if k == 0:
            choice[:, taken] = plain.choice
            continue
        for part in parts:
            mean = part.matrix @ table[k : row + 1].reshape(-1, many)
            table[row, part.states] = np.maximum.reduceat(mean, part.starts, axis=0)
            chosen = _preferred(part, mean, table[row, part.states] - _TIE * scale, rank)
            choice[:, taken, part.states] = order[chosen].T
    return ManyUtilities(table[-1].T.copy(), choice)


def _preferred(part: Block, mean: Floats, least: Floats, rank: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the lowest rank among each state's choices that reach ``least`` (states, M)."""
    lengths = np.diff(np.append(part.starts, len(part.choices)))
    hit = mean >= np.repeat(least, lengths, axis=0)
    ranks = np.where(hit, rank[part.choices][:, None], np.iinfo(np.int64).max)
    return np.minimum.reduceat(ranks, part.starts, axis=0)
