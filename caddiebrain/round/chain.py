"""Holes chained into a round: the best chance of each total, for every number of strokes still in hand.

The cup of one hole is the next tee. With k strokes left before hole h, the chance of staying within them is

    W_h(s, k) = max over choices of the sum of p * W_h(next, k - strokes),    W_h(cup, k) = W_{h+1}(tee, k),

and after the last hole W = 1 for k >= 0. One pass from the last hole to the first answers every target and every
standing. Only the window of k in which the chance is neither 0 nor 1 (to ``EDGE``) is swept. Small chances are kept
down to none at all: were the least of them dropped, the lowest-expected-score policy, which keeps its own, would come
out ahead where a target is all but lost.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from caddiebrain import solve
from caddiebrain.round.prepare import SolvedHole

__all__ = ["EDGE", "Finish", "HoleChances", "chain_hole"]

EDGE = 1e-8
"""Chances above 1 - EDGE count as 1."""
_USUAL, _LONGEST = 9, 14
"""Strokes by which a hole's window stretches beyond the next hole's, as a rule and at most; the rest is in the edge."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Finish:
    """Value of arriving with k strokes left: 0 below ``least``, ``value[k - least]``, 1 beyond."""

    least: int
    value: Floats

    @classmethod
    def end_of_round(cls) -> "Finish":
        """After the last hole: within the target if no stroke was overspent."""
        return cls(0, np.ones(1))

    def at(self, strokes_left: NDArray[np.integer] | int) -> Floats:
        """Values for numbers of strokes left."""
        k = np.asarray(strokes_left) - self.least
        inside = self.value[np.clip(k, 0, len(self.value) - 1)]
        return np.where(k < 0, 0.0, np.where(k >= len(self.value), 1.0, inside))


@dataclass(frozen=True)
class HoleChances:
    """A hole solved for the rest of the round within budget.

    Parameters
    ----------
    least : int
        Strokes left that row 0 stands for.
    value : ndarray (budgets, kept states)
        Chance of the round within ``least + row`` strokes left, for cup, putts and nodes.
    choice : ndarray of int32 (budgets, states)
        Choice of the graph; the expected-score choice where all are equal.
    tee : ndarray (budgets, tee choices)
        Chance after each choice on the tee, in graph order.
    start : Finish
        Chances on the tee: the finish of the hole before.
    """

    least: int
    value: Floats
    choice: NDArray[np.int32]
    tee: Floats
    start: Finish

    def renumbered(self, new: NDArray[np.int32]) -> "HoleChances":
        """Return the same chances for a graph whose choice ``c`` is now ``new[c]``; choices of no use are -1."""
        return replace(self, choice=np.append(new, np.int32(-1))[self.choice])  # none stays none, at the end

    def row(self, strokes_left: int) -> int:
        """Row for a number of strokes left; the nearest one outside the window."""
        return int(np.clip(strokes_left - self.least, 0, len(self.value) - 1))


def chain_hole(hole: SolvedHole, after: Finish) -> HoleChances:
    """Work out one hole, given the chances at the next tee."""
    model = hole.model
    # A short window, at the end of the round, is always outgrown by more.
    for more in (_USUAL, _LONGEST) if len(after.value) > _LONGEST else (_LONGEST,):
        budgets = np.arange(after.least, after.least + len(after.value) + more)
        found = solve.within_budget(
            model.graph, len(budgets) - 1, np.clip(after.at(budgets), 0.0, 1.0), tiebreak=hole.choice_strokes
        )
        tee = found.value[:, model.tee]
        if tee[-1] >= 1.0 - EDGE:
            break
    low = int(np.argmax(tee > 0.0))
    certain = np.flatnonzero(tee >= 1.0 - EDGE)
    high = int(certain[0]) if certain.size else len(tee) - 1
    start = Finish(after.least + low, tee[low : high + 1])
    kept = found.value[:, : model.numbering.spot].copy()
    return HoleChances(after.least, kept, found.choice, _on_the_tee(hole, found.value), start)


def _on_the_tee(hole: SolvedHole, value: Floats) -> Floats:
    """Chance after every choice on the tee, for every budget."""
    graph, tee = hole.model.graph, hole.model.tee
    first, last = int(graph.choice_start[tee]), int(graph.choice_start[tee + 1])
    starts = graph.outcome_start[first : last + 1]
    span = slice(int(starts[0]), int(starts[-1]))
    state, strokes, prob = graph.outcome_state[span], graph.outcome_strokes[span], graph.outcome_prob[span]
    met = np.zeros(graph.n_states, dtype=bool)
    met[state] = True
    column, seen = np.cumsum(met)[state] - 1, np.ascontiguousarray(value[:, met].T)
    mean = np.zeros((len(value), last - first))
    for cost in np.unique(strokes):
        alike = strokes == cost
        begins = np.concatenate([[0], np.cumsum(alike)])[starts - starts[0]]
        part = csr_array((prob[alike], column[alike], begins), shape=(last - first, len(seen)))
        mean[cost:] += (part @ seen[:, : len(value) - cost]).T
    return mean
