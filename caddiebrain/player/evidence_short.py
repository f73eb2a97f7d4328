"""Short game and putts on record: from their own tables, from shots, and first putts of round cards."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from caddiebrain.player.evidence import age_weights
from caddiebrain.player.evidence_shots import Split
from caddiebrain.player.patterns import ShortShot
from caddiebrain.player.putts import PuttRows
from caddiebrain.player.records import Records
from caddiebrain.player.short_shots import ShortRows, tightest
from caddiebrain.player.uncertainty import lies_of
from caddiebrain.terms import Lie

__all__ = ["putt_rows", "short_rows"]

Floats = NDArray[np.float64]
Part = tuple[NDArray[Any], Floats, Floats, Floats, Floats, Floats]

_STAND_IN = {Lie.TEE.value: Lie.FAIRWAY.value, "": Lie.FAIRWAY.value}
_FEET = 3.0


def short_rows(
    shots: tuple[ShortShot, ...],
    records: Records,
    split: Split | None,
    newest: float,
    half_life: float | None,
) -> tuple[ShortRows, int]:
    """Evidence on the short game, and how many records no short shot reaches.

    Parameters
    ----------
    shots : tuple of ShortShot
        The level's; the tightest of a lie at each distance is taken as the one played.
    records : Records
    split : Split, optional
        Of the table of shots.
    """
    parts = [_no_part()]
    table = records.tables.get("short_game")
    if table is not None:
        leave = np.isfinite(table["leave"])
        tries = np.where(leave, 1.0, np.nan_to_num(table["tries"]))
        weight = age_weights(table, newest, half_life)
        saves = np.nan_to_num(table["up_and_down"])
        parts.append((table["lie"], table["distance"], table["leave"], tries, saves, weight))
    logged = records.tables.get("shots")
    if logged is not None and split is not None and split.short.any():
        t = {name: column[split.short] for name, column in logged.items()}
        one = np.ones(len(t["club"]))
        parts.append(
            (t["lie"], t["before"], t["after"] * _FEET, one, 0.0 * one, age_weights(t, newest, half_life))
        )
    lie, distance, leave_ft, tries, saves, weight = (
        np.concatenate(column) for column in zip(*parts, strict=True)
    )
    return _matched(shots, lie, distance, leave_ft, tries, saves, weight)


def _no_part() -> Part:
    none = np.zeros(0)
    return np.zeros(0, dtype="<U8"), none, none, none, none, none


def _matched(
    shots: tuple[ShortShot, ...],
    lie: NDArray[Any],
    distance: Floats,
    leave_ft: Floats,
    tries: Floats,
    saves: Floats,
    weight: Floats,
) -> tuple[ShortRows, int]:
    """Give each record its lie's unit and the shot most likely played; drop what no short shot reaches."""
    units = {unit.value: i for i, unit in enumerate(lies_of(shots))}
    known: dict[tuple[str, float], tuple[int, int]] = {}
    found = np.full((len(lie), 2), -1)
    for i, (name, yards) in enumerate(zip(lie.tolist(), distance.tolist(), strict=True)):
        key = (_STAND_IN.get(name, name), yards)
        if key not in known:
            known[key] = _shot_for(shots, units, *key)
        found[i] = known[key]
    keep = found[:, 1] >= 0
    rows = ShortRows(
        lie=found[keep, 0],
        shot=found[keep, 1],
        distance_yd=distance[keep],
        leave_ft=leave_ft[keep],
        tries=tries[keep],
        saves=saves[keep],
        weight=weight[keep],
    )
    return rows, int((~keep).sum())


def _shot_for(
    shots: tuple[ShortShot, ...], units: dict[str, int], lie: str, distance_yd: float
) -> tuple[int, int]:
    """Unit and shot for a lie and a distance; -1 where there is none."""
    own = [i for i, shot in enumerate(shots) if shot.lie.value == lie]
    best = tightest(tuple(shots[i] for i in own), distance_yd)
    return (units[lie], own[best]) if best is not None else (-1, -1)


def putt_rows(
    records: Records, split: Split | None, newest: float, half_life: float | None
) -> tuple[PuttRows, float]:
    """Evidence on putting, and the weight of the putts behind it."""
    singles, greens = [(np.zeros(0),) * 3], [(np.zeros(0),) * 3]
    table = records.tables.get("putts")
    if table is not None:
        weight = age_weights(table, newest, half_life)
        counted = np.isfinite(table["tries"]) & np.isfinite(table["holed"])
        x, w = table["distance"][counted], weight[counted]
        singles.append((x, table["tries"][counted] * w, table["holed"][counted] * w))
        per_green = ~counted & np.isfinite(table["putts"])
        greens.append((table["distance"][per_green], table["putts"][per_green], weight[per_green]))
    logged = records.tables.get("shots")
    if logged is not None and split is not None:
        known = split.putts & np.isfinite(logged["before"])
        known &= np.isfinite(logged["after"]) | (logged["lie_after"] != "")
        t = {name: column[known] for name, column in logged.items()}
        weight = age_weights(t, newest, half_life)
        holed = (t["after"] == 0) | (t["lie_after"] == "holed")
        singles.append((np.maximum(t["before"] * _FEET, 0.05), weight, holed * weight))
    cards = records.tables.get("cards")
    if cards is not None:
        known = np.isfinite(cards["first_putt"]) & (cards["putts"] >= 1)
        weight = age_weights(cards, newest, half_life)
        greens.append((cards["first_putt"][known], cards["putts"][known], weight[known]))
    x, tries, made = (np.concatenate(column) for column in zip(*singles, strict=True))
    first, putts, weight = (np.concatenate(column) for column in zip(*greens, strict=True))
    counts = np.stack([weight * (putts == 1), weight * (putts == 2), weight * (putts >= 3)], axis=1)
    total = float(tries.sum() + (counts * np.array([1.0, 2.0, 3.0])).sum())
    return PuttRows.gather(x, tries, made, first, counts), total
