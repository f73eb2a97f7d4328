r"""Which choices can matter for budgets, layer by layer: a working set, and the proof that the rest cannot.

Write W for the best values (see ``budget``), M for the largest reward (at least 0) and L = M - W for what is lost
on it. Losses are never negative, and so a choice a loses ``p_a L`` of the layers it leads to: its loss is known
as closely, in proportion, as those are. That holds where W is nearly certain too, where differences vanish.

The layers are gone through some at a time. The lowest of them is looked at in full, and from the same reading of the
graph comes what looks best halfway up. Swept over a few choices alone, those with the fewest expected strokes, those
best in the lowest layer and those best halfway up, the others give X <= W and losses Y = M - X >= L. One more reading
of all choices gives p_a Y in single precision, g, for up to eight layers at once: a positive sum, so
``p_a Y >= g / (1 + gamma)``, gamma a few roundings an outcome. Then the layers are swept in earnest, lowest first. L is
known below the layer in hand. Y is taken below the same layer, or below the next lower one that was read: losses
shrink from layer to layer much alike in all states. ``r Y - L`` is at most e, for several ratios r; for any of them

.. math:: p_a L \ge r \, g / (1 + \gamma) - e > Y_k(s) + \text{margin}
          \quad\Rightarrow\quad Q_k(a; W) < X_k(s) - \text{TIE} \le W_k(s) - \text{TIE}:

a is not among the equal best with k strokes left and is not looked at there. The others are, in double precision. Only
where ``Y <= LOSS`` the working set alone is swept, and the answer is below W by LOSS at most. The margin covers ties
and rounding. Choices are those of the full sweep but where two differ by little more than a tie.

Two readings take the time of four sweeps with numpy and scipy at best, and they read rows here and there at a third of
the speed of a run: nothing is gained by them. In compiled loops (``kernels``, extra ``compiled``) it is.
Source: action elimination after MacQueen J. (1967), *Operations Research* 15:559-561, here over layers.
"""

import math
from collections.abc import Iterable
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caddiebrain.errors import InputError
from caddiebrain.graph import StateGraph
from caddiebrain.solve.block import TIE, Block, Decision, has_any
from caddiebrain.solve.threads import Threads

__all__ = ["LOSS", "Screen", "worthwhile"]

LOSS = 1e-13
"""Where the working set is this close to the best reward there is, no more is asked of a choice."""
BY_STROKES, BY_CHANCE = 2, 4
"""Choices of a state that join the working set: with the fewest expected strokes, and best halfway up."""
MANY_CHOICES, MANY_OUTCOMES, MOST_STROKES = 100_000, 4_000_000, 9
"""Size of a graph from which on it pays to look for the choices that matter; loading the loops takes 0.3 s."""
TOGETHER = 16
"""Most layers gone through together."""
LANES = np.array([1, 2, 3, 5, 7, 9, 11, 13])
"""Layers that choices are read for, counted from the lowest of those gone through together: what is lost in the others
is spread over the states nearly as in the next of these below."""
ALIKE, FEW_ALIKE = 1.01, 1.5
"""Where, on average, more choices of a state than this lose at most so many times as much as its best, nearly is not
near enough: choices are read for every layer."""
RATIOS = np.array([1.0, 0.999, 0.99, 0.97, 0.93, 0.85, 0.7, 0.4, 0.1])
"""Ratios of true losses to those of the working set that are tried, of the largest there is; and the least there is."""
SMALL = 1e-12
"""Losses below this are no ground for a ratio, which only tunes: any would do for the proof."""
MOST_ROUNDING = 0.1
"""Largest gamma with which a sum in single precision is still of use."""
ALONE = 5_000
"""Rows that are swept sooner than shared out among threads."""
LINE_BYTES = 64
"""A line of the cache: losses of one state that lie across two take longer to read."""

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Rows = NDArray[np.int64]


def worthwhile(graph: StateGraph) -> bool:
    """Return whether the graph is so large that looking for the choices that matter pays, and the loops are there."""
    large = graph.n_choices >= MANY_CHOICES and graph.n_outcomes >= MANY_OUTCOMES
    return large and graph.most_strokes <= MOST_STROKES and _loops() is not None


class Screen:
    """Decides layer by layer, looking only at the choices of the first block that can matter there.

    Parameters
    ----------
    graph : StateGraph
    parts : blocks of the graph
        The first: states without zero-stroke outcomes, with all their choices.
    ceiling : float
        The largest reward, at least 0; of size 1 at most.
    strokes : array of float64, shape (C,)
        Expected strokes of each choice; of equals the fewest are preferred.
    threads : Threads

    Raises
    ------
    InputError
        Without numba.
    """

    def __init__(
        self, graph: StateGraph, parts: tuple[Block, ...], ceiling: float, strokes: Floats, threads: Threads
    ) -> None:
        self._loops, self._threads = _loops(), threads
        if self._loops is None:
            found, wanted = "True, but numba is not at hand", "False, or pip install 'caddiebrain[compiled]'"
            raise InputError.one("within_budget", "prune", found, wanted)
        part = self._part = parts[0]
        self._rest, self._ceiling, self._most = parts[1:], ceiling, graph.most_strokes
        self._table = _frozen(part.matrix.indptr, part.matrix.indices, part.matrix.data)
        self._stops = np.append(part.starts, len(part.choices))
        self._shares = threads.shares(self._stops)
        self._strokes = strokes[part.choices]
        self._listed = np.arange(len(part.choices))
        self._mean, self._room = np.empty((2, len(part.choices)))
        self.few, first = np.zeros(len(part.choices), dtype=bool), np.empty(len(part.states), dtype=np.int64)
        given = (self._stops, self._strokes, BY_STROKES, self._mean, self.few, first)
        threads.run(self._loops.mark_least, self._shares, *given)
        self._fewest = part.choices[first]
        longest = int(np.diff(part.matrix.indptr).max(initial=0))
        off = float(np.abs(graph.choice_sums - 1.0).max())  # rows that do not sum to one exactly
        # Roundings of a sum in single precision: one an outcome, some of the numbers it is made of and of the bar.
        self._gamma = 1.01 * (longest + 8) * 2.0**-24
        rounding = (longest + 4) * float(np.finfo(np.float64).eps)
        self._margin = TIE + 2.0 * off + (TOGETHER + 1) * rounding  # the guess is so many layers old at most
        self._rounding, self._over_one = rounding, max(float(graph.choice_sums.max()) - 1.0, 0.0)
        self._levels = int(graph.level.max(initial=0))
        self._bar = np.empty(len(part.states), dtype=np.float32)
        self._first = -1  # row of the table where the layers in hand begin; none yet

    def residual(self, layers: int) -> float:
        """Return how much higher than found the best value can be anywhere, after so many layers.

        Beside what was left unasked: rounding, and rows that sum to a little more than one, by which values pass the
        largest reward, which then is no ceiling.
        """
        steps = (layers + 1) * (self._levels + 1)
        return LOSS + steps * self._rounding + self._ceiling * ((1.0 + self._over_one) ** steps - 1.0)

    def decide(self, table: Floats, row: int, strokes: Floats) -> Decision:
        """Choose in each state of the first block, in a row of a table of layers; those below it are known.

        The lowest of the layers gone through together is looked at in full, and the best there joins the working set.
        """
        part, seen = self._part, self._part.seen(table, row)
        if not has_any(seen):
            return Decision(np.zeros(len(part.states)), self._fewest, len(part.choices))
        if self._gamma > MOST_ROUNDING or (row == 0 and self._first != 0):  # one layer alone is not worth it
            return part.decide(table, row, strokes)
        best, (chosen, looked) = np.empty(len(part.states)), np.empty((2, len(part.states)), dtype=np.int64)
        given = (self._strokes, TIE, self._listed, self._mean, best, chosen)
        if row >= self._first >= 0:
            last = (*given, *self.bars(table, row), self.few, looked)
            self._threads.run(self._loops.decide, self._shares, self._table, self._stops, seen, *last)
            return Decision(best, part.choices[chosen], int(looked.sum()))
        pairs = np.column_stack((seen, self._ahead(table, row))).ravel()
        more = (*given, BY_CHANCE, self.few, self._room, self._ceiling, ALIKE, looked)
        self._threads.run(self._loops.look_at_all, self._shares, self._table, self._stops, pairs, *more)
        layers = np.arange(1, self._layers + 1)
        self._lanes = LANES[self._layers >= LANES] if looked.mean() <= FEW_ALIKE else layers
        self.few[chosen] = True
        self._bound(best)
        return Decision(best, part.choices[chosen], len(part.choices))

    def bars(self, table: Floats, row: int) -> tuple[Singles, Singles]:
        """Return what every row loses in the layer read for this one, shape (m,), and how much bars it, shape (n,).

        Where the working set loses next to nothing the bar is below 0.
        """
        at = row - self._first
        lane = int(np.searchsorted(self._lanes, self._layers - at, side="right")) - 1
        held = self._below(self._layers - self._lanes[lane])
        true = self._ceiling - table[row + 1 : row + 1 + self._most].ravel()
        own = self._losses[at, self._part.states]
        room = 1.0 + self._gamma
        self._loops.bars(held, true, own + self._margin, RATIOS, SMALL, room, self._bar)
        self._bar[own <= LOSS] = -1.0
        return self._lost[lane], self._bar

    def _below(self, at: int) -> Floats:
        """Return what the working set loses in the layers that a row of those taken up leads to."""
        return self._losses[at + 1 : at + 1 + self._most].ravel()

    def _ahead(self, table: Floats, row: int) -> Floats:
        """Take up the layers from a row on and return what is seen halfway up, by the working set so far."""
        self._first = max(0, row - TOGETHER)
        self._guess = table[self._first : row + 1 + self._most].copy()
        layers = self._layers = row - self._first
        middle = (layers - 1) // 2
        self._sweep(range(layers, middle, -1))
        return self._part.seen(self._guess, middle)

    def _bound(self, best: Floats) -> None:
        """Bound what every choice loses in the layers taken up, the values of the lowest being known."""
        layers, guess = self._layers, self._guess
        self._fill(layers, best)
        self._sweep(range(layers - 1, -1, -1))
        self._losses = np.maximum(self._ceiling - guess, 0.0)
        self._lost = self._read()

    def _sweep(self, rows: Iterable[int]) -> None:
        """Sweep the working set for some rows of the layers taken up, lowest first."""
        part, few, guess = self._part, np.flatnonzero(self.few), self._guess
        copies, stops = self._copies(few), np.searchsorted(few, self._stops)
        shares = self._threads.shares(stops) if len(few) > ALONE else [(0, len(part.states))]
        best = np.empty(len(part.states))
        for row in rows:
            given = (copies, stops, part.seen(guess, row), best)
            self._threads.run(self._loops.best_means, shares, *given)
            self._fill(row, best)

    def _fill(self, row: int, best: Floats) -> None:
        """Fill in a row of the layers taken up: values of the first block as given, the others after it."""
        guess = self._guess
        guess[row, self._part.states] = best
        for other in self._rest:
            guess[row, other.states] = other.best(guess, row)

    def _copies(self, few: Rows) -> tuple[NDArray[Any], ...]:
        """Return some rows side by side, begins, columns and chances: they are read in every layer."""
        begin, column, _ = self._table
        to = np.concatenate(([0], np.cumsum(np.diff(begin)[few], dtype=np.int64)))
        new = np.empty(to[-1], dtype=column.dtype), np.empty(to[-1])
        shares = self._threads.shares(np.arange(len(to)))
        self._threads.run(self._loops.copy_rows, shares, self._table, few, to, *new)
        return _frozen(to, *new)

    def _read(self) -> Singles:
        """Return what every choice loses in some layers, counted from the lowest, shape (lanes, m)."""
        part, line, states = self._part, self._loops.LINE, self._losses.shape[1]
        lost = np.empty((-(-len(self._lanes) // line) * line, len(part.choices)), dtype=np.float32)
        for first in range(0, len(lost), line):
            below = _lined((self._most, states, line))
            for lane, layer in enumerate(self._lanes[first : first + line]):
                below[:, :, lane] = self._below(self._layers - layer).reshape(self._most, states)
            given = (self._stops, below.ravel(), lost[first : first + line])
            self._threads.run(self._loops.read, self._shares, self._table, *given)
        return lost


def _frozen(*arrays: NDArray[Any]) -> tuple[NDArray[Any], ...]:
    """Return arrays that cannot be written to: loops are compiled anew for those that can."""
    views = tuple(array.view() for array in arrays)
    for view in views:
        view.setflags(write=False)
    return views


def _lined(shape: tuple[int, ...]) -> Singles:
    """Return zeros that begin with a line of the cache."""
    room = np.zeros(math.prod(shape) + LINE_BYTES // 4, dtype=np.float32)
    first = -room.ctypes.data % LINE_BYTES // 4
    return room[first : first + math.prod(shape)].reshape(shape)


@cache
def _loops() -> Any:
    """Return the compiled loops, None where numba cannot be had or does not work here; it is slow to load."""
    try:
        from caddiebrain.solve import kernels

        kernels.ready()
    except Exception:
        # No numba, one for another numpy, a spoilt cache: whatever it is, the plain sweep needs none.
        return None
    return kernels
