"""Choices as a golfer sees them: a club, an aim, what it costs and where it ends."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole import ChoiceTable, HoleCompiler, Kind
from caddiebrain.hole.ground import CODE, Ground
from caddiebrain.round.record import ChoiceRecord
from caddiebrain.terms import Lie

__all__ = ["Aim", "Option", "aim_point", "describe", "label_of"]

_SHORT_OF_GREEN = 15.0
"""A shot that would end within so many yards of the pin, or past it, is aimed against the pin."""


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
        "driver", "4-hybrid draw", "pitch to 40 yards", "drop clear (one penalty stroke)".
    club, shape, height : str
        Empty for short shots and drops where they say nothing.
    aim : Aim
    carry_yd : float
        Mean carry of a solid shot from this lie today.
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


def label_of(compiler: HoleCompiler, kind: Kind, index: int, distance: float) -> str:
    """Name a choice."""
    player = compiler.player
    if kind is Kind.FULL:
        pattern = player.patterns[index]
        shape = "" if pattern.shape == "straight" else f" {pattern.shape}"
        height = "" if pattern.height == "stock" else f"{pattern.height} "
        return f"{height}{pattern.club}{shape}"
    if kind is Kind.DROP:
        strokes = round(distance)
        return f"drop, unplayable ({'one penalty stroke' if strokes == 1 else 'two penalty strokes'})"
    if kind is Kind.PUNCH:
        return f"punch to {distance:.0f} yards"
    return f"{player.short_game[index].name} to {distance:.0f} yards"


def describe(
    compiler: HoleCompiler,
    table: ChoiceTable,
    row: int,
    place: tuple[float, float, Lie],
    expected: float,
    chance: float,
    shares: Mapping[str, float],
) -> Option:
    """Describe one row of a table of choices, played from ``place`` (x, y, lie)."""
    x, y, lie = place
    kind, index, distance = Kind(table.kind[row]), int(table.index[row]), float(table.distance[row])
    carry, reach, club, shape, height, shots = distance, distance, "", "", "", 0.0
    if kind is Kind.FULL:
        swing = next(s for s in compiler.arsenal.full[CODE[lie]] if s.index == index)
        carry, reach = float(swing.carry.mean()), swing.reach_yd
        club, shape, height = swing.pattern.club, str(swing.pattern.shape), str(swing.pattern.height)
        shots = swing.pattern.shots
    to_pin = float(np.hypot(compiler.hole.pin[0] - x, compiler.hole.pin[1] - y))
    at_pin = kind is not Kind.DROP and reach >= to_pin - _SHORT_OF_GREEN
    aim = aim_point(compiler.ground, x, y, float(table.heading[row]), reach, at_pin)
    label = label_of(compiler, kind, index, distance)
    return Option(label, club, shape, height, aim, carry, expected, chance, shares, shots)


def aim_point(ground: Ground, x: float, y: float, heading: float, distance: float, at_pin: bool) -> Aim:
    """Say where a heading points, against the fairway's centre, the line of play or the pin.

    Parameters
    ----------
    distance : float
        How far the shot goes, rollout included, yards.
    at_pin : bool
        Whether the shot is meant for the green.
    """
    end = (x + distance * float(np.sin(heading)), y + distance * float(np.cos(heading)))
    degrees = float(np.rad2deg(heading))
    px, py = ground.hole.pin
    if at_pin:
        to_pin = float(np.hypot(px - x, py - y))
        aside = to_pin * float(np.sin(heading - np.arctan2(px - x, py - y)))
        return Aim(degrees, end, distance, aside, "pin")
    point, right = _nearest_on_line(ground.hole.line, end)
    offset = float((end[0] - point[0]) * right[0] + (end[1] - point[1]) * right[1])
    centre = _fairway_centre(ground, point, right)
    if centre is None:
        return Aim(degrees, end, distance, offset, "line")
    return Aim(degrees, end, distance, offset - centre, "centre")


def _nearest_on_line(
    line: NDArray[np.float64], point: tuple[float, float]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Nearest point of the line of play, and the unit vector to the right of it there."""
    a, b = line[:-1], line[1:]
    step = b - a
    share = np.clip(
        ((np.array(point) - a) * step).sum(axis=1) / np.maximum((step**2).sum(axis=1), 1e-12), 0, 1
    )
    foot = a + share[:, None] * step
    nearest = int(np.argmin(np.hypot(*(foot - point).T)))
    along = step[nearest] / max(float(np.hypot(*step[nearest])), 1e-9)
    return foot[nearest], np.array([along[1], -along[0]])


def _fairway_centre(ground: Ground, point: NDArray[np.float64], right: NDArray[np.float64]) -> float | None:
    """Offset of the fairway's middle from the line of play; None where there is no fairway within 25 yards."""
    across = np.arange(-60.0, 60.5, 0.5)
    lie = ground.lie_at(point[0] + across * right[0], point[1] + across * right[1])
    mown = np.isin(lie, [CODE[Lie.FAIRWAY], CODE[Lie.GREEN]])
    near = np.flatnonzero(mown & (np.abs(across) <= 25.0))
    if near.size == 0:
        return None
    start = near[np.argmin(np.abs(across[near]))]
    low = start
    while low > 0 and mown[low - 1]:
        low -= 1
    high = start
    while high < len(across) - 1 and mown[high + 1]:
        high += 1
    return float(across[low] + across[high]) / 2
