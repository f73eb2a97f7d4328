"""What a plan decides at nodes and putting distances, as tables to look balls up in."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.choices import ChoiceTable

__all__ = ["Decisions"]

_FINER = 1e-7
"""Weight of the expected score among reliefs that serve the target equally."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Decisions:
    """What to do at every node and putting distance; row 0 for the lowest expected score.

    Row ``1 + k`` is for ``least + k`` strokes left before the stroke; strokes left outside these rows play row 0.

    Parameters
    ----------
    table : ChoiceTable
    choice : ndarray (rows, nodes)
        Row of the table.
    pace : ndarray (rows, putts)
        Index into ``PACES_FT``.
    strokes : ndarray (kept states,)
        Expected strokes to hole out from cup, putts and nodes.
    chance : ndarray (rows - 1, kept states)
        Chance of the round with ``least + k`` strokes left.
    """

    table: ChoiceTable
    choice: NDArray[np.int64]
    pace: NDArray[np.int64]
    strokes: Floats
    chance: Floats
    least: int

    def row(self, left: NDArray[np.int64]) -> NDArray[np.int64]:
        """Row for numbers of strokes left."""
        at = left - self.least
        return np.where((at >= 0) & (at < len(self.chance)), at + 1, 0)

    def worth(self, left: NDArray[np.int64], states: NDArray[np.int64], weights: Floats) -> Floats:
        """Worth, larger is better, of mixtures of states (n, m) with strokes left (n,) once a drop is paid."""
        finer = -((self.strokes[states] * weights).sum(axis=1) - left)
        if len(self.chance) == 0:
            return np.asarray(finer)
        at = np.clip(left - self.least, 0, len(self.chance) - 1)
        chance = (self.chance[at[:, None], states] * weights).sum(axis=1)
        chance = np.where(
            left < self.least, 0.0, np.where(left - self.least >= len(self.chance), 1.0, chance)
        )
        return np.asarray(chance + _FINER * finer)
