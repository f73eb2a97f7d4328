"""Sweeps over strokes left: one layer after the other, level by level within a layer."""

from collections.abc import Callable, Iterable

import numpy as np
from numpy.typing import NDArray

from caddiebrain.graph import StateGraph
from caddiebrain.solve.layout import Block

__all__ = ["LOSS", "TIE", "Picker", "fill", "sweep_layers"]

Picker = Callable[[NDArray[np.float64], int], NDArray[np.int64] | None]
"""Which rows of the first block, without zero-stroke outcomes, to look at, given the table of layers and a row."""

TIE = 1e-12
"""Choices this close to the best are equal."""
LOSS = 1e-10
"""Where the best chance is this close to none, or to the best reward there is, no more is asked of a choice."""


def fill(parts: tuple[Block, ...], table: NDArray[np.float64], rows: Iterable[int]) -> None:
    """Sweep the given blocks for some rows of a table of layers, lowest first; what lies below them is known."""
    for row in rows:
        for part in parts:
            table[row, part.states] = part.most(part.matrix @ part.seen(table, row))


def sweep_layers(
    graph: StateGraph,
    parts: tuple[Block, ...],
    reward: NDArray[np.float64],
    strokes: NDArray[np.float64],
    pick: Picker | None = None,
) -> tuple[NDArray[np.float64], NDArray[np.int32], int]:
    """Sweep all layers; of equals the one with the fewest strokes is chosen, then the one with the lowest index.

    Returns
    -------
    value, choice : arrays, shape (K + 1, S)
        Row k: with k strokes left.
    swept : int
        Choices looked at in a layer, on average over those with a stroke left.
    """
    layers, strokes = len(reward), np.round(strokes, 9)
    table = np.zeros((layers + graph.most_strokes, graph.n_states))
    table[:layers, graph.goal] = reward[::-1]
    choice = np.full((layers, graph.n_states), -1, dtype=np.int32)
    looked = np.zeros(layers)
    for part in parts:
        if not part.decides:  # the same in every layer
            choice[:, part.states] = part.choices
    for k in range(layers):
        for part in parts:
            picker = pick if part is parts[0] else None
            looked[k] += _look(part, table, layers - 1 - k, choice[k], strokes, picker)
    value = np.ascontiguousarray(table[layers - 1 :: -1])
    return value, choice, int(looked[1:].mean()) if layers > 1 else graph.n_choices


def _look(
    part: Block,
    table: NDArray[np.float64],
    row: int,
    choice: NDArray[np.int32],
    strokes: NDArray[np.float64],
    pick: Picker | None,
) -> int:
    """Fill in values and choices of one block in one layer; return how many choices were looked at."""
    seen = part.seen(table, row)
    # With nothing to gain, as without strokes left, every choice is as good: no product is needed.
    gain = bool(seen.max() > 0.0 or seen.min() < 0.0)
    picked = pick(table, row) if pick and gain else None
    part = part if picked is None else part.only(picked)
    mean = part.matrix @ seen if gain else np.zeros(len(part.choices))
    best = part.most(mean)
    table[row, part.states] = best
    if part.decides:
        choice[part.states] = _preferred(part, mean, best, strokes)
    elif picked is not None:
        choice[part.states] = part.choices
    return len(part.choices)


def _preferred(
    part: Block, mean: NDArray[np.float64], best: NDArray[np.float64], strokes: NDArray[np.float64]
) -> NDArray[np.int64]:
    """Return, state by state, the choice with the fewest strokes among those as good as the best."""
    hit = np.flatnonzero(mean >= np.repeat(best - TIE, part.lengths))
    if len(hit) > len(part.states):
        each, first = _counted(part, hit)
        cost = strokes.take(part.choices.take(hit))
        hit = hit[cost <= np.repeat(np.minimum.reduceat(cost, first), each)]
    if len(hit) > len(part.states):
        hit = hit[_counted(part, hit)[1]]
    return part.choices.take(hit)


def _counted(part: Block, hit: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return how many of the rows each state has, at least one each, and where its first stands among them."""
    each = np.bincount(part.owner.take(hit), minlength=len(part.states))
    return each, np.cumsum(each) - each
