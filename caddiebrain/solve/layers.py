"""Sweeps over strokes left: one layer after the other, level by level within a layer."""

import numpy as np
from numpy.typing import NDArray

from caddiebrain.graph import StateGraph
from caddiebrain.solve.layout import Block

__all__ = ["LOSS", "TIE", "layer_values", "sweep_layers"]

TIE = 1e-12
"""Choices this close to the best are equal."""
LOSS = 1e-10
"""Where the best chance is this close to none, or to the best reward there is, no more is asked of a choice."""


def layer_values(
    graph: StateGraph, parts: tuple[Block, ...], reward: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the best values of all layers over the given blocks as a table of layers.

    Shape (K + 1 + most strokes, S), most strokes left first; the rows at the end lie below 0 strokes left.
    """
    return _sweep(graph, parts, reward, None)[0]


def sweep_layers(
    graph: StateGraph, parts: tuple[Block, ...], reward: NDArray[np.float64], ranks: NDArray[np.int64]
) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
    """Return value and choice, both (K + 1, S), row k with k strokes left; equals are chosen among by rank."""
    table, choice = _sweep(graph, parts, reward, ranks)
    return np.ascontiguousarray(table[len(reward) - 1 :: -1]), choice


def _sweep(
    graph: StateGraph, parts: tuple[Block, ...], reward: NDArray[np.float64], ranks: NDArray[np.int64] | None
) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
    layers = len(reward)
    table = np.zeros((layers + graph.most_strokes, graph.n_states))
    table[:layers, graph.goal] = reward[::-1]
    choice = np.full((0 if ranks is None else layers, graph.n_states), -1, dtype=np.int32)
    by_rank = np.empty(0, dtype=np.int64)
    if ranks is not None:
        by_rank = np.empty_like(ranks)
        by_rank[ranks] = np.arange(len(ranks))
    for k in range(layers):
        row = layers - 1 - k
        for part in parts:
            seen = part.seen(table, row)
            # With nothing to gain, as without strokes left, every choice is as good: no product is needed.
            mean = part.matrix @ seen if seen.any() else np.zeros(len(part.choices))
            best = np.maximum.reduceat(mean, part.starts)
            table[row, part.states] = best
            if ranks is not None:
                choice[k, part.states] = by_rank[_preferred(part, mean, best, ranks)]
    return table, choice


def _preferred(
    part: Block, mean: NDArray[np.float64], best: NDArray[np.float64], ranks: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Return, state by state, the lowest rank among the choices as good as the best."""
    if len(part.choices) == len(part.states):
        return ranks[part.choices]
    hit = np.flatnonzero(mean >= np.repeat(best - TIE, part.lengths))
    edges = np.searchsorted(hit, part.starts)
    return np.minimum.reduceat(ranks[part.choices[hit]], edges)
