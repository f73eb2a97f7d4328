"""Choices as a golfer sees them: a club, an aim, what it costs and where it ends."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole import ChoiceTable, HoleCompiler, Kind
from caddiebrain.hole.drops import WAYS
from caddiebrain.hole.ground import CODE, LIES, Ground
from caddiebrain.hole.swings import FullSwing
from caddiebrain.round.record import ChoiceRecord
from caddiebrain.terms import Lie

__all__ = [
    "Aim",
    "Option",
    "aim_point",
    "aim_points",
    "carried",
    "describe",
    "kinds_of",
    "label_of",
]

_SHORT_OF_GREEN = 15.0
"""A shot that would end within so many yards of the pin, or past it, is aimed against the pin."""
_ACROSS = np.arange(-60.0, 60.5, 0.5)
"""Where a fairway is looked for, yards to the right of the line of play."""
_NEAR = np.flatnonzero(np.abs(_ACROSS) <= 25.0)
"""Where it must begin, to be the one whose centre is meant."""
_FAR = np.flatnonzero(np.abs(_ACROSS) > 25.0)
"""Where it may go on; looked at last, for most end before."""
_MOWN = np.isin(np.arange(len(LIES)), [CODE[Lie.FAIRWAY], CODE[Lie.GREEN]])
_AT_ONCE = 128
"""Aims whose fairway is looked for together, so that the ground looked at stays near at hand."""


@dataclass(frozen=True)
class Aim:
    """Where a shot is aimed.

    Parameters
    ----------
    heading_deg : float
        Degrees clockwise from the straight line tee to pin.
    xy : tuple of float
        The point aimed at, yards in the hole's axes: where the shot would stop if it went straight.
    distance_yd : float
        From the ball to that point.
    offset_yd : float
        How far that point lies to the right of ``reference`` (left negative).
    reference : str
        ``"centre"`` (of the fairway), ``"line"`` (of play) or ``"pin"``.
    """

    heading_deg: float
    xy: tuple[float, float]
    distance_yd: float
    offset_yd: float
    reference: str

    @property
    def words(self) -> str:
        """Say the aim: "10 yards left of centre, at 228"."""
        name = {"centre": "centre", "line": "the line of play", "pin": "the pin"}[self.reference]
        yards = round(abs(self.offset_yd))
        if self.reference == "pin":
            if yards == 0:
                return "at the pin"
            return f"{yards} yard{'s' * (yards != 1)} {'right' if self.offset_yd > 0 else 'left'} of the pin"
        at = f", at {self.distance_yd:.0f}"
        if yards == 0:
            return ("down the centre" if self.reference == "centre" else "along the line of play") + at
        return f"{yards} yard{'s' * (yards != 1)} {'right' if self.offset_yd > 0 else 'left'} of {name}{at}"


@dataclass(frozen=True)
class Option:
    """One choice from one place with one number of strokes in hand.

    Parameters
    ----------
    label : str
        "driver", "4-hybrid draw", "pitch to 40 yards", "drop, unplayable, 24 yards back (one penalty stroke)".
    club, shape, height : str
        Empty for short shots and drops where they say nothing.
    aim : Aim
    carry_yd : float
        Mean carry of a solid shot from this lie on this line today, wind included; where a short shot or a punch
        is landed, not where it stops; 0 for drops.
    expected : float
        Strokes to hole out from here, this one included.
    chance : float
        Chance of the round within the target after this choice.
    shares : mapping of str to float
        Chance of each kind of result: lies, "holed", "stroke and distance"; sums to 1.
    shots : float
        Weight of the shots on record behind a full shot; 0 for derived ones.
    """

    label: str
    club: str
    shape: str
    height: str
    aim: Aim
    carry_yd: float
    expected: float
    chance: float
    shares: Mapping[str, float]
    shots: float = 0.0

    @property
    def aim_words(self) -> str:
        """The aim in words."""
        return self.aim.words

    @property
    def aim_deg(self) -> float:
        """Aimed line, degrees clockwise from the straight line tee to pin."""
        return self.aim.heading_deg

    @property
    def aim_xy(self) -> tuple[float, float]:
        """Point aimed at, yards in the hole's axes."""
        return self.aim.xy

    def record(self) -> ChoiceRecord:
        """Return the choice as a record other programs can read."""
        return ChoiceRecord(
            label=self.label,
            club=self.club,
            shape=self.shape,
            height=self.height,
            aim_words=self.aim_words,
            aim_deg=self.aim_deg,
            aim_xy=self.aim_xy,
            carry_yd=self.carry_yd,
            expected=self.expected,
            chance=self.chance,
            shares=dict(self.shares),
            shots_on_record=self.shots,
        )


def label_of(
    compiler: HoleCompiler,
    kind: Kind,
    index: int,
    distance: float,
    where: bool = False,
) -> str:
    """Name a choice; a drop also by ``where`` it is made."""
    player = compiler.player
    if kind is Kind.FULL:
        pattern = player.patterns[index]
        shape = "" if pattern.shape == "straight" else f" {pattern.shape}"
        height = "" if pattern.height == "stock" else f"{pattern.height} "
        return f"{height}{pattern.club}{shape}"
    if kind is Kind.DROP:
        way = WAYS[index]
        cost = "one penalty stroke" if way.strokes == 1 else "two penalty strokes"
        place = "within two club-lengths" if way.beside else f"{distance:.0f} yards back"
        place += " in the bunker" * (way.rule == "19.3a")
        return f"drop, unplayable{f', {place}' if where else ''} ({cost})"
    name = "punch" if kind is Kind.PUNCH else player.short_game[index].name
    return f"{name} to {distance:.0f} yard{'' if round(distance) == 1 else 's'}"


def kinds_of(table: ChoiceTable) -> NDArray[np.int64]:
    """Number choices so that those alike but for the aim, or for the place of a drop, have the same number."""
    return np.asarray(table.kind.astype(np.int64) * 4096 + table.index)


def describe(
    compiler: HoleCompiler,
    table: ChoiceTable,
    place: tuple[float, float, Lie],
    expected: NDArray[np.float64] | None = None,
    chance: NDArray[np.float64] | None = None,
    shares: Sequence[Mapping[str, float]] | None = None,
) -> list[Option]:
    """Describe a table of choices, played from ``place`` (x, y, lie); what is not given is 0 or empty."""
    x, y, lie = place
    drop = table.kind == Kind.DROP
    heading, reach = table.heading, table.distance.copy()
    carry = table.distance * _landed(compiler, table)
    swings: dict[int, FullSwing] = {}
    at = np.flatnonzero(table.kind == Kind.FULL)
    if at.size:
        swings = {s.index: s for s in compiler.arsenal.full[CODE[lie]]}
        own = compiler.arsenal.numbers(CODE[lie])
        played = np.searchsorted(own.index, table.index[at])
        wind = compiler.wind_bins(own.swings[0], heading[at])  # every swing has the same bins
        level, per_height = own.carry[played, wind], own.yards_per_height[played, wind]
        carry[at] = carried(compiler.ground, (x, y), heading[at], level, per_height)
        reach[at] = carry[at] + own.roll[played, wind]
    to_pin = float(np.hypot(compiler.hole.pin[0] - x, compiler.hole.pin[1] - y))
    at_pin = ~drop & (reach >= to_pin - _SHORT_OF_GREEN)
    ball = np.full(len(table), x), np.full(len(table), y)
    aims = aim_points(compiler.ground, *ball, heading, reach, at_pin)
    none = np.zeros(len(table))
    strokes, within = (none if c is None else c for c in (expected, chance))
    numbers = zip(*(c.tolist() for c in (carry, strokes, within)), strict=True)
    results = [{}] * len(table) if shares is None else shares
    names = _names(compiler, table, swings)
    return [
        Option(label, club, shape, height, aim, far, mean, best, result, shots)
        for (label, club, shape, height, shots), aim, (far, mean, best), result in zip(
            names, aims, numbers, results, strict=True
        )
    ]


def _landed(compiler: HoleCompiler, table: ChoiceTable) -> NDArray[np.float64]:
    """Share of its distance that each short shot and punch flies; 0 for drops."""
    shares = np.array([shot.carry_share for shot in compiler.player.short_game])
    share = np.zeros(len(table))
    short, punch = table.kind == Kind.SHORT, table.kind == Kind.PUNCH
    share[short] = shares[table.index[short]]
    share[punch] = compiler.arsenal.punch.shot.carry_share
    return share


def carried(
    ground: Ground,
    ball: tuple[NDArray[np.float64] | float, NDArray[np.float64] | float],
    heading: NDArray[np.float64],
    level: NDArray[np.float64],
    per_height: NDArray[np.float64],
) -> NDArray[np.float64]:
    """How far shots carry uphill or down, as they do in the graph (`caddiebrain.hole.travel.fly`).

    Parameters
    ----------
    ball : tuple of ndarray (n,) or float
        Where each is played from, yards.
    heading : ndarray (n,)
        Radians clockwise from the y axis.
    level, per_height : ndarray (n,)
        Carry on level ground, yards, and what it loses for a yard of rise.
    """
    x, y = np.broadcast_arrays(*ball, level)[:2]
    rise = ground.height_at(x + level * np.sin(heading), y + level * np.cos(heading)) - ground.height_at(x, y)
    return np.asarray(level * np.clip(1.0 - rise * per_height / level, 0.5, 1.5), dtype=np.float64)


def _names(
    compiler: HoleCompiler, table: ChoiceTable, swings: Mapping[int, FullSwing]
) -> list[tuple[str, str, str, str, float]]:
    """Label, club, shape, height and weight of the shots on record of choices, each worked out once."""
    rows = list(zip(table.kind.tolist(), table.index.tolist(), table.distance.tolist(), strict=True))
    names: dict[tuple[int, int, float], tuple[str, str, str, str, float]] = {}
    for kind, index, distance in set(rows):
        label, told = label_of(compiler, Kind(kind), index, distance, where=True), ("", "", "", 0.0)
        if kind == Kind.FULL:
            pattern = swings[index].pattern
            told = pattern.club, str(pattern.shape), str(pattern.height), pattern.shots
        names[kind, index, distance] = (label, *told)
    return [names[row] for row in rows]


def aim_point(ground: Ground, x: float, y: float, heading: float, distance: float, at_pin: bool) -> Aim:
    """Say where a heading points; see `aim_points`."""
    from_x, from_y, way, far = (np.array([v]) for v in (x, y, heading, distance))
    return aim_points(ground, from_x, from_y, way, far, np.array([at_pin]))[0]


def aim_points(
    ground: Ground,
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    heading: NDArray[np.float64],
    distance: NDArray[np.float64],
    at_pin: NDArray[np.bool_],
) -> list[Aim]:
    """Say where headings point, against the fairway's centre, the line of play or the pin.

    Parameters
    ----------
    x, y, heading : ndarray (n,)
        Yards, and radians clockwise from the y axis.
    distance : ndarray (n,)
        How far the shot goes, rollout included, yards.
    at_pin : ndarray of bool (n,)
        Whether the shot is meant for the green.
    """
    end = np.stack([x + distance * np.sin(heading), y + distance * np.cos(heading)], axis=1)
    px, py = ground.hole.pin
    aside = np.hypot(px - x, py - y) * np.sin(heading - np.arctan2(px - x, py - y))
    point, right = _nearest_on_line(ground.hole.line, end)
    away = (end - point) * right
    offset = away[:, 0] + away[:, 1]
    centre = np.full(len(x), np.nan)
    centre[~at_pin] = _fairway_centres(ground, point[~at_pin], right[~at_pin])
    on_line = np.isnan(centre)
    off = np.where(at_pin, aside, np.where(on_line, offset, offset - centre))
    reference = np.where(at_pin, "pin", np.where(on_line, "line", "centre"))
    columns = np.rad2deg(heading), end[:, 0], end[:, 1], distance, off, reference
    rows = zip(*(column.tolist() for column in columns), strict=True)
    return [Aim(way, (to_x, to_y), far, side, name) for way, to_x, to_y, far, side, name in rows]


def _nearest_on_line(
    line: NDArray[np.float64], points: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Nearest points (n, 2) of the line of play, and the unit vectors (n, 2) to the right of it there."""
    (ax, ay), (dx, dy) = line[:-1].T, np.diff(line, axis=0).T
    x, y = points[:, :1], points[:, 1:]
    along = ((x - ax) * dx + (y - ay) * dy) / np.maximum(dx**2 + dy**2, 1e-12)
    share = np.clip(along, 0.0, 1.0)
    foot_x, foot_y = ax + share * dx, ay + share * dy
    nearest = np.argmin((foot_x - x) ** 2 + (foot_y - y) ** 2, axis=1)
    row, length = np.arange(len(points)), np.maximum(np.hypot(dx, dy), 1e-9)
    right = np.stack([dy / length, -dx / length], axis=1)
    return np.stack([foot_x[row, nearest], foot_y[row, nearest]], axis=1), right[nearest]


def _fairway_centres(
    ground: Ground, point: NDArray[np.float64], right: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Offsets (n,) of the fairway's middle from the line of play; NaN where none lies within 25 yards."""
    centre = np.full(len(point), np.nan)
    for low in range(0, len(point), _AT_ONCE):
        part = slice(low, low + _AT_ONCE)
        mown = _mown(ground, point[part], right[part], _ACROSS[_NEAR])
        centre[part], ends = _centres(mown, _ACROSS[_NEAR])
        on = np.flatnonzero(~ends)
        if on.size:
            every = np.empty((len(on), len(_ACROSS)), dtype=bool)
            every[:, _NEAR] = mown[on]
            every[:, _FAR] = _mown(ground, point[low + on], right[low + on], _ACROSS[_FAR])
            centre[low + on], _ = _centres(every, _ACROSS)
    return centre


def _mown(
    ground: Ground, point: NDArray[np.float64], right: NDArray[np.float64], across: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Whether there is fairway or green at some yards to the right of points of the line, (points, yards)."""
    return _MOWN.take(
        ground.lie_at(point[:, :1] + across * right[:, :1], point[:, 1:] + across * right[:, 1:])
    )


def _centres(
    mown: NDArray[np.bool_], across: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Middles of the fairways nearest to the line as far as they are seen, and whether they are seen to end."""
    n, width = mown.shape
    framed = np.zeros((n, width + 2), dtype=bool)  # bare on both sides, so that every fairway ends
    framed[:, 1:-1] = mown
    first = np.arange(n) * (width + 2)
    line = first + 1 + width // 2
    fairway = np.concatenate([[-framed.size], np.flatnonzero(framed), [2 * framed.size]])
    at = np.searchsorted(fairway, line)
    before, after = fairway[at - 1], fairway[at]
    start = np.where(line - before <= after - line, before, after)
    there = np.abs(start - line) <= len(_NEAR) // 2
    bare = np.flatnonzero(~framed)
    at = np.searchsorted(bare, np.where(there, start, line))
    left, end = bare[at - 1] - first, bare[at] - first
    ends = ~there | ((left > 0) & (end <= width))
    middle = (across[np.where(there, left, 0)] + across[np.where(there, end - 2, 0)]) / 2
    return np.where(there, middle, np.nan), ends
