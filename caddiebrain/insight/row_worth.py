"""Mean worth of compiled rows of choices for many questions at once: the score, and the chance by strokes left."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from caddiebrain.hole import HoleCompiler
from caddiebrain.hole.resolve import Block, Scene
from caddiebrain.hole.trouble import Trouble
from caddiebrain.round.worth import MOST_STROKES

__all__ = ["RowWorth", "spent"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def spent(value: Floats, chances: Floats) -> Floats:
    """Lay out what states are worth once 0, 1, ... strokes are spent.

    Parameters
    ----------
    value : array (kept states,)
        Expected strokes of cup, putts and nodes.
    chances : array (K, kept states)
        Chance of the target, row by row one stroke left more; below the first row it is 0.

    Returns
    -------
    array (MOST_STROKES + 1, kept states, 1 + K)
        Larger is better: minus the strokes spent and to come, then the chances.
    """
    k = np.arange(len(chances))
    layers = []
    for cost in range(MOST_STROKES + 1):
        left = np.where((k >= cost)[:, None], chances[np.maximum(k - cost, 0)], 0.0)
        layers.append(np.column_stack([-(value + cost), left.T]))
    return np.stack(layers)


class RowWorth:
    """Works out what rows of choices are worth on one hole.

    Parameters
    ----------
    compiler : HoleCompiler
    kept : array (MOST_STROKES + 1, kept states, Q)
        Worth of cup, putts and nodes once so many strokes are spent; larger is better.
    """

    def __init__(self, compiler: HoleCompiler, kept: Floats) -> None:
        self.compiler, self.kept, self.fixed = compiler, kept, compiler.numbering.trouble
        self._once = compiler.resting @ kept[1]  # nearly every outcome is of one stroke

    def scene(self) -> Scene:
        """Set the scene for shots from the nodes of the hole."""
        places, number = self.compiler.places, self.compiler.numbering
        origin = number.node + np.arange(number.nodes)
        return self.compiler.scene(places.x, places.y, origin, self.compiler.sight)

    def of(self, scene: Scene, compiled: Sequence[tuple[int, Sequence[Block]]]) -> list[Floats]:
        """Worths (rows, Q) of what has been compiled in one scene: numbers of rows, and their blocks.

        Crossing points taken together are the same for all of them, so that players can be compared.
        """
        trouble = Trouble.gather(scene.trouble, self.compiler.ground, self.compiler.places)
        keys = [self._keys(b)[_costs_more(b)] for _, blocks in compiled for b in blocks]
        dear = np.unique(np.concatenate(keys)) if keys else np.zeros(0, dtype=np.int64)
        worth = np.concatenate([self._once, self._pairs(trouble), self._after(*np.divmod(dear, self.fixed))])
        return [self._mean(size, blocks, trouble, dear, worth) for size, blocks in compiled]

    def _keys(self, block: Block) -> Ints:
        """Strokes and state of outcomes as one number."""
        keys: Ints = block.strokes * np.int64(self.fixed) + block.state
        return keys

    def _after(self, strokes: Ints, states: Ints) -> Floats:
        """Worth of fixed states once so many strokes are spent (n, Q)."""
        found = np.empty((len(states), self.kept.shape[2]))
        for cost in np.unique(strokes):
            some = np.flatnonzero(strokes == cost)
            found[some] = self.compiler.resting[states[some]] @ self.kept[cost]
        return found

    def _mean(
        self, size: int, blocks: Sequence[Block], trouble: Trouble, dear: Ints, worth: Floats
    ) -> Floats:
        """Mean worth of each row; ``worth`` is that of fixed states, of pairs of trouble, and of what costs more."""
        found = np.empty((size, worth.shape[1]))
        for block in blocks:
            column = block.state.copy()
            pending, more = block.state < 0, _costs_more(block)
            column[pending] = self.fixed + trouble.pair_of_entry[-1 - block.state[pending]]
            column[more] = len(worth) - len(dear) + np.searchsorted(dear, self._keys(block)[more])
            rows, outcomes = block.prob.shape
            prob = block.prob / block.prob.sum(axis=1, keepdims=True)
            start = np.arange(0, rows * outcomes + 1, outcomes, dtype=column.dtype)
            chance = csr_array((prob.ravel(), column.ravel(), start), shape=(rows, len(worth)))
            found[block.rows] = chance @ worth
        return found

    def _pairs(self, trouble: Trouble) -> Floats:
        """Worth of trouble one stroke on: the better of stroke and distance and every relief."""
        twice = np.full(len(trouble.pair_origin), 2)
        back = self._after(twice, trouble.pair_origin)
        drops = trouble.drops
        if len(drops.place) == 0:
            return back
        worth = self._after(1 + drops.strokes, self.compiler.numbering.spot + drops.spot)
        first = np.flatnonzero(np.diff(drops.place, prepend=-1))
        relief = np.full((len(trouble.place_lie), back.shape[1]), -np.inf)
        relief[drops.place[first]] = np.maximum.reduceat(worth, first, axis=0)
        return np.asarray(np.maximum(back, relief[trouble.pair_place]))


def _costs_more(block: Block) -> NDArray[np.bool_]:
    """Outcomes of more than one stroke in a fixed state."""
    more: NDArray[np.bool_] = (block.strokes > 1) & (block.state >= 0)
    return more
