"""Where a ball last crossed the edge of the ground that cost it a stroke (Rule 17.1d), as a look-up table."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.ground import CODE, PENALTY, Ground
from caddiebrain.terms import Lie

__all__ = ["EntryTable"]

_DIRECTIONS = 32


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
        centre_x, centre_y = ground.frame.centres()
        angle = np.arange(_DIRECTIONS) * (2 * np.pi / _DIRECTIONS)
        step_x = np.tile(np.sin(angle) * ground.frame.cell, len(cells))
        step_y = np.tile(np.cos(angle) * ground.frame.cell, len(cells))
        x, y = np.repeat(centre_x[cells], _DIRECTIONS), np.repeat(centre_y[cells], _DIRECTIONS)
        entry = np.repeat(cells, _DIRECTIONS).astype(np.int32)
        wet = np.arange(len(entry))
        while wet.size:
            x[wet] += step_x[wet]
            y[wet] += step_y[wet]
            cell = ground.frame.index(x[wet], y[wet])
            # A walk that stays on the border cell has left the map; there is no dry ground that way.
            moved = ground.frame.holds(x[wet], y[wet])
            entry[wet[moved]] = cell[moved]
            wet = wet[moved & costly[cell]]
        return cls(number, entry.reshape(-1, _DIRECTIONS))

    def crossing(
        self, cell: NDArray[np.int32], from_x: NDArray[np.floating], from_y: NDArray[np.floating]
    ) -> NDArray[np.int32]:
        """Dry cell at the crossing, for balls in ``cell`` (n,) that came from the way (from_x, from_y) off."""
        turn = (
            np.rint(np.arctan2(from_x, from_y) * (_DIRECTIONS / (2 * np.pi))).astype(np.int64) % _DIRECTIONS
        )
        crossing: NDArray[np.int32] = self.entry[self.number[cell], turn]
        return crossing
