"""Counted full shots on record: tallies, shots with a lie after alone, fairways and par-3 greens of round cards."""

from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caddiebrain.player.counts import EVENTS, TallyRows
from caddiebrain.player.evidence import PUTTER, Bag, age_weights, word
from caddiebrain.player.evidence_shots import start_lie
from caddiebrain.player.records import Table
from caddiebrain.terms import Lie

__all__ = ["Targets", "card_tallies", "event_tallies", "gathered", "tally_rows"]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_FAIRWAY_FINISH = ("fairway", "tight", "green", "holed")
_GREEN_FINISH = ("green", "holed")
_LONG_HOLE_YD = 260.0
"""From a tee further out than this the ball is meant for the fairway (par 3s end at 260: World Handicap System)."""
_HIT = EVENTS.index("hit")


@dataclass(frozen=True)
class Targets:
    """Sizes, yards, of fairways and greens where a record states none (common practice, no source)."""

    fairway_width_yd: float = 32.0
    green_width_yd: float = 26.0
    green_depth_yd: float = 28.0


def tally_rows(bag: Bag, table: Table, targets: Targets, newest: float, half_life: float | None) -> TallyRows:
    """Evidence of a table of tallies.

    A drive straight through a fairway is no event of the page, so such a row's misses are counted together.
    """
    t = {name: column[table["club"] != PUTTER] for name, column in table.items()}
    green = np.isfinite(t["green"]) | (t["target"] == "green")
    hit = np.nansum([t["hit"], t["fairway"], t["green"]], axis=0)
    lie = np.where(green, word(t, "lie", Lie.FAIRWAY.value), word(t, "lie", Lie.TEE.value))
    told = np.stack([hit, t["left"], t["right"], t["short"], t["long"]], axis=1)
    through = (told[:, EVENTS.index("long")] > 0) & ~green
    untold = np.isnan(told) | (through[:, None] & (np.arange(len(EVENTS)) != _HIT))
    counts = np.where(untold, 0.0, told)
    weight = age_weights(t, newest, half_life)
    return _rows(
        bag,
        _Counted(t["club"], lie, green, t["width"], t["depth"], counts, t["tries"], untold, weight),
        targets,
    )


@dataclass(frozen=True)
class _Counted:
    """Counts as they come: where ``untold``, an event was not counted by itself."""

    club: NDArray[Any]
    lie: NDArray[Any]
    green: Bools
    width: Floats
    depth: Floats
    counts: Floats
    tries: Floats
    untold: Bools
    weight: Floats


def _rows(bag: Bag, c: _Counted, targets: Targets) -> TallyRows:
    blank = np.full(len(c.club), "", dtype="<U1")
    pattern = bag.pattern_of(c.club, blank, blank)
    lies = bag.lie_factors(pattern, c.lie)
    usual = np.where(c.green, targets.green_width_yd, targets.fairway_width_yd)
    other = np.maximum(c.tries - c.counts.sum(axis=1), 0.0)
    all_told = ~c.untold.any(axis=1) & (other > 0.0)
    lumped = c.untold | (all_told[:, None] & (np.arange(len(EVENTS)) != _HIT))
    return TallyRows(
        pattern=pattern,
        green=c.green,
        width_yd=np.where(np.isfinite(c.width), c.width, usual),
        depth_yd=np.where(np.isfinite(c.depth), c.depth, targets.green_depth_yd),
        roll=bag.roll[pattern],
        spread=lies.spread,
        mishit=lies.mishit,
        counts=c.counts * c.weight[:, None],
        other=other * c.weight,
        lumped=lumped,
    )


def event_tallies(
    bag: Bag, table: Table, event: Bools, targets: Targets, newest: float, half_life: float | None
) -> TallyRows:
    """Evidence of full shots of which only the lie after is known, one tally of one try each."""
    t = {name: column[event] for name, column in table.items()}
    lie = start_lie(bag, t)
    tee = lie == Lie.TEE.value
    long_club = bag.roll[bag.pattern_of(t["club"], t["shape"], t["height"])] >= 0.04
    green = ~(tee & np.where(np.isfinite(t["before"]), t["before"] > _LONG_HOLE_YD, long_club))
    found = np.where(green, np.isin(t["lie_after"], _GREEN_FINISH), np.isin(t["lie_after"], _FAIRWAY_FINISH))
    return _single(
        bag, t, lie, green, found & ~(t["penalty"] > 0), targets, age_weights(t, newest, half_life)
    )


def card_tallies(
    bag: Bag, table: Table, targets: Targets, newest: float, half_life: float | None
) -> list[TallyRows]:
    """Evidence of round cards: fairways off the tee, and greens of par 3s whose length or club is known."""
    weight = age_weights(table, newest, half_life)
    driver = max(bag.patterns, key=lambda p: p.carry_yd).club
    out = []
    drives = (table["fairway"] != "") & ~(table["par"] == 3)
    threes = (
        (table["green"] != "") & (table["par"] == 3) & (np.isfinite(table["length"]) | (table["club"] != ""))
    )
    for mask, green, column in ((drives, False, "fairway"), (threes, True, "green")):
        if not mask.any():
            continue
        t = {name: values[mask] for name, values in table.items()}
        club = _clubs_for(bag, t["length"]) if green else np.full(mask.sum(), driver)
        t["club"] = np.where(t["club"] == "", club, t["club"])
        tee = np.full(mask.sum(), Lie.TEE.value)
        greens = np.full(mask.sum(), green)
        out.append(_single(bag, t, tee, greens, t[column] == "yes", targets, weight[mask]))
    return out


def _clubs_for(bag: Bag, length_yd: Floats) -> NDArray[Any]:
    """The club whose carry is nearest to each length."""
    clubs = np.array([p.club for p in bag.patterns])
    nearest = np.abs(np.nan_to_num(length_yd)[:, None] - bag.carry).argmin(axis=1)
    return np.asarray(clubs[nearest])


def _single(
    bag: Bag, t: Table, lie: NDArray[Any], green: Bools, found: Bools, targets: Targets, weight: Floats
) -> TallyRows:
    """One try a row, hit or not."""
    n = len(found)
    none = np.full(n, np.nan)
    counts = np.zeros((n, len(EVENTS)))
    counts[:, _HIT] = found
    untold = np.ones((n, len(EVENTS)), dtype=bool)
    untold[:, _HIT] = False
    return _rows(
        bag, _Counted(t["club"], lie, green, none, none, counts, np.ones(n), untold, weight), targets
    )


def gathered(parts: list[TallyRows]) -> TallyRows | None:
    """Join tallies and sum those alike in all but their counts."""
    if not parts:
        return None
    joined = {f.name: np.concatenate([getattr(part, f.name) for part in parts]) for f in fields(TallyRows)}
    alike = [name for name in joined if name not in ("counts", "other")]
    keys = np.column_stack([joined[name].astype(float) for name in alike])
    _, first, group = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    group = group.ravel()
    size = len(first)
    counts = np.stack([np.bincount(group, column, size) for column in joined["counts"].T], axis=1).astype(
        float
    )
    other = np.bincount(group, joined["other"], size).astype(float)
    kept = {name: joined[name][first] for name in alike}
    return TallyRows(**kept, counts=counts, other=other)
