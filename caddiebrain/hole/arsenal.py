"""Everything a player can swing on one day, by lie; the same on every hole."""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Any

import numpy as np

from caddiebrain.flight import Conditions, FlightTable
from caddiebrain.hole.ground import LIES, SPECIAL
from caddiebrain.hole.off_green import Putter
from caddiebrain.hole.points import ErrorPoints
from caddiebrain.hole.short_air import ShortAir
from caddiebrain.hole.short_swings import ShortSwing, punch_of, short_swings
from caddiebrain.hole.swing_set import SwingSet
from caddiebrain.hole.swings import FullSwing, Numbers, full_swings
from caddiebrain.player.model import Player

__all__ = ["Arsenal", "arsenal_of"]


@dataclass(frozen=True)
class Arsenal:
    """Everything a player can swing on a hole: full and short swings by lie code, the punch and the putter."""

    full: Mapping[int, tuple[FullSwing, ...]]
    short: Mapping[int, tuple[ShortSwing, ...]]
    punch: ShortSwing
    putter: Putter
    wind_to_deg: float | None = None
    """Compass bearing the wind blows toward; None in still air."""
    air: ShortAir | None = None
    """What the air of the day does to short shots; None in reference air."""

    def __getstate__(self) -> dict[str, Any]:
        # Sets are large and quickly made again.
        return {f.name: getattr(self, f.name) for f in fields(self)}

    def swing_set(self, code: int, points: ErrorPoints) -> SwingSet:
        """All full swings from a lie, side by side in the order of their patterns."""
        key = (code, id(points))
        if key not in self._sets:
            self._sets[key] = SwingSet.of(self.full[code], points)
        return self._sets[key]

    def numbers(self, code: int) -> Numbers:
        """Numbers of all full swings from a lie that has some, side by side in the order of their patterns."""
        if code not in self._numbers:
            self._numbers[code] = Numbers.of(self.full[code])
        return self._numbers[code]

    @cached_property
    def _numbers(self) -> dict[int, Numbers]:
        return {}

    @cached_property
    def _sets(self) -> dict[tuple[int, int], SwingSet]:
        return {}  # a set holds on to its points, so their id is not given to others


def arsenal_of(player: Player, flight: FlightTable, conditions: Conditions, firmness: float = 0.5) -> Arsenal:
    """Work out what a player can swing from every lie on one day; the same on every hole."""
    flight = flight if conditions.wind_mph > 0.0 else _one_bin(flight)
    playable = [code for code in range(len(LIES)) if code not in SPECIAL]
    return Arsenal(
        {code: tuple(full_swings(player, LIES[code], flight, firmness)) for code in playable},
        {code: tuple(short_swings(player, LIES[code])) for code in playable},
        punch_of(player),
        Putter.of(player.putting, firmness),
        (conditions.wind_from_deg + 180.0) % 360.0 if conditions.wind_mph > 0.0 else None,
        ShortAir.of(conditions),
    )


def _one_bin(flight: FlightTable) -> FlightTable:
    """Without wind every direction flies alike; one bin says it all."""
    arrays = {f.name: getattr(flight, f.name) for f in fields(flight)}
    return replace(flight, **{k: v[:, :1] for k, v in arrays.items() if np.ndim(v) == 2})
