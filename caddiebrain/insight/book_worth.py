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
from caddiebrain.round.lookup import MOST_STROKES

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
        first_pair = number.trouble + sum(1 for reliefs in model.trouble.reliefs if reliefs)
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

    def pending(self, rows: int, pairs: int) -> csr_array:
        """Chance of each trouble pair, (rows, pairs)."""
        at = self.state < 0
        return csr_array((self.prob[at], (self.row[at], -1 - self.state[at])), shape=(rows, pairs))


@dataclass(frozen=True)
class Ledger:
    """Worth of every state of a hole for a run of strokes left.

    Parameters
    ----------
    levels : ndarray of int (levels,)
        Strokes left, rising by one.
    strokes : ndarray (states,)
        Expected strokes to hole out.
    chance : ndarray (states, levels + MOST_STROKES)
        Chance of the round; the first columns are for strokes left below the first level.
    """

    levels: NDArray[np.int64]
    strokes: Floats
    chance: Floats

    @classmethod
    def of(cls, hole: HolePlan, levels: NDArray[np.int64]) -> "Ledger":
        """Work out the worth of every state of a planned hole."""
        below = np.arange(levels[0] - MOST_STROKES, levels[0])
        kept = hole.chances_with(np.concatenate([below, levels]))
        strokes = hole.solved.expected.value[: hole.compiler.numbering.spot]
        both = _every_state(hole.compiler, np.ascontiguousarray(np.concatenate([kept, strokes[None]]).T))
        return cls(levels, both[:, -1], both[:, :-1])

    def weigh(self, rows: int, entries: Entries, spot: int) -> Weighed:
        """Weigh ``rows`` choices by their outcomes.

        Parameters
        ----------
        spot : int
            State number of the first spot.
        """
        pair_strokes, pair_chance = self._pairs(entries.trouble, spot)
        pending = entries.pending(rows, len(pair_strokes))
        strokes, chance = pending @ pair_strokes, pending @ pair_chance
        for cost, met, table in entries.known(rows, len(self.strokes)):
            low = MOST_STROKES - cost
            strokes += table @ self.strokes[met] + cost * table.sum(axis=1)
            if len(self.levels):
                chance += table @ self.chance[met, low : low + len(self.levels)]
        return Weighed(strokes, np.clip(chance, 0.0, 1.0))

    def without_levels(self) -> "Ledger":
        """Return a ledger that weighs expected strokes alone."""
        return replace(self, levels=self.levels[:0])

    def _pairs(self, trouble: Trouble, spot: int) -> tuple[Floats, Floats]:
        """Worth of each trouble state, the stroke that led there included."""

        def after(state: NDArray[np.integer] | int, cost: int) -> Floats:
            low = MOST_STROKES - cost
            return np.asarray(self.chance[state, low : low + len(self.levels)])

        strokes = np.full(len(trouble.reliefs), np.inf)
        chance = np.full((len(trouble.reliefs), len(self.levels)), -np.inf)
        for i, reliefs in enumerate(trouble.reliefs):
            for drop in reliefs:
                cost = 1 + drop.strokes
                strokes[i] = min(strokes[i], self.strokes[spot + drop.spot] + cost)
                chance[i] = np.maximum(chance[i], after(spot + drop.spot, cost))
        back = trouble.pair_origin
        return (
            np.minimum(self.strokes[back] + 2.0, strokes[trouble.pair_place]),
            np.maximum(after(back, 2), chance[trouble.pair_place]),
        )


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


def _every_state(compiler: HoleCompiler, kept: Floats) -> Floats:
    """Values (states, columns) of cup, putts, nodes, spots and putting bins from those of the kept states."""
    places, number = compiler.places, compiler.numbering
    start = np.arange(0, 4 * number.spots + 1, 4)
    mix = csr_array(
        (places.spot_weight.ravel(), places.spot_node.ravel(), start), shape=(number.spots, number.nodes)
    )
    spots = mix @ kept[number.node : number.spot]
    low, upper = split(np.arange(number.bins) * number.step_ft)
    putts = kept[number.putt : number.node]
    bins = putts[low] * (1.0 - upper)[:, None] + putts[low + 1] * upper[:, None]
    return np.concatenate([kept, spots, bins])
