"""The full shots a player has from each lie, as points around an aimed line."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from caddiebrain.flight import FlightTable, rollout_yd
from caddiebrain.hole.ground import LIES
from caddiebrain.hole.points import ErrorPoints
from caddiebrain.player.model import LieEffect, Player, Ramp, ShotPattern
from caddiebrain.player.shapes import club_lengths
from caddiebrain.terms import Height, Lie

__all__ = [
    "FullSwing",
    "Numbers",
    "Offsets",
    "full_swings",
]

_LEAST_MISHIT_SD = 0.02
BEND_AT_LANDING = 0.9
"""Slope of the curve's formula (`caddiebrain.flight.curve_profile`) at the landing, per curve over carry."""


@dataclass(frozen=True)
class Offsets:
    """Where a shot's points land, in yards from the ball: ``along`` the aimed line and ``across`` (right +).

    Arrays are (points,) in still air and (rows, points) where the wind or the shot differs from row to row;
    ``weight`` (points,) or (rows, points) sums to 1.
    """

    along: NDArray[np.float32]
    across: NDArray[np.float32]
    weight: NDArray[np.float64]


@dataclass(frozen=True)
class FullSwing:
    """A stock full shot from one lie on one day.

    ``carry``, ``drift``, ``yards_per_height``, ``apex``, ``apex_share``, ``carry_sd`` and ``drift_sd`` are (bins,)
    over the angle between the wind and the line (one bin in still air); ``roll`` is (bins, lies) yards of rollout
    by landing lie.
    """

    index: int
    pattern: ShotPattern
    carry: NDArray[np.float64]
    drift: NDArray[np.float64]
    apex: NDArray[np.float64]
    apex_share: NDArray[np.float64]
    carry_sd: NDArray[np.float64]
    drift_sd: NDArray[np.float64]
    line_sd_deg: float
    mishit: float
    spread: float
    roll: NDArray[np.float32]
    yards_per_height: NDArray[np.float64]

    @property
    def landing_turn(self) -> float:
        """How far the ball moves to the right of straight on when it lands, radians: the end of its curve."""
        return float(BEND_AT_LANDING * self.pattern.curve_yd / self.pattern.carry_yd)

    @cached_property
    def reach_yd(self) -> float:
        """Carry and rollout on fairway, averaged over wind angles."""
        return float(self.carry.mean() + self.roll[:, LIES.index(Lie.FAIRWAY)].mean())

    def bin_of(self, angle_deg: NDArray[np.floating]) -> NDArray[np.int64]:
        """Wind bin of each angle between the wind's way and the line, degrees."""
        bins = len(self.carry)
        nearest: NDArray[np.int64] = np.rint(angle_deg / (360.0 / bins)).astype(np.int64) % bins
        return nearest

    def offsets(self, points: ErrorPoints, bins: NDArray[np.int64] | None = None) -> Offsets:
        """Landing points around the line; ``bins`` (rows,) picks the wind of each row."""
        pattern = self.pattern
        at = np.zeros(1, dtype=np.int64) if bins is None else bins
        carry, drift = self.carry[at, None], self.drift[at, None]
        z1, z2 = points.length, points.direction
        rho = pattern.correlation
        z1 = np.where(points.solid, rho * z2 + np.sqrt(1.0 - rho * rho) * z1, z1)
        mishit_sd = max(pattern.mishit_carry_sd * self.spread, _LEAST_MISHIT_SD)
        share = np.where(
            points.solid, 1.0 + self.carry_sd[at, None] * z1, pattern.mishit_carry + mishit_sd * z1
        )
        share = np.maximum(share, 0.02)
        wide = pattern.mishit_line_sd_deg * self.spread
        turn = np.deg2rad(pattern.line_deg + np.where(points.solid, self.line_sd_deg, wide) * z2)
        along = carry * share * np.cos(turn)
        across = carry * share * np.sin(turn) + (drift + self.drift_sd[at, None] * _other(z2)) * share
        weight = points.weight * np.where(points.solid, 1.0 - self.mishit, self.mishit)
        if bins is None:
            along, across = along[0], across[0]
        return Offsets(along.astype(np.float32), across.astype(np.float32), weight)


@dataclass(frozen=True)
class Numbers:
    """Numbers of the full swings from one lie, side by side.

    Parameters
    ----------
    swings : tuple of FullSwing
    index : ndarray of int64 (swings,)
    carry, drift, carry_sd, yards_per_height, roll : ndarray (swings, bins)
        As in `FullSwing`; rollout on fairway.
    reach : ndarray (swings,)
        Carry and rollout on fairway, averaged over wind angles.
    line, line_sd : ndarray (swings,)
        Where solid shots go off the aimed line, and how far they stray, radians.
    derived, stock : ndarray of bool (swings,)
        Whether the pattern is derived from another, and whether its height is the usual one.
    """

    swings: tuple[FullSwing, ...]
    index: NDArray[np.int64]
    carry: NDArray[np.float64]
    drift: NDArray[np.float64]
    carry_sd: NDArray[np.float64]
    yards_per_height: NDArray[np.float64]
    roll: NDArray[np.float32]
    reach: NDArray[np.float64]
    line: NDArray[np.float64]
    line_sd: NDArray[np.float64]
    derived: NDArray[np.bool_]
    stock: NDArray[np.bool_]

    @classmethod
    def of(cls, swings: tuple[FullSwing, ...]) -> "Numbers":
        """Put swings, one or more, side by side."""
        return cls(
            swings,
            np.array([s.index for s in swings], dtype=np.int64),
            np.stack([s.carry for s in swings]),
            np.stack([s.drift for s in swings]),
            np.stack([s.carry_sd for s in swings]),
            np.stack([s.yards_per_height for s in swings]),
            np.stack([s.roll[:, LIES.index(Lie.FAIRWAY)] for s in swings]),
            np.array([s.reach_yd for s in swings]),
            np.deg2rad([s.pattern.line_deg for s in swings]),
            np.deg2rad([s.line_sd_deg for s in swings]),
            np.array([s.pattern.derived for s in swings], dtype=bool),
            np.array([s.pattern.height is Height.STOCK for s in swings], dtype=bool),
        )

    def bin_of(self, angle_deg: NDArray[np.floating]) -> NDArray[np.int64]:
        """Wind bin of each angle between the wind's way and the line, degrees; every swing has the same bins."""
        return self.swings[0].bin_of(angle_deg)


def _other(z: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return a normal score unrelated to z: the same values dealt in another order."""
    n = len(z)
    step = round(n * (np.sqrt(5.0) - 1.0) / 2.0)
    while np.gcd(step, n) != 1:
        step += 1
    dealt: NDArray[np.float64] = z[(np.arange(n) * step) % n]
    return dealt


def full_swings(player: Player, lie: Lie, flight: FlightTable, firmness: float = 0.5) -> list[FullSwing]:
    """Full shots the player has from a lie, in the order of the player's patterns.

    A lie that bars a club for its length bars all its shapes and heights, and no others: the club is as long as its
    stock shot. The shortest club is never barred so.

    Parameters
    ----------
    flight : FlightTable
        The day's flight of ``player.patterns``, same order.
    firmness : float
        0 soft to 1 firm.
    """
    effect = player.lies.get(lie, LieEffect())
    carries = [p.carry_yd for p in player.patterns if not p.derived]
    low, high = min(carries), max(carries)
    lengths = club_lengths(player.patterns)
    most = max(effect.longest_carry_yd or np.inf, min(lengths.values()))
    swings = []
    for i, pattern in enumerate(player.patterns):
        barred = pattern.tee_only and lie is not Lie.TEE
        if barred or lengths[pattern.club] > most:
            continue
        t = float(np.clip((pattern.carry_yd - low) / (high - low), 0.0, 1.0)) if high > low else 0.0
        swings.append(_full_swing(i, pattern, effect, t, flight, firmness))
    return swings


def _at(ramp: Ramp, t: float) -> float:
    return ramp.short + (ramp.long - ramp.short) * t


def _full_swing(
    i: int, pattern: ShotPattern, effect: LieEffect, t: float, flight: FlightTable, firmness: float
) -> FullSwing:
    factor, spread = _at(effect.carry, t), _at(effect.spread, t)
    carry = np.atleast_1d(flight.carry_yd[i]) * factor
    descent = np.atleast_1d(flight.descent_deg[i])
    own = pattern.rollout_yd, pattern.descent_deg
    roll = rollout_yd(*own, LIES, descent[:, None], firmness=firmness) * _at(effect.rollout, t)
    sd = np.hypot(pattern.carry_sd * spread, np.atleast_1d(flight.carry_wind_sd[i]) / carry)
    return FullSwing(
        index=i,
        pattern=pattern,
        carry=carry,
        drift=np.atleast_1d(flight.drift_yd[i]) * factor,
        apex=np.atleast_1d(flight.apex_yd[i]) * factor,
        apex_share=np.atleast_1d(flight.apex_share[i]),
        carry_sd=sd,
        drift_sd=np.atleast_1d(flight.drift_wind_sd[i]),
        line_sd_deg=pattern.line_sd_deg * spread,
        mishit=min(0.9, max(0.0, pattern.mishit + _at(effect.mishit, t))),
        spread=spread,
        roll=roll.astype(np.float32),
        yards_per_height=np.atleast_1d(flight.yards_per_height[i]),
    )
