"""Runs of neighbouring places in compressed arrays."""

import numpy as np
from numpy.typing import NDArray

__all__ = ["owners", "spans"]


def spans(starts: NDArray[np.int64], lengths: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return start, start + 1, ... of each span, one after the other."""
    ends = np.cumsum(lengths)
    total = int(ends[-1]) if len(ends) else 0
    return np.repeat(starts - ends + lengths, lengths) + np.arange(total)


def owners(starts: NDArray[np.int64], places: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the span each place lies in; places are in rising order, ``starts`` ends with where the last span ends.

    Spans are looked for among the places and not places among the spans: of many places most lie in the same few.
    """
    return np.repeat(np.arange(len(starts) - 1), np.diff(np.searchsorted(places, starts)))
