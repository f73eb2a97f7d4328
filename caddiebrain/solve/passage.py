"""Mass moved on through a graph by the choices of a policy: the sweeps of ``layout``, run the other way.

Mass stands in a table of layers, most strokes left first, so that an outcome of j strokes leads j rows on. Within a
layer the states of the highest level go first: what their zero-stroke outcomes lead to is in before it is left.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caddiebrain.graph import StateGraph
from caddiebrain.solve.layout import Block, layer_blocks

__all__ = ["Passage"]


@dataclass(frozen=True)
class _Part:
    """A block of choices, the state each belongs to, and the block's matrix with a column a choice."""

    block: Block
    owner: NDArray[np.int64]
    onward: Any


class Passage:
    """The choices that some row of a policy makes, ready to be played by any of its rows.

    Parameters
    ----------
    graph : StateGraph
    policy : array of int, shape (rows, S)
        Running index of the choice for each row and state, as ``checked_policy`` returns it.
    """

    def __init__(self, graph: StateGraph, policy: NDArray[np.int64]) -> None:
        made = np.zeros(graph.n_choices + 1, dtype=bool)  # one more for the goal, whose choice is -1
        made[policy] = True
        self._parts = tuple(
            _Part(block, np.repeat(block.states, block.lengths), block.matrix.T)
            for block in reversed(layer_blocks(graph, made[:-1]))
        )

    def play(self, held: NDArray[np.float64], row: int, choice: NDArray[np.int64]) -> None:
        """Add to the rows below what leaves ``row``, where the mass stays on record as what passed through.

        Parameters
        ----------
        held : array of float64, shape (rows, S)
            Mass by strokes left, most first, and state; below ``row`` there are as many rows as an outcome costs
            strokes.
        choice : array of int64, shape (S,)
            A row of the policy.
        """
        for part in self._parts:
            mass = held[row].take(part.owner) * (choice.take(part.owner) == part.block.choices)
            if mass.any():
                after = part.block.seen(held, row)
                after += part.onward @ mass
