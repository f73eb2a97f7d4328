"""The loops of a pruned sweep, in machine code by numba (extra ``compiled``).

A table holds the rows of a sparse matrix: where each begins, the columns and the chances. ``starts`` is where each
state's rows begin and the last one's end. Every loop works on the states ``low`` to ``high``, or the rows listed, and
lets go of the interpreter's lock, so that threads can share the work out.
"""

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba
import numpy as np
from numba.core import config
from numba.core.compiler_lock import global_compiler_lock
from numpy.typing import NDArray

__all__ = [
    "LINE",
    "bars",
    "best_means",
    "copy_rows",
    "decide",
    "look_at_all",
    "mark_least",
    "read",
    "ready",
]

LINE = 8
"""Layers read at once: their losses in one state fill a register, in single precision."""

F = TypeVar("F", bound=Callable[..., Any])
Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Index = NDArray[Any]
Marks = NDArray[np.bool_]
Table = tuple[Index, Index, Floats]

_unsigned = numba.uint64  # so that no index is taken to count from the end
_ZERO = np.float32(0.0)


def _compiled(function: F) -> F:
    """Compile for the types of the first call, and keep the machine code where there is a place to write it."""
    options = {"nogil": True, "error_model": "numpy", "fastmath": {"contract"}}
    try:
        return cast(F, numba.njit(cache=True, **options)(function))
    except RuntimeError:  # numba found no place for a cache
        return cast(F, numba.njit(**options)(function))


@_compiled
def _mean(table: Table, row: int, seen: Floats) -> float:
    """Return the mean of one row; four sums side by side, for one would wait for itself."""
    begin, column, chance = table
    a = b = c = d = 0.0
    first, last = _unsigned(begin[row]), _unsigned(begin[row + 1])
    even = first + (last - first) // _unsigned(4) * _unsigned(4)
    for i in range(first, even, _unsigned(4)):
        j, k, m = i + _unsigned(1), i + _unsigned(2), i + _unsigned(3)
        a += chance[i] * seen[_unsigned(column[i])]
        b += chance[j] * seen[_unsigned(column[j])]
        c += chance[k] * seen[_unsigned(column[k])]
        d += chance[m] * seen[_unsigned(column[m])]
    for i in range(even, last):
        a += chance[i] * seen[_unsigned(column[i])]
    return (a + b) + (c + d)


@_compiled
def _two_means(table: Table, row: int, pairs: Floats) -> tuple[float, float]:
    """Return the means of one row over two things seen, which lie side by side: one line of the cache has both."""
    begin, column, chance = table
    a = b = c = d = e = f = g = h = 0.0
    first, last = _unsigned(begin[row]), _unsigned(begin[row + 1])
    even = first + (last - first) // _unsigned(4) * _unsigned(4)
    two, one = _unsigned(2), _unsigned(1)
    for i in range(first, even, _unsigned(4)):
        j, k, m = i + one, i + two, i + _unsigned(3)
        p, q = two * _unsigned(column[i]), two * _unsigned(column[j])
        r, s = two * _unsigned(column[k]), two * _unsigned(column[m])
        a += chance[i] * pairs[p]
        b += chance[i] * pairs[p + one]
        c += chance[j] * pairs[q]
        d += chance[j] * pairs[q + one]
        e += chance[k] * pairs[r]
        f += chance[k] * pairs[r + one]
        g += chance[m] * pairs[s]
        h += chance[m] * pairs[s + one]
    for i in range(even, last):
        p = two * _unsigned(column[i])
        a += chance[i] * pairs[p]
        b += chance[i] * pairs[p + one]
    return (a + c) + (e + g), (b + d) + (f + h)


@_compiled
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
        p, q = _unsigned(begin[rows[i]]), _unsigned(begin[rows[j]])
        r, s = _unsigned(begin[rows[k]]), _unsigned(begin[rows[m]])
        p_end, q_end = _unsigned(begin[rows[i] + 1]), _unsigned(begin[rows[j] + 1])
        r_end, s_end = _unsigned(begin[rows[k] + 1]), _unsigned(begin[rows[m] + 1])
        shared = min(p_end - p, q_end - q, r_end - r, s_end - s)
        a = b = c = d = 0.0
        for x in range(shared):
            a += chance[p + x] * seen[_unsigned(column[p + x])]
            b += chance[q + x] * seen[_unsigned(column[q + x])]
            c += chance[r + x] * seen[_unsigned(column[r + x])]
            d += chance[s + x] * seen[_unsigned(column[s + x])]
        mean[i] = _onward(column, chance, p + shared, p_end, seen, a)
        mean[j] = _onward(column, chance, q + shared, q_end, seen, b)
        mean[k] = _onward(column, chance, r + shared, r_end, seen, c)
        mean[m] = _onward(column, chance, s + shared, s_end, seen, d)


@_compiled
def _onward(column: Index, chance: Floats, first: int, last: int, seen: Floats, total: float) -> float:
    """Add to a sum one outcome after the other, so that it does not depend on the rows worked on beside it."""
    for x in range(first, last):
        total += chance[x] * seen[_unsigned(column[x])]
    return total


@_compiled
def _best_of(
    first: int, last: int, strokes: Floats, listed: Index, mean: Floats, tie: float
) -> tuple[float, int]:
    """Return the best mean of the rows listed from first to last and the row to choose.

    That is, of rows as good as the best within ``tie``, the one with the fewest strokes, then the first.
    """
    most = mean[first]
    for at in range(first + 1, last):
        most = max(most, mean[at])
    chosen = -1
    for at in range(first, last):
        if mean[at] >= most - tie and (chosen < 0 or strokes[listed[at]] < strokes[chosen]):
            chosen = listed[at]
    return most, chosen


@_compiled
def _mark(first: int, last: int, score: Floats, count: int, leads: Marks) -> None:
    """Mark so many of the rows from first to last: those with the highest scores, which are lost."""
    for _ in range(min(count, last - first)):
        top, high = first, score[first]
        for at in range(first + 1, last):
            if score[at] > high:
                top, high = at, score[at]
        leads[top], score[top] = True, -np.inf


@_compiled
def mark_least(
    low: int, high: int, starts: Index, cost: Floats, count: int, room: Floats, leads: Marks, least: Index
) -> None:
    """Mark so many rows of each state, those with the lowest costs, and fill in the first of the lowest."""
    for s in range(low, high):
        least[s] = starts[s]
        for at in range(starts[s], starts[s + 1]):
            room[at] = -cost[at]
            if cost[at] < cost[least[s]]:
                least[s] = at
        _mark(starts[s], starts[s + 1], room, count, leads)


@_compiled
def look_at_all(
    low: int,
    high: int,
    table: Table,
    starts: Index,
    pairs: Floats,
    strokes: Floats,
    tie: float,
    listed: Index,
    mean: Floats,
    best: Floats,
    chosen: Index,
    count: int,
    leads: Marks,
    room: Floats,
    ceiling: float,
    like: float,
    alike: Index,
) -> None:
    """Fill in the best mean of each state and the row chosen; mark so many rows, those best by what is seen ahead.

    ``pairs`` has what is seen and what is seen ahead of each column in turn: every row is read once for both. Rows are
    ``alike`` that lose at most so many times as much on the ceiling, ahead, as the best; how many is filled in.
    """
    for s in range(low, high):
        for at in range(starts[s], starts[s + 1]):
            listed[at] = at
            mean[at], room[at] = _two_means(table, at, pairs)
        best[s], chosen[s] = _best_of(starts[s], starts[s + 1], strokes, listed, mean, tie)
        least = ceiling - like * (ceiling - room[starts[s] : starts[s + 1]].max())
        alike[s] = (room[starts[s] : starts[s + 1]] >= least).sum()
        _mark(starts[s], starts[s + 1], room, count, leads)


@_compiled
def copy_rows(
    low: int,
    high: int,
    table: Table,
    rows: Index,
    to: Index,
    new_column: Index,
    new_chance: Floats,
) -> None:
    """Copy the rows listed from low to high side by side, the first outcome of each to the place given."""
    begin, column, chance = table
    for at in range(low, high):
        x = to[at]
        for i in range(_unsigned(begin[rows[at]]), _unsigned(begin[rows[at] + 1])):
            new_column[x], new_chance[x] = column[i], chance[i]
            x += 1


@_compiled
def best_means(
    low: int,
    high: int,
    table: Table,
    starts: Index,
    seen: Floats,
    best: Floats,
) -> None:
    """Fill in the best mean of each state."""
    for s in range(low, high):
        most = -np.inf
        for at in range(starts[s], starts[s + 1]):
            most = max(most, _mean(table, at, seen))
        best[s] = most


@_compiled
def decide(
    low: int,
    high: int,
    table: Table,
    starts: Index,
    seen: Floats,
    strokes: Floats,
    tie: float,
    listed: Index,
    mean: Floats,
    best: Floats,
    chosen: Index,
    lost: Singles,
    bar: Singles,
    always: Marks,
    looked: Index,
) -> None:
    """Fill in the best mean of each state, the row chosen, and how many were looked at.

    Rows that lose more than their state's bar are not; where the bar is below 0 those marked are, and no other.
    ``listed`` and ``mean`` are room for all rows.
    """
    first = last = starts[low]
    for s in range(low, high):
        before = last
        for at in range(starts[s], starts[s + 1]):
            if lost[at] <= bar[s] or (bar[s] < _ZERO and always[at]):
                listed[last] = at
                last += 1
        looked[s] = last - before
    _four_means(table, listed, first, last, seen, mean)
    for s in range(low, high):
        best[s], chosen[s] = _best_of(first, first + looked[s], strokes, listed, mean, tie)
        first += looked[s]


@_compiled
def bars(
    held: Floats, true: Floats, own: Floats, ratios: Floats, small: float, room: float, bar: Singles
) -> None:
    """Fill in how much of ``held`` bars a choice of each state from a layer, times ``room`` for rounding.

    ``held`` are losses of the working set, ``true`` those of best play in the layers below, ``own`` those of the
    working set in this one with the margin. ``ratios`` may be tried, of the largest there is, the least of them last.
    """
    share, most = np.inf, 0.0
    for i in range(len(held)):
        if held[i] > small:
            share, most = min(share, true[i] / held[i]), max(most, true[i] / held[i])
    level, slope = np.full((2, len(ratios) + 1), np.inf)
    for k in range(len(ratios) + 1):
        ratio = most * ratios[k] if k < len(ratios) else max(share, most * ratios[-1])
        least = 0.0
        for i in range(len(held)):
            least = max(least, ratio * held[i] - true[i])
        if 0.0 < ratio < np.inf:
            level[k], slope[k] = room / ratio, least * (1.0 + 1e-6) * room / ratio
    for s in range(len(own)):
        lowest = np.inf
        for k in range(len(level)):
            lowest = min(lowest, level[k] * own[s] + slope[k])
        bar[s] = lowest


@_compiled
def read(
    low: int,
    high: int,
    table: Table,
    starts: Index,
    below: Singles,
    lost: Singles,
) -> None:
    """Fill in what every row loses in each of ``LINE`` layers.

    Every row is read once; sums are in single precision. ``below`` is flat, a line for each column; ``lost`` has shape
    (LINE, m).
    """
    row = np.empty(LINE, np.float32)
    for at in range(starts[low], starts[high]):
        _row_losses(table, at, below, row)
        for k in range(LINE):
            lost[k, at] = row[k]


@_compiled
def _row_losses(table: Table, row: int, below: Singles, lost: Singles) -> None:
    """Fill in what one row loses in each layer; the sums, written out, share a register."""
    begin, column, chance = table
    s0 = s1 = s2 = s3 = s4 = s5 = s6 = s7 = _ZERO
    first, last = _unsigned(begin[row]), _unsigned(begin[row + 1])
    for i in range(first, last, _unsigned(2)):
        p, at, q, to = np.float32(chance[i]), _unsigned(column[i]) * _unsigned(LINE), _ZERO, _unsigned(0)
        if i + _unsigned(1) < last:
            q, to = (
                np.float32(chance[i + _unsigned(1)]),
                _unsigned(column[i + _unsigned(1)]) * _unsigned(LINE),
            )
        s0 += p * below[at] + q * below[to]
        s1 += p * below[at + _unsigned(1)] + q * below[to + _unsigned(1)]
        s2 += p * below[at + _unsigned(2)] + q * below[to + _unsigned(2)]
        s3 += p * below[at + _unsigned(3)] + q * below[to + _unsigned(3)]
        s4 += p * below[at + _unsigned(4)] + q * below[to + _unsigned(4)]
        s5 += p * below[at + _unsigned(5)] + q * below[to + _unsigned(5)]
        s6 += p * below[at + _unsigned(6)] + q * below[to + _unsigned(6)]
        s7 += p * below[at + _unsigned(7)] + q * below[to + _unsigned(7)]
    lost[0], lost[1], lost[2], lost[3], lost[4], lost[5], lost[6], lost[7] = s0, s1, s2, s3, s4, s5, s6, s7


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
    starts, one, far = np.array([0, 1]), np.ones(1), np.array([0, 1])
    for array in (begin, column, chance, far):
        array.setflags(write=False)  # as those of a screen are
    table, copies = (begin, column, chance), (far, column, chance)
    single, marks, line = np.ones(1, np.float32), np.zeros(1, np.bool_), np.ones((1, LINE), np.float32)
    first, listed, chosen, looked = np.zeros((4, 1), np.int64)
    room, mean, best = np.zeros((3, 1))
    job = (one, 0.0, listed, mean, best, chosen)
    mark_least(0, 1, starts, one, 1, room, marks, first)
    look_at_all(0, 1, table, starts, np.ones(2), *job, 1, marks, room, 1.0, 1.0, looked)
    decide(0, 1, table, starts, one, *job, single, single, marks, looked)
    copy_rows(0, 1, table, first, starts, np.zeros(1, np.int32), room)
    best_means(0, 1, copies, starts, one, best)
    bars(one, one, one, one, 0.0, 1.0, single)
    read(0, 1, table, starts, line.ravel(), line.T.copy())
