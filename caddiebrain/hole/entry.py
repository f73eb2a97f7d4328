"""Where a ball last crossed the edge of the ground that cost it a stroke (Rule 17.1d), as a look-up table."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.ground import CODE, PENALTY, Ground
from caddiebrain.terms import Lie

__all__ = ["EntryTable"]

_DIRECTIONS = 32
_DRY, _WET, _OFF_THE_MAP = np.arange(3, dtype=np.uint8)


@dataclass(frozen=True)
class EntryTable:
    """Last dry cell before every cell of penalty areas (and of out of bounds under Local Rule E-5).

    ``number`` (cells,) counts those cells, -1 elsewhere; ``entry`` (numbered, directions) is the dry cell met
    first when walking from the cell back toward where the ball came from, direction k meaning k/32 of a turn
    clockwise from the y axis.
    """

    number: NDArray[np.int32]
    entry: NDArray[np.int32]

    @classmethod
    def of(cls, ground: Ground) -> "EntryTable":
        """Walk back from every costly cell in every direction until the ground is dry."""
        costly = np.isin(ground.lie, PENALTY)
        if ground.hole.local_rule_e5:
            costly |= ground.lie == CODE[Lie.OUT]
        cells = np.flatnonzero(costly)
        number = np.full(ground.frame.size, -1, dtype=np.int32)
        number[cells] = np.arange(len(cells))
        edged = np.pad(
            np.where(costly, _WET, _DRY).reshape(ground.frame.rows, -1), 1, constant_values=_OFF_THE_MAP
        )
        row, column = np.divmod(cells, ground.frame.columns)
        start = (row + 1) * edged.shape[1] + column + 1
        entry = np.stack([_walked(edged, start, k) for k in range(_DIRECTIONS)], axis=1)
        row, column = np.divmod(entry, edged.shape[1])
        return cls(number, ((row - 1) * ground.frame.columns + column - 1).astype(np.int32))

    def crossing(
        self, cell: NDArray[np.int32], from_x: NDArray[np.floating], from_y: NDArray[np.floating]
    ) -> NDArray[np.int32]:
        """Dry cell at the crossing, for balls in ``cell`` (n,) that came from the way (from_x, from_y) off."""
        turn = (
            np.rint(np.arctan2(from_x, from_y) * (_DIRECTIONS / (2 * np.pi))).astype(np.int64) % _DIRECTIONS
        )
        crossing: NDArray[np.int32] = self.entry[self.number[cell], turn]
        return crossing


def _walked(edged: NDArray[np.uint8], start: NDArray[np.integer], direction: int) -> NDArray[np.integer]:
    """Cell where each walk first gets dry feet, or the last one on the map where there is no dry ground that way.

    Cells are numbered with the map's edge, one cell wide. Walks of one direction start in the middle of their cells
    and so take the same steps from cell to cell.
    """
    angle = direction * (2 * math.pi / _DIRECTIONS)
    kind, wide = edged.ravel(), edged.shape[1]
    first, walking, end = start, np.arange(len(start)), start.copy()
    paces = before = 0
    while walking.size:
        paces += 1
        step = math.floor(0.5 + paces * math.cos(angle)) * wide + math.floor(0.5 + paces * math.sin(angle))
        cell = first + step
        found = kind[cell]
        on = found == _WET
        if not on.all():
            there = ~on
            end[walking[there]] = np.where(found[there] == _DRY, cell[there], first[there] + before)
            walking, first = walking[on], first[on]
        before = step
    return end
