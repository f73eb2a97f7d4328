"""Putting as part of a hole: at every distance, a choice of pace."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.places import putt_distances
from caddiebrain.player.model import PuttingSkill
from caddiebrain.player.putting import leave_distribution

__all__ = ["PACES_FT", "PuttTable", "putt_rows", "split"]

PACES_FT = np.array([0.0, 0.5, 1.0, 1.75, 2.5])
"""How far past the hole a putt is meant to stop, feet: a lag, two ordinary paces, firm, and a charge."""


def split(feet: NDArray[np.floating]) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Node below each distance on the green, and the weight of the node above it (linear interpolation)."""
    nodes = putt_distances()
    low = np.clip(np.searchsorted(nodes, feet, side="right") - 1, 0, len(nodes) - 2)
    upper = (feet - nodes[low]) / (nodes[low + 1] - nodes[low])
    return low, np.clip(upper, 0.0, 1.0)


@dataclass(frozen=True)
class PuttTable:
    """Outcomes of every putt: choice p * len(PACES_FT) + pace from putting node p.

    Parameters
    ----------
    holed : ndarray (putts, paces)
        Chance that the putt drops.
    leave : ndarray (putts, paces, putts)
        Chance that the next putt is from each node.
    """

    holed: NDArray[np.float64]
    leave: NDArray[np.float64]


@lru_cache(maxsize=32)
def putt_rows(skill: PuttingSkill) -> PuttTable:
    """Work out every putt of a player once; every green of a course shares the table."""
    nodes = putt_distances()
    distance, pace = np.meshgrid(nodes, PACES_FT, indexing="ij")
    after = leave_distribution(skill, distance, pace, points=10)
    low, upper = split(after.leave_ft)
    missed = (1.0 - after.holing)[..., None] * after.weight
    leave = np.zeros((*distance.shape, len(nodes)))
    row = np.broadcast_to(np.arange(distance.size).reshape(*distance.shape, 1), low.shape)
    flat = leave.reshape(-1, len(nodes))
    np.add.at(flat, (row, low), missed * (1.0 - upper))
    np.add.at(flat, (row, low + 1), missed * upper)
    return PuttTable(after.holing, leave)
