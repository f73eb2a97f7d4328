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
_STEP = 1e-5
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
    """Chances (N, 5) of `EVENTS` for each tally; rows sum to 1."""
    at = rows.pattern
    own = theta[at]
    mishit = np.minimum(expit(own[:, 5]) + rows.mishit, MOST_MISHITS)[:, None]
    c, a, mu, b, r = np.exp(own[:, 0]), np.exp(own[:, 1]), own[:, 2], np.exp(own[:, 3]), np.tanh(own[:, 4])
    solid = _Law(c, np.ones(len(at)), a * rows.spread, mu, b * rows.spread, r)
    poor_sd = np.maximum(shape.carry_sd[at] * rows.spread, 0.02)
    poor = _Law(c, shape.carry[at], poor_sd, mu, shape.line_sd_deg[at] * rows.spread, np.zeros(len(at)))
    green = rows.green[:, None]
    chances = [np.where(green, _green(rows, law), _fairway(rows, law)) for law in (solid, poor)]
    return np.asarray((1.0 - mishit) * chances[0] + mishit * chances[1])


@dataclass(frozen=True)
class _Law:
    """Carry share (mean, spread), direction (mean, spread) and correlation of one part of the law, (N,) each."""

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
        near, far = np.clip(low, -_FAR, _FAR)[:, None], np.clip(high, -_FAR, _FAR)[:, None]
        z = 0.5 * (near + far) + 0.5 * (far - near) * _INSIDE
        weight = 0.5 * (far - near) * _INSIDE_WEIGHTS * np.exp(-0.5 * z * z) / np.sqrt(2.0 * np.pi)
        carry = self.c[:, None] * (self.mean[:, None] + self.carry_sd[:, None] * z)
        edge = np.degrees(np.arctan(half_width[:, None] / np.maximum(carry * reach[:, None], 1.0)))
        centre = self.line[:, None] + (self.correlation * self.line_sd)[:, None] * z
        sd = (self.line_sd * np.sqrt(1.0 - self.correlation**2))[:, None]
        left = (ndtr((-edge - centre) / sd) * weight).sum(axis=1)
        right = (ndtr((centre - edge) / sd) * weight).sum(axis=1)
        return left, right


def _fairway(rows: TallyRows, law: _Law) -> Floats:
    """Chances (N, 5) at a fairway."""
    low = (REACHES_FAIRWAY - law.mean) / law.carry_sd
    left, right = law.sides(low, np.full(len(low), _FAR), 0.5 * rows.width_yd, 1.0 + rows.roll)
    short = ndtr(low)
    return np.stack([1.0 - left - right - short, left, right, short, np.zeros(len(low))], axis=1)


def _green(rows: TallyRows, law: _Law) -> Floats:
    """Chances (N, 5) at a green."""
    off, half, sd_yd = (1.0 - law.mean) * law.c, 0.5 * rows.depth_yd, law.carry_sd * law.c
    low, high = (off - half) / sd_yd, (off + half) / sd_yd
    left, right = law.sides(low, high, 0.5 * rows.width_yd, np.ones(len(low)))
    short, long = ndtr(low), ndtr(-high)
    return np.stack([1.0 - left - right - short - long, left, right, short, long], axis=1)


def tally_terms(theta: Floats, shape: MishitShape, rows: TallyRows) -> Terms:
    """Log-likelihood of tallies, its gradient, and the expected information.

    Parameters
    ----------
    theta : ndarray of shape (K, 6)
    shape : MishitShape
    rows : TallyRows
    """
    count = len(theta)
    chance = np.maximum(event_chances(theta, shape, rows), _TINY)
    lump = np.maximum((chance * rows.lumped).sum(axis=1), _TINY)
    value = float((rows.counts * np.log(chance)).sum() + rows.other @ np.log(lump))
    slopes = np.stack(
        [
            (event_chances(theta + e, shape, rows) - event_chances(theta - e, shape, rows)) / (2.0 * _STEP)
            for e in _STEP * np.eye(6)
        ]
    )
    lump_slopes = (slopes * rows.lumped).sum(axis=2)
    row_gradient = (slopes * (rows.counts / chance)).sum(axis=2) + lump_slopes * (rows.other / lump)
    tried = rows.counts.sum(axis=1) + rows.other
    alone = np.where(rows.lumped & (rows.other > 0.0)[:, None], 0.0, tried[:, None] / chance)
    lumped = np.where(rows.other > 0.0, tried / lump, 0.0)
    row_information = np.einsum("ine,jne,ne->nij", slopes, slopes, alone)
    row_information += np.einsum("in,jn,n->nij", lump_slopes, lump_slopes, lumped)
    gradient, information = np.zeros((count, 6)), np.zeros((count, 6, 6))
    np.add.at(gradient, rows.pattern, row_gradient.T)
    np.add.at(information, rows.pattern, row_information)
    return Terms(value, gradient, information)
