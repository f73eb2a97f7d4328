"""Penalty areas, out of bounds and balls that lie badly as decisions.

A ball that costs a stroke leads to a state that remembers where it was played from. There the player chooses
between stroke and distance (Rules 17.1d(1), 18.2) and the relief of the place where the ball crossed the edge:
back on the line (17.1d(2)), lateral from a red area (17.1d(3)), or the fairway's edge under Local Rule E-5.
A ball that lies where playing again may be better does so, too: from there it is played as it lies, or again from
where it came (18.1; 19.2a, 19.3a where it is unplayable). Other relief of an unplayable ball does
not depend on where it came from and is a choice of the place it lies in (`caddiebrain.hole.drops`).
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from caddiebrain.course.relief import (
    CLUB_LENGTH_YD,
    TWO_CLUBS_YD,
    back_on_the_line,
    beside,
    fairway_points,
    onto_edge,
)
from caddiebrain.hole.ground import CODE, PENALTY, Ground
from caddiebrain.hole.places import NO_SPOT, Places
from caddiebrain.terms import Lie

__all__ = ["Drops", "Relief", "Trouble", "TroubleLog", "drops_of", "relief_at"]

_BLOCK = 4.0
"""Crossing points within such a square, yards, are taken together, on the edge nearest to their middle."""
_BACK = np.array([1.0, 5, 10, 15, 20, 25, 30, 40, 50, 60, 80, 100, 130, 160, 200])
"""Distances back on the line that are looked at, yards."""
_REACH = np.array([TWO_CLUBS_YD, CLUB_LENGTH_YD])
"""Circles about the crossing point on which lateral drops are looked for, and points on each."""
_TURNS = 9
_INTO_FAIRWAY = np.array([TWO_CLUBS_YD, CLUB_LENGTH_YD, 0.0])
_NAMES = (
    *(f"back on the line {yards:.0f} yd" for yards in _BACK),
    "lateral relief",
    "fairway edge (E-5)",
    "as it lies",
)
_LATERAL, _EDGE, _LIES = len(_BACK), len(_BACK) + 1, len(_BACK) + 2
_COSTS = np.array([code in (*PENALTY, CODE[Lie.OUT]) for code in range(len(Lie))])
"""Lies that cost a stroke; a ball logged in another one may be played as it lies."""

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class TroubleLog:
    """Collects (origin state, cell, lie) while blocks are worked out, under provisional numbers.

    The cell is where the ball crossed the edge, or where it rests if it may be played as it lies.
    Provisional numbers are negative: -1 is the first entry. ``Trouble.pair_of_entry`` says what each stands for.
    """

    def __init__(self) -> None:
        self._parts: list[tuple[NDArray[np.int64], NDArray[np.int32], NDArray[np.uint8]]] = []
        self._count = 0

    def add(
        self, origin: NDArray[np.int64], cell: NDArray[np.int32], lie: NDArray[np.uint8]
    ) -> NDArray[np.int32]:
        """Log entries and return their provisional numbers."""
        self._parts.append((origin.astype(np.int64), cell, lie))
        first = self._count
        self._count += len(origin)
        return (-1 - np.arange(first, self._count)).astype(np.int32)

    def entries(self) -> tuple[NDArray[np.int64], NDArray[np.int32], NDArray[np.uint8]]:
        """Everything logged: origin states, cells, lie codes."""
        if not self._parts:
            return np.zeros(0, np.int64), np.zeros(0, np.int32), np.zeros(0, np.uint8)
        origin, cell, lie = (np.concatenate(column) for column in zip(*self._parts, strict=True))
        return origin, cell, lie


@dataclass(frozen=True)
class Relief:
    """One way to take relief: a name, the spot the ball is dropped on, its position, and the strokes it costs."""

    name: str
    spot: int
    x: float
    y: float
    strokes: int


@dataclass(frozen=True)
class Drops:
    """Ways to take relief at places, side by side in the order of the places, as arrays (drops,).

    Parameters
    ----------
    place : ndarray of int64
    name : ndarray of int64
        Index into the names of `Relief`.
    spot, strokes : ndarray of int64
    x, y : ndarray
    """

    place: Ints
    name: Ints
    spot: Ints
    x: Floats
    y: Floats
    strokes: Ints

    @classmethod
    def join(cls, parts: "list[Drops]") -> "Drops":
        """Put drops in the order of their places; those of one place stay in the order of the parts."""
        columns = [np.concatenate(c) for c in zip(*(p._columns() for p in parts), strict=True)]
        order = np.argsort(columns[0], kind="stable")
        return cls(*(column[order] for column in columns))

    def take(self, rows: NDArray[np.integer]) -> "Drops":
        """Return some of the drops, in the order given."""
        return Drops(*(column[rows] for column in self._columns()))

    def _columns(self) -> tuple[NDArray[Any], ...]:
        return self.place, self.name, self.spot, self.x, self.y, self.strokes

    def reliefs(self, places: int) -> tuple[tuple[Relief, ...], ...]:
        """Return the drops of each of so many places."""
        found: list[list[Relief]] = [[] for _ in range(places)]
        for place, name, *drop in zip(*(c.tolist() for c in self._columns()), strict=True):
            found[place].append(Relief(_NAMES[name], *drop))
        return tuple(map(tuple, found))


@dataclass(frozen=True)
class Trouble:
    """Trouble states of a hole: pairs (origin, place) and places with their reliefs.

    ``pair_of_entry`` maps log entries to pairs; ``pair_origin`` and ``pair_place`` are (pairs,);
    ``drops`` are the reliefs of all places, none where only stroke and distance is left.
    """

    pair_of_entry: Ints
    pair_origin: Ints
    pair_place: Ints
    place_x: Floats
    place_y: Floats
    place_lie: NDArray[np.uint8]
    drops: Drops

    @classmethod
    def gather(cls, log: TroubleLog, ground: Ground, places: Places) -> "Trouble":
        """Take crossing points, and balls on one spot, together and find the relief of each place."""
        origin, cell, lie = log.entries()
        frame = ground.frame
        row, column = np.divmod(cell.astype(np.int64), frame.columns)
        side = max(1, round(_BLOCK / frame.cell))
        near = np.where(_COSTS[lie], row // side * frame.columns + column // side, places.spot_of_cell[cell])
        most = frame.size + len(places.spot_x)
        unique, place = _distinct(lie.astype(np.int64) * most + near)
        count = np.maximum(np.bincount(place, minlength=len(unique)), 1)
        x = frame.x_min + (np.bincount(place, column + 0.5, len(unique)) / count) * frame.cell
        y = frame.y_min + (np.bincount(place, row + 0.5, len(unique)) / count) * frame.cell
        code, spot = np.divmod(unique, most)
        kind = code.astype(np.uint8)
        _to_the_edge(ground, x, y, kind)
        drops = [*_reliefs(ground, places, x, y, kind), _as_it_lies(code, spot, x, y)]
        pairs, pair = _distinct(origin * (len(unique) + 1) + place)
        return cls(
            pair,
            pairs // (len(unique) + 1),
            pairs % (len(unique) + 1),
            x,
            y,
            kind,
            Drops.join(drops),
        )

    @cached_property
    def relieved(self) -> Ints:
        """Places that give relief."""
        return np.unique(self.drops.place)

    @cached_property
    def reliefs(self) -> tuple[tuple[Relief, ...], ...]:
        """Ways to take relief, one tuple for each place."""
        return self.drops.reliefs(len(self.place_lie))


def relief_at(ground: Ground, places: Places, x: float, y: float, lie: int) -> tuple[Relief, ...]:
    """Ways to take relief for a ball that crossed the edge at (x, y), stroke and distance aside."""
    drops = drops_of(ground, places, np.array([x]), np.array([y]), np.array([lie], dtype=np.uint8))
    return drops.reliefs(1)[0]


def drops_of(ground: Ground, places: Places, x: Floats, y: Floats, lie: NDArray[np.uint8]) -> Drops:
    """Ways to take relief for each of some places (n,) where a ball crossed an edge; see `relief_at`."""
    return Drops.join(_reliefs(ground, places, x, y, lie))


def _reliefs(ground: Ground, places: Places, x: Floats, y: Floats, lie: NDArray[np.uint8]) -> list[Drops]:
    """Ways to take relief, Rule by Rule."""
    out, red = lie == CODE[Lie.OUT], lie == CODE[Lie.RED]
    parts = [
        _lateral(ground, places, x, y, np.flatnonzero(red)),
        _back_on_the_line(ground, places, x, y, np.flatnonzero(np.isin(lie, PENALTY))),
    ]
    if ground.hole.local_rule_e5 and out.any():
        parts.append(_fairway_edge(ground, places, x, y, np.flatnonzero(out)))
    return parts


def _to_the_edge(ground: Ground, x: Floats, y: Floats, lie: NDArray[np.uint8]) -> None:
    """Move places where balls crossed an edge onto it, in place.

    A ball lost under Local Rule E-5 has its place where it is likely to lie; only near the edge is that moved.
    """
    for codes, area in ((PENALTY, "penalty"), ((CODE[Lie.OUT],), "out")):
        at = np.flatnonzero(np.isin(lie, codes))
        if at.size:
            place = np.stack([x[at], y[at]], axis=1)
            shape = getattr(ground.edges, area)
            if shape.is_empty:  # lost, and nothing out of bounds on the map
                continue
            moved = onto_edge(place, shapely.boundary(shape))
            near = np.hypot(*(moved - place).T) <= _BLOCK
            x[at[near]], y[at[near]] = moved[near].T


def _distinct(key: Ints) -> tuple[Ints, Ints]:
    """Distinct keys in order, and which of them each key is: `numpy.unique` for keys too many to sort."""
    if not len(key):
        return key, key
    low = int(key.min())
    place = key - low
    met = np.zeros(int(place.max()) + 1, dtype=bool)
    met[place] = True
    found = np.flatnonzero(met)
    number = np.empty(len(met), dtype=np.int32)  # only those that are met are filled
    number[found] = np.arange(len(found))
    return found + low, number.take(place).astype(np.int64)


def _allowed(
    ground: Ground, places: Places, x: Floats, y: Floats
) -> tuple[NDArray[np.int32], NDArray[np.bool_]]:
    """Spot under each position and whether a ball may be dropped and played there."""
    spot = places.spot_of_cell[ground.frame.index(x, y)]
    good = ground.frame.holds(x, y) & (spot != NO_SPOT)
    good[good] = ground.edges.may_drop(x[good], y[good])
    return spot, good


def _drops(
    at: Ints, name: Ints | int, spot: NDArray[np.integer], x: Floats, y: Floats, strokes: int
) -> Drops:
    """Drops of places ``at`` (drops,) that cost alike."""
    names = np.broadcast_to(np.asarray(name, dtype=np.int64), at.shape)
    return Drops(at, names, spot.astype(np.int64), x, y, np.full(len(at), strokes))


def _as_it_lies(lie: Ints, spot: Ints, x: Floats, y: Floats) -> Drops:
    """No relief: a ball on a spot of each of the places where it costs no stroke."""
    at = np.flatnonzero(~_COSTS[lie])
    return _drops(at, _LIES, spot[at], x[at], y[at], 0)


def _back_on_the_line(ground: Ground, places: Places, x: Floats, y: Floats, at: Ints) -> Drops:
    """Drops on the line from the hole through some of the places, at so many distances."""
    at_x, at_y = _points(x[at], y[at], back_on_the_line(x[at], y[at], ground.hole.pin, _BACK))
    spot, good = _allowed(ground, places, at_x, at_y)
    place, step = np.nonzero(good)
    return _drops(at[place], step, spot[good], at_x[good], at_y[good], 1)


def _points(x: Floats, y: Floats, ways: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
    """Points (n, k) at headings and distances from reference points (n,)."""
    heading, distance = ways
    return x[:, None] + distance * np.sin(heading), y[:, None] + distance * np.cos(heading)


def _lateral(ground: Ground, places: Places, x: Floats, y: Floats, at: Ints) -> Drops:
    """Drops within two club-lengths of some of the places, not nearer the hole.

    Of the points of `caddiebrain.course.relief.beside` on circles of one and two club-lengths, for each lie and each
    side of the line from the hole the one nearest to it, of these the farthest from where the ball crossed.
    """
    at_x, at_y = _points(x[at], y[at], beside(x[at], y[at], ground.hole.pin, _TURNS, _REACH))
    spot, good = _allowed(ground, places, at_x, at_y)
    place, point = np.nonzero(good)
    at_x, at_y, spot = at_x[good], at_y[good], spot[good]
    far = np.rint(ground.from_pin(at_x, at_y) * 1e6)
    circle, turn = np.divmod(point, _TURNS)
    kind = (place * 2 + (turn > _TURNS // 2)) * len(Lie) + places.spot_lie[spot]
    order = np.lexsort([circle, far, kind])
    best = order[np.diff(kind[order], prepend=-1) != 0]
    return _drops(at[place[best]], _LATERAL, spot[best], at_x[best], at_y[best], 1)


def _fairway_edge(ground: Ground, places: Places, x: Floats, y: Floats, at: Ints) -> Drops:
    """Local Rule E-5: two strokes, two club-lengths into the fairway from its reference point.

    Where no ball may be dropped there, one club-length into it or none.
    """
    px, py = ground.hole.pin
    edge, there = fairway_points(x[at], y[at], (px, py), ground.edges.fairway)
    at, edge = at[there], edge[there]
    away = np.arctan2(edge[:, 0] - px, edge[:, 1] - py)
    # At right angles to the line from the hole, to the side that is farther from the ball.
    right = np.cos(away) * (edge[:, 0] - x[at]) - np.sin(away) * (edge[:, 1] - y[at]) >= 0.0
    heading = away + np.where(right, 0.5 * np.pi, -0.5 * np.pi)
    at_x, at_y = _points(edge[:, 0], edge[:, 1], (heading[:, None], _INTO_FAIRWAY))
    spot, good = _allowed(ground, places, at_x, at_y)
    good &= places.spot_lie[spot] != CODE[Lie.SAND]
    row = np.flatnonzero(good.any(axis=1))
    best = row, good[row].argmax(axis=1)
    return _drops(at[row], _EDGE, spot[best], at_x[best], at_y[best], 2)
