"""Worth of every fixed state from that of the states a plan keeps: cup, putts and nodes."""

import numpy as np
from scipy.sparse import csr_array

from caddiebrain.hole.green import split
from caddiebrain.hole.numbering import Numbering
from caddiebrain.hole.places import Places

__all__ = ["resting"]


def resting(places: Places, number: Numbering) -> csr_array:
    """Return the weights of kept states that stand for fixed states, (fixed states, kept states).

    A kept state stands for itself, a spot is a mean of four nodes, a putting bin one of two putts.
    """
    low, upper = split(np.arange(number.bins) * number.step_ft)
    column = np.concatenate(
        [
            np.arange(number.spot, dtype=np.int32),
            places.spot_node.ravel() + np.int32(number.node),
            (np.stack([low, low + 1], axis=1) + number.putt).ravel().astype(np.int32),
        ]
    )
    share = np.concatenate(
        [
            np.ones(number.spot),
            places.spot_weight.ravel(),
            np.stack([1.0 - upper, upper], axis=1).ravel(),
        ]
    )
    each = np.repeat(np.array([1, 4, 2], dtype=np.int32), [number.spot, number.spots, number.bins])
    start = np.concatenate([np.zeros(1, np.int32), np.cumsum(each, dtype=np.int32)])
    return csr_array((share, column, start), shape=(number.trouble, number.spot))
