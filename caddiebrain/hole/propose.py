"""The choices worth looking at from given positions: which club, aimed where.

Aims are laid around a reference line: to the pin when the club reaches it, else to the furthest point of the
line of play that it reaches. Where the pin lies off that line (a dogleg), aims toward the pin are added.
"""

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.arsenal import Arsenal
from caddiebrain.hole.choices import ChoiceTable, Kind
from caddiebrain.hole.green import PACES_FT
from caddiebrain.hole.ground import CODE, Ground
from caddiebrain.hole.off_green import ORDINARY, putts_from
from caddiebrain.hole.short_air import ShortAir, allowance
from caddiebrain.hole.short_swings import ShortSwing
from caddiebrain.hole.swings import Numbers
from caddiebrain.hole.ways import SHORT_GRASS
from caddiebrain.terms import Lie

__all__ = ["Fan", "between", "layups", "propose"]


class Fan(Enum):
    """Which of the choices to lay out."""

    EVERY = "every"
    MIDDLE = "middle"
    """Of each fan the aim in the middle, of derived shots none, every other punch, one pace of putts; from the tee
    whole steps."""
    REST = "rest"
    """What the middle leaves out."""


_SPACING = 1.0
"""Distance between neighbouring aims while screening, in standard deviations of the solid shot's direction."""
_SIDE = 1
"""Aims on either side of the reference line while screening; clubs that reach the pin and derived shots have none."""
_TOO_LONG_SD = 1.5
"""Clubs whose mean carry passes the pin by more than so many standard deviations are left out."""
_LEAST_SPACING = np.deg2rad(1.0)
_SIDE_FINE, _FINER = 2.25, 4
"""Steps on either side of the line where all aims are laid out at once, and how many aims a step has there."""
_FINER_DERIVED = 2
"""Of those, the aims that derived shots have: every so many."""
_OVERSHOOT = 12.0
_DEPTHS = np.array([-1.0, -0.5, 0.0, 0.5, 1.0])
_SIDES = np.array([-1.0, 0.0, 1.0])
_EVERY_SHORT = np.ones((5, 3), dtype=bool)
_MIDDLE_SHORT = (_DEPTHS == 0.0)[:, None] & (_SIDES == 0.0)
_SHORTEST_SHARE = 0.45
"""Clubs that go less than this share of the longest useful shot are left out; layups are longer than that."""
_PUNCH_SHARES = np.array([0.2, 0.45, 0.8])
_PUNCH_DIRECTIONS = 12
_PACES = {
    Fan.EVERY: np.arange(len(PACES_FT)),
    Fan.MIDDLE: np.array([ORDINARY]),
    Fan.REST: np.delete(np.arange(len(PACES_FT)), ORDINARY),
}


def propose(
    ground: Ground,
    arsenal: Arsenal,
    node: NDArray[np.int64],
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    lie: NDArray[np.uint8],
    fine: NDArray[np.bool_],
    hemmed: NDArray[np.bool_],
    which: Fan = Fan.EVERY,
    shaded: NDArray[np.bool_] | None = None,
) -> ChoiceTable:
    """Lay out choices for positions.

    Parameters
    ----------
    node, x, y, lie : ndarray (n,)
        Node numbers, positions in yards and lie codes.
    fine : ndarray of bool (n,)
        Positions that get every aim at once (the tee, a look-up); the others are screened first.
    hemmed : ndarray of bool (n,)
        Positions with trees close by in the way, which get punches too, and derived heights.
    which : Fan
        Whether to lay out all of them.
    shaded : ndarray of bool (n,), optional
        Positions with trees somewhere on the way, which get derived shapes; by default those hemmed in.
    """
    tables: list[ChoiceTable] = []
    trees = np.stack([hemmed, hemmed if shaded is None else shaded])
    line = ground.along_line
    for code in np.unique(lie):
        at = np.flatnonzero(lie == code)
        places = _Positions(node[at], x[at], y[at], fine[at], ground)
        if arsenal.full[int(code)]:
            numbers = arsenal.numbers(int(code))
            today = _Today.of(places, numbers, arsenal.wind_to_deg)
            tables.append(_full(places, numbers, today, trees[:, at], line, which))
        if code in SHORT_GRASS:
            tables.append(putts_from(ground, node[at], x[at], y[at], _PACES[which]))
        for short in arsenal.short[int(code)]:
            tables.append(_short(places, short, arsenal.air, which))
        low = hemmed[at] | (code == CODE[Lie.TREES])
        if low.any():
            tables.append(_punch(places.some(low), arsenal, which))
        if which is Fan.REST:
            continue
        # Too far for a short shot and too near for the shortest club: lay up with the longest short shot.
        served = np.zeros(int(node.max()) + 1, dtype=bool)
        for table in tables:
            served[table.node] = True
        without = ~served[node[at]]
        if without.any():
            tables.append(_layup(places.some(without), arsenal, int(code)))
    return ChoiceTable.join(tables)


def layups(
    ground: Ground,
    arsenal: Arsenal,
    node: NDArray[np.int64],
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    lie: NDArray[np.uint8],
) -> ChoiceTable:
    """Lay up with the longest short shot from positions (n,), as `propose` does where no club serves."""
    fine = np.zeros(len(node), dtype=bool)
    tables = [ChoiceTable.of(np.zeros(0, dtype=np.int64), Kind.SHORT, 0)]
    for code in np.unique(lie):
        at = lie == code
        tables.append(_layup(_Positions(node[at], x[at], y[at], fine[at], ground), arsenal, int(code)))
    return ChoiceTable.join(tables)


class _Positions:
    """Positions of one lie with their distance and direction to the pin."""

    def __init__(
        self,
        node: NDArray[np.int64],
        x: NDArray[np.float64],
        y: NDArray[np.float64],
        fine: NDArray[np.bool_],
        ground: Ground,
    ) -> None:
        px, py = ground.hole.pin
        self.node, self.x, self.y, self.fine = node, x, y, fine
        self.to_pin = np.hypot(px - x, py - y)
        self.pin_heading = np.arctan2(px - x, py - y)
        self.ground = ground

    def some(self, rows: NDArray[np.bool_]) -> "_Positions":
        """Return some of the positions."""
        return _Positions(self.node[rows], self.x[rows], self.y[rows], self.fine[rows], self.ground)


@dataclass(frozen=True)
class _Today:
    """How far swings go toward the pin from every position today, wind and slope counted: (swings, positions).

    A club is looked at for what it does here, not for what it does down the wind or on the level.
    """

    carry: NDArray[np.float64]
    reach: NDArray[np.float64]
    sd: NDArray[np.float64]
    drift: NDArray[np.float64]
    """Sideways, positive to the right, as an angle in radians."""

    @classmethod
    def of(cls, places: _Positions, numbers: Numbers, wind_to_deg: float | None) -> "_Today":
        ground = places.ground
        angle = np.zeros(1)  # in still air all positions are alike
        if wind_to_deg is not None:
            angle = wind_to_deg - ground.hole.bearing_deg - np.rad2deg(places.pin_heading)
        at = numbers.bin_of(angle)
        carry = flown = numbers.carry[:, at]
        if ground.height is not None:
            px, py = (np.array([v]) for v in ground.hole.pin)
            rise = (ground.height_at(px, py) - ground.height_at(places.x, places.y)).astype(np.float64)
            carry = flown * np.clip(1.0 - rise * numbers.yards_per_height[:, at] / flown, 0.5, 1.5)
        # Aimed off, the ball meets the wind at another angle.
        aside = np.arctan(numbers.drift / numbers.carry)
        again = numbers.bin_of(angle + np.rad2deg(aside[:, at]))
        drift = np.take_along_axis(aside, again, axis=1)
        return cls(carry, carry + numbers.roll[:, at], numbers.carry_sd[:, at], drift)


def _full(
    places: _Positions,
    numbers: Numbers,
    today: _Today,
    trees: NDArray[np.bool_],
    line: NDArray[np.float64],
    which: Fan,
) -> ChoiceTable:
    """Fans of aims for every swing; ``line`` (points, 2) is the line of play; for ``trees`` see `_useful`."""
    useful, reach = _useful(places, numbers, today, trees), numbers.reach[:, None]
    reaching = reach >= places.to_pin
    target = np.where(reaching, len(line) - 1, _furthest(places, line, reach))
    # A point of the line at the player's feet gives no direction; then the pin does.
    feet = np.hypot(line[target, 0] - places.x, line[target, 1] - places.y) < 0.3 * reach
    target = np.where(feet, len(line) - 1, target)
    # What the player's pattern and the wind do to a ball on its way is aimed off.
    bias = numbers.line[:, None] + today.drift
    heading = np.arctan2(line[target, 0] - places.x, line[target, 1] - places.y) - bias
    spacing = np.maximum(_LEAST_SPACING, _SPACING * numbers.line_sd)
    to_pin = places.pin_heading - bias
    parts = [
        _fan(places.node, numbers.index, heading, to_pin, spacing, fan)
        for fan in _fans(useful, reaching, places.fine, numbers.derived[:, None], which)
        if fan.where.any()
    ]
    return ChoiceTable.join(parts) if parts else ChoiceTable.of(np.zeros(0, dtype=np.int64), Kind.FULL, 0)


def _furthest(places: _Positions, line: NDArray[np.float64], reach: NDArray[np.float64]) -> NDArray[np.int64]:
    """Return the last point of a line within reach (swings, 1), else the nearest of all, (swings, positions)."""
    apart = (line[:, :1] - places.x) ** 2 + (line[:, 1:] - places.y) ** 2
    # What the least distance of a point and all beyond it is never falls along the line: a search by halves.
    steps, count = len(line).bit_length(), len(places.x)
    beyond = np.full((1 << steps, count), np.inf)
    np.minimum.accumulate(apart[::-1], axis=0, out=beyond[len(line) - 1 :: -1])
    within = np.zeros((len(reach), count), dtype=np.int64)
    for step in reversed(range(steps)):
        ahead = (within + ((1 << step) - 1)) * count + np.arange(count)
        within += (beyond.take(ahead) <= reach**2) * (1 << step)
    last = within - 1
    none = np.flatnonzero((last < 0).any(axis=0))
    last[:, none] = np.where(last[:, none] < 0, np.argmin(apart[:, none], axis=0), last[:, none])
    return last


@dataclass(frozen=True)
class _Aims:
    """Aims to either side of a line, in steps, and those about the pin where it is elsewhere."""

    where: NDArray[np.bool_]
    aside: NDArray[np.int64]
    near: NDArray[np.int64]
    side: float
    finer: int


def _fans(
    useful: NDArray[np.bool_],
    reaching: NDArray[np.bool_],
    fine: NDArray[np.bool_],
    derived: NDArray[np.bool_],
    which: Fan,
) -> list[_Aims]:
    """Fans of swings at positions (swings, positions), all of them or a part."""
    sides = useful & ~fine & ~reaching & ~derived
    middle, beside = np.zeros(1, dtype=np.int64), np.array([a for a in range(-_SIDE, _SIDE + 1) if a != 0])
    most = round(_SIDE_FINE * _FINER)
    every = np.arange(-most, most + 1)
    whole = every % _FINER == 0
    laid = {Fan.EVERY: every, Fan.MIDDLE: every[whole], Fan.REST: every[~whole]}[which]
    fans = [
        _Aims(useful & fine & of, some, some[np.abs(some) <= 0.4 * most], _SIDE_FINE, _FINER)
        for of, some in ((~derived, laid), (derived, laid[laid % _FINER_DERIVED == 0]))
    ]
    if which is not Fan.REST:
        fans.append(_Aims(useful & ~fine & ~derived, middle, middle, _SIDE, 1))
    if which is not Fan.MIDDLE:
        fans.append(_Aims(sides, beside, middle[:0], _SIDE, 1))
        fans.append(_Aims(useful & ~fine & derived, middle, middle, _SIDE, 1))
    return fans


def _useful(
    places: _Positions, numbers: Numbers, today: _Today, trees: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Which swings are looked at where, (swings, positions).

    Not those that fly far past the pin or fall far short of what could be reached. A derived height only where trees
    are close by in the way, the first row of ``trees`` (2, positions); a derived shape where aims are fine (the tee)
    and where trees are somewhere on the way, the second row: elsewhere its wider spread costs more than its curve can
    win.
    """
    carry, reach = today.carry, today.reach
    hemmed, shaded = trees
    is_open = ~numbers.derived[:, None] | np.where(numbers.stock[:, None], places.fine | shaded, hemmed)
    useful: NDArray[np.bool_] = is_open & (
        carry <= places.to_pin + np.maximum(_OVERSHOOT, _TOO_LONG_SD * today.sd * carry)
    )
    useful &= reach >= _SHORTEST_SHARE * np.minimum(reach.max(axis=0), places.to_pin)
    return useful


def _fan(
    node: NDArray[np.int64],
    index: NDArray[np.int64],
    heading: NDArray[np.float64],
    to_pin: NDArray[np.float64],
    spacing: NDArray[np.float64],
    fan: _Aims,
) -> ChoiceTable:
    """Aims around the reference lines, and around the pin where that is elsewhere.

    Parameters
    ----------
    index, spacing : ndarray (swings,)
    heading, to_pin : ndarray (swings, positions)
        Headings of the reference line and to the pin.
    """
    swing, place = np.nonzero(fan.where)
    step = spacing[swing] / fan.finer
    line, pin = heading[fan.where], to_pin[fan.where]
    apart = np.abs(np.angle(np.exp(1j * (pin - line)))) > 0.8 * fan.side * fan.finer * step
    aims = line[:, None] + fan.aside * step[:, None], pin[apart, None] + fan.near * step[apart, None]
    rows = np.arange(len(swing))
    row = np.concatenate([np.repeat(rows, len(fan.aside)), np.repeat(rows[apart], len(fan.near))])
    steps = step[row] if fan.finer == 1 else 0.0
    every = np.concatenate([a.ravel() for a in aims])
    return ChoiceTable.of(node[place[row]], Kind.FULL, index[swing[row]], every, 0.0, steps)


def _short(
    places: _Positions, short: ShortSwing, air: ShortAir | None, which: Fan = Fan.EVERY, layup: bool = False
) -> ChoiceTable:
    longest = _longest(places, short, air)
    rows = np.flatnonzero((places.to_pin <= longest + 25.0) | layup)
    to_pin, longest = places.to_pin[rows], longest[rows]
    sd_along, sd_across = short.spread(to_pin)
    depth = to_pin[:, None, None] + sd_along[:, None, None] * _DEPTHS[:, None]
    side = sd_across[:, None, None] * _SIDES
    depth, side = np.broadcast_arrays(depth, side)
    some = _MIDDLE_SHORT if which is Fan.MIDDLE else ~_MIDDLE_SHORT if which is Fan.REST else _EVERY_SHORT
    depth, side = depth[:, some], side[:, some]
    depth = np.maximum(depth, 1.0)
    heading = places.pin_heading[rows][:, None] + np.arctan2(side, depth)
    distance = np.minimum(np.hypot(depth, side), longest[:, None])
    node = np.repeat(places.node[rows], distance.shape[1])
    return ChoiceTable.of(node, Kind.SHORT, short.index, heading.ravel(), distance.ravel())


def _longest(places: _Positions, short: ShortSwing, air: ShortAir | None) -> NDArray[np.float64]:
    """How far a short shot goes toward the pin today at most, (positions,)."""
    most = np.full(len(places.x), short.shot.longest_yd)
    at = places.x, places.y, places.pin_heading, most
    allowed = allowance(places.ground, air, at, short.shot, low=False)
    return most if allowed is None else np.minimum(most, allowed.reach)


def _layup(places: _Positions, arsenal: Arsenal, code: int) -> ChoiceTable:
    longest = max(arsenal.short[code], key=lambda s: s.shot.longest_yd)
    return _short(places, longest, arsenal.air, layup=True)


def _punch(places: _Positions, arsenal: Arsenal, which: Fan) -> ChoiceTable:
    """Punches all round at set distances, and one that would stop at the pin."""
    punch = arsenal.punch
    around = np.arange(_PUNCH_DIRECTIONS) * (2 * np.pi / _PUNCH_DIRECTIONS)
    distances = np.unique(np.rint(punch.shot.longest_yd * _PUNCH_SHARES))
    turn, distance = (a.ravel() for a in np.meshgrid(around, distances))
    if which is not Fan.EVERY:
        every_other = np.tile(np.arange(_PUNCH_DIRECTIONS) % 2 == 0, len(distances))
        middle = every_other & (distance == distances[len(distances) // 2])
        turn, distance = (a[middle == (which is Fan.MIDDLE)] for a in (turn, distance))
    node = np.repeat(places.node, len(turn))
    heading = (places.pin_heading[:, None] + turn).ravel()
    at_pin = ChoiceTable.of(
        places.node,
        Kind.PUNCH,
        punch.index,
        places.pin_heading,
        np.clip(places.to_pin, 3.0, punch.shot.longest_yd),
    )
    spread = ChoiceTable.of(node, Kind.PUNCH, punch.index, heading, np.tile(distance, len(places.node)))
    return spread if which is Fan.REST else ChoiceTable.join([at_pin, spread])


def between(kept: ChoiceTable) -> ChoiceTable:
    """Return kept choices with the untried aims half a step to either side of each, without repeats."""
    more = kept.take(kept.step > 0)
    half = more.step / 2
    parts = [kept]
    for sign in (-1.0, 1.0):
        parts.append(
            ChoiceTable(more.node, more.kind, more.index, more.heading + sign * half, more.distance, half * 0)
        )
    both = ChoiceTable.join(parts).ordered()
    key = np.stack(
        [both.node, both.kind, both.index, np.rint(both.heading * 1e4), np.rint(both.distance * 1e3)]
    )
    new = np.ones(len(both), dtype=bool)
    new[1:] = (key[:, 1:] != key[:, :-1]).any(axis=0)
    return both.take(new)
