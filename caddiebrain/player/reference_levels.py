"""The figures behind a level and behind the tour-like player, each with where it comes from.

One table to read, one table to change. A `Line` runs from scratch (t = 0) to the bogey golfer (t = 1) and on.
"""

from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator
from scipy.special import ndtri

from caddiebrain.player.bag import CATALOGUE, Club
from caddiebrain.player.model import Player
from caddiebrain.player.patterns import LieEffect, PuttingSkill, Ramp, ShortShot, ShotPattern
from caddiebrain.terms import Lie

__all__ = [
    "ACCURACY_YD",
    "BOGEY_INDEX",
    "DRIVE_TOTAL_YD",
    "LIES",
    "SHORT_GAME",
    "LieLine",
    "Line",
    "ShortLine",
    "Spread",
    "club_spread",
    "driver_carry_yd",
    "driver_rollout_yd",
    "tour_like",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Line:
    """A figure for scratch and for the bogey golfer, and the straight line through the two."""

    scratch: float
    bogey: float
    floor: float = 0.0

    def at(self, t: float) -> float:
        """Value at t (0 scratch, 1 bogey golfer)."""
        return max(self.scratch + (self.bogey - self.scratch) * t, self.floor)


# Course Rating System: the bogey golfer's handicap index, about 20 for men and 24 for women (memory).
BOGEY_INDEX = {"men": 20.0, "women": 24.0}
# Course Rating System: tee shots of the scratch and bogey golfer, carry and roll (memory).
DRIVE_TOTAL_YD = {"men": Line(250.0, 200.0), "women": Line(210.0, 150.0)}

ACCURACY_YD: dict[str, tuple[tuple[float, float, float], ...]] = {
    "scratch": (
        (90, 11, 14), (110, 12, 15), (130, 13, 15), (150, 15, 16), (170, 18, 17),
        (190, 23, 18), (210, 29, 19), (230, 35, 20), (250, 41, 21),
    ),
    "bogey": ((90, 16, 19), (110, 17, 21), (130, 18, 23), (150, 20, 25), (170, 24, 28), (190, 29, 34)),
}  # fmt: skip
"""Course Rating System Manual, accuracy table, men: shot, width and depth that hold two thirds, yards.

The manual does not say how two thirds is meant. Read as a rectangle or an ellipse holding two thirds of
the shots it makes the scratch golfer closer to the pin than a tour player (mean 22 or 19 feet from 150
yards, against 27: Broadie, memory), so each side is read on its own: the width holds two thirds sideways,
the depth two thirds in length. It is taken for solid shots; mishits come on top.
"""
SIDE_SD = 1.0 / (2.0 * float(ndtri(5.0 / 6.0)))
"""Standard deviation of a normal as a share of the width that holds its middle two thirds."""

# Flight of a driver that carries 230 yards (launch-monitor averages as commonly published; memory).
FLIGHT_AT_YD = 230.0
DRIVER_APEX_YD = 26.0

# The bogey rows end at 190 yards, where such approach shots end; the longest clubs scatter wider. The
# driver's factor makes all tee shots of a bogey golfer spread about 7 degrees, of scratch about 4.7 (Broadie,
# secondary pages; memory); it fades to 1 at the 5-iron.
LONG_CLUB_WIDER = 1.35

# Mishits, share of full shots from a good lie, for a club in the middle of the bag; the driver has
# MISHIT_LONG times as many, a wedge MISHIT_SHORT times: common practice, no source.
MISHIT = Line(0.015, 0.12, floor=0.008)
MISHIT_LONG, MISHIT_SHORT = 1.3, 0.7
MISHIT_CARRY = Line(0.80, 0.62, floor=0.4)
MISHIT_CARRY_SD = 0.15
MISHIT_LINE_DEG = Line(8.0, 12.0, floor=7.0)

# Putting: half of the putts drop from about 7.3 ft (scratch) and 4.5 ft (bogey golfer), against 8 ft on tour
# (Broadie, secondary pages; memory). Aim and pace share the difference.
PUTT_AIM_DEG = Line(1.13, 1.88)
PUTT_PACE = Line(0.084, 0.124)


@dataclass(frozen=True)
class Spread:
    """Solid-shot spreads of one club."""

    line_sd_deg: Line
    carry_sd: Line


@dataclass(frozen=True)
class LieLine:
    """A lie, (short club, long club) pairs; mishit lines by level."""

    carry: tuple[float, float] = (1.0, 1.0)
    spread: tuple[float, float] = (1.0, 1.0)
    mishit_short: Line = Line(0.0, 0.0)
    mishit_long: Line = Line(0.0, 0.0)
    rollout: tuple[float, float] = (1.0, 1.0)
    longest_share: float | None = None


# What a lie does: common practice, no source; rough calibrated so that strokes from rough and sand
# exceed those from fairway by about what Broadie's tables say for the tour, and more for amateurs.
LIES: dict[Lie, LieLine] = {
    Lie.TEE: LieLine(),
    Lie.FAIRWAY: LieLine(spread=(1.0, 1.05), mishit_short=Line(0.0, 0.02), mishit_long=Line(0.0, 0.07)),
    Lie.TIGHT: LieLine((1.0, 1.0), (1.0, 1.1), Line(0.01, 0.04), Line(0.02, 0.10)),
    Lie.ROUGH: LieLine((0.97, 0.93), (1.20, 1.35), Line(0.01, 0.06), Line(0.03, 0.14), (1.5, 1.2), 0.86),
    Lie.THICK: LieLine((0.88, 0.70), (1.50, 1.70), Line(0.05, 0.16), Line(0.10, 0.30), (1.5, 1.2), 0.68),
    Lie.SAND: LieLine((0.94, 0.87), (1.45, 1.70), Line(0.04, 0.20), Line(0.10, 0.30), (1.0, 1.0), 0.74),
    Lie.TREES: LieLine((0.95, 0.88), (1.30, 1.50), Line(0.03, 0.12), Line(0.06, 0.22), (1.4, 1.2), 0.84),
}


@dataclass(frozen=True)
class ShortLine:
    """A shot inside a full wedge by level."""

    name: str
    lie: Lie
    depth_sd: Line
    line_sd_deg: Line
    mishit: Line
    carry_share: float
    floor_yd: Line = Line(0.6, 1.0, floor=0.3)
    longest_yd: float | None = None
    mishit_depth: float = 0.6
    mishit_depth_sd: float = 0.35


# Short game: common practice, no source; scratch and bogey golfers get up and down about half and a fifth
# of the time from around the green (secondary pages; memory).
SHORT_GAME: tuple[ShortLine, ...] = (
    ShortLine("chip", Lie.FAIRWAY, Line(0.12, 0.23), Line(2.0, 3.6), Line(0.01, 0.09), 0.40, longest_yd=35.0),
    ShortLine("chip", Lie.TIGHT, Line(0.14, 0.25), Line(2.0, 3.6), Line(0.02, 0.13), 0.35, longest_yd=35.0),
    ShortLine("chip", Lie.ROUGH, Line(0.17, 0.31), Line(2.6, 4.5), Line(0.02, 0.13), 0.45, longest_yd=35.0),
    ShortLine("pitch", Lie.FAIRWAY, Line(0.09, 0.19), Line(2.6, 4.5), Line(0.01, 0.14), 0.80),
    ShortLine("pitch", Lie.TIGHT, Line(0.11, 0.21), Line(2.6, 4.5), Line(0.03, 0.18), 0.80),
    ShortLine("pitch", Lie.ROUGH, Line(0.16, 0.28), Line(3.5, 5.8), Line(0.03, 0.17), 0.78),
    ShortLine("pitch", Lie.THICK, Line(0.22, 0.36), Line(4.4, 6.8), Line(0.06, 0.25), 0.75),
    ShortLine("pitch", Lie.TREES, Line(0.18, 0.30), Line(3.8, 5.8), Line(0.04, 0.20), 0.75),
    ShortLine(
        "bunker shot", Lie.SAND, Line(0.18, 0.34), Line(4.0, 6.4), Line(0.02, 0.23), 0.80, longest_yd=35.0
    ),
    ShortLine("long bunker shot", Lie.SAND, Line(0.26, 0.42), Line(5.6, 8.0), Line(0.08, 0.33), 0.80),
)


def driver_rollout_yd(carry_yd: float) -> float:
    """Rollout of a drive on level fairway, yards: 18 for the scratch golfer, 16 for the bogey golfer."""
    return (carry_yd + 8.0) / 0.96 - carry_yd


def driver_carry_yd(total_yd: float) -> float:
    """Carry of a drive of this length with its rollout, yards."""
    return 0.96 * total_yd - 8.0


@cache
def club_spread(club: Club, sex: Literal["men", "women"] = "men") -> Spread:
    """Solid-shot spread of a club, from the accuracy table at the men's carries with that club.

    The table for women was not at hand: the same angles and shares of the carry are used (common practice,
    no source).
    """
    del sex
    pairs = [_accuracy(name, _mens_carry(club, DRIVE_TOTAL_YD["men"].at(t))) for name, t in _GOLFERS]
    (line_0, carry_0), (line_1, carry_1) = pairs
    line_1 *= LONG_CLUB_WIDER ** float(np.clip((club.ratio_fast - 0.75) / 0.25, 0.0, 1.0))
    return Spread(
        Line(line_0, max(line_0, line_1), floor=0.5), Line(carry_0, max(carry_0, carry_1), floor=0.01)
    )


_GOLFERS = (("scratch", 0.0), ("bogey", 1.0))


def _mens_carry(club: Club, total_yd: float) -> float:
    reach = driver_carry_yd(total_yd)
    return reach * (club.ratio_slow + (club.ratio_fast - club.ratio_slow) * (reach - 150.0) / 80.0)


def _accuracy(golfer: str, carry_yd: float) -> tuple[float, float]:
    """Direction spread (degrees) and carry spread (share) of the table; ends held."""
    shot, width, depth = np.array(ACCURACY_YD[golfer], float).T
    at = float(np.clip(carry_yd, shot[0], shot[-1]))
    across, along = (float(PchipInterpolator(shot, side)(at)) * SIDE_SD / at for side in (width, depth))
    return float(np.degrees(np.arctan(across))), along


# ---------------------------------------------------------------------------------------------------------
# The tour-like player, for the comparison with Broadie's strokes to hole out.
# Full shots, solid: (club, carry yd, carry sd share, line sd deg, apex yd, descent deg, rollout yd).
# Carries, heights and descents: launch-monitor tour averages as commonly published (memory). Direction 3.4
# degrees with the driver (Broadie 2012, memory); irons so that the mean leave from 150 yards in the
# fairway is about 27 ft (memory). Amounts that no source gives (length spreads, mishits, lies, the short game) are
# set so that strokes to hole out come near Broadie's baseline, from every lie at once: docs/trust.md has the table.
TOUR_CLUBS = (
    ("driver", 270.0, 0.062, 3.40, 33.0, 38.0, 17.0),
    ("3-wood", 243.0, 0.055, 3.20, 31.0, 42.0, 10.0),
    ("4-hybrid", 219.0, 0.052, 3.05, 31.0, 46.0, 7.0),
    ("4-iron", 207.0, 0.051, 2.95, 30.0, 47.0, 6.0),
    ("5-iron", 196.0, 0.050, 2.85, 31.0, 48.5, 5.0),
    ("6-iron", 185.0, 0.049, 2.75, 31.0, 49.5, 4.0),
    ("7-iron", 173.0, 0.048, 2.65, 32.0, 50.0, 3.0),
    ("8-iron", 161.0, 0.047, 2.60, 32.0, 50.5, 2.5),
    ("9-iron", 148.0, 0.047, 2.55, 31.0, 51.0, 2.0),
    ("pitching wedge", 135.0, 0.047, 2.50, 30.0, 51.5, 1.5),
    ("gap wedge", 120.0, 0.048, 2.50, 28.0, 52.0, 1.0),
    ("sand wedge", 105.0, 0.050, 2.50, 27.0, 53.0, 0.5),
    ("lob wedge", 90.0, 0.053, 2.50, 25.0, 54.0, 0.5),
)
TOUR_MISHIT = 0.025
TOUR_LIES: dict[Lie, LieLine] = {
    Lie.TEE: LieLine(),
    Lie.FAIRWAY: LieLine(spread=(1.0, 1.30), mishit_long=Line(0.03, 0.03)),
    Lie.TIGHT: LieLine((1.0, 1.0), (1.0, 1.35), Line(0.005, 0.005), Line(0.03, 0.03)),
    Lie.ROUGH: LieLine((0.98, 0.93), (1.50, 1.65), Line(0.015, 0.015), Line(0.05, 0.05), (2.0, 1.3), 0.82),
    Lie.THICK: LieLine((0.92, 0.78), (1.90, 1.90), Line(0.03, 0.03), Line(0.08, 0.08), (2.0, 1.3), 0.70),
    Lie.SAND: LieLine((0.96, 0.87), (1.70, 1.40), Line(0.06, 0.06), Line(0.40, 0.40), (1.0, 1.0), 0.64),
    Lie.TREES: LieLine((0.97, 0.92), (1.50, 1.65), Line(0.02, 0.02), Line(0.05, 0.05), (1.5, 1.3), 0.82),
}
# (name, lie, depth sd share, floor yd, line sd deg, mishit, carry share, longest yd): sand saves about half.
TOUR_SHORT = (
    ("chip", Lie.FAIRWAY, 0.180, 0.8, 2.6, 0.010, 0.40, 35.0),
    ("chip", Lie.TIGHT, 0.185, 0.8, 2.6, 0.012, 0.35, 35.0),
    ("chip", Lie.ROUGH, 0.280, 1.1, 3.8, 0.020, 0.45, 35.0),
    ("pitch", Lie.FAIRWAY, 0.105, 2.0, 3.0, 0.012, 0.80, 90.0),
    ("pitch", Lie.TIGHT, 0.115, 1.3, 3.0, 0.012, 0.80, 90.0),
    ("pitch", Lie.ROUGH, 0.200, 1.9, 5.0, 0.030, 0.78, 90.0),
    ("pitch", Lie.THICK, 0.240, 2.1, 5.5, 0.060, 0.75, 90.0),
    ("pitch", Lie.TREES, 0.200, 1.9, 5.0, 0.040, 0.75, 90.0),
    ("bunker shot", Lie.SAND, 0.185, 0.9, 4.4, 0.025, 0.80, 35.0),
    ("long bunker shot", Lie.SAND, 0.280, 2.0, 6.0, 0.090, 0.80, 90.0),
)


def tour_like() -> Player:
    """Return a tour-like player: published figures, and where there are none, set by Broadie's baseline (above)."""
    return Player(
        name="tour-like",
        patterns=tuple(_tour_pattern(*row) for row in TOUR_CLUBS),
        lies={lie: _tour_lie(line) for lie, line in TOUR_LIES.items()},
        short_game=tuple(_tour_short(*row) for row in TOUR_SHORT),
        # Gelman 2019, fitted to 1.25 million tour putts (read).
        putting=PuttingSkill(aim_sd_deg=1.020, pace_sd=0.080),
        notes=("For checking the engine against published tour averages.",),
    )


def _tour_pattern(
    club: str, carry: float, carry_sd: float, line_sd: float, apex: float, descent: float, roll: float
) -> ShotPattern:
    return ShotPattern(
        club=club, carry_yd=carry, carry_sd=carry_sd, line_sd_deg=line_sd, apex_yd=apex, descent_deg=descent,
        rollout_yd=roll, mishit=TOUR_MISHIT, mishit_carry=0.85, mishit_carry_sd=0.10, mishit_line_sd_deg=8.0,
        tee_only=club == CATALOGUE[0].name,
    )  # fmt: skip


def _tour_lie(line: LieLine) -> LieEffect:
    longest = None if line.longest_share is None else line.longest_share * TOUR_CLUBS[0][1]
    return LieEffect(
        carry=Ramp(short=line.carry[0], long=line.carry[1]),
        spread=Ramp(short=line.spread[0], long=line.spread[1]),
        mishit=Ramp(short=line.mishit_short.at(0.0), long=line.mishit_long.at(0.0)),
        rollout=Ramp(short=line.rollout[0], long=line.rollout[1]),
        longest_carry_yd=longest,
    )


def _tour_short(
    name: str, lie: Lie, depth: float, floor: float, line: float, mishit: float, carry: float, longest: float
) -> ShortShot:
    return ShortShot(
        name=name, lie=lie, longest_yd=longest, depth_sd=depth, depth_sd_floor_yd=floor, line_sd_deg=line,
        mishit=mishit, carry_share=carry,
    )  # fmt: skip
