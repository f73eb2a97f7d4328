r"""Which choices can matter for budgets, layer by layer: a working set, and the proof that the rest cannot.

Write W for the best values (see ``budget``), M for the largest reward (at least 0) and L = M - W for what is lost
on it. Losses are never negative, and so a choice a loses ``p_a L`` of the layers it leads to: its loss is known
as closely, in proportion, as those are. That holds where W is nearly certain too, where differences vanish.

The layers are gone through some at a time. Swept over a few choices alone, those with the fewest expected strokes
and those best halfway up, they give X <= W and losses Y = M - X >= L. One product of all choices
with all of them gives p_a Y in single precision, g: a positive sum, so ``p_a Y >= g / (1 + gamma)``, gamma a few
roundings an outcome. Then the layers are swept in earnest, lowest first. With the layers below filled in, ``r Y - L``
is known there, at most e, for several ratios r; for any of them

.. math:: p_a L \ge r \, g / (1 + \gamma) - e > Y_k(s) + \text{margin}
          \quad\Rightarrow\quad Q_k(a; W) < X_k(s) - \text{TIE} \le W_k(s) - \text{TIE}:

a is not among the equal best with k strokes left and is not looked at there. The others are, in double precision:
values and choices are those of the full sweep. Only where ``Y <= LOSS`` the working set alone is swept, and the
answer is below W by LOSS at most. The margin covers ties and rounding.

The product of sixteen layers takes the time of four sweeps or so, since the graph is read once for all of them.
Source: action elimination after MacQueen J. (1967), *Operations Research* 15:559-561, here over layers.
"""

import numpy as np
from numpy.typing import NDArray

from caddiebrain.graph import StateGraph
from caddiebrain.solve.layers import LOSS, TIE, fill
from caddiebrain.solve.layout import Block, first_hits, in_single_precision, layer_blocks

__all__ = ["Screen", "worthwhile"]

BY_STROKES, BY_CHANCE = 2, 3
"""Choices of a state that join the working set: with the fewest expected strokes, and best halfway up."""
MANY_CHOICES, MANY_STEPS = 100_000, 30
"""Choices, and steps of the reward, from which on the proof was measured to cost less than it saves."""
TOGETHER = 32
"""Most layers gone through together."""
LINE = 16
"""Layers whose losses in one state fill a line of the cache in single precision: others take longer to multiply."""
PIECE = 150_000
"""Outcomes multiplied at a time, so that they and their products stay near at hand."""
RATIOS = (1.0, 0.999, 0.99, 0.97, 0.93, 0.85, 0.7, 0.4, 0.1)
"""Ratios of true losses to those of the working set that are tried, and the least there is."""
SMALL = 1e-12
"""Losses below this are no ground for a ratio."""
MOST_PICKED = 0.3
"""Part of the choices from which on all are looked at: rows here and there take three times as long as a run."""
BARRED = 1e30
"""A multiple that no ratio brings down."""
MOST_ROUNDING = 0.1
"""Largest gamma with which a product in single precision is still of use."""

Floats = NDArray[np.float64]


def worthwhile(graph: StateGraph, reward: Floats) -> bool:
    """Return whether looking for the choices that matter is likely to pay.

    It does where the reward rises over many layers. For a plain chance it gains little or loses: without a hope all
    choices are alike, and so they are for a chance that is nearly certain.
    """
    return graph.n_choices >= MANY_CHOICES and int(np.count_nonzero(np.diff(reward))) >= MANY_STEPS


class Screen:
    """Finds, layer by layer, the choices of one block that can matter.

    Parameters
    ----------
    graph : StateGraph
    part : Block
        The states without zero-stroke outcomes, with all their choices.
    ceiling : float
        The largest reward, at least 0; of size 1 at most.
    strokes : array of float64, shape (C,)
        Expected strokes of each choice.
    """

    def __init__(self, graph: StateGraph, part: Block, ceiling: float, strokes: Floats) -> None:
        self._graph, self._part, self._ceiling = graph, part, ceiling
        self._most = graph.most_strokes
        self._few = _leading(part, strokes[part.choices], BY_STROKES)
        longest = int(np.diff(part.matrix.indptr).max(initial=0))
        off = float(np.abs(graph.choice_sums - 1.0).max())  # rows that do not sum to one exactly
        self._gamma = 1.01 * (longest + 8) * 2.0**-24
        self._margin = TIE + 2.0 * off + (longest + 4) * float(np.finfo(np.float64).eps)
        self._first = -1  # row of the table where the layers in hand begin; none yet

    def rows(self, table: Floats, row: int) -> NDArray[np.int64] | None:
        """Return the rows of the block that can matter in a layer, those below it in the table being known.

        None when all of them must be looked at, or so many that leaving out the rest does not pay.
        """
        if self._gamma > MOST_ROUNDING:
            return None
        if self._first < 0 or row < self._first:
            self._take_up(table, row)
        at = row - self._first
        bar = np.repeat(self._bar(table, row).astype(np.float32), self._part.lengths)
        found = np.flatnonzero(self._over[at] <= bar)
        return found if len(found) <= MOST_PICKED * len(self._part.choices) else None

    def _bar(self, table: Floats, row: int) -> Floats:
        """Return which multiple of what it may lose bars a choice of each state from a layer, shape (n,)."""
        at = row - self._first
        held = self._losses[at + 1 : at + 1 + self._most]
        true = self._ceiling - table[row + 1 : row + 1 + self._most]
        share = np.divide(true, held, out=np.ones_like(held), where=held > SMALL).min()
        own = self._losses[at, self._part.states] + self._margin
        bars = np.full(len(own), np.inf)
        for ratio in (*RATIOS, max(float(share), RATIOS[-1])):
            least = (1.0 + 1e-6) * max(0.0, float((ratio * held - true).max()))
            np.minimum(bars, (1.0 + least / own) / ratio, out=bars)
        return bars

    def _take_up(self, table: Floats, row: int) -> None:
        """Bound what every choice loses in the next layers, ``row`` being the lowest of them."""
        self._first = max(0, row + 1 - TOGETHER)
        layers, part = row + 1 - self._first, self._part
        guess = table[self._first : row + 1 + self._most].copy()
        middle = (layers - 1) // 2
        fill(self._working_set(), guess, range(layers - 1, middle, -1))
        self._few |= _leading(part, -(part.matrix @ part.seen(guess, middle)), BY_CHANCE)
        fill(self._working_set(), guess, range(layers - 1, -1, -1))
        self._losses = np.maximum(self._ceiling - guess, 0.0)
        self._over = _multiples(part, self._losses, self._allowed(layers))
        for at in range(layers):
            settled = self._losses[at, part.states] <= LOSS
            if settled.any():
                self._over[at, np.repeat(settled, part.lengths) & ~self._few] = BARRED

    def _working_set(self) -> tuple[Block, ...]:
        keep = np.ones(self._graph.n_choices, dtype=bool)
        keep[self._part.choices] = self._few
        return layer_blocks(self._graph, keep)

    def _allowed(self, layers: int) -> Floats:
        """Return what a choice may lose and still matter, (layers, n); where all is settled no choice is barred."""
        losses = self._losses[:layers, self._part.states]
        return np.where(losses > LOSS, (losses + self._margin) * (1.0 + self._gamma), np.inf)


def _leading(part: Block, score: Floats, count: int) -> NDArray[np.bool_]:
    """Mark so many choices of each state, those with the lowest scores."""
    score, leads = score.copy(), np.zeros(len(score), dtype=bool)
    for _ in range(count):
        least = np.minimum.reduceat(score, part.starts)
        first = first_hits(part, np.flatnonzero(score <= np.repeat(least, part.lengths)))
        leads[first] = True
        score[first] = np.inf
    return leads


def _multiples(part: Block, losses: Floats, allowed: Floats) -> NDArray[np.float32]:
    """Return the loss of every choice in every layer as a multiple of what is allowed, (layers, m)."""
    layers, states = len(allowed), losses.shape[1]
    most = part.matrix.shape[1] // states
    width = -(-layers // LINE) * LINE
    below = np.zeros((most, states, width), dtype=np.float32)
    for j in range(most):
        below[j, :, :layers] = losses[j + 1 : j + 1 + layers].T
    weight = np.zeros((len(part.states), width), dtype=np.float32)
    weight[:, :layers] = 1.0 / allowed.T
    owner = np.repeat(np.arange(len(part.states)), part.lengths)
    over = np.empty((layers, len(owner)), dtype=np.float32)
    step = max(1, PIECE * len(owner) // max(1, part.matrix.nnz))
    for first in range(0, len(owner), step):
        last = min(first + step, len(owner))
        lost = in_single_precision(part.matrix, first, last) @ below.reshape(most * states, width)
        lost *= weight[owner[first:last]]
        over[:, first:last] = lost[:, :layers].T
    return over
