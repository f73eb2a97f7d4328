"""Choices as a golfer sees them: a club, an aim, what it costs and where it ends."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole import ChoiceTable, HoleCompiler, Kind
from caddiebrain.hole.drops import WAYS
from caddiebrain.hole.green import PACES_FT
from caddiebrain.hole.ground import CODE, Ground
from caddiebrain.hole.swings import FullSwing
from caddiebrain.round.aims import Aim, aim_points
from caddiebrain.round.record import ChoiceRecord
from caddiebrain.terms import Lie

__all__ = [
    "Option",
    "carried",
    "describe",
    "kinds_of",
    "label_of",
    "putt_words",
]

_SHORT_OF_GREEN = 15.0
"""A shot that would end within so many yards of the pin, or past it, is aimed against the pin."""


@dataclass(frozen=True)
class Option:
    """One choice from one place with one number of strokes in hand.

    Parameters
    ----------
    label : str
        "driver", "4-hybrid draw", "pitch to 40 yards", "putt to stop 12 inches past",
        "drop, unplayable, 24 yards back (one penalty stroke)".
    club, shape, height : str
        Empty for short shots, putts and drops, where they say nothing.
    aim : Aim
    carry_yd : float
        Mean carry of a solid shot from this lie on this line today, wind included; where a short shot or a punch
        is landed, not where it stops; 0 for putts and drops.
    expected : float
        Strokes to hole out from here, this one included.
    chance : float
        Chance of the round within the target after this choice.
    shares : mapping of str to float
        Chance of each kind of result: lies, "holed", "stroke and distance"; sums to 1.
    shots : float
        Weight of the shots on record behind a full shot; 0 for derived ones.
    sent_yd, started_yd : float
        How far a short shot or punch would go on the level in still air, so that it stops where it is aimed today,
        and how far to the right of its aim it is started, at its landing; 0 for others.
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
    sent_yd: float = 0.0
    started_yd: float = 0.0

    @property
    def allowance_words(self) -> str:
        """What a short shot allows for of wind and slope: "plays as 66 yards, started 5 left"; empty for none."""
        far = self.sent_yd > 0.0 and round(self.sent_yd) != round(self.aim.distance_yd)
        aside = round(abs(self.started_yd))
        words = [f"plays as {self.sent_yd:.0f} yards"] if far else []
        if aside:
            words.append(f"started {aside} {'right' if self.started_yd > 0 else 'left'}")
        return ", ".join(words)

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
            sent_yd=self.sent_yd,
            started_yd=self.started_yd,
            allowance_words=self.allowance_words,
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
        place = (
            "within two club-lengths" if way.beside else f"{distance:.0f} yard{'s' * (distance != 1.0)} back"
        )
        place += " in the bunker" * (way.rule == "19.3a")
        return f"drop, unplayable{f', {place}' if where else ''} ({cost})"
    if kind is Kind.PUTT:
        return putt_words(index)
    name = "punch" if kind is Kind.PUNCH else player.short_game[index].name
    return f"{name} to {distance:.0f} yard{'' if round(distance) == 1 else 's'}"


def putt_words(pace: int) -> str:
    """Name a putt by the place of its pace in ``PACES_FT``.

    Examples
    --------
    >>> putt_words(0), putt_words(2)
    ('putt to die at the hole', 'putt to stop 12 inches past')
    """
    past = float(PACES_FT[pace])
    return "putt to die at the hole" if past == 0.0 else f"putt to stop {12 * past:.0f} inches past"


def kinds_of(table: ChoiceTable) -> NDArray[np.int64]:
    """Number choices so that those alike but for the aim, the place of a drop or a putt's pace share a number."""
    index = np.where(table.kind == Kind.PUTT, 0, table.index)
    return np.asarray(table.kind.astype(np.int64) * 4096 + index)


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
    allowed = _allowed(compiler, table, (x, y)).tolist()
    return [
        Option(label, club, shape, height, aim, far, mean, best, result, shots, *sent)
        for (label, club, shape, height, shots), aim, (far, mean, best), result, sent in zip(
            names, aims, numbers, results, allowed, strict=True
        )
    ]


def _allowed(compiler: HoleCompiler, table: ChoiceTable, ball: tuple[float, float]) -> NDArray[np.float64]:
    """How far each short shot or punch is sent, and how far to the right it is started, (choices, 2); 0 for others."""
    found = np.zeros((len(table), 2))
    for kind in (Kind.SHORT, Kind.PUNCH):
        for index in np.unique(table.index[table.kind == kind]):
            rows = np.flatnonzero((table.kind == kind) & (table.index == index))
            low = kind is Kind.PUNCH
            shot = compiler.arsenal.punch.shot if low else compiler.player.short_game[index]
            far = table.distance[rows]
            at = np.full(len(rows), ball[0]), np.full(len(rows), ball[1]), table.heading[rows], far
            allowed = compiler.allowance(at, shot, low)
            found[rows, 0] = far if allowed is None else allowed.distance[:, 0]
            if allowed is not None:
                found[rows, 1] = -(allowed.drift * allowed.distance * allowed.share)[:, 0]
    return found


def _landed(compiler: HoleCompiler, table: ChoiceTable) -> NDArray[np.float64]:
    """Share of its distance that each short shot and punch flies; 0 for putts and drops."""
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
