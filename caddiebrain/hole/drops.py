"""Ball unplayable (Rule 19) as a choice: drops for penalty strokes, each where the Rule puts it."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from caddiebrain.course.relief import back_on_the_line, beside
from caddiebrain.hole.choices import ChoiceTable, Kind
from caddiebrain.hole.ground import CODE, Ground
from caddiebrain.hole.places import NO_SPOT, Places
from caddiebrain.terms import Lie

__all__ = ["WAYS", "Way", "dropped_at", "drops_again", "penalty_strokes", "spots_of", "unplayable_drops"]

_FAR = np.array([8.0, 16, 24, 32, 48, 64, 90])
_BACKS = {"19.2b": _FAR, "19.3b": _FAR, "19.3a": np.array([1.0, 3, 6, 9, 12, 16, 20, 30])}
"""Distances back on the line that are looked at, yards."""
_TURNS = 5


@dataclass(frozen=True)
class Way:
    """A way to drop a ball that is unplayable; ``beside`` it, or back on the line from the hole."""

    rule: str
    strokes: int
    beside: bool


WAYS = (
    Way("19.2b", 1, False),
    Way("19.2c", 1, True),
    Way("19.3b", 2, False),
    Way("19.3a", 1, False),
    Way("19.3a", 1, True),
)
"""What ``index`` of a drop counts."""
_STROKES = np.array([way.strokes for way in WAYS])
_OPEN = (CODE[Lie.FAIRWAY], CODE[Lie.TIGHT], CODE[Lie.ROUGH])
_NO_LIE = np.uint8(len(Lie))
"""Another than every lie."""
_BACK_19_2B, _BESIDE_19_2C, _OUT_OF_SAND_19_3B, _BACK_19_3A, _BESIDE_19_3A = range(len(WAYS))

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def penalty_strokes(table: ChoiceTable) -> Ints:
    """Penalty strokes of drops (choices,)."""
    strokes: Ints = _STROKES[table.index]
    return strokes


def spots_of(ground: Ground, places: Places, x: Floats, y: Floats, table: ChoiceTable) -> Ints:
    """Spots under drops (choices,) of balls at (x, y), each (choices,); ``NO_SPOT`` where none can be played."""
    cell = ground.frame.index(*dropped_at(x, y, table.heading, table.distance))
    return places.spot_of_cell[cell].astype(np.int64)


def dropped_at(x: Floats, y: Floats, heading: Floats, distance: Floats) -> tuple[Floats, Floats]:
    """Where balls at (x, y) are dropped, to a millionth of a yard: worked out twice it is in the same cell."""
    at_x, at_y = x + distance * np.sin(heading), y + distance * np.cos(heading)
    return np.round(at_x, 6), np.round(at_y, 6)


def unplayable_drops(
    ground: Ground,
    places: Places,
    node: Ints,
    x: Floats,
    y: Floats,
    lie: NDArray[np.uint8],
    every: bool = False,
) -> ChoiceTable:
    """Drops open to a ball at each position, other than stroke and distance.

    Beside the ball, and back on the line from the hole (Rule 19.2b, c), where it comes to a better kind of lie. Out of
    a bunker back on the line for two strokes (Rule 19.3b).

    With ``every`` also both ways in the bunker (Rule 19.3a), and both from short grass and rough onto any lie but sand.
    """
    grass = np.flatnonzero((lie == CODE[Lie.TREES]) | (lie == CODE[Lie.THICK]))
    sand = np.flatnonzero(lie == CODE[Lie.SAND])
    tables = [ChoiceTable.of(np.zeros(0, dtype=np.int64), Kind.DROP, 0)]
    for at, way in ((grass, _BESIDE_19_2C), (grass, _BACK_19_2B), (sand, _OUT_OF_SAND_19_3B)):
        if at.size:
            tables.append(_better(ground, places, (node[at], x[at], y[at], lie[at]), way))
    if every:
        at = np.flatnonzero(np.isin(lie, _OPEN))
        for way in (_BESIDE_19_2C, _BACK_19_2B):
            tables.append(_better(ground, places, (node[at], x[at], y[at], np.full(len(at), _NO_LIE)), way))
        tables.extend(_in_the_bunker(ground, places, node[i], x[i], y[i]) for i in sand[:, None])
    return ChoiceTable.join(tables)


def _better(
    ground: Ground, places: Places, ball: tuple[Ints, Floats, Floats, NDArray[np.uint8]], way: int
) -> ChoiceTable:
    """Drops one way onto another lie than the ball's, and not into sand."""
    node, x, y, lie = ball
    heading, distance, spot = _offered(ground, places, x, y, way)
    there = places.spot_lie[spot]
    row, point = np.nonzero((spot != NO_SPOT) & (there != lie[:, None]) & (there != CODE[Lie.SAND]))
    return ChoiceTable.of(node[row], Kind.DROP, way, heading[row, point], distance[row, point])


def _in_the_bunker(ground: Ground, places: Places, node: Ints, x: Floats, y: Floats) -> ChoiceTable:
    """Drops of one ball, (1,), in the bunker it lies in."""
    bunkers = ground.edges.bunkers
    if not len(bunkers):
        return ChoiceTable.of(node[:0], Kind.DROP, 0)
    bunker = bunkers[int(np.argmin(shapely.distance(bunkers, shapely.Point(x[0], y[0]))))]
    tables = []
    for way in (_BESIDE_19_3A, _BACK_19_3A):
        heading, distance, spot = (column[0] for column in _offered(ground, places, x, y, way))
        inside = shapely.contains_xy(bunker, *dropped_at(x, y, heading, distance))
        good = inside & (spot != NO_SPOT) & (places.spot_lie[spot] == CODE[Lie.SAND])
        at = np.repeat(node, np.count_nonzero(good))
        tables.append(ChoiceTable.of(at, Kind.DROP, way, heading[good], distance[good]))
    return ChoiceTable.join(tables)


def _offered(ground: Ground, places: Places, x: Floats, y: Floats, way: int) -> tuple[Floats, Floats, Ints]:
    """Headings, distances and spots (n, k) of all drops one way; ``NO_SPOT`` where none may be made."""
    pin = ground.hole.pin
    ways = (
        beside(x, y, pin, _TURNS) if WAYS[way].beside else back_on_the_line(x, y, pin, _BACKS[WAYS[way].rule])
    )
    at_x, at_y = dropped_at(x[:, None], y[:, None], *ways)
    spot = places.spot_of_cell[ground.frame.index(at_x, at_y)].astype(np.int64)
    good = (spot != NO_SPOT) & ground.frame.holds(at_x, at_y)
    good[good] = ground.edges.may_drop(at_x[good], at_y[good])
    return *ways, np.where(good, spot, NO_SPOT)


def drops_again(
    ground: Ground, places: Places, x: Floats, y: Floats, table: ChoiceTable, wanted: tuple[Floats, Floats]
) -> tuple[Floats, Floats]:
    """Take drops (choices,) that were chosen for other positions nearby from where balls lie.

    Parameters
    ----------
    x, y : ndarray (choices,)
        Where the balls lie.
    table : ChoiceTable
    wanted : tuple of ndarray (choices,)
        Where the drops were to be made.

    Returns
    -------
    tuple of ndarray (choices,)
        Heading and distance of the lawful drop the same way that is nearest to where it was to be made; a ball that has
        none is dropped where it lies.
    """
    heading, distance = np.zeros(len(x)), np.zeros(len(x))
    for way in np.unique(table.index).tolist():
        at = np.flatnonzero(table.index == way)
        turn, far, spot = _offered(ground, places, x[at], y[at], way)
        there = dropped_at(x[at, None], y[at, None], turn, far)
        off = np.hypot(there[0] - wanted[0][at, None], there[1] - wanted[1][at, None])
        off[spot == NO_SPOT] = np.inf
        best = off.argmin(axis=1)
        rows = np.arange(len(at))
        lawful = np.isfinite(off[rows, best])
        heading[at], distance[at] = turn[rows, best], np.where(lawful, far[rows, best], 0.0)
    return heading, distance
