r"""Which choices can matter for budgets, layer by layer: a bound on what each loses, carried from layer to layer.

Write W for the best values (see ``budget``), M for the largest there can be and L = M - W for what is lost on it.
Losses are never negative, and what a choice a loses is the mean of the losses it leads to, ``p_a L``. Let Y be other
losses of the same states, with ``p_a Y`` bounded from below. A line below all points (Y, L), of slope r (not negative)
and level e, is one below their means, and so, for any X up to W,

.. math:: L \ge r \, Y - e \quad\Rightarrow\quad p_a L \ge r \, p_a Y - e > M - X_k(s) + \text{margin}
          \quad\Rightarrow\quad Q_k(a; W) < X_k(s) - \text{TIE} \le W_k(s) - \text{TIE}:

a is not among the equal best with k strokes left and is not looked at there. Several lines are drawn: the steepest
through the origin, by which losses are known as closely as they are alike in proportion, however small, and some that
touch the points. Two kinds of Y are at hand:

- *Losses of the layer before.* The bound on what a choice lost there becomes one for this layer. Losses soon shrink
  much alike in all states, and bounds stay close for many layers.
- *Losses guessed.* A layer is read in full first; from the same reading come the means of three guesses, one for each
  of the next three layers, where losses do not shrink alike yet. A guess is the best that a few choices of a state can
  do, the one with the fewest expected strokes and, once there are bounds, those with the lowest.

X is what the choice of the layer before does in this one, or what the few do. Choices that no bound bars are looked at,
in double precision, and what they lose is their new bound. Where many would be, the layer is read in full again.

The margin covers ties, rounding, and rows that do not sum to one exactly. Where ``M - X`` is at most LOSS and the
choice with the fewest strokes within half a tie of M, that one is chosen and no other looked at: the answer is below W
by LOSS at most. Choices are those of the full sweep but where two differ by little more than a tie.

The loops are compiled (``kernels``, ``lines``; extra ``compiled``): numpy and scipy take five times as long for such a
reading as for one product, and for rows here and there three to five times as long as for a run of them. Source: action
elimination after MacQueen J. (1967), *Operations Research* 15:559-561; the lines are Jensen's inequality.
"""

import math
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
"""Where the choices at hand are this close to the best reward there is, no more is asked of the others."""
MANY_CHOICES, MANY_OUTCOMES, MOST_STROKES = 100_000, 4_000_000, 9
"""Size of a graph from which on it pays to look for the choices that matter; loading the loops takes 0.3 s."""
AGAIN = 0.3
"""Where more than this part of the choices is left to look at, all are read, which is quicker."""
SAMPLE = 64
"""States, about, that tell which part it is."""
PROMISING = 2
"""Choices of a state with the lowest bounds, with which a guess is made as with the one with the fewest strokes."""
CACHE_LINE = 64
"""Bytes that come from memory together."""

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
        The largest reward, at least 0; of size 1 at most. Rows that sum to more than one raise it a little.
    layers : int
        How many layers there will be.
    strokes : array of float64, shape (C,)
        Expected strokes of each choice; of equals the fewest are preferred.
    threads : Threads

    Raises
    ------
    InputError
        Without numba.
    """

    def __init__(
        self,
        graph: StateGraph,
        parts: tuple[Block, ...],
        ceiling: float,
        layers: int,
        strokes: Floats,
        threads: Threads,
    ) -> None:
        self._loops, self._threads = _loops(), threads
        if self._loops is None:
            found, wanted = "True, but numba is not at hand", "False, or pip install 'caddiebrain[compiled]'"
            raise InputError.one("within_budget", "prune", found, wanted)
        part = self._part = parts[0]
        self._rest, self.ceiling, self._most = parts[1:], ceiling, graph.most_strokes
        self._table = _frozen(part.matrix.indptr, part.matrix.indices, part.matrix.data)
        self._stops = np.append(part.starts, len(part.choices))
        self._shares = threads.shares(self._stops)
        self._strokes = strokes[part.choices]
        self._fewest = np.empty(len(part.states), dtype=np.int64)
        self._loops.first_least(self._stops, self._strokes, self._fewest)
        self._before = self._fewest  # rows chosen in the layer before
        self._listed, self._mean = np.empty(len(part.choices), dtype=np.int64), np.empty(len(part.choices))
        self.bound = np.zeros(len(part.choices), dtype=np.float32)
        """What each choice of the first block loses at least, in the mean, in the last layer with anything to win."""
        self._spare = self.bound.copy()
        self._room = np.empty((2, part.matrix.shape[1]))
        self._lines = np.empty((2, self._loops.LINES), dtype=np.float32)
        self._ahead = np.zeros((self._loops.AHEAD, len(part.choices)), dtype=np.float32)
        self._guess = np.zeros((0, graph.n_states))  # layers as a few choices have them
        self._base = 0  # row of the table where they begin
        self._read = -1  # row that was read in full; none yet
        self._set_margins(graph, layers)

    def _set_margins(self, graph: StateGraph, layers: int) -> None:
        """Raise the ceiling by what rows that sum to more than one may gain; set how far sums may be off."""
        longest = int(np.diff(graph.outcome_start).max())
        steps = (layers + 1) * (int(graph.level.max(initial=0)) + 1)
        rounding = (longest + 4) * float(np.finfo(np.float64).eps)
        gain = self.ceiling * (max(float(graph.choice_sums.max()), 1.0) ** steps - 1.0)
        self.ceiling += gain
        self._settled = LOSS + (gain if gain < 0.25 * TIE else 0.0)  # so little is rounding
        off = float(np.abs(graph.choice_sums - 1.0).max())
        self._off, self._slip = rounding + off, 2.0 * rounding  # the slip tunes: any would do for the proof
        self._margin = TIE + 2.0 * off + 8.0 * rounding
        self.residual = self._settled + steps * rounding
        """How much higher than found the best value can be anywhere."""

    def decide(self, table: Floats, row: int, strokes: Floats) -> Decision:
        """Choose in each state of the first block, in a row of a table of layers; those below it are known.

        Among equals those ``strokes`` count with which the screen was made.
        """
        part, loops, seen = self._part, self._loops, self._part.seen(table, row)
        if not has_any(seen):
            self._read = -1  # what is not carried on is lost
            return Decision(np.zeros(len(part.states)), part.choices[self._fewest], 0)
        best, (chosen, looked) = np.empty(n := len(part.states)), np.empty((2, n), dtype=np.int64)
        given = (self._table, self._stops, self._strokes, TIE, self._listed, self._mean, best, chosen)
        bars = self._bars(table, row) if self._read >= 0 else None
        if bars is None or self._many(seen, bars):
            self._guess_from(table, row, self._few())
            reading = (self._records(table, row), self.ceiling, self._off, self.bound, self._ahead)
            self._threads.run(loops.read, self._shares, *given, *reading)
            looked = part.lengths
        else:
            looking = (seen, self._fewest, *bars, self._off, looked)
            self._threads.run(loops.decide, self._shares, *given, *looking)
        self._before = chosen
        return Decision(best, part.choices[chosen], int(looked.sum()))

    def _bars(self, table: Floats, row: int) -> tuple[Any, ...]:
        """Carry the bounds over from the layer before to a row of the table, and return what bars choices there.

        Returns
        -------
        before : array of int64, shape (n,)
            Rows chosen in the layer before.
        own : array of float64, shape (n,)
            What the guess loses in each state; infinite where there is none.
        ceiling, margin, settled : float
        bound : array of float32, shape (m,)
            What every row loses at least. Above its state's loss and margin a row is barred.
        """
        own, step = np.full(len(self._part.states), np.inf), self._read - row
        held, self.bound, self._spare = self.bound, self._spare, self.bound
        self.bound[:] = 0.0
        self._carry(held, table, row + 1, self._part.seen(table, row))
        if step <= self._loops.AHEAD:
            self._carry(self._ahead[step - 1], self._guess, row - self._base, self._part.seen(table, row))
        if step < self._loops.AHEAD:
            own = self.ceiling - self._guess[row - self._base, self._part.states]
        return self._before, own, self.ceiling, self._margin, self._settled, self.bound

    def _carry(self, lost: Singles, layers: Floats, row: int, seen: Floats) -> None:
        """Raise the bounds by what every row lost in some row of a table of layers, given what is seen from here."""
        held = self._part.seen(layers, row)
        count = self._loops.tangents(held, seen, self.ceiling, self._slip, self._room, *self._lines)
        self._loops.carry(lost, *self._lines, count, self.bound)

    def _many(self, seen: Floats, bars: tuple[Any, ...]) -> bool:
        """Return whether so many choices are left that it is quicker to read all, by a sample of states."""
        step = max(1, len(self._part.states) // SAMPLE)
        left, asked = self._loops.left_over(step, self._table, self._stops, seen, *bars)
        return bool(left > AGAIN * asked)

    def _few(self) -> Rows:
        """Return rows of each state with which to guess, shape (n, width); some may be the same."""
        if self._read < 0:
            return self._fewest[:, None]
        few = np.repeat(self._fewest[:, None], 1 + PROMISING, axis=1)
        self._loops.promising(self._stops, self.bound, few)
        return few

    def _guess_from(self, table: Floats, row: int, few: Rows) -> None:
        """Guess the layers from a row on by the best of a few choices of each state."""
        part = self._part
        self._read, self._base = row, max(0, row + 1 - self._loops.AHEAD)
        guess = self._guess = table[self._base : row + 1 + self._most].copy()
        best = np.empty(len(part.states))
        for at in range(row - self._base, -1, -1):
            given = (self._table, few, part.seen(guess, at), best)
            self._threads.run(self._loops.best_of_few, self._shares, *given)
            guess[at, part.states] = best
            for other in self._rest:
                guess[at, other.states] = other.best(guess, at)

    def _records(self, table: Floats, row: int) -> Floats:
        """Return what a reading needs of each column side by side: what is seen, and what is lost on every guess."""
        ahead, seen = self._loops.AHEAD, self._part.seen(table, row)
        records = _aligned((len(seen), 1 + ahead))
        records[:, 0] = seen
        for step in range(1, min(ahead, row) + 1):
            guessed = self._part.seen(self._guess, row - step - self._base)
            np.maximum(self.ceiling - guessed, 0.0, out=records[:, step])
        return records.ravel()


def _frozen(*arrays: NDArray[Any]) -> tuple[NDArray[Any], ...]:
    """Return arrays that cannot be written to: loops are compiled anew for those that can."""
    views = tuple(array.view() for array in arrays)
    for view in views:
        view.setflags(write=False)
    return views


def _aligned(shape: tuple[int, int]) -> Floats:
    """Return zeros that begin with a line of the cache, so that no record lies across two."""
    room = np.zeros(math.prod(shape) + CACHE_LINE // 8)
    first = -room.ctypes.data % CACHE_LINE // 8
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
