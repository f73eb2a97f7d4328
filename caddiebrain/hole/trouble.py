"""Penalty areas and out of bounds as decisions.

A ball that costs a stroke leads to a state that remembers where it was played from. There the player chooses
between stroke and distance (Rules 17.1d(1), 18.2) and the relief of the place where the ball crossed the edge:
back on the line (17.1d(2)), lateral from a red area (17.1d(3)), or the fairway's edge under Local Rule E-5.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.ground import CODE, SPECIAL, Ground
from caddiebrain.hole.places import NO_SPOT, Places
from caddiebrain.terms import Lie

__all__ = ["Relief", "Trouble", "TroubleLog", "back_on_the_line", "lateral", "relief_at", "reliefs_of"]

_BLOCK = 4.0
"""Crossing points within such a square, yards, are taken together."""
_TWO_CLUBS = 2.5
"""Two club-lengths with a 45-inch driver, yards."""
_BACK = np.array([1.0, 5, 10, 15, 20, 25, 30, 40, 50, 60, 80, 100, 130])
_BACK_NAMES = [f"back on the line {yards:.0f} yd" for yards in _BACK]
_TURNS = 16


class TroubleLog:
    """Collects (origin state, crossing cell, lie) while blocks are worked out, under provisional numbers.

    Provisional numbers are negative: -1 is the first entry. ``Trouble.resolve`` replaces them.
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
class Trouble:
    """Trouble states of a hole: pairs (origin, place) and places with their reliefs.

    ``pair_of_entry`` maps log entries to pairs; ``pair_origin`` and ``pair_place`` are (pairs,);
    ``reliefs`` has one tuple per place (empty where only stroke and distance is left).
    """

    pair_of_entry: NDArray[np.int64]
    pair_origin: NDArray[np.int64]
    pair_place: NDArray[np.int64]
    place_x: NDArray[np.float64]
    place_y: NDArray[np.float64]
    place_lie: NDArray[np.uint8]
    reliefs: tuple[tuple[Relief, ...], ...]

    @classmethod
    def gather(cls, log: TroubleLog, ground: Ground, places: Places) -> "Trouble":
        """Take crossing points together and find the relief of each place."""
        origin, cell, lie = log.entries()
        frame = ground.frame
        row, column = np.divmod(cell.astype(np.int64), frame.columns)
        side = max(1, round(_BLOCK / frame.cell))
        key = (lie.astype(np.int64) * 8192 + row // side) * 8192 + column // side
        unique, place = np.unique(key, return_inverse=True)
        count = np.maximum(np.bincount(place, minlength=len(unique)), 1)
        x = frame.x_min + (np.bincount(place, column + 0.5, len(unique)) / count) * frame.cell
        y = frame.y_min + (np.bincount(place, row + 0.5, len(unique)) / count) * frame.cell
        kind = (unique // (8192 * 8192)).astype(np.uint8)
        pairs, pair = np.unique(origin * (len(unique) + 1) + place, return_inverse=True)
        return cls(
            pair,
            pairs // (len(unique) + 1),
            pairs % (len(unique) + 1),
            x,
            y,
            kind,
            reliefs_of(ground, places, x, y, kind),
        )


def relief_at(ground: Ground, places: Places, x: float, y: float, lie: int) -> tuple[Relief, ...]:
    """Ways to take relief for a ball that crossed the edge at (x, y), stroke and distance aside."""
    return reliefs_of(ground, places, np.array([x]), np.array([y]), np.array([lie], dtype=np.uint8))[0]


def reliefs_of(
    ground: Ground,
    places: Places,
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    lie: NDArray[np.uint8],
) -> tuple[tuple[Relief, ...], ...]:
    """Ways to take relief for each of some places (n,) where a ball crossed an edge; see `relief_at`."""
    behind = back_on_the_line(ground, places, x, y, 1)
    found = []
    for i, code in enumerate(lie):
        at = float(x[i]), float(y[i])
        if code == CODE[Lie.OUT]:
            found.append(_fairway_edge(ground, places, *at) if ground.hole.local_rule_e5 else ())
        elif code == CODE[Lie.RED]:
            found.append(lateral(ground, places, *at, 1) + behind[i])
        else:
            found.append(behind[i])
    return tuple(found)


def _drops(
    ground: Ground, places: Places, x: NDArray[np.float64], y: NDArray[np.float64]
) -> tuple[NDArray[np.int32], NDArray[np.bool_]]:
    """Spot under each position and whether a ball may be dropped and played there."""
    spot = places.spot_of_cell[ground.frame.index(x, y)]
    return spot, ground.frame.holds(x, y) & (spot != NO_SPOT)


def back_on_the_line(
    ground: Ground, places: Places, x: NDArray[np.float64], y: NDArray[np.float64], strokes: int
) -> list[tuple[Relief, ...]]:
    """Drops on the line from the hole through each place (n,), as far back as one likes."""
    px, py = ground.hole.pin
    length = np.maximum(np.hypot(x - px, y - py), 1e-6)
    at_x = x[:, None] + ((x - px) / length)[:, None] * _BACK
    at_y = y[:, None] + ((y - py) / length)[:, None] * _BACK
    spot, good = _drops(ground, places, at_x, at_y)
    found: list[list[Relief]] = [[] for _ in x]
    place, step = np.nonzero(good)
    drops = zip(
        place.tolist(),
        step.tolist(),
        spot[good].tolist(),
        at_x[good].tolist(),
        at_y[good].tolist(),
        strict=True,
    )
    for i, k, number, to_x, to_y in drops:
        found[i].append(Relief(_BACK_NAMES[k], number, to_x, to_y, strokes))
    return [tuple(reliefs) for reliefs in found]


def lateral(ground: Ground, places: Places, x: float, y: float, strokes: int) -> tuple[Relief, ...]:
    """Drops within two club-lengths of (x, y), not nearer the hole: the best of each lie there is."""
    turn = np.arange(_TURNS) * (2 * np.pi / _TURNS)
    reach = np.array([_TWO_CLUBS, 0.5 * _TWO_CLUBS])
    at_x = (x + reach[:, None] * np.sin(turn)).ravel()
    at_y = (y + reach[:, None] * np.cos(turn)).ravel()
    spot, good = _drops(ground, places, at_x, at_y)
    to_pin = ground.from_pin(at_x, at_y)
    good &= to_pin >= float(ground.from_pin(np.array([x]), np.array([y]))[0]) - 1e-6
    lie = ground.lie_at(at_x, at_y)
    found = []
    for code in np.unique(lie[good]):
        at = np.flatnonzero(good & (lie == code))
        best = at[np.argmin(to_pin[at])]
        found.append(Relief("lateral relief", int(spot[best]), float(at_x[best]), float(at_y[best]), strokes))
    return tuple(found)


def _fairway_edge(ground: Ground, places: Places, x: float, y: float) -> tuple[Relief, ...]:
    """Local Rule E-5: two strokes, at the edge of the fairway level with the spot, not nearer the hole."""
    cx, cy = ground.frame.centres()
    allowed = (ground.lie == CODE[Lie.FAIRWAY]) & (
        ground.from_pin(cx, cy) >= np.hypot(*(np.array(ground.hole.pin) - (x, y)))
    )
    cells = np.flatnonzero(allowed & ~np.isin(ground.lie, SPECIAL))
    if cells.size == 0:
        return ()
    nearest = cells[np.argmin(np.hypot(cx[cells] - x, cy[cells] - y))]
    spot = int(places.spot_of_cell[nearest])
    return (Relief("fairway edge (E-5)", spot, float(cx[nearest]), float(cy[nearest]), 2),)
