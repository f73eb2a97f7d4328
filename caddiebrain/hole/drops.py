"""Ball unplayable (Rule 19) as a choice: drops for penalty strokes, each where the Rule puts it."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from caddiebrain.course.relief import back_on_the_line, beside
from caddiebrain.hole.choices import ChoiceTable, Kind
from caddiebrain.hole.ground import CODE, Ground
from caddiebrain.hole.places import NO_SPOT, Places
from caddiebrain.terms import Lie

__all__ = [
    "WAYS",
    "Way",
    "best_drops",
    "dropped_at",
    "drops_from",
    "penalty_strokes",
    "seldom_drops",
    "spots_of",
    "unplayable_drops",
]

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
    ground: Ground, places: Places, node: Ints, x: Floats, y: Floats, lie: NDArray[np.uint8]
) -> ChoiceTable:
    """Drops that get a ball out of what it lies in, from positions (n,), stroke and distance aside.

    Out of trees and thick grass beside the ball, and back on the line from the hole (Rule 19.2b, c), where it comes to
    a better kind of lie. Out of a bunker back on the line for two strokes (Rule 19.3b).
    """
    grass = np.flatnonzero((lie == CODE[Lie.TREES]) | (lie == CODE[Lie.THICK]))
    sand = np.flatnonzero(lie == CODE[Lie.SAND])
    tables = [ChoiceTable.of(np.zeros(0, dtype=np.int64), Kind.DROP, 0)]
    for at, way in ((grass, _BESIDE_19_2C), (grass, _BACK_19_2B), (sand, _OUT_OF_SAND_19_3B)):
        if at.size:
            tables.append(_better(ground, places, (node[at], x[at], y[at], lie[at]), way))
    return ChoiceTable.join(tables)


def seldom_drops(
    ground: Ground,
    places: Places,
    node: Ints,
    x: Floats,
    y: Floats,
    lie: NDArray[np.uint8],
    hemmed: NDArray[np.bool_],
) -> ChoiceTable:
    """Drops from positions (n,) onto the lie they have: seldom worth a stroke.

    In a bunker both ways (Rule 19.3a with 19.2b, c). From short grass and rough, where ``hemmed`` in by trees, both
    ways onto any lie but sand (Rule 19.2b, c).
    """
    at, sand = np.flatnonzero(hemmed & np.isin(lie, _OPEN)), np.flatnonzero(lie == CODE[Lie.SAND])
    tables = [ChoiceTable.of(np.zeros(0, dtype=np.int64), Kind.DROP, 0)]
    if at.size:
        ball = node[at], x[at], y[at], np.full(len(at), _NO_LIE)
        tables += [_better(ground, places, ball, way) for way in (_BESIDE_19_2C, _BACK_19_2B)]
    if sand.size:
        for way in (_BESIDE_19_3A, _BACK_19_3A):
            tables.append(_in_the_bunker(ground, places, node[sand], x[sand], y[sand], way))
    return ChoiceTable.join(tables)


def drops_from(
    ground: Ground,
    places: Places,
    node: Ints,
    x: Floats,
    y: Floats,
    lie: NDArray[np.uint8],
    hemmed: NDArray[np.bool_],
) -> ChoiceTable:
    """All drops from positions (n,), whatever they are worth; ``hemmed`` in by trees is as in `seldom_drops`."""
    at = ground, places, node, x, y, lie
    return ChoiceTable.join([unplayable_drops(*at), seldom_drops(*at, hemmed)])


def _better(
    ground: Ground, places: Places, ball: tuple[Ints, Floats, Floats, NDArray[np.uint8]], way: int
) -> ChoiceTable:
    """Drops one way onto another lie than the ball's, and not into sand."""
    node, x, y, lie = ball
    heading, distance, spot = _offered(ground, places, x, y, way)
    there = places.spot_lie[spot]
    row, point = np.nonzero((spot != NO_SPOT) & (there != lie[:, None]) & (there != CODE[Lie.SAND]))
    return ChoiceTable.of(node[row], Kind.DROP, way, heading[row, point], distance[row, point])


def _in_the_bunker(ground: Ground, places: Places, node: Ints, x: Floats, y: Floats, way: int) -> ChoiceTable:
    """Drops of balls one way in the bunker that each lies in."""
    heading, distance, spot = _offered(ground, places, x, y, way)
    row, point = np.nonzero(spot != NO_SPOT)
    return ChoiceTable.of(node[row], Kind.DROP, way, heading[row, point], distance[row, point])


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
    if WAYS[way].rule == "19.3a":
        good &= (places.spot_lie[spot] == CODE[Lie.SAND]) & _same_bunker(ground, (x, y), (at_x, at_y))
    return *ways, np.where(good, spot, NO_SPOT)


def _same_bunker(
    ground: Ground, ball: tuple[Floats, Floats], there: tuple[Floats, Floats]
) -> NDArray[np.bool_]:
    """Whether places (n, k) are in the bunker that each of the balls (n,) lies in."""
    bunkers = ground.edges.bunkers
    if not len(bunkers) or not len(ball[0]):
        return np.zeros(there[0].shape, dtype=bool)
    own = bunkers[shapely.STRtree(bunkers).nearest(shapely.points(*ball))]
    same: NDArray[np.bool_] = shapely.contains_xy(own[:, None], *there)
    return same


def best_drops(
    ground: Ground,
    places: Places,
    balls: tuple[Floats, Floats, NDArray[np.uint8], NDArray[np.bool_]],
    worth: Callable[[Ints, Ints, Ints], Floats],
) -> ChoiceTable:
    """Choose the best lawful drop of each ball, of all there are from where it lies.

    Parameters
    ----------
    balls : tuple of ndarray (n,)
        x, y, lie, and whether trees hem the ball in.
    worth : callable
        Worth, larger is better, of drops (drops,): which ball, on which spot, for how many strokes.

    Returns
    -------
    ChoiceTable
        At most one for each ball; ``node`` counts the balls.
    """
    x, y, lie, hemmed = balls
    every = drops_from(ground, places, np.arange(len(x)), x, y, lie, hemmed)
    spot = spots_of(ground, places, x[every.node], y[every.node], every)
    value = worth(every.node, spot, penalty_strokes(every))
    order = np.lexsort([-value, every.node])
    return every.take(order[np.diff(every.node[order], prepend=-1) != 0])
