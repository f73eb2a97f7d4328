"""Situations a card tells apart: the lie and the distance of every place where a decision falls."""

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from caddiebrain.errors import InputError
from caddiebrain.hole import HoleCompiler
from caddiebrain.hole.ground import CODE
from caddiebrain.hole.places import putt_distances
from caddiebrain.insight.records_carry import CarryRule, Situation
from caddiebrain.terms import Lie

__all__ = ["CELLS", "Area", "area_of_rule", "areas", "cell_of_nodes", "cell_of_putts", "cell_of_water"]

Ints = NDArray[np.int64]

_YARDS = np.array([0.0, 12.0, 25.0, 35.0, 50.0, 75.0, 100.0, 120.0, 140.0, 160.0, 180.0, 200.0, 225.0, 250.0])
_FEET = np.array([0.0, 5.0, 8.0, 12.0, 16.0, 20.0, 30.0, 40.0])
_PLACES = (
    Situation.FAIRWAY,
    Situation.ROUGH,
    Situation.THICK,
    Situation.SAND,
    Situation.TREES,
    Situation.BLOCKED,
)
_COSTLY = (Situation.RED, Situation.YELLOW, Situation.OUT)
_GROUPS = (
    *((s,) for s in _PLACES),
    (Situation.FAIRWAY, Situation.ROUGH),
    (Situation.ROUGH, Situation.THICK),
    (Situation.FAIRWAY, Situation.ROUGH, Situation.THICK),
    (Situation.TREES, Situation.BLOCKED),
)
_OF_LIE = {
    Lie.FAIRWAY: Situation.FAIRWAY,
    Lie.TIGHT: Situation.FAIRWAY,
    Lie.TEE: Situation.FAIRWAY,
    Lie.ROUGH: Situation.ROUGH,
    Lie.THICK: Situation.THICK,
    Lie.SAND: Situation.SAND,
    Lie.TREES: Situation.TREES,
}
_PUTTS = len(_PLACES) * len(_YARDS)
_WATER = _PUTTS + len(_FEET)
CELLS = _WATER + len(_COSTLY)
"""How many situations are told apart: lies by distance, putts by distance, and the lies that cost strokes."""


@dataclass(frozen=True)
class Area:
    """Situations a rule can be for: some lies, from one distance to another."""

    situations: tuple[Situation, ...]
    at_least: float
    below: float | None
    cells: tuple[int, ...]


def cell_of_nodes(compiler: HoleCompiler) -> Ints:
    """Cell of every node; the tee's counts for nothing."""
    places = compiler.places
    kinds = {CODE[lie]: _PLACES.index(situation) for lie, situation in _OF_LIE.items()}
    kind = np.array([kinds.get(code, 0) for code in range(len(CODE))])[places.lie]
    blocked = compiler.hemmed & (places.lie != CODE[Lie.TREES])
    kind = np.where(blocked, _PLACES.index(Situation.BLOCKED), kind)
    to_pin = compiler.ground.from_pin(places.x, places.y)
    band = np.searchsorted(_YARDS, to_pin, side="right") - 1
    return np.asarray(kind * len(_YARDS) + band, dtype=np.int64)


def cell_of_putts() -> Ints:
    """Cell of every putting distance."""
    return np.asarray(_PUTTS + np.searchsorted(_FEET, putt_distances(), side="right") - 1, dtype=np.int64)


def cell_of_water(lie: NDArray[np.uint8]) -> Ints:
    """Cell of places where a ball cost strokes, by the lie that did."""
    code = {CODE[Lie.RED]: 0, CODE[Lie.YELLOW]: 1, CODE[Lie.OUT]: 2}
    return np.array([_WATER + code[int(c)] for c in lie], dtype=np.int64)


def areas() -> tuple[Area, ...]:
    """Everything a rule can be for."""
    found = []
    for group in _GROUPS:
        for low, high in combinations(range(len(_YARDS) + 1), 2):
            found.append(_area(group, low, high))
    for low, high in combinations(range(len(_FEET) + 1), 2):
        to = float(_FEET[high]) if high < len(_FEET) else None
        cells = tuple(range(_PUTTS + low, _PUTTS + high))
        found.append(Area((Situation.GREEN,), float(_FEET[low]), to, cells))
    found.extend(Area((s,), 0.0, None, (_WATER + i,)) for i, s in enumerate(_COSTLY))
    return tuple(found)


def _area(group: tuple[Situation, ...], low: int, high: int) -> Area:
    cells = tuple(_PLACES.index(s) * len(_YARDS) + band for s in group for band in range(low, high))
    to = float(_YARDS[high]) if high < len(_YARDS) else None
    return Area(group, float(_YARDS[low]), to, cells)


def area_of_rule(rule: CarryRule) -> int:
    """Number of the area a rule is for.

    Raises
    ------
    InputError
        If cards do not tell such situations apart.
    """
    key = (rule.situations, rule.at_least, rule.below)
    for i, area in enumerate(areas()):
        if (area.situations, area.at_least, area.below) == key:
            return i
    edges = _FEET if rule.situations == (Situation.GREEN,) else _YARDS
    found = f"{' and '.join(rule.situations)} from {rule.at_least:g} to {rule.below}"
    raise InputError.one(
        "card", "rule", found, f"distances of {', '.join(f'{e:g}' for e in edges)} or no end"
    )
