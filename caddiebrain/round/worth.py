"""What states are worth, and what choices are worth by where their balls come to rest."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole import ChoiceTable, HoleCompiler
from caddiebrain.hole.resolve import Block
from caddiebrain.hole.trouble import Trouble

__all__ = ["MOST_STROKES", "Shots", "Worth", "value_of_states"]

MOST_STROKES = 3
"""Most strokes one choice costs: a stroke and a relief of two (Local Rule E-5, Rule 19.3b)."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Worth:
    """What states are worth once strokes are spent, by kept states (cup, putts, nodes).

    Chances: ``layers[c]`` (kept states,) with c strokes spent. Strokes to hole out: one layer, to which the
    strokes spent are added.
    """

    layers: tuple[Floats, ...]

    @property
    def larger_is_better(self) -> bool:
        """Whether these are chances."""
        return len(self.layers) > 1

    def best(self, a: Floats, b: Floats) -> Floats:
        """Return the better of two values."""
        return np.maximum(a, b) if self.larger_is_better else np.minimum(a, b)


def value_of_states(compiler: HoleCompiler, kept: Floats) -> Floats:
    """Values of the fixed states (cup, putts, nodes, spots and putting bins) from those of the kept states."""
    values: Floats = compiler.resting @ kept
    return values


class _Spent:
    """Worth of fixed states by the strokes spent, worked out when first asked for."""

    def __init__(self, compiler: HoleCompiler, worth: Worth) -> None:
        self._compiler, self._worth = compiler, worth
        self._known: dict[int, Floats] = {}

    def after(self, strokes: int) -> Floats:
        """Worth of every fixed state with so many strokes spent, (states,)."""
        known = self._layer(strokes)
        return known if self._worth.larger_is_better else known + strokes

    def at(self, state: NDArray[np.integer], strokes: NDArray[np.integer]) -> Floats:
        """Worth of fixed states (n,), each with its own strokes spent."""
        if not self._worth.larger_is_better:
            return self._layer(0).take(state) + strokes
        value = np.empty(len(state))
        for spent in range(MOST_STROKES + 1):
            some = np.flatnonzero(strokes == spent)
            if some.size:
                value[some] = self._layer(spent).take(state[some])
        return value

    def _layer(self, strokes: int) -> Floats:
        layer = strokes if self._worth.larger_is_better else 0
        if layer not in self._known:
            self._known[layer] = value_of_states(self._compiler, self._worth.layers[layer])
        return self._known[layer]


@dataclass(frozen=True)
class _Ends:
    """Where outcomes lie among the worths of `Shots.every`.

    Parameters
    ----------
    at : list of ndarray (rows, outcomes)
        Places of each block's outcomes.
    total : list of ndarray (rows,)
        Sums of each block's chances.
    row, state, strokes : ndarray (n,)
        The outcomes that do not cost one stroke: whose they are, the fixed state and the strokes.
    """

    at: list[NDArray[np.intp]]
    total: list[Floats]
    row: NDArray[np.int64]
    state: NDArray[np.intp]
    strokes: NDArray[np.uint8]


@dataclass(frozen=True)
class Shots:
    """Choices with their outcomes, in no graph.

    Parameters
    ----------
    table : ChoiceTable
    blocks : list of Block
        Outcomes; states below 0 are entries of ``trouble``.
    trouble : Trouble
    """

    compiler: HoleCompiler
    table: ChoiceTable
    blocks: list[Block]
    trouble: Trouble

    def values(self, worth: Worth) -> Floats:
        """Mean worth of every choice."""
        every, ends = self.every(worth), self.ends
        mean = np.zeros(len(self.table))
        for block, at, total in zip(self.blocks, ends.at, ends.total, strict=True):
            mean[block.rows] = np.einsum("ij,ij->i", every.take(at), block.prob) / total
        return mean

    def every(self, worth: Worth) -> Floats:
        """Worth of all that outcomes lead to, their strokes included.

        Fixed states come first, one stroke on, then the trouble states, then one by one the outcomes that cost
        other than one stroke, as in `ends`.
        """
        if id(worth) not in self._every:
            spent = _Spent(self.compiler, worth)
            once, pairs = spent.after(1), self._pair_values(spent, worth)
            values = np.concatenate([once, pairs, spent.at(self.ends.state, self.ends.strokes)])
            self._every[id(worth)] = worth, values
        return self._every[id(worth)][1]

    @cached_property
    def _every(self) -> dict[int, tuple[Worth, Floats]]:
        return {}  # holds on to each worth, so its id is not given to others

    @cached_property
    def ends(self) -> _Ends:
        """Where outcomes lie among the worths of `every`."""
        states, pairs = self.compiler.numbering.trouble, len(self.trouble.pair_place)
        at, dear = [], []
        behind = states + pairs
        for block in self.blocks:
            place = block.state.astype(np.intp, order="C")
            other = np.flatnonzero((block.strokes != 1) & (block.state >= 0))
            dear.append(
                (block.rows[other // place.shape[1]], place.ravel()[other], block.strokes.ravel()[other])
            )
            place.ravel()[other] = np.arange(behind, behind + len(other))
            behind += len(other)
            if pairs:
                pending = np.flatnonzero(block.state < 0)
                place.ravel()[pending] = states + self.trouble.pair_of_entry[-1 - place.ravel()[pending]]
            at.append(place)
        row, state, strokes = (np.concatenate(column) for column in zip(*dear, strict=True))
        return _Ends(at, [block.prob.sum(axis=1) for block in self.blocks], row, state, strokes)

    def outcomes(self, row: int) -> tuple[NDArray[np.intp], Floats]:
        """Places of one choice's outcomes among the worths of `every`, and their chances, which sum to 1."""
        for block, at, total in zip(self.blocks, self.ends.at, self.ends.total, strict=True):
            for i in np.flatnonzero(block.rows == row):
                return at[i], block.prob[i] / total[i]
        raise IndexError(row)

    def _pair_values(self, spent: _Spent, worth: Worth) -> Floats:
        """Worth of each trouble state one stroke on: the better of stroke and distance and relief."""
        if not len(self.trouble.pair_place):
            return np.zeros(0)
        origins = self.trouble.pair_origin
        origin = spent.at(origins, np.full(len(origins), 2))
        worst = -np.inf if worth.larger_is_better else np.inf
        relief, drops = np.full(len(self.trouble.place_lie), worst), self.trouble.drops
        if len(drops.place):
            better = np.maximum if worth.larger_is_better else np.minimum
            spot = self.compiler.numbering.spot
            better.at(relief, drops.place, spent.at(spot + drops.spot, 1 + drops.strokes))
        return worth.best(origin, relief[self.trouble.pair_place])
