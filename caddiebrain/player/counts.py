"""The page of counted shots: fairways and greens hit and missed, through the chance of each event.

The law of one shot is that of `caddiebrain.player.mixture`. The player aims at the middle.

*Fairway*, W yards wide: a ball of carry y and rollout g y finishes y (1 + g) yards away; it is hit if its
direction is within atan(W / (2 y (1 + g))) of the aim and it flew at least 0.6 of the pattern's carry; else it
is left, right or short.

*Green*, W wide and D deep: the player picks the distance, so a solid shot is meant to carry c. Short if
y < c - D/2, long if y > c + D/2, else hit, left or right by the offset y times the direction.

Each tally is multinomial over the events that were counted; misses not told apart are summed.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, ndtr

from caddiebrain.player.bayes import Terms
from caddiebrain.player.mixture import MOST_MISHITS, MishitShape

__all__ = ["EVENTS", "TallyRows", "event_chances", "tally_terms"]

Floats = NDArray[np.float64]

EVENTS = ("hit", "left", "right", "short", "long")
REACHES_FAIRWAY = 0.6
"""A drive that flies a smaller share of its pattern's carry has not reached the fairway (common practice)."""
_INSIDE, _INSIDE_WEIGHTS = np.polynomial.legendre.leggauss(24)
_FAR = 6.0
_STEP, _WIDE_STEP = 1e-5, 1e-3
_PAIRS = [(i, j) for i in range(6) for j in range(i + 1)]
_TINY = 1e-12


@dataclass(frozen=True)
class TallyRows:
    """N tallies.

    Parameters
    ----------
    pattern : ndarray of int, shape (N,)
    green : ndarray of bool, shape (N,)
        A green if true, a fairway if not.
    width_yd, depth_yd : ndarray of shape (N,)
        Of the target; the depth of a fairway is not read.
    roll : ndarray of shape (N,)
        Rollout on fairway as a share of the carry.
    spread, mishit : ndarray of shape (N,)
        The lie's spread factor and extra mishits.
    counts : ndarray of shape (N, 5)
        Of `EVENTS`, weighted by age; what was not told apart is in ``other``.
    other : ndarray of shape (N,)
        Shots that had one of the events in ``lumped``.
    lumped : ndarray of bool, shape (N, 5)
    """

    pattern: NDArray[np.int64]
    green: NDArray[np.bool_]
    width_yd: Floats
    depth_yd: Floats
    roll: Floats
    spread: Floats
    mishit: Floats
    counts: Floats
    other: Floats
    lumped: NDArray[np.bool_]


def event_chances(theta: Floats, shape: MishitShape, rows: TallyRows) -> Floats:
    """Chances (N, 5) of `EVENTS` for each tally at parameters (K, 6); rows sum to 1."""
    return _chances(theta[rows.pattern], shape, rows)


def _chances(own: Floats, shape: MishitShape, rows: TallyRows) -> Floats:
    """Chances (..., N, 5) at each tally's own parameters (..., N, 6)."""
    at = rows.pattern
    mishit = np.minimum(expit(own[..., 5]) + rows.mishit, MOST_MISHITS)[..., None]
    c, mu, r = np.exp(own[..., 0]), own[..., 2], np.tanh(own[..., 4])
    a, b = np.exp(own[..., 1]) * rows.spread, np.exp(own[..., 3]) * rows.spread
    one, none = np.ones_like(c), np.zeros_like(c)
    poor_sd = np.maximum(shape.carry_sd[at] * rows.spread, 0.02) * one
    solid = _Law(c, one, a, mu, b, r)
    poor = _Law(c, shape.carry[at] * one, poor_sd, mu, shape.line_sd_deg[at] * rows.spread * one, none)
    green = rows.green[:, None]
    chances = [np.where(green, _green(rows, law), _fairway(rows, law)) for law in (solid, poor)]
    return np.asarray((1.0 - mishit) * chances[0] + mishit * chances[1])


@dataclass(frozen=True)
class _Law:
    """Carry share (mean, spread), direction (mean, spread) and correlation of a part of the law, (..., N)."""

    c: Floats
    mean: Floats
    carry_sd: Floats
    line: Floats
    line_sd: Floats
    correlation: Floats

    def sides(self, low: Floats, high: Floats, half_width: Floats, reach: Floats) -> tuple[Floats, Floats]:
        """Chances of finishing left and right of a target while the carry's score is between low and high.

        ``reach`` is the distance at which the ball finishes for each yard of carry.
        """
        near, far = np.clip(low, -_FAR, _FAR)[..., None], np.clip(high, -_FAR, _FAR)[..., None]
        z = 0.5 * (near + far) + 0.5 * (far - near) * _INSIDE
        weight = 0.5 * (far - near) * _INSIDE_WEIGHTS * np.exp(-0.5 * z * z) / np.sqrt(2.0 * np.pi)
        carry = self.c[..., None] * (self.mean[..., None] + self.carry_sd[..., None] * z)
        edge = np.degrees(np.arctan(half_width[:, None] / np.maximum(carry * reach[..., None], 1.0)))
        centre = self.line[..., None] + (self.correlation * self.line_sd)[..., None] * z
        sd = (self.line_sd * np.sqrt(1.0 - self.correlation**2))[..., None]
        left = (ndtr((-edge - centre) / sd) * weight).sum(axis=-1)
        right = (ndtr((centre - edge) / sd) * weight).sum(axis=-1)
        return left, right


def _fairway(rows: TallyRows, law: _Law) -> Floats:
    """Chances (N, 5) at a fairway."""
    low = (REACHES_FAIRWAY - law.mean) / law.carry_sd
    left, right = law.sides(low, np.full_like(low, _FAR), 0.5 * rows.width_yd, 1.0 + rows.roll)
    short = ndtr(low)
    return np.stack([1.0 - left - right - short, left, right, short, np.zeros_like(low)], axis=-1)


def _green(rows: TallyRows, law: _Law) -> Floats:
    """Chances (N, 5) at a green."""
    off, half, sd_yd = (1.0 - law.mean) * law.c, 0.5 * rows.depth_yd, law.carry_sd * law.c
    low, high = (off - half) / sd_yd, (off + half) / sd_yd
    left, right = law.sides(low, high, 0.5 * rows.width_yd, np.ones_like(low))
    short, long = ndtr(low), ndtr(-high)
    return np.stack([1.0 - left - right - short - long, left, right, short, long], axis=-1)


def tally_terms(theta: Floats, shape: MishitShape, rows: TallyRows) -> Terms:
    """Log-likelihood of tallies, its gradient, and minus its second derivatives.

    Derivatives of the chances are central differences, all in one evaluation.

    Parameters
    ----------
    theta : ndarray of shape (K, 6)
    shape : MishitShape
    rows : TallyRows
    """
    count = len(theta)
    chance, first, second = _differences(theta[rows.pattern], shape, rows)
    lumps = (
        (rows.counts, chance, first, second),
        tuple(_lumped(part, rows.lumped) for part in (chance, first, second)),
    )
    value, row_gradient, row_information = 0.0, np.zeros((6, len(rows.pattern))), 0.0
    for counts, p, slope, bend in (lumps[0], (rows.other[:, None], *lumps[1])):
        p = np.maximum(p, _TINY)
        value += float((counts * np.log(p)).sum())
        row_gradient = row_gradient + (slope * (counts / p)).sum(axis=-1)
        squares = np.einsum("ine,jne,ne->nij", slope, slope, counts / p**2)
        row_information = row_information + squares - np.einsum("ijne,ne->nij", bend, counts / p)
    gradient, information = np.zeros((count, 6)), np.zeros((count, 6, 6))
    np.add.at(gradient, rows.pattern, row_gradient.T)
    np.add.at(information, rows.pattern, row_information)
    return Terms(value, gradient, information)


def _lumped(part: Floats, lumped: NDArray[np.bool_]) -> Floats:
    """Sum over the events that were not told apart, keeping the axis."""
    return np.asarray((part * lumped).sum(axis=-1, keepdims=True))


def _differences(own: Floats, shape: MishitShape, rows: TallyRows) -> tuple[Floats, Floats, Floats]:
    """Chances (N, 5), their first (6, N, 5) and second derivatives (6, 6, N, 5)."""
    unit = np.eye(6)
    near = _STEP * np.concatenate([unit, -unit])
    corners = _WIDE_STEP * np.array(
        [s * unit[i] + t * unit[j] for i, j in _PAIRS for s, t in ((1, 1), (1, -1), (-1, 1), (-1, -1))]
    )
    middle = np.zeros((1, 6))
    shifts = np.concatenate([middle, near, corners])[:, None, :]
    chances = _chances(own + shifts, shape, rows)
    first = (chances[1:7] - chances[7:13]) / (2.0 * _STEP)
    four = chances[13:].reshape(len(_PAIRS), 4, *chances.shape[1:])
    cross = (four[:, 0] - four[:, 1] - four[:, 2] + four[:, 3]) / (4.0 * _WIDE_STEP**2)
    second = np.empty((6, 6, *chances.shape[1:]))
    for (i, j), bend in zip(_PAIRS, cross, strict=True):
        second[i, j] = second[j, i] = bend
    return chances[0], first, second
