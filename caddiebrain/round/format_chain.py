r"""Formats as decision problems: results add up over the holes, and what they are worth is known at the end.

With m the result so far, after hole h,

.. math:: F_h(m) = \max_\pi \sum_t P_\pi(t) \sum_r R_h(r \mid t) \, F_{h+1}(m + r), \qquad F_{\text{end}}(m) = w(m),

w the worth, a policy on a hole choosing by strokes taken: one utility of the hole's score for every m. If the worth
is linear in m (the expected result) one m is enough.
Source: Bellman R. (1957), *Dynamic Programming*.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain import solve
from caddiebrain.graph import StateGraph
from caddiebrain.round.formats import Results

__all__ = ["FormatHole", "HoleGraph", "Worths", "chain_format", "result_of_hole", "standings"]

Floats = NDArray[np.float64]
Worth = Callable[[NDArray[np.int64]], Floats]


@dataclass(frozen=True)
class HoleGraph:
    """A hole as formats see it.

    Parameters
    ----------
    graph : StateGraph
        Contracted or not.
    start : int
        State of the ball on the tee.
    number, par, stroke_index : int
    """

    graph: StateGraph
    start: int
    number: int
    par: int
    stroke_index: int


@dataclass(frozen=True)
class Worths:
    """Worth on a tee for results so far ``least``, ``least + 1``, ..."""

    least: int
    value: Floats

    def at(self, result: NDArray[np.int64]) -> Floats:
        """Worth for some results so far, all inside the table."""
        return self.value[result - self.least]


@dataclass(frozen=True)
class FormatHole:
    """A hole solved for every result so far.

    Attributes
    ----------
    results : Results
    before : Worths
        On its tee.
    choice : array of int32, shape (M, n + 1, S)
        Row m: for the result ``before.least + m`` so far; then by strokes taken, the last row n or more. With a
        single row it holds for every result.
    """

    hole: HoleGraph
    results: Results
    before: Worths
    choice: NDArray[np.int32]

    def policy(self, so_far: int) -> NDArray[np.int32]:
        """Return choices (n + 1, S) by strokes taken."""
        row = (
            0 if len(self.choice) == 1 else int(np.clip(so_far - self.before.least, 0, len(self.choice) - 1))
        )
        chosen: NDArray[np.int32] = self.choice[row]
        return chosen

    def tee_choice(self, so_far: int) -> int:
        """Return the graph's index of the choice on the tee."""
        return int(self.policy(so_far)[0, self.hole.start])


def chain_format(
    holes: Sequence[HoleGraph], results: Sequence[Results], worth: Worth
) -> tuple[FormatHole, ...]:
    """Solve all holes, the last one first.

    Parameters
    ----------
    holes : sequence of HoleGraph
    results : sequence of Results
    worth : callable
        Worth of final results, an array of whole numbers.
    """
    least = np.cumsum([0, *(int(r.values[0]) for r in results)])
    most = np.cumsum([0, *(int(r.values[-1]) for r in results)])
    after = Worths(int(least[-1]), np.asarray(worth(np.arange(least[-1], most[-1] + 1)), dtype=np.float64))
    played: list[FormatHole] = []
    for h in range(len(holes) - 1, -1, -1):
        so_far = np.arange(least[h], most[h] + 1)
        found = _solve(holes[h], results[h], after, so_far)
        played.append(found)
        after = found.before
    return tuple(reversed(played))


def _solve(hole: HoleGraph, results: Results, after: Worths, so_far: NDArray[np.int64]) -> FormatHole:
    """Solve one hole; results so far that ask for the same utility, but for a constant and a scale, share it."""
    worth = after.at(so_far[:, None] + results.values) @ results.chance.T  # (M, n + 1)
    level, spread = worth[:, -1:], np.ptp(worth, axis=1, keepdims=True)
    shape = np.round((worth - level) / np.where(spread > 1e-12, spread, 1.0), 9)
    shape[spread[:, 0] <= 1e-12] = 0.0  # nothing is left to play for
    _, first, same = np.unique(shape, axis=0, return_index=True, return_inverse=True)
    found = solve.best_utilities(hole.graph, worth[first])
    same = same.ravel()
    scale = np.where(spread[first] > 1e-12, spread[first], 1.0)[:, 0]
    value = level[:, 0] + (found.value[:, hole.start] - level[first, 0])[same] * (
        np.where(spread[:, 0] > 1e-12, spread[:, 0], 0.0) / scale[same]
    )
    choice = found.choice if len(first) == 1 else found.choice[same]
    return FormatHole(hole, results, Worths(int(so_far[0]), value), choice)


def result_of_hole(played: FormatHole, so_far: int) -> Floats:
    """Chance of each result of ``played.results.values`` on a hole, given the result so far."""
    policy = played.policy(so_far)
    top = len(policy) - 1
    tee = played.hole.graph.states[played.hole.start]
    by_score = np.zeros(top + 1)
    if top:
        by_score[:top] = solve.score_pmf(played.hole.graph, policy[::-1], tee, strokes=top - 1).pmf
    by_score[top] = max(0.0, 1.0 - by_score[:top].sum())
    chance: Floats = by_score @ played.results.chance
    return chance


def standings(played: Sequence[FormatHole]) -> Iterator[tuple[int, Floats]]:
    """Yield the chances of results so far on every tee, and at the end: the least one, and an array from it on."""
    least, chance = 0, np.ones(1)
    yield least, chance
    for hole in played:
        values = hole.results.values
        after = np.zeros(len(chance) + len(values) - 1)
        met: dict[int, Floats] = {}
        for i in np.flatnonzero(chance > 0.0):
            key = 0 if len(hole.choice) == 1 else least + int(i)
            if key not in met:
                met[key] = result_of_hole(hole, key)
            after[i : i + len(values)] += chance[i] * met[key]
        least, chance = least + int(values[0]), after
        yield least, chance
