"""Runs of neighbouring places in compressed arrays."""

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

__all__ = ["Outcomes", "owners", "picked_rows", "spans"]

Outcomes = tuple[NDArray[np.int32], NDArray[np.float64], NDArray[np.uint8]]
"""State, chance and strokes."""


def spans(starts: NDArray[np.int64], lengths: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return start, start + 1, ... of each span, one after the other."""
    ends = np.cumsum(lengths)
    total = int(ends[-1]) if len(ends) else 0
    places = np.repeat(starts - ends + lengths, lengths)
    places += np.arange(total)
    return places


def owners(starts: NDArray[np.int64], places: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the span each place lies in; places are in rising order, ``starts`` ends with where the last span ends.

    Spans are looked for among the places and not places among the spans: of many places most lie in the same few.
    """
    return np.repeat(np.arange(len(starts) - 1), np.diff(np.searchsorted(places, starts)))


def picked_rows(start: NDArray[np.int64], outcomes: Outcomes, rows: NDArray[np.int64]) -> Outcomes:
    """Return the outcomes of some rows, in the order given; ``start`` (all rows + 1,) tells where each row begins.

    Whole rows are copied, which takes a third of the time of one entry after the other.
    """
    state, prob, strokes = outcomes
    indptr: Any = start.astype(np.int32 if len(state) < 2**31 - 1 else np.int64)
    shape = (len(start) - 1, 2**31 - 1)
    chances = csr_array((prob, state, indptr), shape=shape)[rows]
    costs = csr_array((strokes, state, indptr), shape=shape)[rows]
    return chances.indices.astype(np.int32, copy=False), chances.data, costs.data
