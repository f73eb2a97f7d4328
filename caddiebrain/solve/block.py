"""The states of one level with their choices as rows of a sparse matrix, and what a sweep does with them."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["TIE", "Block", "Decision", "first_hits", "has_any"]

TIE = 1e-12
"""Choices this close to the best are equal."""

Floats = NDArray[np.float64]
Rows = NDArray[np.int64]


class Decision(NamedTuple):
    """Best value and chosen choice of each state, shape (n,), and how many choices were looked at."""

    best: Floats
    choice: NDArray[Any]
    looked: int


@dataclass(frozen=True)
class Block:
    """The states of one level with the choices swept in them.

    Attributes
    ----------
    states : array of int64, shape (n,)
    choices : array of int64, shape (m,)
        Running indices, grouped by state.
    starts : array of int64, shape (n,)
        First row of each state.
    matrix : csr_array, shape (m, columns)
        Probabilities, one row a choice.
    first_row : int
        How many rows below its own the block looks from, in a table of layers.
    """

    states: Rows
    choices: Rows
    starts: Rows
    matrix: Any
    first_row: int = 0

    @cached_property
    def lengths(self) -> Rows:
        """Choices of each state, shape (n,)."""
        return np.diff(np.append(self.starts, len(self.choices)))

    @cached_property
    def decides(self) -> bool:
        """Whether any state has more than one choice."""
        return len(self.choices) > len(self.states)

    @cached_property
    def owner(self) -> Rows:
        """Place among ``states`` of the state each row belongs to, shape (m,)."""
        return np.repeat(np.arange(len(self.starts)), self.lengths)

    def least(self, total: Floats) -> Floats:
        """Return the least of each state's rows, shape (n,)."""
        return np.minimum.reduceat(total, self.starts) if self.decides else total

    def most(self, total: Floats) -> Floats:
        """Return the most of each state's rows, shape (n,)."""
        return np.maximum.reduceat(total, self.starts) if self.decides else total

    def seen(self, table: Floats, row: int) -> Floats:
        """Return what the block sees from a row of a table of layers (rows, S), flat."""
        first = row + self.first_row
        return table[first : first + self.matrix.shape[1] // table.shape[1]].reshape(-1)

    def best(self, table: Floats, row: int) -> Floats:
        """Return the best mean of each state in a row of a table of layers, shape (n,)."""
        return self.most(self.matrix @ self.seen(table, row))

    def decide(self, table: Floats, row: int, strokes: Floats) -> Decision:
        """Choose in each state, in a row of a table of layers; those below it are known.

        Of equals the one with the fewest ``strokes``, shape (C,), then the one with the lowest index. With nothing to
        gain, as without strokes left, every choice is as good: no product is needed.
        """
        seen = self.seen(table, row)
        mean = self.matrix @ seen if has_any(seen) else np.zeros(len(self.choices))
        return Decision(self.most(mean), self._preferred(mean, strokes), len(mean))

    def _preferred(self, mean: Floats, strokes: Floats) -> Rows:
        """Return, state by state, the choice with the fewest strokes among those as good as the best."""
        if not self.decides:
            return self.choices
        hit = np.flatnonzero(mean >= np.repeat(self.most(mean) - TIE, self.lengths))
        if len(hit) > len(self.states):
            each, first = self._counted(hit)
            cost = strokes.take(self.choices.take(hit))
            hit = hit[cost <= np.repeat(np.minimum.reduceat(cost, first), each)]
        if len(hit) > len(self.states):
            hit = hit[self._counted(hit)[1]]
        return self.choices.take(hit)

    def _counted(self, hit: Rows) -> tuple[Rows, Rows]:
        """Return how many of the rows each state has, at least one each, and where its first stands among them."""
        each = np.bincount(self.owner.take(hit), minlength=len(self.states))
        return each, np.cumsum(each) - each


def has_any(seen: Floats) -> bool:
    """Return whether anything but zeros is seen."""
    return bool(seen.max() > 0.0 or seen.min() < 0.0)


def first_hits(part: Block, hit: Rows) -> Rows:
    """Return the first of the given rows in each state; every state has one."""
    first = np.empty(len(part.starts), dtype=np.int64)
    first[part.owner[hit[::-1]]] = hit[::-1]  # the last assignment stands
    return first
