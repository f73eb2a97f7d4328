"""Places and choices of a compiled hole in a golfer's words."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole import ChoiceTable, HoleCompiler, HoleModel
from caddiebrain.hole.green import PACES_FT
from caddiebrain.hole.ground import LIES
from caddiebrain.hole.numbering import Numbering
from caddiebrain.hole.places import putt_distances
from caddiebrain.round.options import describe, putt_words
from caddiebrain.terms import Lie

__all__ = ["Words"]


@dataclass(frozen=True)
class Words:
    """Names the states and choices of one compiled hole; holds no graph."""

    compiler: HoleCompiler
    table: ChoiceTable
    first_choice: int
    choices: NDArray[np.int64] | None = None

    @classmethod
    def of(cls, model: HoleModel, choices: NDArray[np.int64] | None = None) -> "Words":
        """Take what is needed from a model; ``choices`` are the numbers of a contracted graph's choices in it."""
        return cls(model.compiler, model.table, model.first_choice, choices)

    @property
    def _number(self) -> Numbering:
        return self.compiler.numbering

    def row(self, choice: int) -> int:
        """Row of the table of a choice of the graph; -1 for putts, reliefs and the like."""
        row = choice - self.first_choice
        return row if 0 <= row < len(self.table) else -1

    def choice(self, choice: int) -> str:
        """Name a choice: club and aim, a putt by its pace, or relief."""
        if self.choices is not None:
            choice = int(self.choices[choice])
        row = self.row(choice)
        if row >= 0:
            node = int(self.table.node[row])
            places = self.compiler.places
            place = (float(places.x[node]), float(places.y[node]), LIES[places.lie[node]])
            (option,) = describe(self.compiler, self.table.take(np.array([row])), place)
            return f"{option.label} {option.aim_words}"
        if choice < self.first_choice:
            return putt_words(choice % len(PACES_FT))
        return "another way to take relief"

    def place(self, state: int) -> str:
        """Say where a state is."""
        number, places = self._number, self.compiler.places
        if number.putt <= state < number.node:
            return f"a putt of {putt_distances()[state - number.putt]:g} feet"
        if number.node <= state < number.spot:
            node = state - number.node
            if node == 0:
                return "on the tee"
            px, py = self.compiler.hole.pin
            yards = float(np.hypot(px - places.x[node], py - places.y[node]))
            return f"{yards:.0f} yards from the pin, {_lie(LIES[places.lie[node]])}"
        return "taking relief"


def _lie(lie: Lie) -> str:
    return {
        Lie.SAND: "in the sand",
        Lie.TREES: "in the trees",
        Lie.TEE: "on the tee",
        Lie.TIGHT: "on tight turf",
        Lie.THICK: "in thick rough",
    }.get(lie, f"{'on' if lie is Lie.FAIRWAY else 'in'} the {lie}")
