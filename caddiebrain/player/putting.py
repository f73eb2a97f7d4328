"""Putting from two errors, aim and pace (Gelman A., 2019, Model building and expansion for golf putting).

From x feet on a level green the ball starts at angle a ~ N(0, aim_sd) from the hole and would roll
u ~ N(x + o, (x + o) * pace_sd) feet if nothing stopped it, where o is the overshoot the player chooses. It
drops if

    |a| < asin((R - r) / x)    and    x <= u <= x + 3,

r and R the radii of ball and hole. A ball that misses stops at distance u along its angle. The published
model has o = 1 ft; here o is the player's pace: about 0 for a lag, up to 3 ft past for a charge.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from caddiebrain.errors import InputError
from caddiebrain.player.patterns import PuttingSkill

__all__ = [
    "BALL_RADIUS_FT",
    "CAPTURE_FT",
    "HOLE_RADIUS_FT",
    "PUBLISHED_OVERSHOOT_FT",
    "Leave",
    "Missed",
    "holing_chance",
    "leave_distribution",
    "miss_chance",
    "missed_putts",
]

BALL_RADIUS_FT = 1.68 / 24.0
"""Half of 1.68 inches, in feet."""
HOLE_RADIUS_FT = 4.25 / 24.0
"""Half of 4.25 inches, in feet."""
CAPTURE_FT = 3.0
"""A ball that would roll further past the hole than this does not drop (Gelman 2019)."""
PUBLISHED_OVERSHOOT_FT = 1.0
"""Where the published model's player aims to stop, feet past the hole."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Leave:
    """Where a missed putt stops.

    Parameters
    ----------
    holing : ndarray of shape (...)
        Chance that the putt drops.
    leave_ft : ndarray of shape (..., Q)
        Distance to the hole after a miss, feet, at Q quadrature points.
    weight : ndarray of shape (..., Q)
        Weight of each point given a miss; each row sums to 1.
    """

    holing: Floats
    leave_ft: Floats
    weight: Floats


@dataclass(frozen=True)
class Missed:
    """Missed putts as points.

    Parameters
    ----------
    holing : ndarray of shape (...)
        Chance that the putt drops.
    roll_ft : ndarray of shape (..., Q)
        How far the ball rolls, feet of green.
    angle : ndarray of shape (..., Q)
        Off the line to the hole, radians, to one side; the other is as likely.
    weight : ndarray of shape (..., Q)
        Weight of each point given a miss; each row sums to 1.
    """

    holing: Floats
    roll_ft: Floats
    angle: Floats
    weight: Floats


def holing_chance(
    skill: PuttingSkill, distance_ft: ArrayLike, overshoot_ft: ArrayLike = PUBLISHED_OVERSHOOT_FT
) -> Floats:
    """Chance of holing a putt on a level green.

    Parameters
    ----------
    skill : PuttingSkill
        Aim (degrees) and pace (share of the distance to the aimed stopping point).
    distance_ft : array_like
        Feet to the centre of the hole, above 0.
    overshoot_ft : array_like
        How far past the hole the putt is meant to stop, feet, 0 to 3; broadcasts with ``distance_ft``.

    Returns
    -------
    ndarray
        Chances, 0 to 1, of the broadcast shape.

    Raises
    ------
    InputError
        If a distance is not above 0.

    Notes
    -----
    Source: Gelman A. (2019), Model building and expansion for golf putting; Gelman & Nolan (2002).

    Examples
    --------
    >>> round(float(holing_chance(PuttingSkill(aim_sd_deg=1.020, pace_sd=0.080), 8.0)), 2)
    0.5
    """
    _check_distance(distance_ft)
    return np.asarray(1.0 - miss_chance(skill, distance_ft, overshoot_ft))


def _check_distance(distance_ft: ArrayLike) -> None:
    far = np.asarray(distance_ft)
    if far.dtype.kind not in "iuf" or not np.all(far > 0.0):
        found = f"{far.min():g}" if far.dtype.kind in "iuf" else repr(distance_ft)[:60]
        raise InputError.one("putting", "distance_ft", found, "feet to the hole, above 0")


def miss_chance(
    skill: PuttingSkill, distance_ft: ArrayLike, overshoot_ft: ArrayLike = PUBLISHED_OVERSHOOT_FT
) -> Floats:
    """Chance of missing, exact however small; arguments as for `holing_chance`."""
    x, o = np.broadcast_arrays(np.asarray(distance_ft, float), np.asarray(overshoot_ft, float))
    below, _, above = _pace_parts(o, (x + o) * skill.pace_sd)
    wide, wrong = 2.0 * _aim_tail(skill, x), below + above
    return np.asarray(wide + wrong - wide * wrong)


def leave_distribution(
    skill: PuttingSkill,
    distance_ft: ArrayLike,
    overshoot_ft: ArrayLike = PUBLISHED_OVERSHOOT_FT,
    points: int = 6,
) -> Leave:
    """Chance of holing, and the distribution of what is left after a miss.

    Parameters
    ----------
    skill : PuttingSkill
        Aim and pace.
    distance_ft, overshoot_ft : array_like
        As for `holing_chance`.
    points : int
        Gauss points per region of pace and of angle; Q = 3 * points**2 + 2 * points.

    Returns
    -------
    Leave
        Quadrature over the five regions of a miss: wide of the hole (stopping short of it, in the capture
        window, beyond it), and on line (short, too fast). Points lie inside the regions by chance, so no
        weight falls on a holed ball.

    Examples
    --------
    >>> after = leave_distribution(PuttingSkill(aim_sd_deg=1.020, pace_sd=0.080), [8.0, 30.0])
    >>> after.leave_ft.shape, after.weight.sum(axis=-1).round(12).tolist()
    ((2, 120), [1.0, 1.0])
    """
    _check_distance(distance_ft)
    x, o = np.broadcast_arrays(np.asarray(distance_ft, float), np.asarray(overshoot_ft, float))
    missed = missed_putts(skill, x, x, o, (x + o) * skill.pace_sd, points)
    leave = _gap(x[..., None], missed.roll_ft, missed.angle)
    return Leave(holing_chance(skill, x, o), leave, missed.weight)


def missed_putts(
    skill: PuttingSkill,
    distance_ft: Floats,
    roll_ft: Floats,
    overshoot_ft: Floats,
    sd_ft: Floats,
    points: int,
) -> Missed:
    """Work out putts whose roll is not simply the distance: part of the way may lead over longer grass.

    Parameters
    ----------
    skill : PuttingSkill
        For its aim.
    distance_ft : ndarray of shape (...)
        Feet to the hole, above 0.
    roll_ft, sd_ft : ndarray of shape (...)
        How far on a green the ball would roll that just reaches the hole, and the standard deviation of the roll, feet.
    overshoot_ft : ndarray of shape (...)
        How far past the hole the putt is meant to stop, feet.
    points : int
        As for `leave_distribution`.
    """
    gauss, share = _unit_gauss(points)
    parts = _pace_parts(overshoot_ft, sd_ft)
    rolls = _pace_points(roll_ft + overshoot_ft, sd_ft, parts, gauss)
    tail = _aim_tail(skill, distance_ft)[..., None]
    wide = -np.deg2rad(skill.aim_sd_deg) * ndtri(np.maximum(tail * gauss, np.finfo(float).tiny))
    online = 0.5 * _half_width(distance_ft)[..., None]
    regions: list[tuple[Floats, Floats, Floats]] = []
    for region, (u, part) in enumerate(zip(rolls, parts, strict=True)):
        chance = part[..., None]
        missed = (2.0 * chance * tail)[..., None] * share[:, None] * share
        regions.append((u[..., :, None], wide[..., None, :], missed))
        if region != 1:
            missed = (chance * (1.0 - 2.0 * tail))[..., None] * share[:, None]
            regions.append((u[..., :, None], online[..., None], missed))
    columns = zip(*(np.broadcast_arrays(*region) for region in regions), strict=True)
    roll, angle, weight = (_flat(column, distance_ft.ndim) for column in columns)
    holing = parts[1] * (1.0 - 2.0 * tail[..., 0])
    return Missed(holing, roll, angle, _normalised(weight))


def _flat(parts: Sequence[Floats], kept: int) -> Floats:
    """Put arrays side by side, all axes but the first so many made one."""
    return np.concatenate(
        [part.reshape(*part.shape[:kept], math.prod(part.shape[kept:])) for part in parts], axis=-1
    )


def _half_width(x: Floats) -> Floats:
    """Largest angle, radians, at which the ball still meets the hole squarely enough."""
    return np.asarray(np.arcsin(np.minimum((HOLE_RADIUS_FT - BALL_RADIUS_FT) / np.maximum(x, 1e-6), 1.0)))


def _aim_tail(skill: PuttingSkill, x: Floats) -> Floats:
    """Chance of missing the hole on one side."""
    near = x <= HOLE_RADIUS_FT - BALL_RADIUS_FT
    return np.where(near, 0.0, ndtr(-_half_width(x) / np.deg2rad(skill.aim_sd_deg)))


def _pace_parts(o: Floats, sd: Floats) -> tuple[Floats, Floats, Floats]:
    """Chances of stopping short of the hole, in the capture window, beyond it."""
    below, above = ndtr(-o / sd), ndtr(-(CAPTURE_FT - o) / sd)
    return below, 1.0 - below - above, above


def _pace_points(
    mean: Floats, sd: Floats, parts: tuple[Floats, Floats, Floats], gauss: Floats
) -> tuple[Floats, Floats, Floats]:
    """Roll lengths at Gauss points of the three pace regions, whose chances are ``parts``."""
    below, inside, above = (part[..., None] for part in parts)
    mean, sd = mean[..., None], sd[..., None]
    tiny = np.finfo(float).tiny
    short = mean + sd * ndtri(np.maximum(below * gauss, tiny))
    window = mean + sd * ndtri(np.clip(below + inside * gauss, tiny, 1.0 - 1e-16))
    fast = mean - sd * ndtri(np.maximum(above * gauss, tiny))
    return np.maximum(short, 0.0), window, fast


def _gap(x: Floats, u: Floats, angle: Floats) -> Floats:
    """Distance from the hole of a ball stopped u feet along an angle (radians)."""
    return np.asarray(np.sqrt((x - u) ** 2 + 4.0 * x * u * np.sin(0.5 * angle) ** 2))


def _normalised(weight: Floats) -> Floats:
    """Rows that sum to 1; a putt that cannot miss gets an even row, which nothing ever multiplies."""
    total = weight.sum(axis=-1, keepdims=True)
    even = np.full_like(weight, 1.0 / weight.shape[-1])
    return np.asarray(np.divide(weight, total, out=even, where=total > 0.0))


@lru_cache(maxsize=8)
def _unit_gauss(points: int) -> tuple[Floats, Floats]:
    """Gauss-Legendre nodes and weights on (0, 1)."""
    node, weight = np.polynomial.legendre.leggauss(points)
    return 0.5 * (node + 1.0), 0.5 * weight
