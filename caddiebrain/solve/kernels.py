"""The loops of a pruned sweep over the rows of a graph, compiled (see ``screen``).

A table holds the rows of a sparse matrix: where each begins, the columns and the chances. ``starts`` is where each
state's rows begin and the last one's end. Loops from ``low`` to ``high`` work on those states and let go of the
interpreter's lock, so that threads can share the work out.
"""

from typing import Any

import numpy as np
from numba.core import config
from numba.core.compiler_lock import global_compiler_lock

from caddiebrain.solve.compiled import DOWN, UP, Floats, Index, Singles, compiled, unsigned
from caddiebrain.solve.lines import LINES, carry, tangents

__all__ = [
    "AHEAD",
    "LINES",
    "best_of_few",
    "carry",
    "decide",
    "first_least",
    "left_over",
    "promising",
    "read",
    "ready",
    "tangents",
]

AHEAD = 3
"""Layers guessed in a reading: with what is seen a record of four, which fills a register."""

Table = tuple[Index, Index, Floats]


@compiled
def _mean(table: Table, row: int, seen: Floats) -> float:
    """Return the mean of one row; four sums side by side, for one would wait for itself."""
    begin, column, chance = table
    a = b = c = d = 0.0
    first, last = unsigned(begin[row]), unsigned(begin[row + 1])
    even = first + (last - first) // unsigned(4) * unsigned(4)
    for i in range(first, even, unsigned(4)):
        j, k, m = i + unsigned(1), i + unsigned(2), i + unsigned(3)
        a += chance[i] * seen[unsigned(column[i])]
        b += chance[j] * seen[unsigned(column[j])]
        c += chance[k] * seen[unsigned(column[k])]
        d += chance[m] * seen[unsigned(column[m])]
    for i in range(even, last):
        a += chance[i] * seen[unsigned(column[i])]
    return (a + b) + (c + d)


@compiled
def _four_means(
    table: Table,
    rows: Index,
    first: int,
    last: int,
    seen: Floats,
    mean: Floats,
) -> None:
    """Fill in the means of the rows listed from first to last.

    Four at a time: rows here and there are far away in memory, and so four are on their way at once.
    """
    begin, column, chance = table
    for at in range(first, last, 4):
        i, j, k, m = at, min(at + 1, last - 1), min(at + 2, last - 1), min(at + 3, last - 1)
        p, q = unsigned(begin[rows[i]]), unsigned(begin[rows[j]])
        r, s = unsigned(begin[rows[k]]), unsigned(begin[rows[m]])
        p_end, q_end = unsigned(begin[rows[i] + 1]), unsigned(begin[rows[j] + 1])
        r_end, s_end = unsigned(begin[rows[k] + 1]), unsigned(begin[rows[m] + 1])
        shared = min(p_end - p, q_end - q, r_end - r, s_end - s)
        a = b = c = d = 0.0
        for x in range(shared):
            a += chance[p + x] * seen[unsigned(column[p + x])]
            b += chance[q + x] * seen[unsigned(column[q + x])]
            c += chance[r + x] * seen[unsigned(column[r + x])]
            d += chance[s + x] * seen[unsigned(column[s + x])]
        mean[i] = _onward(column, chance, p + shared, p_end, seen, a)
        mean[j] = _onward(column, chance, q + shared, q_end, seen, b)
        mean[k] = _onward(column, chance, r + shared, r_end, seen, c)
        mean[m] = _onward(column, chance, s + shared, s_end, seen, d)


@compiled
def _onward(column: Index, chance: Floats, first: int, last: int, seen: Floats, total: float) -> float:
    """Add to a sum one outcome after the other, so that it does not depend on the rows worked on beside it."""
    for x in range(first, last):
        total += chance[x] * seen[unsigned(column[x])]
    return total


@compiled
def _best_of(
    one: int, first: int, last: int, strokes: Floats, listed: Index, mean: Floats, tie: float
) -> tuple[float, int]:
    """Return the best mean of one row listed and those from first to last, and the row to choose.

    That is, of rows as good as the best within ``tie``, the one with the fewest strokes, then the first.
    """
    most = mean[one]
    for at in range(first, last):
        most = max(most, mean[at])
    chosen = listed[one] if mean[one] >= most - tie else -1
    for at in range(first, last):
        row = listed[at]
        if mean[at] >= most - tie and (
            chosen < 0 or strokes[row] < strokes[chosen] or (strokes[row] == strokes[chosen] and row < chosen)
        ):
            chosen = row
    return most, chosen


@compiled
def _rounded_down(loss: float) -> Any:
    """Return a loss in single precision, no higher than it is and not below 0."""
    return np.float32(max(loss, 0.0) * DOWN)


@compiled
def first_least(starts: Index, strokes: Floats, first: Index) -> None:
    """Fill in the first row with the fewest strokes of each state."""
    for s in range(len(first)):
        first[s] = starts[s]
        for at in range(starts[s] + 1, starts[s + 1]):
            if strokes[at] < strokes[first[s]]:
                first[s] = at


@compiled
def promising(starts: Index, bound: Singles, few: Index) -> None:
    """Fill in, from the second on, the rows of each state with the lowest bounds.

    Where a state has fewer rows, the last places keep what they held.
    """
    width = few.shape[1]
    for s in range(len(few)):
        stop = 1
        for at in range(starts[s], starts[s + 1]):
            place = stop
            while place > 1 and bound[at] < bound[few[s, place - 1]]:
                if place < width:
                    few[s, place] = few[s, place - 1]
                place -= 1
            if place < width:
                few[s, place] = at
            stop = min(stop + 1, width)


@compiled
def best_of_few(low: int, high: int, table: Table, few: Index, seen: Floats, best: Floats) -> None:
    """Fill in the best mean of a few rows of each state, shape (n, width); some may be the same."""
    for s in range(low, high):
        most = -np.inf
        for i in range(few.shape[1]):
            new = True
            for j in range(i):
                new = new and few[s, j] != few[s, i]
            if new:
                most = max(most, _mean(table, few[s, i], seen))
        best[s] = most


@compiled
def read(
    low: int,
    high: int,
    table: Table,
    starts: Index,
    strokes: Floats,
    tie: float,
    listed: Index,
    mean: Floats,
    best: Floats,
    chosen: Index,
    records: Floats,
    ceiling: float,
    off: float,
    bound: Singles,
    ahead: Singles,
) -> None:
    """Fill in the best mean of each state, the row chosen, what every row loses and what it loses on each guess.

    ``records`` is flat, for each column what is seen and what is lost on each guess. Every row is read once. What a
    row loses may be less by ``off`` than its mean says.
    """
    four = np.empty(1 + AHEAD)
    for s in range(low, high):
        for at in range(starts[s], starts[s + 1]):
            _four_sums(table, at, records, four)
            listed[at], mean[at] = at, four[0]
            bound[at] = _rounded_down(ceiling - four[0] - off)
            for k in range(AHEAD):
                ahead[k, at] = _rounded_down(four[k + 1])
        best[s], chosen[s] = _best_of(starts[s], starts[s] + 1, starts[s + 1], strokes, listed, mean, tie)


@compiled
def _four_sums(table: Table, row: int, records: Floats, four: Floats) -> None:
    """Fill in the means of one row over the four columns of records; the sums, written out, share a register."""
    begin, column, chance = table
    a = b = c = d = 0.0
    first, last = unsigned(begin[row]), unsigned(begin[row + 1])
    one, two, three, width = unsigned(1), unsigned(2), unsigned(3), unsigned(4)
    for i in range(first, last, two):
        p, at, q, to = chance[i], unsigned(column[i]) * width, 0.0, unsigned(0)
        if i + one < last:
            q, to = chance[i + one], unsigned(column[i + one]) * width
        a += p * records[at] + q * records[to]
        b += p * records[at + one] + q * records[to + one]
        c += p * records[at + two] + q * records[to + two]
        d += p * records[at + three] + q * records[to + three]
    four[0], four[1], four[2], four[3] = a, b, c, d


@compiled
def decide(
    low: int,
    high: int,
    table: Table,
    starts: Index,
    strokes: Floats,
    tie: float,
    listed: Index,
    mean: Floats,
    best: Floats,
    chosen: Index,
    seen: Floats,
    fewest: Index,
    before: Index,
    own: Floats,
    ceiling: float,
    margin: float,
    settled: float,
    bound: Singles,
    off: float,
    looked: Index,
) -> None:
    """Fill in the best mean of each state, the row chosen, how many were looked at, and bounds on what rows lose.

    First looked at is the row chosen ``before``; rows that lose more than it, or than ``own``, and the margin are not.
    Where it loses ``settled`` at most, the row with the fewest strokes alone is, if as good. ``listed`` and ``mean``
    are room for all rows.
    """
    first = starts[low]
    middle = last = first + high - low
    for s in range(low, high):
        listed[first + s - low] = before[s]
    _four_means(table, listed, first, middle, seen, mean)
    for s in range(low, high):
        lost, here = ceiling - mean[first + s - low], last
        loss = min(own[s], lost)
        quick = loss <= settled
        if quick:
            steady = ceiling - _mean(table, fewest[s], seen)
            quick = min(steady, lost) <= settled and steady <= 0.5 * tie
        if quick:
            if fewest[s] != before[s]:
                listed[last] = fewest[s]
                last += 1
        else:
            most = np.float32((loss + margin) * UP)
            for at in range(starts[s], starts[s + 1]):
                if bound[at] <= most and at != before[s]:
                    listed[last] = at
                    last += 1
        looked[s] = 1 + last - here
    _four_means(table, listed, middle, last, seen, mean)
    for at in range(first, last):
        bound[listed[at]] = _rounded_down(ceiling - mean[at] - off)
    for s in range(low, high):
        rest = looked[s] - 1
        best[s], chosen[s] = _best_of(first + s - low, middle, middle + rest, strokes, listed, mean, tie)
        middle += rest


@compiled
def left_over(
    step: int,
    table: Table,
    starts: Index,
    seen: Floats,
    before: Index,
    own: Floats,
    ceiling: float,
    margin: float,
    settled: float,
    bound: Singles,
) -> tuple[int, int]:
    """Return how many rows of every so many-th state are not barred, and how many it has."""
    left = asked = 0
    for s in range(0, len(before), step):
        asked += starts[s + 1] - starts[s]
        loss = min(own[s], ceiling - _mean(table, before[s], seen))
        if loss > settled:
            most = np.float32((loss + margin) * UP)
            for at in range(starts[s], starts[s + 1]):
                left += bound[at] <= most
    return left, asked


def ready() -> None:
    """Load the loops, or compile them, for indices of 32 bits; others are compiled when they are met.

    Sums written out side by side then share a register, which numba leaves to a switch that is everybody's.
    """
    with global_compiler_lock:
        before, config.SLP_VECTORIZE = config.SLP_VECTORIZE, 1
        try:
            _run_all()
        finally:
            config.SLP_VECTORIZE = before


def _run_all() -> None:
    """Run every loop on a state with one row of one outcome."""
    begin, column, chance = np.array([0, 1], np.int32), np.zeros(1, np.int32), np.ones(1)
    for array in (begin, column, chance):
        array.setflags(write=False)  # as those of a screen are
    table, starts, one = (begin, column, chance), np.array([0, 1]), np.ones(1)
    single, ahead = np.ones(1, np.float32), np.ones((AHEAD, 1), np.float32)
    listed, chosen, looked, rows = np.zeros((4, 1), np.int64)
    mean, best = np.zeros((2, 1))
    job = (table, starts, one, 0.0, listed, mean, best, chosen)
    read(0, 1, *job, np.ones(1 + AHEAD), 1.0, 0.0, single, ahead)
    first_least(starts, one, rows)
    bars = (rows, one, 1.0, 0.0, 0.0, single)
    left_over(1, table, starts, one, *bars)
    decide(0, 1, *job, one, rows, *bars, 0.0, looked)
    lines = np.ones((2, LINES), np.float32)
    count = tangents(one, one, 1.0, 0.0, np.ones((2, 1)), lines[0], lines[1])
    carry(single, lines[0], lines[1], count, single)
    promising(starts, single, rows[:, None])
    best_of_few(0, 1, table, rows[:, None], one, best)
