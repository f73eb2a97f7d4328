"""Many choices weighed at once for every number of strokes left: worth as matrices.

Columns are numbers of strokes left. With A_c (choices, states) the chance of each state at a cost of c strokes and
V (states, strokes left) the chance of the round, the chances after the choices are the sum over c of
A_c V[:, k - c]; expected strokes likewise. States in which a ball lies in trouble are settled first, each by the best
way out for the strokes then left.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from caddiebrain.hole import HoleCompiler, HoleModel
from caddiebrain.hole.green import split
from caddiebrain.hole.resolve import Block
from caddiebrain.hole.trouble import Trouble
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.round.worth import MOST_STROKES

__all__ = ["Entries", "Ledger", "Weighed"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Weighed:
    """Choices (rows,) weighed: ``strokes`` to hole out and ``chance`` (rows, levels) of the round."""

    strokes: Floats
    chance: Floats


@dataclass(frozen=True)
class Entries:
    """Outcomes of choices as parallel arrays: ``row`` of the choice, ``state``, ``prob``, ``strokes``.

    Balls in trouble have the state -1 - i for the pair i of ``trouble``.
    """

    row: NDArray[np.int64]
    state: NDArray[np.int64]
    prob: Floats
    strokes: NDArray[np.uint8]
    trouble: Trouble

    @classmethod
    def of_blocks(cls, blocks: Sequence[Block], trouble: Trouble) -> "Entries":
        """Take the outcomes of freshly worked out choices."""
        row, state, prob, strokes = [], [], [], []
        for block in blocks:
            column = block.state.astype(np.int64)
            pending = column < 0
            if pending.any():
                column[pending] = -1 - trouble.pair_of_entry[-1 - column[pending]]
            row.append(np.repeat(block.rows, column.shape[1]))
            state.append(column.ravel())
            prob.append((block.prob / block.prob.sum(axis=1, keepdims=True)).ravel())
            strokes.append(block.strokes.ravel())
        return cls(
            np.concatenate(row),
            np.concatenate(state),
            np.concatenate(prob),
            np.concatenate(strokes),
            trouble,
        )

    @classmethod
    def of_choices(cls, model: HoleModel, choice: NDArray[np.integer]) -> "Entries":
        """Take the outcomes of choices (n,) of a compiled hole; row i is ``choice[i]``."""
        graph, number = model.graph, model.numbering
        start = graph.outcome_start[choice]
        length = graph.outcome_start[choice + 1] - start
        index = np.repeat(start - (np.cumsum(length) - length), length) + np.arange(int(length.sum()))
        state = graph.outcome_state[index].astype(np.int64)
        first_pair = number.trouble + len(model.trouble.relieved)
        state = np.where(state >= first_pair, -1 - (state - first_pair), state)
        row = np.repeat(np.arange(len(choice)), length)
        return cls(row, state, graph.outcome_prob[index], graph.outcome_strokes[index], model.trouble)

    def known(self, rows: int, states: int) -> list[tuple[int, NDArray[np.int64], csr_array]]:
        """For every cost in strokes the states led to and the chance of each, (rows, those states).

        Balls in trouble are left out.
        """
        found = []
        for cost in np.flatnonzero(np.bincount(self.strokes)).tolist():
            at = np.flatnonzero((self.strokes == cost) & (self.state >= 0))
            met, column = _numbered(self.state[at], states)
            found.append((int(cost), met, _by_row(self.row[at], column, self.prob[at], (rows, len(met)))))
        return found

    def pending(self, rows: int) -> tuple[NDArray[np.int64], csr_array]:
        """Trouble pairs led to and the chance of each, (rows, those pairs)."""
        at = np.flatnonzero(self.state < 0)
        met, column = _numbered(-1 - self.state[at], len(self.trouble.pair_place))
        return met, _by_row(self.row[at], column, self.prob[at], (rows, len(met)))


@dataclass(frozen=True)
class Ledger:
    """Worth of every state of a hole for a run of strokes left.

    Parameters
    ----------
    levels : ndarray of int (levels,)
        Strokes left, rising by one.
    kept : ndarray (kept states, MOST_STROKES + levels + 1)
        Chance of the round, the first columns for strokes left below the first level; last, the expected strokes to
        hole out.
    compiler : HoleCompiler
    """

    levels: NDArray[np.int64]
    kept: Floats
    compiler: HoleCompiler

    @classmethod
    def of(cls, hole: HolePlan, levels: NDArray[np.int64]) -> "Ledger":
        """Take the worth of the states that a planned hole keeps."""
        below = np.arange(levels[0] - MOST_STROKES, levels[0])
        chance = hole.chances_with(np.concatenate([below, levels]))
        strokes = hole.solved.expected.value[: hole.compiler.numbering.spot]
        return cls(levels, np.ascontiguousarray(np.concatenate([chance, strokes[None]]).T), hole.compiler)

    def weigh(self, rows: int, entries: Entries) -> Weighed:
        """Weigh ``rows`` choices by their outcomes."""
        pairs, pending = entries.pending(rows)
        pair_strokes, pair_chance = self._in_trouble(entries.trouble, pairs)
        strokes, chance = pending @ pair_strokes, pending @ pair_chance
        for cost, met, table in entries.known(rows, self.compiler.numbering.trouble):
            low, worth = MOST_STROKES - cost, self._worth(met)
            strokes += table @ worth[:, -1] + cost * table.sum(axis=1)
            if len(self.levels):
                chance += table @ worth[:, low : low + len(self.levels)]
        return Weighed(strokes, np.clip(chance, 0.0, 1.0))

    def without_levels(self) -> "Ledger":
        """Return a ledger that weighs expected strokes alone."""
        return replace(self, levels=self.levels[:0], kept=self.kept[:, -MOST_STROKES - 1 :])

    def _worth(self, states: NDArray[np.integer]) -> Floats:
        """Rows of ``kept``, mixed for spots and putting bins; cup, putts and nodes are kept themselves."""
        number = self.compiler.numbering
        kept, green = states < number.spot, states >= number.bin
        spot = ~(kept | green)
        worth = np.empty((len(states), self.kept.shape[1]))
        worth[kept] = self.kept[states[kept]]
        nodes, putts = self.kept[number.node :], self.kept[number.putt : number.node]
        worth[spot] = self.compiler.places.to_nodes(states[spot] - number.spot) @ nodes
        low, upper = split((states[green] - number.bin) * number.step_ft)
        worth[green] = putts[low] * (1.0 - upper)[:, None] + putts[low + 1] * upper[:, None]
        return worth

    def _in_trouble(self, trouble: Trouble, pairs: NDArray[np.int64]) -> tuple[Floats, Floats]:
        """Worth of some trouble pairs, the stroke that led there included."""
        number, count = self.compiler.numbering, len(self.levels)
        back = self.kept[trouble.pair_origin[pairs]]
        strokes, chance = back[:, -1] + 2.0, back[:, MOST_STROKES - 2 : MOST_STROKES - 2 + count]
        places, place = np.unique(trouble.pair_place[pairs], return_inverse=True)
        drops = trouble.drops
        mine = np.flatnonzero(np.isin(drops.place, places))
        if mine.size == 0:
            return strokes, chance
        at, cost = np.searchsorted(places, drops.place[mine]), 1 + drops.strokes[mine]
        worth = self._worth(number.spot + drops.spot[mine])
        column = (MOST_STROKES - cost)[:, None] + np.arange(count)
        first = np.flatnonzero(np.diff(at, prepend=-1))
        fewest, best = np.full(len(places), np.inf), np.full((len(places), count), -np.inf)
        fewest[at[first]] = np.minimum.reduceat(worth[:, -1] + cost, first)
        best[at[first]] = np.maximum.reduceat(np.take_along_axis(worth, column, axis=1), first)
        return np.minimum(strokes, fewest[place]), np.maximum(chance, best[place])


def _by_row(
    row: NDArray[np.int64], column: NDArray[np.int64], prob: Floats, shape: tuple[int, int]
) -> csr_array:
    """Put entries into rows; those of the same state are left side by side."""
    order = np.argsort(row, kind="stable")
    start = np.concatenate(([0], np.cumsum(np.bincount(row, minlength=shape[0]))))
    return csr_array((prob[order], column[order], start), shape=shape)


def _numbered(values: NDArray[np.int64], size: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the different values, all below ``size``, and the place of each value among them."""
    seen = np.zeros(size, dtype=bool)
    seen[values] = True
    return np.flatnonzero(seen), (np.cumsum(seen) - 1)[values]
