"""Where a rolling ball is caught: the first cell of sand or of a penalty area on its way.

A way is followed over the lines between cells: between rows where it goes more along than across, else between
columns. The cells on either side of each crossing, and the last one, are all the cells it touches, so that none is
passed over, however narrow a ditch.
"""

from dataclasses import dataclass
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.ground import Ground
from caddiebrain.hole.raster import Frame

__all__ = ["caught_on_the_way"]

_AT_ONCE = 4
"""Lines looked at together; few ways cross more of them near a catch."""
_INSIDE = 1e-3
"""Cells by which ways are kept inside the raster's border, for rounding."""

Array = NDArray[np.floating]
Ints = NDArray[np.integer]
_Pair = tuple[Array, Array]


def caught_on_the_way(
    ground: Ground, start: tuple[Array, Array, Ints], end: tuple[Array, Array, Ints], roll: Array
) -> tuple[Ints, Ints]:
    """Find the balls that are caught as they roll straight from start to end.

    Parameters
    ----------
    start, end : (x, y, cell), each an ndarray of one shape
        Yards; a place off the map stands for the nearest on it.
    roll : ndarray
        How far that is, yards.

    Returns
    -------
    ball : ndarray of int (caught,)
        Places in the flat arrays.
    cell : ndarray of int (caught,)
        The first cell on its way that catches it.
    """
    clear = ground.clear.take(start[2])
    ball = np.flatnonzero(roll > clear)
    far, last, begin = roll.ravel()[ball], end[2].ravel()[ball], clear.ravel()[ball]
    rest = ground.clear.take(last)
    near = np.flatnonzero(far > begin + rest)
    ball, far, last = ball[near], far[near], last[near]
    x, y, end_x, end_y = (v.ravel()[ball] for v in (*start[:2], *end[:2]))
    # What is clear around the start and around the end needs no look.
    ways = _Ways.of(ground.frame, (x, end_x), (y, end_y), (begin[near] / far, 1.0 - rest[near] / far))
    cell = np.where(ground.catches.take(last), last, -1)
    some, line = ways.caught(ground.gates)
    before, beyond = ways.beside(some, line, ground.frame.columns)
    cell[some] = np.where(ground.catches.take(before), before, beyond)
    caught = np.flatnonzero(cell >= 0)
    return ball[caught], cell[caught]


@dataclass(frozen=True)
class _Ways:
    """Parts of ways (n,) as the lines between cells that they cross.

    Parameters
    ----------
    upright, ahead : ndarray of bool
        Whether a way goes more along than across, and whether that is onward.
    lines : ndarray of int
        How many are crossed.
    first : ndarray of int
        Number of the first among lines of its kind.
    gate, stride : ndarray of int
        Where the first begins in `Ground.gates`, and how much further the next does.
    minor, slope : ndarray
        How far along the first it is crossed, cells, and how much further along the next.
    """

    upright: NDArray[np.bool_]
    ahead: NDArray[np.bool_]
    lines: Ints
    first: Ints
    gate: Ints
    stride: Ints
    minor: Array
    slope: Array

    @classmethod
    def of(cls, frame: Frame, across: _Pair, along: _Pair, part: _Pair) -> Self:
        """Lay out the part, from one share to another, of ways from one place across and along to another."""
        columns, rows = frame.columns, frame.rows
        x, end_x = (_cells(v - frame.x_min, frame.cell, columns) for v in across)
        y, end_y = (_cells(v - frame.y_min, frame.cell, rows) for v in along)
        dx, dy = end_x - x, end_y - y
        upright = np.abs(dy) >= np.abs(dx)
        u, v = np.where(upright, y, x), np.where(upright, x, y)
        du, dv = np.where(upright, dy, dx), np.where(upright, dx, dy)
        start, last = (np.floor(u + share * du) for share in part)
        ahead = du > 0.0
        line, slope = start + ahead, dv / np.maximum(np.abs(du), 1e-9)
        wide = rows + np.int32(columns - rows) * upright
        first = line.astype(np.int32)
        return cls(
            upright,
            ahead,
            np.abs(last - start).astype(np.int32),
            first,
            first * wide + np.int32((rows + 1) * columns) * ~upright,
            wide * np.sign(du).astype(np.int32),
            v + np.abs(line - u) * slope,
            slope,
        )

    def caught(self, gates: NDArray[np.bool_]) -> tuple[Ints, Ints]:
        """Ways that cross a line where a cell beside it catches, and which of its lines is the first such."""
        line = np.full(len(self.lines), -1, dtype=np.int32)
        left: tuple[NDArray[Any], ...] = self.lines, self.gate, self.stride, self.minor, self.slope
        live, done = np.arange(len(line)), 0
        while live.size:
            lines, gate, stride, minor, slope = left
            on = np.arange(done, done + _AT_ONCE, dtype=np.int32)[:, None]
            at = (slope * on.astype(np.float32) + minor).astype(np.int32)
            at += stride * on
            at += gate
            catches = gates.take(at, mode="clip")
            first = catches.argmax(axis=0)
            caught = catches.take(first * len(live) + np.arange(len(live)))
            caught &= first + done < lines
            line[live[caught]] = first[caught] + done
            done += _AT_ONCE
            further = np.flatnonzero(~caught & (lines > done))
            live, left = live[further], tuple(v[further] for v in left)
        some = np.flatnonzero(line >= 0)
        return some, line[some]

    def beside(self, some: Ints, line: Ints, columns: int) -> tuple[Ints, Ints]:
        """Cells before and beyond a line of some of the ways, counted from each one's first."""
        upright, ahead = self.upright[some], self.ahead[some]
        step = 2 * ahead.astype(np.int32) - 1
        major = self.first[some] + line * step - ahead
        minor = (self.slope[some] * line.astype(np.float32) + self.minor[some]).astype(np.int32)
        before = np.where(upright, major * columns + minor, minor * columns + major)
        return before, before + step * np.where(upright, columns, 1)


def _cells(yards: Array, cell: float, count: int) -> Array:
    """Yards from the border as cells, on the raster."""
    cells: Array = np.minimum(np.maximum(yards / cell, _INSIDE), count - _INSIDE)
    return cells
