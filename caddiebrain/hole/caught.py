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

_INSIDE = 1e-3
"""Cells by which ways are kept inside the raster's border, for rounding."""

Array = NDArray[np.floating]
Ints = NDArray[np.integer]


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
    size = np.int32(ground.frame.size)
    side = (end[0] < start[0]) * size + (end[1] < start[1]) * (2 * size)
    far, clear = roll / np.float32(ground.frame.cell), ground.clear.take(side + start[2])
    ball = np.flatnonzero(far > clear)
    far, last, begin = far.ravel()[ball], end[2].ravel()[ball], clear.ravel()[ball].astype(np.float32)
    rest = ground.clear.take(3 * size - side.ravel()[ball] + last)  # looking back
    near = np.flatnonzero(far > begin + rest)
    ball, far, last = ball[near], far[near], last[near]
    ends = np.stack([v.ravel()[ball] for v in (*start[:2], *end[:2])]).reshape(2, 2, -1)
    # What is clear ahead of the start and behind the end needs no look.
    ways = _Ways.of(ground.frame, ends, np.stack([begin[near] / far, 1.0 - rest[near] / far]))
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
    def of(cls, frame: Frame, ends: Array, part: Array) -> Self:
        """Lay out parts of ways.

        Parameters
        ----------
        ends : ndarray (2, 2, n)
            Start and end, each across and along, yards.
        part : ndarray (2, n)
            Shares of the way between them at which the part starts and ends.
        """
        corner, sides = ([[a], [b]] for a, b in ((frame.x_min, frame.y_min), (frame.columns, frame.rows)))
        cells = (ends - np.array(corner, dtype=np.float32)) / np.float32(frame.cell)
        cells = np.minimum(
            np.maximum(cells, _INSIDE), np.array(sides, dtype=np.float32) - np.float32(_INSIDE)
        )
        cells[1] -= cells[0]
        far = np.abs(cells[1])
        upright = far[1] >= far[0]
        (u, v), (du, dv) = np.where(upright, cells[:, ::-1], cells)
        start, last = np.floor(u + part * du)
        ahead = du > 0.0
        line, slope = start + ahead, dv / np.maximum(np.abs(du), 1e-9)
        wide = frame.rows + np.int32(frame.columns - frame.rows) * upright
        first = line.astype(np.int32)
        return cls(
            upright,
            ahead,
            np.abs(last - start).astype(np.int32),
            first,
            first * wide + np.int32((frame.rows + 1) * frame.columns) * ~upright,
            wide * np.sign(du).astype(np.int32),
            v + np.abs(line - u) * slope,
            slope,
        )

    def caught(self, gates: NDArray[np.bool_]) -> tuple[Ints, Ints]:
        """Ways that cross a line where a cell beside it catches, and which of its lines is the first such."""
        on = np.arange(self.lines.max(initial=1), dtype=np.int32)[:, None]
        at = (self.slope * on.astype(np.float32) + self.minor).astype(np.int32)
        at += self.stride * on
        at += self.gate
        catches = gates.take(at, mode="clip")
        catches &= on < self.lines
        first = catches.argmax(axis=0)
        some = np.flatnonzero(catches.any(axis=0))
        return some, first[some]

    def beside(self, some: Ints, line: Ints, columns: int) -> tuple[Ints, Ints]:
        """Cells before and beyond a line of some of the ways, counted from each one's first."""
        upright, ahead = self.upright[some], self.ahead[some]
        step = 2 * ahead.astype(np.int32) - 1
        major = self.first[some] + line * step - ahead
        minor = (self.slope[some] * line.astype(np.float32) + self.minor[some]).astype(np.int32)
        before = np.where(upright, major * columns + minor, minor * columns + major)
        return before, before + step * np.where(upright, columns, 1)
