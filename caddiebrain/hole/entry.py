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
    """Last cell before every cell of penalty areas (and of out of bounds under Local Rule E-5).

    ``number`` (cells,) counts those cells, -1 elsewhere; ``entry`` (numbered, directions) is the cell outside met
    first when walking from the cell back toward where the ball came from, direction k meaning k/32 of a turn
    clockwise from the y axis.
    """

    number: NDArray[np.int32]
    entry: NDArray[np.int32]

    @classmethod
    def of(cls, ground: Ground) -> "EntryTable":
        """Walk back from every costly cell in every direction until the ball is out of what it lies in."""
        number = np.full(ground.frame.size, -1, dtype=np.int32)
        entries: list[NDArray[np.int32]] = []
        for codes in (PENALTY, (CODE[Lie.OUT],)) if ground.hole.local_rule_e5 else (PENALTY,):
            costly = np.isin(ground.lie, codes)
            cells = np.flatnonzero(costly)
            number[cells] = sum(len(part) for part in entries) + np.arange(len(cells))
            edged = np.pad(
                np.where(costly, _WET, _DRY).reshape(ground.frame.rows, -1), 1, constant_values=_OFF_THE_MAP
            )
            row, column = np.divmod(cells, ground.frame.columns)
            start = (row + 1) * edged.shape[1] + column + 1
            row, column = np.divmod(_walked(edged, start), edged.shape[1])
            entries.append(((row - 1) * ground.frame.columns + column - 1).astype(np.int32))
        return cls(number, np.concatenate(entries))

    def crossing(
        self, cell: NDArray[np.int32], from_x: NDArray[np.floating], from_y: NDArray[np.floating]
    ) -> NDArray[np.int32]:
        """Dry cell at the crossing, for balls in ``cell`` (n,) that came from the way (from_x, from_y) off."""
        turn = (
            np.rint(np.arctan2(from_x, from_y) * (_DIRECTIONS / (2 * np.pi))).astype(np.int64) % _DIRECTIONS
        )
        crossing: NDArray[np.int32] = self.entry[self.number[cell], turn]
        return crossing


def _walked(edged: NDArray[np.uint8], start: NDArray[np.integer]) -> NDArray[np.integer]:
    """Cell where each walk first gets dry feet, (cells, directions), or the last one on the map if there is none.

    Cells are numbered with the map's edge, one cell wide. Walks of one direction start in the middle of their cells
    and so take the same steps from cell to cell.
    """
    turns = [k * (2 * math.pi / _DIRECTIONS) for k in range(_DIRECTIONS)]
    north, east = (np.array([turn(angle) for angle in turns]) for turn in (math.cos, math.sin))
    kind, wide = edged.ravel(), edged.shape[1]
    first, way = np.repeat(start, _DIRECTIONS), np.tile(np.arange(_DIRECTIONS), len(start))
    walking, end = np.arange(len(first)), first.copy()
    paces, before = 0, np.zeros(_DIRECTIONS, dtype=np.int64)
    while walking.size:
        paces += 1
        step = (np.floor(0.5 + paces * north) * wide + np.floor(0.5 + paces * east)).astype(np.int64)
        cell = first + step.take(way)
        found = kind.take(cell)
        dry, off = np.flatnonzero(found == _DRY), np.flatnonzero(found == _OFF_THE_MAP)
        end[walking.take(dry)] = cell.take(dry)
        end[walking.take(off)] = first.take(off) + before.take(way.take(off))
        if dry.size or off.size:
            on = np.flatnonzero(found == _WET)
            walking, first, way = walking.take(on), first.take(on), way.take(on)
        before = step
    return end.reshape(len(start), _DIRECTIONS)
