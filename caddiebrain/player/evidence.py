"""From records and a base player to the evidence the pages read: which pattern, which lie, how old.

Lies enter as the base player's lie effects say, so that a 7-iron from rough still tells of the 7-iron.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caddiebrain.player.bag import CATALOGUE, Club, club_name
from caddiebrain.player.model import Player
from caddiebrain.player.patterns import LieEffect, Ramp, ShotPattern
from caddiebrain.player.records import Records, Table
from caddiebrain.player.shapes import derive
from caddiebrain.player.uncertainty import places_of
from caddiebrain.terms import Height, Lie, Shape

__all__ = ["PUTTER", "Bag", "LieFactors", "age_weights", "bag_for", "counted_once", "newest_day", "word"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

PUTTER = "putter"
_FULL_BAG = 13
Key = tuple[str, str, str]


@dataclass(frozen=True)
class LieFactors:
    """What the lies do to N shots: carry and spread factors, extra mishits."""

    carry: Floats
    spread: Floats
    mishit: Floats


@dataclass(frozen=True)
class Bag:
    """The patterns a fit has, and what the base player says about each.

    Parameters
    ----------
    base : Player
    patterns : tuple of ShotPattern
        The base player's that stay, and one for each club, shape and height on record beside.
    """

    base: Player
    patterns: tuple[ShotPattern, ...]

    @cached_property
    def index(self) -> dict[Key, int]:
        """Position of each club, shape and height."""
        return {_key(p): i for i, p in enumerate(self.patterns)}

    @cached_property
    def roll(self) -> Floats:
        """Rollout on fairway as a share of the carry, by pattern."""
        return np.array([p.rollout_yd / p.carry_yd for p in self.patterns])

    @cached_property
    def carry(self) -> Floats:
        """Carries, yards, by pattern."""
        return np.array([p.carry_yd for p in self.patterns])

    def pattern_of(self, club: NDArray[Any], shape: NDArray[Any], height: NDArray[Any]) -> Ints:
        """Pattern of each row; no shape is straight, no height is stock."""
        triples = zip(club.tolist(), shape.tolist(), height.tolist(), strict=True)
        known: dict[Key, int] = {}
        out = []
        for club_text, shape_text, height_text in triples:
            key = (club_text, shape_text or Shape.STRAIGHT.value, height_text or Height.STOCK.value)
            if key not in known:
                known[key] = self._nearest(key)
            out.append(known[key])
        return np.array(out, dtype=np.int64)

    def _nearest(self, key: Key) -> int:
        """The pattern itself, else the stock pattern of the club, else its first."""
        club = key[0]
        stock = (club, Shape.STRAIGHT.value, Height.STOCK.value)
        for wanted in (key, stock):
            if wanted in self.index:
                return self.index[wanted]
        return next(i for i, p in enumerate(self.patterns) if p.club == club)

    def lie_factors(self, pattern: Ints, lie: NDArray[Any]) -> LieFactors:
        """What each row's lie does to its shot; an unknown lie is a good one."""
        low, high = float(self.carry.min()), float(self.carry.max())
        along = (self.carry - low) / (high - low) if high > low else np.zeros_like(self.carry)
        carry, spread, mishit = np.ones(len(pattern)), np.ones(len(pattern)), np.zeros(len(pattern))
        for name in np.unique(lie).tolist():
            effect = self.base.lies.get(Lie(name), LieEffect()) if name else LieEffect()
            at = lie == name
            s = along[pattern[at]]
            carry[at] = _at(effect.carry, s)
            spread[at] = _at(effect.spread, s)
            mishit[at] = _at(effect.mishit, s)
        return LieFactors(carry, spread, mishit)


def bag_for(base: Player, records: Records, *, named: bool = False) -> Bag:
    """Return the patterns for a base player and records.

    Clubs on record that the base player lacks are built like the nearest club it has. If that makes more than
    thirteen with nothing known of some, those nearest to a club on record go, until thirteen are left; none
    goes where the base player's clubs are ``named`` as those in the bag.
    """
    wanted = sorted(_recorded(records))
    have = {_key(p) for p in base.patterns}
    recorded = {club for club, _, _ in wanted}
    added = [_built(base, key) for key in wanted if key not in have]
    unknown = [p for p in base.patterns if p.club not in recorded and p.shots == 0.0]
    surplus = 0 if named else len({p.club for p in (*base.patterns, *added)}) - _FULL_BAG
    new_clubs = {p.club for p in added} - {p.club for p in base.patterns}
    dropped = _spare(unknown, [p for p in added if p.club in new_clubs], min(surplus, len(new_clubs)))
    kept = [p for p in base.patterns if p.club not in dropped]
    return Bag(base, (*kept, *added))


def _spare(unknown: Sequence[ShotPattern], new: Sequence[ShotPattern], count: int) -> set[str]:
    """Clubs to leave at home: nothing known of them and nearest in carry to a new one."""
    if count <= 0 or not new:
        return set()
    gap = {p.club: min(abs(p.carry_yd - n.carry_yd) for n in new) for p in unknown}
    return set(sorted(gap, key=lambda club: (gap[club], club))[:count])


def _recorded(records: Records) -> Iterable[Key]:
    """Clubs, shapes and heights with a full shot, a tally or a drive on record."""
    keys: set[Key] = set()
    for kind in ("shots", "tallies", "cards"):
        table = records.tables.get(kind)
        if table is None:
            continue
        blank = np.full(len(table["club"]), "", dtype="<U1")
        columns = (table["club"], table.get("shape", blank), table.get("height", blank))
        triples = set(zip(*(c.tolist() for c in columns), strict=True))
        keys |= {(c, s or Shape.STRAIGHT.value, h or Height.STOCK.value) for c, s, h in triples if c}
    return {key for key in keys if key[0] != PUTTER}


def _built(base: Player, key: Key) -> ShotPattern:
    """A pattern for a club, shape and height the base player lacks, like the nearest it has."""
    club, shape, height = key[0], Shape(key[1]), Height(key[2])
    own = [p for p in base.patterns if p.club == club]
    stock = next((p for p in own if p.shape is Shape.STRAIGHT and p.height is Height.STOCK), None)
    if stock is None:
        stock = own[0] if own else _neighbour(base, club)
    if shape is Shape.STRAIGHT and height is Height.STOCK:
        return stock.model_copy(update={"shape": shape, "height": height, "shots": 0.0})
    return derive(stock, shape, height).model_copy(update={"derived": False})


def _neighbour(base: Player, name: str) -> ShotPattern:
    """A stock pattern for a club that is not in the bag, from the one whose place is nearest."""
    places = places_of(base.patterns)
    club = _catalogued(name)
    if club is None:
        return base.patterns[0].model_copy(update={"club": name, "shots": 0.0})
    stock = [p.shape is Shape.STRAIGHT and p.height is Height.STOCK for p in base.patterns]
    at = int(np.argmin(np.abs(places - club.ratio_fast) + np.where(stock, 0.0, 10.0)))
    like = base.patterns[at]
    reference = _catalogued(like.club) or club
    return like.model_copy(
        update={
            "club": name,
            "carry_yd": like.carry_yd * club.ratio_fast / float(places[at]),
            "apex_yd": like.apex_yd * club.apex / reference.apex,
            "descent_deg": like.descent_deg * club.descent_deg / reference.descent_deg,
            "rollout_yd": like.rollout_yd * club.rollout_yd / reference.rollout_yd,
            "tee_only": club.tee_only,
            "shots": 0.0,
        }
    )


def _catalogued(name: str) -> Club | None:
    return next((c for c in CATALOGUE if c.name == club_name(name)), None)


def _key(pattern: ShotPattern) -> Key:
    return pattern.club, pattern.shape.value, pattern.height.value


def _at(ramp: Ramp, along: Floats) -> Floats:
    return ramp.short + (ramp.long - ramp.short) * along


def newest_day(records: Records) -> float:
    """Newest date on record, days since year 1; NaN without dates."""
    days = np.concatenate([table["date"] for table in records.tables.values()] or [np.zeros(0)])
    return float(np.nanmax(days)) if np.isfinite(days).any() else float("nan")


def counted_once(records: Records) -> Records:
    """Leave out of round cards what the same day's shots and putts tell already, hole by hole."""
    cards = records.tables.get("cards")
    if cards is None:
        return records
    shots, putts = records.tables.get("shots"), records.tables.get("putts")
    cards = dict(cards)
    if shots is not None:
        told = _same(cards, shots, np.ones(len(shots["hole"]), dtype=bool))
        cards["fairway"] = np.where(told, "", cards["fairway"])
        cards["green"] = np.where(told, "", cards["green"])
        holed = _same(cards, shots, (shots["club"] == PUTTER) | (shots["lie"] == Lie.GREEN.value))
        cards["first_putt"] = np.where(holed, np.nan, cards["first_putt"])
    if putts is not None:
        days = putts["date"][np.isfinite(putts["putts"]) & np.isfinite(putts["date"])]
        cards["first_putt"] = np.where(np.isin(cards["date"], days), np.nan, cards["first_putt"])
    return Records({**records.tables, "cards": cards}, records.warnings)


def _same(cards: Table, shots: Table, rows: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Which holes of the cards have a shot among these rows: same day, round and hole."""
    dated = rows & np.isfinite(shots["date"]) & np.isfinite(shots["hole"])
    names = ("date", "round", "hole")
    logged = set(zip(*(shots[name][dated].tolist() for name in names), strict=True))
    keys = zip(*(cards[name].tolist() for name in names), strict=True)
    return np.array([key in logged for key in keys], dtype=bool)


def age_weights(table: Table, newest: float, half_life_days: float | None) -> Floats:
    """How much each row still counts: half at every half-life before the newest; undated rows count in full."""
    age = newest - table["date"]
    if half_life_days is None:
        return np.ones(len(age))
    return np.asarray(np.where(np.isfinite(age), 0.5 ** (np.maximum(age, 0.0) / half_life_days), 1.0))


def word(table: Table, column: str, default: str) -> NDArray[Any]:
    """A text column with its gaps filled."""
    return np.where(table[column] == "", default, table[column])
