"""Which number a state of a compiled hole has: the cup, putts, nodes, spots, putting bins, then trouble."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.places import Places, putt_distances

__all__ = ["Numbering"]


@dataclass(frozen=True)
class Numbering:
    """First number of each kind of state; ``cup`` is 0 and ``trouble`` the first number after all others."""

    putts: int
    nodes: int
    spots: int
    bins: int
    step_ft: float

    cup = 0

    @classmethod
    def of(cls, places: Places, step_ft: float) -> "Numbering":
        """Count the states of a hole."""
        return cls(len(putt_distances()), len(places.x), len(places.spot_x), places.putt_bins, step_ft)

    @property
    def putt(self) -> int:
        """Number of the shortest putt."""
        return 1

    @property
    def node(self) -> int:
        """Number of node 0, the tee."""
        return self.putt + self.putts

    @property
    def spot(self) -> int:
        """Number of spot 0."""
        return self.node + self.nodes

    @property
    def bin(self) -> int:
        """Number of putting bin 0."""
        return self.spot + self.spots

    @property
    def trouble(self) -> int:
        """First number after the fixed states."""
        return self.bin + self.bins

    def bin_of(self, feet: NDArray[np.floating]) -> NDArray[np.int32]:
        """State of a ball on the green so many feet from the hole."""
        step = np.rint(feet / self.step_ft).astype(np.int32)
        state: NDArray[np.int32] = self.bin + np.minimum(step, self.bins - 1)
        return state
