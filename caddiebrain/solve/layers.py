"""Sweeps over strokes left: one layer after the other, level by level within a layer."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from caddiebrain.graph import StateGraph
from caddiebrain.solve.block import Block, Decision

__all__ = ["Decider", "sweep_layers"]

Decider = Callable[[NDArray[np.float64], int, NDArray[np.float64]], Decision]
"""Decides in the states of a block, given the table of layers, a row and the strokes to choose by among equals."""


def sweep_layers(
    graph: StateGraph,
    parts: tuple[Block, ...],
    reward: NDArray[np.float64],
    strokes: NDArray[np.float64],
    first: Decider | None = None,
) -> tuple[NDArray[np.float64], NDArray[np.int32], int]:
    """Sweep all layers; of equals the one with the fewest strokes is chosen, then the one with the lowest index.

    Where ``first`` is given it decides in the first block.

    Returns
    -------
    value, choice : arrays, shape (K + 1, S)
        Row k: with k strokes left.
    swept : int
        Choices looked at in a layer, on average over those with a stroke left.
    """
    layers = len(reward)
    table = np.zeros((layers + graph.most_strokes, graph.n_states))
    table[:layers, graph.goal] = reward[::-1]
    choice = np.full((layers, graph.n_states), -1, dtype=np.int32)
    looked = np.zeros(layers)
    deciders: list[Decider] = [part.decide for part in parts]
    if first is not None:
        deciders[0] = first
    for part in parts:
        if not part.decides:  # the same in every layer
            choice[:, part.states] = part.choices
    for k in range(layers):
        row = layers - 1 - k
        for part, decide in zip(parts, deciders, strict=True):
            made = decide(table, row, strokes)
            table[row, part.states] = made.best
            looked[k] += made.looked
            if part.decides:
                choice[k, part.states] = made.choice
    value = np.ascontiguousarray(table[layers - 1 :: -1])
    return value, choice, int(looked[1:].mean()) if layers > 1 else graph.n_choices
