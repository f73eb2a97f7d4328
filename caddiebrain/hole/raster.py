"""Polygons to grid cells: a scan-line fill by the even-odd rule, and nothing else."""

import math

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

__all__ = ["Frame", "fill"]


class Frame:
    """A grid of square cells laid over local yards.

    Parameters
    ----------
    x_min, y_min : float
        Lower left corner.
    columns, rows : int
        Number of cells across (x) and along (y).
    cell : float
        Side of a cell, yards.
    """

    __slots__ = ("cell", "columns", "rows", "x_min", "y_min")

    def __init__(self, x_min: float, y_min: float, columns: int, rows: int, cell: float) -> None:
        self.x_min, self.y_min, self.columns, self.rows, self.cell = x_min, y_min, columns, rows, cell

    @property
    def size(self) -> int:
        """Number of cells."""
        return self.columns * self.rows

    def index(self, x: NDArray[np.floating], y: NDArray[np.floating]) -> NDArray[np.int32]:
        """Cell of each position; positions beyond the border count for the nearest border cell."""
        # One after the other: the second takes the memory of the first, which is still at hand.
        column = _numbers(x - self.x_min, self.cell, self.columns)
        row = _numbers(y - self.y_min, self.cell, self.rows)
        row *= np.int32(self.columns)
        row += column
        return row

    def holds(self, x: NDArray[np.floating], y: NDArray[np.floating]) -> NDArray[np.bool_]:
        """Whether positions lie on the grid."""
        column, row = (x - self.x_min) / self.cell, (y - self.y_min) / self.cell
        inside: NDArray[np.bool_] = (column >= 0) & (row >= 0) & (column < self.columns) & (row < self.rows)
        return inside

    def middle(self, cell: NDArray[np.integer]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return x and y of the centres of some cells, each (n,)."""
        row, column = np.divmod(cell, self.columns)
        return self.x_min + (column + 0.5) * self.cell, self.y_min + (row + 0.5) * self.cell

    def centres(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return x and y of every cell's centre, each (size,)."""
        x = self.x_min + (np.arange(self.columns) + 0.5) * self.cell
        y = self.y_min + (np.arange(self.rows) + 0.5) * self.cell
        return np.tile(x, self.rows), np.repeat(y, self.columns)


def _numbers(yards: NDArray[np.floating], cell: float, count: int) -> NDArray[np.int32]:
    """Numbers 0 to ``count`` - 1 of the columns or rows some yards from the border."""
    number = (yards if cell == 1.0 else yards * (1.0 / cell)).astype(np.int32)
    # Seen without a sign, those below 0 are the largest; most often there are none outside.
    if number.size and number.view(np.uint32).max() >= count:
        # np.clip asks for the limits of the type each time, which costs more than it does on small arrays.
        np.maximum(np.minimum(number, count - 1, out=number), 0, out=number)
    return number


def fill(shape: Polygon | MultiPolygon, frame: Frame) -> NDArray[np.bool_]:
    """Mark the cells whose centre lies inside a polygon.

    Parameters
    ----------
    shape : Polygon or MultiPolygon
        Cut-outs count as outside.
    frame : Frame
        The grid.

    Returns
    -------
    ndarray of bool, shape (frame.size,)
    """
    inside = np.zeros((frame.rows, frame.columns), dtype=bool)
    window = (slice(0, 0), slice(0, 0)) if shape.is_empty else _window(shape.bounds, frame)
    rows, columns = (side.stop - side.start for side in window)
    if rows and columns:  # a course has much that is far from a hole
        flips = np.zeros((rows, columns + 1), dtype=np.int32)
        for ring in shapely.get_rings(shapely.get_parts(shape)):
            _flip(shapely.get_coordinates(ring), frame, flips, window)
        inside[window] = np.cumsum(flips, axis=1)[:, :-1] & 1
    return inside.ravel()


def _window(bounds: tuple[float, float, float, float], frame: Frame) -> tuple[slice, slice]:
    """Rows and columns that hold every cell between some bounds."""
    left, low, right, high = bounds
    rows, columns = (
        slice(
            min(max(math.floor((first - start) / frame.cell) - 1, 0), size),
            min(max(math.ceil((last - start) / frame.cell) + 1, 0), size),
        )
        for first, last, start, size in (
            (low, high, frame.y_min, frame.rows),
            (left, right, frame.x_min, frame.columns),
        )
    )
    return rows, columns


def _flip(
    ring: NDArray[np.float64], frame: Frame, flips: NDArray[np.int32], window: tuple[slice, slice]
) -> None:
    """Count, row by row of a window, where the ring's edges cross the line through the cells' centres."""
    rows, columns = window
    x = (ring[:, 0] - frame.x_min) / frame.cell - 0.5
    y = (ring[:, 1] - frame.y_min) / frame.cell - 0.5
    x0, x1, y0, y1 = x[:-1], x[1:], y[:-1], y[1:]
    first = np.clip(np.ceil(np.minimum(y0, y1)), rows.start, rows.stop).astype(np.int64)
    last = np.clip(np.ceil(np.maximum(y0, y1)), rows.start, rows.stop).astype(np.int64)
    count = last - first
    edge = np.repeat(np.arange(len(x0)), count)
    row = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count) + first[edge]
    crossing = x0[edge] + (row - y0[edge]) * (x1[edge] - x0[edge]) / (y1[edge] - y0[edge])
    column = np.clip(np.ceil(crossing), columns.start, columns.stop).astype(np.int64)
    np.add.at(flips, (row - rows.start, column - columns.start), 1)
