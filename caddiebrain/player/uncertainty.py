"""How sure we are of a player: one joint normal law on unbounded scales, and players drawn from it.

The law is centred on the player's own numbers. Its precision is the prior's (`caddiebrain.player.prior`)
plus the information of the records: taken from the fit where there is one, else what the shots on record
bring on average.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, logit

from caddiebrain.player.mixture import MishitShape, expected_information
from caddiebrain.player.patterns import PuttingSkill, ShortShot, ShotPattern
from caddiebrain.player.prior import pattern_precision, place, putting_precision, short_precision
from caddiebrain.player.putting import holing_chance
from caddiebrain.terms import Lie

__all__ = [
    "Beliefs",
    "lies_of",
    "mishit_shape",
    "pattern_information",
    "pattern_of",
    "places_of",
    "putting_information",
    "putting_of",
    "short_information",
    "short_of",
    "theta_of",
]

Floats = NDArray[np.float64]

_PUTTS_FT = (3.0, 5.0, 8.0, 12.0, 20.0, 30.0)
"""A round's usual putts, where distances were not kept (common practice, no source)."""


def theta_of(patterns: Sequence[ShotPattern]) -> Floats:
    """Parameters (K, 6) of patterns on the scales of `caddiebrain.player.mixture`."""
    return np.array(
        [
            (
                np.log(p.carry_yd),
                np.log(p.carry_sd),
                p.line_deg,
                np.log(p.line_sd_deg),
                np.arctanh(p.correlation),
                logit(np.clip(p.mishit, 0.002, 0.6)),
            )
            for p in patterns
        ],
        dtype=np.float64,
    )


def pattern_of(pattern: ShotPattern, theta: Floats) -> ShotPattern:
    """Return the pattern with parameters (6,) put in, held inside what a file may say."""
    return pattern.model_copy(
        update={
            "carry_yd": float(np.clip(np.exp(theta[0]), 20.0, 400.0)),
            "carry_sd": float(np.clip(np.exp(theta[1]), 0.005, 0.5)),
            "line_deg": float(np.clip(theta[2], -20.0, 20.0)),
            "line_sd_deg": float(np.clip(np.exp(theta[3]), 0.05, 30.0)),
            "correlation": float(np.clip(np.tanh(theta[4]), -0.95, 0.95)),
            "mishit": float(np.clip(expit(theta[5]), 0.0, 0.6)),
        }
    )


def mishit_shape(patterns: Sequence[ShotPattern]) -> MishitShape:
    """Return what is not fitted of each pattern's mishits."""
    rows = np.array(
        [(p.mishit_carry, p.mishit_carry_sd, p.mishit_line_sd_deg) for p in patterns], dtype=np.float64
    )
    return MishitShape(rows[:, 0], rows[:, 1], rows[:, 2], theta_of(patterns))


def places_of(patterns: Sequence[ShotPattern]) -> Floats:
    """Return the place of each pattern along the bag."""
    longest = max(p.carry_yd for p in patterns)
    return np.array([place(p.club, p.carry_yd, longest) for p in patterns])


def pattern_information(patterns: Sequence[ShotPattern], shots: Floats) -> Floats:
    """Information (K, 6, 6) of as many shots from good lies as given, on average."""
    if not shots.any():
        return np.zeros((len(patterns), 6, 6))
    return expected_information(theta_of(patterns), mishit_shape(patterns)) * shots[:, None, None]


def lies_of(short_game: Sequence[ShortShot]) -> tuple[Lie, ...]:
    """Lies with a short shot, in the order of their first."""
    return tuple(dict.fromkeys(shot.lie for shot in short_game))


def short_of(shot: ShortShot, shift: Floats) -> ShortShot:
    """Return the shot with its spread scaled by exp(shift[0]) and its mishits moved by shift[1] in logits."""
    scale = float(np.exp(shift[0]))
    mishit = expit(logit(np.clip(shot.mishit, 0.002, 0.6)) + shift[1])
    return shot.model_copy(
        update={
            "depth_sd": min(shot.depth_sd * scale, 0.6),
            "depth_sd_floor_yd": float(np.clip(shot.depth_sd_floor_yd * scale, 0.05, 5.0)),
            "line_sd_deg": min(shot.line_sd_deg * scale, 20.0),
            "line_sd_floor_yd": min(shot.line_sd_floor_yd * scale, 3.0),
            "mishit": float(min(mishit, 0.6)),
        }
    )


def short_information(short_game: Sequence[ShortShot]) -> Floats:
    """Information (L, 2, 2) of the short shots on record, each with a known leave, on average.

    A leave in two dimensions brings 4 on the logarithm of a common scale if solid; the share of mishits m
    brings m (1 - m) at most.
    """
    out = np.zeros((len(lies_of(short_game)), 2, 2))
    for i, lie in enumerate(lies_of(short_game)):
        for shot in short_game:
            if shot.lie is lie:
                out[i] += shot.shots * np.diag([4.0 * (1.0 - shot.mishit), shot.mishit * (1.0 - shot.mishit)])
    return out


def putting_of(skill: PuttingSkill, shift: Floats) -> PuttingSkill:
    """Return the skill with aim and pace scaled by exp(shift)."""
    aim, pace = np.exp(shift)
    return skill.model_copy(
        update={
            "aim_sd_deg": float(min(skill.aim_sd_deg * aim, 10.0)),
            "pace_sd": float(min(skill.pace_sd * pace, 0.6)),
        }
    )


def putting_information(skill: PuttingSkill) -> Floats:
    """Information (2, 2) of the putts on record, were they a round's usual putts, on log aim and log pace."""
    step = 1e-4
    x = np.array(_PUTTS_FT)
    chance = np.clip(holing_chance(skill, x), 1e-9, 1.0 - 1e-9)
    slopes = np.array([(holing_chance(putting_of(skill, e), x) - chance) / step for e in step * np.eye(2)])
    return np.asarray(skill.putts * (slopes / (chance * (1.0 - chance))) @ slopes.T / len(x))


@dataclass(frozen=True)
class Beliefs:
    """A player's parts and the precision of what is known about them.

    Parameters
    ----------
    patterns, short_game, putting
        The centre.
    information : ndarray of shape (K, 6, 6)
        Of the records, pattern by pattern.
    short_information : ndarray of shape (L, 2, 2)
        By lie, in the order of `lies_of`.
    putting_information : ndarray of shape (2, 2)
    """

    patterns: tuple[ShotPattern, ...]
    short_game: tuple[ShortShot, ...]
    putting: PuttingSkill
    information: Floats
    short_information: Floats
    putting_information: Floats

    @cached_property
    def covariance(self) -> Floats:
        """Covariance (6 K, 6 K) of the patterns, pattern by pattern."""
        return _covariance(pattern_precision(places_of(self.patterns)), self.information)

    @cached_property
    def short_covariance(self) -> Floats:
        """Covariance (2 L, 2 L) of the short game, lie by lie."""
        return _covariance(short_precision(len(self.short_information)), self.short_information)

    @cached_property
    def putting_covariance(self) -> Floats:
        """Covariance (2, 2) of log aim and log pace."""
        return _covariance(putting_precision(), self.putting_information[None])

    def sd(self) -> Floats:
        """Standard deviations (K, 6) of the pattern parameters."""
        return np.asarray(np.sqrt(np.diag(self.covariance)).reshape(-1, 6))

    def draw(
        self, n: int, rng: np.random.Generator
    ) -> list[tuple[tuple[ShotPattern, ...], tuple[ShortShot, ...], PuttingSkill]]:
        """Draw n players' parts."""
        centre = theta_of(self.patterns)
        shifts = _draw(self.covariance, n, rng).reshape(n, -1, 6)
        short = _draw(self.short_covariance, n, rng).reshape(n, -1, 2)
        putting = _draw(self.putting_covariance, n, rng)
        order: Mapping[Lie, int] = {lie: i for i, lie in enumerate(lies_of(self.short_game))}
        return [
            (
                tuple(pattern_of(p, t) for p, t in zip(self.patterns, centre + shifts[k], strict=True)),
                tuple(short_of(shot, short[k, order[shot.lie]]) for shot in self.short_game),
                putting_of(self.putting, putting[k]),
            )
            for k in range(n)
        ]


def _covariance(precision: Floats, blocks: Floats) -> Floats:
    """Invert prior precision plus the records' information, block by block."""
    total = precision.copy()
    size = blocks.shape[1]
    for i, block in enumerate(blocks):
        total[i * size : (i + 1) * size, i * size : (i + 1) * size] += block
    inverse = np.linalg.inv(total)
    return np.asarray(0.5 * (inverse + inverse.T))


def _draw(covariance: Floats, n: int, rng: np.random.Generator) -> Floats:
    """Draw n rows from the centred normal."""
    root = np.linalg.cholesky(covariance)
    return np.asarray(rng.standard_normal((n, len(covariance))) @ root.T)
