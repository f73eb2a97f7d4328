"""Which choice is best for the target, when the difference may be too small to mean anything.

Chances are exact for the model, the model is not exact for the golfer: refining the grid moves a chance by more than
``GRAIN``. Between choices as good as level the one with the fewest strokes is best. So an all but certain or an
all but lost target is no reason to play a worse shot.
"""

import numpy as np
from numpy.typing import NDArray

__all__ = ["GRAIN", "LIVE", "best_for_target", "order_for_target"]

GRAIN = 5e-4
"""Chances that differ by less are level: one round in two thousand."""
LIVE = (0.005, 0.995)
"""Below and above these chances a target is as good as lost or sure, and standings are not told apart."""

Floats = NDArray[np.float64]


def order_for_target(strokes: Floats, chance: Floats) -> NDArray[np.int64]:
    """Order choices (n,) best first: those level with the best chance by expected strokes, then by chance."""
    below = chance.max(initial=0.0) - chance
    below[below < GRAIN] = 0.0
    return np.lexsort([strokes, below]).astype(np.int64)


def best_for_target(strokes: Floats, chance: Floats) -> int:
    """Return the first of that order: the fewest strokes among choices whose chance is level with the best."""
    level = np.flatnonzero(chance.max() - chance < GRAIN)
    return int(level[np.argmin(strokes[level])])
