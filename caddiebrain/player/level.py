"""The player a handicap index suggests, before any record: from published values where they exist.

Every parameter runs from a scratch figure to a bogey figure and on, linear in
t = index / (index of the bogey golfer): 0 for scratch, 1 for the bogey golfer, -0.2 at +4 for men. So a worse
index is never longer, straighter, cleaner or better on the green. Carries and flights come from
`caddiebrain.player.bag`, spreads from `caddiebrain.player.reference_levels`.
"""

from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
from pydantic import Field
from scipy.optimize import brentq

from caddiebrain.errors import Fault, PlayerError, number_faults
from caddiebrain.player import reference_levels as ref
from caddiebrain.player.bag import CATALOGUE, STANDARD_BAG, Club, club_name
from caddiebrain.player.model import Player
from caddiebrain.player.patterns import LieEffect, PuttingSkill, Ramp, ShortShot, ShotPattern

__all__ = ["Level"]

Sex = Literal["men", "women"]

_LONGEST_SHORT_YD = 120.0
"""Inside the shortest full shot a player chooses the distance; up to here a `ShortShot` may go."""
_SHORTEST_FULL_YD = 150.0
"""A bag whose shortest club goes further leaves too many distances without a shot."""
_WIDEST = 0.6
"""Shares beyond this no longer describe a player; reached above an index of 50."""


@dataclass(frozen=True)
class Level:
    """A level of play, and the player it suggests.

    Parameters
    ----------
    handicap_index : float
        -4 (written +4) to 54; beyond 36 the lines are carried on.
    sex : {"men", "women"}
        Which published distances to start from.
    driver_carry_yd, seven_iron_carry_yd : float, optional
        A known carry, yards; all clubs scale with it. Given both, clubs between are scaled between.
    clubs : tuple of str, optional
        The bag, by name; the standard thirteen clubs if not given. A putter may be named.

    Raises
    ------
    PlayerError
        With every argument that is wrong.

    Examples
    --------
    >>> bogey = Level(handicap_index=20.0).player()
    >>> bogey.clubs[0], round(bogey.patterns[0].carry_yd)
    ('driver', 184)
    """

    handicap_index: Annotated[float, Field(ge=-4.0, le=54.0)]
    sex: Sex = "men"
    driver_carry_yd: Annotated[float, Field(ge=80.0, le=340.0)] | None = None
    seven_iron_carry_yd: Annotated[float, Field(ge=50.0, le=220.0)] | None = None
    clubs: tuple[str, ...] | None = None

    def __post_init__(self) -> None:
        faults = list(self._faults()) or self._bag_faults()
        if faults:
            raise PlayerError("level", faults)

    def _faults(self) -> list[Fault]:
        faults = number_faults("handicap_index", self.handicap_index, -4.0, 54.0, "-4 (that is +4) to 54")
        if self.sex not in ("men", "women"):
            faults.append(Fault("sex", repr(self.sex), "'men' or 'women'"))
        for name, carry, low, high in (
            ("driver_carry_yd", self.driver_carry_yd, 80.0, 340.0),
            ("seven_iron_carry_yd", self.seven_iron_carry_yd, 50.0, 220.0),
        ):
            if carry is not None:
                faults += number_faults(name, carry, low, high, f"{low:g} to {high:g} yards")
        if isinstance(self.clubs, str):
            return [
                *faults,
                Fault("clubs", repr(self.clubs), "several names, such as ('driver', '7-iron', 'pw')"),
            ]
        if self.clubs is not None and not len(self.clubs):
            faults.append(Fault("clubs", "none", "at least one club; leave it out for a full bag"))
        known = ", ".join(club.name for club in CATALOGUE)
        faults += [
            Fault("clubs", repr(c), f"one of {known}") for c in self.clubs or () if club_name(c) is None
        ]
        return faults

    def _bag_faults(self) -> list[Fault]:
        """What keeps a bag of known clubs from being played with."""
        short = f"a club that carries {_SHORTEST_FULL_YD:g} yards or less, such as a sand wedge"
        bag = self.bag()
        if not bag:
            return [Fault("clubs", ", ".join(self.clubs or ()) or "none", short)]
        carry, club = min((self.carry_yd(club), club.name) for club in bag)
        if carry <= _SHORTEST_FULL_YD:
            return []
        return [Fault("clubs", f"none shorter than the {club}, {carry:.0f} yards", short)]

    @property
    def t(self) -> float:
        """Place between scratch (0) and the bogey golfer (1)."""
        return self.handicap_index / ref.BOGEY_INDEX[self.sex]

    def bag(self) -> tuple[Club, ...]:
        """Return the clubs of the catalogue in this bag, longest first."""
        wanted = {club_name(name) for name in self.clubs or STANDARD_BAG}
        found = [club for club in CATALOGUE if club.name in wanted]
        return tuple(sorted(found, key=lambda club: -club.ratio_fast))

    def carry_yd(self, club: Club) -> float:
        """Carry of a solid full shot with this club, yards."""
        reach = self._reach(club)
        return reach * _ratio(club, reach)

    def player(self) -> Player:
        """Return the player this level suggests."""
        patterns = tuple(self._pattern(club) for club in self.bag())
        shortest = min(*(pattern.carry_yd for pattern in patterns), _LONGEST_SHORT_YD)
        return Player(
            name=f"level {self.label}",
            handicap_index=self.handicap_index,
            patterns=patterns,
            lies={lie: self._lie(effect) for lie, effect in ref.LIES.items()},
            short_game=tuple(self._short(shot, shortest) for shot in ref.SHORT_GAME),
            putting=PuttingSkill(aim_sd_deg=ref.PUTT_AIM_DEG.at(self.t), pace_sd=ref.PUTT_PACE.at(self.t)),
            notes=("A level, not a record: what players of this handicap index do on average.",),
        )

    @property
    def label(self) -> str:
        """The index as golfers write it, with the sex."""
        index = f"+{-self.handicap_index:g}" if self.handicap_index < 0 else f"{self.handicap_index:g}"
        return f"{index} {self.sex}"

    def _driver_reach(self) -> float:
        """Carry with the driver, given or published, yards."""
        if self.driver_carry_yd is not None:
            return self.driver_carry_yd
        if self.seven_iron_carry_yd is not None:
            return self._seven_iron_reach(self.seven_iron_carry_yd)
        return ref.driver_carry_yd(ref.DRIVE_TOTAL_YD[self.sex].at(self.t))

    def _reach(self, club: Club) -> float:
        """The driver carry this club goes with: one number, or two known clubs blended by their lengths."""
        driver = self._driver_reach()
        if self.driver_carry_yd is None or self.seven_iron_carry_yd is None:
            return driver
        irons = self._seven_iron_reach(self.seven_iron_carry_yd)
        seven = _named("7-iron")
        share = float(np.clip((1.0 - club.ratio_fast) / (1.0 - seven.ratio_fast), 0.0, 1.0))
        return float(driver ** (1.0 - share) * irons**share)

    @staticmethod
    def _seven_iron_reach(carry: float) -> float:
        seven = _named("7-iron")
        return float(brentq(lambda reach: reach * _ratio(seven, reach) - carry, 40.0, 600.0))

    def _pattern(self, club: Club) -> ShotPattern:
        reach, t = self._reach(club), self.t
        speed = reach / ref.FLIGHT_AT_YD
        spread = ref.club_spread(club, self.sex)
        return ShotPattern(
            club=club.name,
            carry_yd=round(reach * _ratio(club, reach), 1),
            carry_sd=round(spread.carry_sd.at(t), 4),
            line_sd_deg=round(spread.line_sd_deg.at(t), 3),
            mishit=round(min(ref.MISHIT.at(t) * _mishit_factor(club), _WIDEST), 4),
            mishit_carry=round(ref.MISHIT_CARRY.at(t), 3),
            mishit_carry_sd=ref.MISHIT_CARRY_SD,
            mishit_line_sd_deg=round(ref.MISHIT_LINE_DEG.at(t), 2),
            apex_yd=round(club.apex * ref.DRIVER_APEX_YD * speed**1.4, 1),
            descent_deg=round(min(club.descent_deg * speed**0.4, 70.0), 1),
            rollout_yd=round(club.rollout_yd * ref.driver_rollout_yd(reach) / CATALOGUE[0].rollout_yd, 1),
            tee_only=club.tee_only,
        )

    def _lie(self, lie: ref.LieLine) -> LieEffect:
        t = self.t
        longest = None if lie.longest_share is None else round(lie.longest_share * self._driver_reach(), 0)
        return LieEffect(
            carry=Ramp(short=lie.carry[0], long=lie.carry[1]),
            spread=Ramp(short=lie.spread[0], long=lie.spread[1]),
            mishit=Ramp(short=round(lie.mishit_short.at(t), 4), long=round(lie.mishit_long.at(t), 4)),
            rollout=Ramp(short=lie.rollout[0], long=lie.rollout[1]),
            longest_carry_yd=longest,
        )

    def _short(self, shot: ref.ShortLine, shortest_full_yd: float) -> ShortShot:
        t = self.t
        return ShortShot(
            name=shot.name,
            lie=shot.lie,
            longest_yd=round(min(shortest_full_yd, shot.longest_yd or shortest_full_yd), 1),
            depth_sd=round(min(shot.depth_sd.at(t), _WIDEST), 4),
            depth_sd_floor_yd=round(shot.floor_yd.at(t), 3),
            line_sd_deg=round(shot.line_sd_deg.at(t), 3),
            mishit=round(min(shot.mishit.at(t), _WIDEST), 4),
            mishit_depth=shot.mishit_depth,
            mishit_depth_sd=shot.mishit_depth_sd,
            carry_share=shot.carry_share,
        )


def _ratio(club: Club, reach: float) -> float:
    """Carry of a club as a share of the driver's, for a driver carry of ``reach`` yards."""
    place = (float(np.clip(reach, 100.0, 320.0)) - 150.0) / 80.0
    return club.ratio_slow + (club.ratio_fast - club.ratio_slow) * place


def _mishit_factor(club: Club) -> float:
    """How the mishit share grows along the bag, from wedge to driver."""
    place = float(np.clip((club.ratio_fast - 0.4) / 0.6, 0.0, 1.0))
    return ref.MISHIT_SHORT + (ref.MISHIT_LONG - ref.MISHIT_SHORT) * place


def _named(name: str) -> Club:
    return next(club for club in CATALOGUE if club.name == name)
