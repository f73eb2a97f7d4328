"""Which choices of the plan a recorded stroke can have been."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from caddiebrain.errors import UnknownError
from caddiebrain.hole import Kind
from caddiebrain.hole.ground import CODE
from caddiebrain.insight.at_hand import Choices, Putts, Swings
from caddiebrain.insight.records_review import PlayedShot
from caddiebrain.insight.spots import Spot, matching, own_fan
from caddiebrain.round.lookup import spread_from
from caddiebrain.terms import Lie

__all__ = ["Chosen", "chosen_rows"]

_PARTIAL_YD = 5.0
"""A club that carries this much further than the pin may have been played as a short shot."""


@dataclass(frozen=True)
class Chosen:
    """Rows of ``choices`` that a stroke can have been; None where the plan knows no such stroke."""

    choices: Choices
    rows: NDArray[np.int64] | None
    note: str = ""


def chosen_rows(spot: Spot, choices: Choices, shot: PlayedShot) -> Chosen:
    """Find the rows for a recorded stroke; a club the plan would not look at is worked out on its own."""
    name = shot.club.strip().lower()
    if isinstance(choices, Putts):
        rows = np.arange(len(choices.club))
        note = "" if name == "putter" else f"{shot.club} on the green: taken as a putt"
        return Chosen(choices, rows, note)
    if not isinstance(choices, Swings):
        return Chosen(choices, None)
    table = choices.spread.table
    if name == "putter" and (table.kind == Kind.PUTT).any():
        return Chosen(choices, np.flatnonzero(table.kind == Kind.PUTT))
    if shot.aim_deg is not None:
        aimed = _aimed(spot, choices, name, shot.aim_deg)
        if aimed is not None:
            return aimed
    rows = _named(choices, name)
    if rows.size:
        return Chosen(choices, rows)
    full = own_fan(spot.hole.compiler, (spot.x, spot.y, spot.lie), table, name)
    if full is not None:
        spread = spread_from(spot.hole.compiler, spot.x, spot.y, spot.lie, lambda _: full)
        return Chosen(Swings(spread), np.arange(len(full)), "a club the plan would not look at from here")
    short = np.flatnonzero(np.isin(table.kind, (Kind.SHORT, Kind.PUNCH)))
    if short.size and name != "putter":
        return Chosen(choices, short, "taken as a short shot")
    note = f"the plan knows no {shot.club} from the {spot.lie}; all of it counts as execution"
    return Chosen(choices, None, note)


def _named(choices: Swings, name: str) -> NDArray[np.int64]:
    """Rows with a name; short shots too where the full club is too much."""
    spread, table = choices.spread, choices.spread.table
    try:
        found = matching(spread.compiler, table, name)
    except UnknownError:
        return _short_instead(choices, name)
    rows = np.flatnonzero(found)
    carry = max((_carry(choices, int(r)) for r in rows if table.kind[r] == Kind.FULL), default=0.0)
    px, py = spread.compiler.hole.pin
    to_pin = float(np.hypot(px - spread.x, py - spread.y))
    if carry > to_pin + _PARTIAL_YD:
        rows = np.concatenate([rows, np.flatnonzero(table.kind == Kind.SHORT)])
    return rows


def _short_instead(choices: Swings, name: str) -> NDArray[np.int64]:
    """Short shots, where a club goes further than the pin and short shots reach it."""
    spread, table = choices.spread, choices.spread.table
    carries = [p.carry_yd for p in spread.compiler.player.patterns if p.club.lower() == name]
    px, py = spread.compiler.hole.pin
    to_pin = float(np.hypot(px - spread.x, py - spread.y))
    short = np.flatnonzero(table.kind == Kind.SHORT)
    known = name in {s.name.lower() for s in spread.compiler.player.short_game} | {"wedge", "chip", "pitch"}
    if known or (carries and max(carries) > to_pin + _PARTIAL_YD):
        return short
    return np.zeros(0, dtype=np.int64)


def _carry(choices: Swings, row: int) -> float:
    spread = choices.spread
    swings = spread.compiler.arsenal.full[CODE[spread.lie]]
    return next(float(s.carry.mean()) for s in swings if s.index == spread.table.index[row])


def _aimed(spot: Spot, choices: Swings, name: str, aim_deg: float) -> Chosen | None:
    """The rows of a name with a recorded aim in place of their own."""
    rows = _named(choices, name)
    place, table = (spot.x, spot.y, spot.lie), choices.spread.table
    own = table.take(rows) if rows.size else own_fan(spot.hole.compiler, place, table, name)
    if own is None or not len(own) or spot.lie is Lie.GREEN:
        return None
    _, first = np.unique(np.stack([own.kind, own.index, own.distance]), axis=1, return_index=True)
    own = own.take(first)
    aimed = replace(own, heading=np.full(len(own), np.deg2rad(aim_deg)))
    spread = spread_from(spot.hole.compiler, spot.x, spot.y, spot.lie, lambda _: aimed)
    return Chosen(Swings(spread), np.arange(len(aimed)))
