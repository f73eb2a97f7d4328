"""The choices at hand from a place, swings and putts alike: what they cost, what they do to the target."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole import HoleCompiler
from caddiebrain.hole.green import PACES_FT, putt_rows, split
from caddiebrain.hole.ground import CODE
from caddiebrain.insight.spots import Landings, Spot, landings
from caddiebrain.round.lookup import Spread, spread_from
from caddiebrain.round.options import putt_words
from caddiebrain.round.results import HOLED
from caddiebrain.round.worth import Worth
from caddiebrain.terms import Lie

__all__ = ["Choices", "Putts", "Swings", "choices_at"]

Floats = NDArray[np.float64]


class Choices(Protocol):
    """Rows of choices from one place."""

    @property
    def club(self) -> NDArray[np.int64]:
        """Number (rows,) that aims of the same club share."""

    def values(self, worth: Worth) -> Floats:
        """Mean worth of every row."""

    def ends(self, row: int, worths: tuple[Worth, ...]) -> Landings:
        """Where the balls of one row end."""

    def label(self, row: int) -> str:
        """Name of a row."""

    def aim_words(self, row: int) -> str:
        """Aim of a row in words."""


@dataclass(frozen=True)
class Swings:
    """Full and short shots, punches, drops, and putts from off the green."""

    spread: Spread

    @property
    def club(self) -> NDArray[np.int64]:
        """Number of the club or shot; see `Choices`."""
        table = self.spread.table
        return np.asarray(table.kind.astype(np.int64) * 4096 + table.index)

    def values(self, worth: Worth) -> Floats:
        """Mean worth of every row; see `Choices`."""
        return self.spread.values(worth)

    def ends(self, row: int, worths: tuple[Worth, ...]) -> Landings:
        """Where the balls end; see `Choices`."""
        return landings(self.spread, row, worths)

    def label(self, row: int) -> str:
        """Name; see `Choices`."""
        return self.spread.named(row).label

    def aim_words(self, row: int) -> str:
        """Aim; see `Choices`."""
        return self.spread.named(row).aim_words


@dataclass(frozen=True)
class Putts:
    """A putt of ``feet`` by its pace."""

    compiler: HoleCompiler
    feet: float

    @property
    def club(self) -> NDArray[np.int64]:
        """Each pace is a choice of its own; see `Choices`."""
        return np.arange(len(PACES_FT))

    def _rows(self) -> tuple[Floats, Floats]:
        """Chance that it drops (paces,), and of each next putt (paces, putts)."""
        table = putt_rows(self.compiler.player.putting)
        low, upper = split(np.array([self.feet]))
        i, w = int(low[0]), float(upper[0])
        holed = table.holed[i] * (1.0 - w) + table.holed[i + 1] * w
        leave = table.leave[i] * (1.0 - w) + table.leave[i + 1] * w
        return holed, leave

    def _after(self, worth: Worth) -> tuple[float, Floats]:
        """Worth of holing out and of each next putt, this putt included."""
        number = self.compiler.numbering
        layer, add = (worth.layers[1], 0.0) if worth.larger_is_better else (worth.layers[0], 1.0)
        putts = layer[number.putt : number.putt + number.putts]
        return float(layer[number.cup]) + add, putts + add

    def chances(self, after: Floats) -> Floats:
        """Chance of the round (paces, levels) where ``after`` (levels, kept states) is that one stroke later."""
        number = self.compiler.numbering
        if after.size == 0:
            return np.zeros((len(PACES_FT), len(after)))
        holed, leave = self._rows()
        putts = after[:, number.putt : number.putt + number.putts]
        return np.asarray(holed[:, None] * after[:, number.cup] + leave @ putts.T)

    def values(self, worth: Worth) -> Floats:
        """Mean worth of every pace; see `Choices`."""
        holed, leave = self._rows()
        cup, putts = self._after(worth)
        return np.asarray(holed * cup + leave @ putts)

    def ends(self, row: int, worths: tuple[Worth, ...]) -> Landings:
        """Holed, or another putt; see `Choices`."""
        holed, leave = self._rows()
        prob = np.concatenate([[holed[row]], leave[row]])
        code = np.full(len(prob), CODE[Lie.GREEN], dtype=np.int64)
        code[0] = HOLED
        after = [np.concatenate([[cup], putts]) for cup, putts in map(self._after, worths)]
        live = prob > 0
        return Landings(code[live], prob[live] / prob.sum(), tuple(a[live] for a in after))

    def label(self, row: int) -> str:
        """Pace in words; see `Choices`."""
        return putt_words(row)

    def aim_words(self, row: int) -> str:
        """A putt is aimed at the hole; see `Choices`."""
        del row
        return "at the hole"


def choices_at(spot: Spot) -> Choices:
    """Lay out the choices from a place.

    Raises
    ------
    InputError
        If no ball is played from there: off the map, in a penalty area, out of bounds.
    """
    compiler = spot.hole.compiler
    if spot.lie is Lie.GREEN:
        return Putts(compiler, spot.to_pin * 3.0)
    return Swings(spread_from(compiler, spot.x, spot.y, spot.lie))
