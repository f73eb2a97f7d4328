"""Where a rolling ball is caught: the first cell of sand or of a penalty area on its way.

A way is followed over the lines between cells: between rows where it goes more along than across, else between
columns. The cells on either side of each crossing, and the last one, are all the cells it touches, so that none is
passed over, however narrow a ditch.
"""

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.ground import Ground
from caddiebrain.hole.raster import Frame

__all__ = ["caught_on_the_way"]

_AT_ONCE = 6
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
    clear, rest = clear.ravel()[ball], ground.clear.take(end[2].ravel()[ball])
    far = roll.ravel()[ball]
    near = np.flatnonzero(far > clear + rest)
    ball, far = ball[near], far[near]
    x, y, end_x, end_y = (v.ravel()[ball] for v in (*start[:2], *end[:2]))
    # What is clear around the start and around the end needs no look.
    ways = _Ways.of(ground.frame, (x, end_x), (y, end_y), (clear[near] / far, 1.0 - rest[near] / far))
    last = end[2].ravel()[ball]
    cell = np.where(ground.catches.take(last), last, -1)
    some, gate = ways.first_gates(ground.gates)
    cell[some] = ways.entered(ground, some, gate)
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
    gate, stride : ndarray of int
        Place of the first line in `Ground.gates`, and how much further the next is.
    minor, slope : ndarray
        How far along the first line it is crossed, cells, and how much further along the next.
    """

    upright: NDArray[np.bool_]
    ahead: NDArray[np.bool_]
    lines: Ints
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
        first, last = (np.floor(u + share * du) for share in part)
        ahead = du > 0.0
        line, slope = first + ahead, dv / np.maximum(np.abs(du), 1e-9)
        wide = np.where(upright, columns, rows).astype(np.int32)
        return cls(
            upright,
            ahead,
            np.abs(last - first).astype(np.int32),
            line.astype(np.int32) * wide + np.where(upright, 0, (rows + 1) * columns).astype(np.int32),
            np.where(ahead, wide, -wide),
            v + np.abs(line - u) * slope,
            slope,
        )

    def first_gates(self, gates: NDArray[np.bool_]) -> tuple[Ints, Ints]:
        """Ways that lead through a gate, and the first gate of each."""
        gate = np.full(len(self.lines), -1, dtype=np.int32)
        live, done = np.flatnonzero(self.lines), 0
        while live.size:
            on = np.arange(done, done + _AT_ONCE, dtype=np.int32)[:, None]
            minor = self.minor[live] + self.slope[live] * on.astype(np.float32)
            at = self.gate[live] + self.stride[live] * on + minor.astype(np.int32)
            catches = gates.take(at, mode="clip")
            first = catches.argmax(axis=0)
            place = first * len(live) + np.arange(len(live))
            caught = catches.take(place) & (first + done < self.lines[live])
            gate[live[caught]] = at.take(place[caught])
            done += _AT_ONCE
            live = live[~caught & (self.lines[live] > done)]
        ball = np.flatnonzero(gate >= 0)
        return ball, gate[ball]

    def entered(self, ground: Ground, ball: Ints, gate: Ints) -> Ints:
        """Cell that catches balls at gates: before the line, else beyond it."""
        columns, rows = ground.frame.columns, ground.frame.rows
        upright, ahead = self.upright[ball], self.ahead[ball]
        line, minor = np.divmod(
            gate - np.where(upright, 0, (rows + 1) * columns), np.where(upright, columns, rows)
        )

        def cell(major: Ints) -> Ints:
            return np.where(upright, major * columns + minor, minor * columns + major)

        before = cell(line - ahead)
        return np.where(ground.catches.take(before), before, cell(line - ~ahead))


def _cells(yards: Array, cell: float, count: int) -> Array:
    """Yards from the border as cells, on the raster."""
    cells: Array = np.minimum(np.maximum(yards / cell, _INSIDE), count - _INSIDE)
    return cells
