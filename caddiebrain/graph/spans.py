"""Runs of neighbouring places in compressed arrays."""

import numpy as np
from numpy.typing import NDArray

__all__ = ["spans"]


def spans(starts: NDArray[np.int64], lengths: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return start, start + 1, ... of each span, one after the other."""
    ends = np.cumsum(lengths)
    total = int(ends[-1]) if len(ends) else 0
    return np.repeat(starts - ends + lengths, lengths) + np.arange(total)
