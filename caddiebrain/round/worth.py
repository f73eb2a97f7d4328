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

    def full(self, compiler: HoleCompiler) -> Floats:
        """Worth of fixed states with 0, 1, ... strokes spent, (strokes, states); for chances 0 is not used."""
        if not self.larger_is_better:
            spent = np.arange(MOST_STROKES + 1.0)
            return value_of_states(compiler, self.layers[0]) + spent[:, None]
        later = [value_of_states(compiler, layer) for layer in self.layers[1:]]
        return np.stack([later[0], *later])

    def best(self, a: Floats, b: Floats) -> Floats:
        """Return the better of two values."""
        return np.maximum(a, b) if self.larger_is_better else np.minimum(a, b)


def value_of_states(compiler: HoleCompiler, kept: Floats) -> Floats:
    """Values of the fixed states (cup, putts, nodes, spots and putting bins) from those of the kept states."""
    values: Floats = compiler.resting @ kept
    return values


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
        full = self.full(worth)
        every = np.concatenate([full.ravel(), self.pair_values(full, worth)])
        mean = np.zeros(len(self.table))
        for block, (at, total) in zip(self.blocks, self._where, strict=True):
            mean[block.rows] = np.einsum("ij,ij->i", every.take(at), block.prob) / total
        return mean

    def full(self, worth: Worth) -> Floats:
        """Worth of fixed states with 0, 1, ... strokes spent; see `Worth.full`."""
        if id(worth) not in self._full:
            self._full[id(worth)] = worth, worth.full(self.compiler)
        return self._full[id(worth)][1]

    @cached_property
    def _full(self) -> dict[int, tuple[Worth, Floats]]:
        return {}  # holds on to each worth, so its id is not given to others

    @cached_property
    def _where(self) -> list[tuple[NDArray[np.intp], Floats]]:
        """For each block the places of its outcomes among the worths, and the sum of each row's chances.

        Worths are laid out by strokes spent and fixed state, those of the trouble states behind them.
        """
        states = self.compiler.numbering.trouble
        found = []
        for block in self.blocks:
            at = np.add(block.state, states, dtype=np.intp)
            more = np.flatnonzero(block.strokes != 1)
            at.ravel()[more] += (block.strokes.ravel()[more] - np.intp(1)) * states
            pending = np.flatnonzero(block.state < 0)
            if pending.size:
                entry = -1 - block.state.ravel()[pending]
                at.ravel()[pending] = states * (MOST_STROKES + 1) + self.trouble.pair_of_entry[entry]
            found.append((at, block.prob.sum(axis=1)))
        return found

    def pair_values(self, full: Floats, worth: Worth) -> Floats:
        """Worth of each trouble state one stroke on: the better of stroke and distance and relief."""
        spot = self.compiler.numbering.spot
        origin = full[2, self.trouble.pair_origin]
        worst = -np.inf if worth.larger_is_better else np.inf
        relief, drops = np.full(len(self.trouble.place_lie), worst), self.trouble.drops
        if len(drops.place):
            better = np.maximum if worth.larger_is_better else np.minimum
            better.at(relief, drops.place, full[1 + drops.strokes, spot + drops.spot])
        return worth.best(origin, relief[self.trouble.pair_place])
