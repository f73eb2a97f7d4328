"""A level from nothing but scores: the handicap index they come to."""

import numpy as np
from numpy.typing import NDArray

from caddiebrain.errors import RecordsError
from caddiebrain.player.level import Level
from caddiebrain.player.records import Records, Table

__all__ = ["level_from_cards"]

_NEUTRAL_SLOPE = 113.0
# World Handicap System, Rule 5.2a: scores on record, how many of the lowest differentials count, adjustment.
_LOWEST = (
    (3, 1, -2.0), (4, 1, -1.0), (5, 1, 0.0), (6, 2, -1.0), (8, 2, 0.0), (11, 3, 0.0), (14, 4, 0.0), (16, 5, 0.0),
    (18, 6, 0.0), (19, 7, 0.0), (20, 8, 0.0),
)  # fmt: skip


def level_from_cards(records: Records) -> Level:
    """Return the level that complete 18-hole scores come to.

    Score differentials are 113 / slope x (score - rating), newest twenty rounds, lowest ones averaged as the
    World Handicap System does (Rule 5.2a; memory); par and 113 stand in where a card states no rating or slope.
    It sets a prior and is no Handicap Index: a posted score follows the Rules of Handicapping.

    Raises
    ------
    RecordsError
        If fewer than three complete rounds are on record.
    """
    cards = records.tables.get("cards")
    found = _differentials(cards) if cards is not None else []
    if len(found) < _LOWEST[0][0]:
        raise RecordsError.one(
            "fit",
            "level",
            f"none, and {len(found)} complete rounds",
            "a level=Level(...), or 3 rounds of 18 scores",
        )
    newest = [value for _, value in sorted(found)[-20:]]
    _, count, adjustment = next(row for row in reversed(_LOWEST) if len(newest) >= row[0])
    index = float(np.mean(sorted(newest)[:count])) + adjustment
    return Level(handicap_index=round(float(np.clip(index, -4.0, 54.0)), 1))


def _differentials(cards: Table) -> list[tuple[float, float]]:
    """Date and score differential of each complete round."""
    date = np.nan_to_num(cards["date"], nan=-1.0)
    rounds = sorted(set(zip(date.tolist(), cards["round"].tolist(), strict=True)))
    out = []
    for day, name in rounds:
        mine = (date == day) & (cards["round"] == name) & np.isfinite(cards["score"])
        if mine.sum() != 18 or len(set(cards["hole"][mine].tolist())) != 18:
            continue
        rating = _stated(cards["rating"][mine], float(np.nansum(cards["par"][mine])))
        if not 50.0 <= rating <= 90.0:
            continue
        slope = _stated(cards["slope"][mine], _NEUTRAL_SLOPE)
        out.append((day, _NEUTRAL_SLOPE / slope * (float(cards["score"][mine].sum()) - rating)))
    return out


def _stated(values: NDArray[np.float64], default: float) -> float:
    known = values[np.isfinite(values)]
    return float(known[0]) if len(known) else default
