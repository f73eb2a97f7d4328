"""The law of one full shot, in numbers that run from minus to plus infinity, with its derivatives.

Parameters of a pattern, in this order (`PARAMETERS`):

    p0 = log c      carry c, yards             p3 = log b       direction spread b, degrees
    p1 = log a      carry spread a, share      p4 = atanh r     correlation r
    p2 = mu         line, degrees              p5 = logit m     mishit share m

A shot of carry y and direction d from a lie with carry factor k, spread factor s and extra mishits e has
density

    (1 - m') N2(y / k, d; c, mu, (c a s)^2 + v, (b s)^2, r)
        + m' N(y / k; g c, (h c s)^2 + v) N(d; mu, (w s)^2)

with m' = min(m + e, 0.9) and v the variance of the measurement. The mishit's mean carry g, carry spread h
and direction spread w belong to the level and are not fitted. A missing coordinate is integrated out.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from caddiebrain.player.bayes import Terms

__all__ = ["PARAMETERS", "MishitShape", "ShotRows", "expected_information", "shot_terms"]

Floats = NDArray[np.float64]

PARAMETERS = ("carry", "carry spread", "line", "line spread", "correlation", "mishits")
MOST_MISHITS = 0.9
_CHUNK = 1 << 14
_LEAST_CARRY_SD = 0.02


@dataclass(frozen=True)
class MishitShape:
    """What is not fitted of K patterns: mean carry and its spread (shares), direction spread (degrees)."""

    carry: Floats
    carry_sd: Floats
    line_sd_deg: Floats


@dataclass(frozen=True)
class ShotRows:
    """N shots as points of the law above; Q points each where only the distance left to the hole is known.

    Parameters
    ----------
    pattern : ndarray of int, shape (N,)
    carry_yd, line_deg : ndarray of shape (N, Q)
        Carry on the scale of a good lie, direction from the intended line; ignored where not known.
    log_weight : ndarray of shape (N, Q)
        Logarithm of each point's quadrature weight; zeros where Q = 1.
    spread, mishit : ndarray of shape (N,)
        The lie's spread factor and extra mishits.
    variance : ndarray of shape (N,)
        Of the measured carry, square yards.
    weight : ndarray of shape (N,)
        How much each shot still counts.
    knows_carry, knows_line : bool
    """

    pattern: NDArray[np.int64]
    carry_yd: Floats
    line_deg: Floats
    log_weight: Floats
    spread: Floats
    mishit: Floats
    variance: Floats
    weight: Floats
    knows_carry: bool = True
    knows_line: bool = True

    def part(self, rows: slice) -> "ShotRows":
        """Return some of the rows."""
        arrays = ("pattern", "carry_yd", "line_deg", "log_weight", "spread", "mishit", "variance", "weight")
        return replace(self, **{name: getattr(self, name)[rows] for name in arrays})


def shot_terms(theta: Floats, shape: MishitShape, rows: ShotRows) -> Terms:
    """Log-likelihood of shots, its gradient, and the outer products of the scores as information.

    Parameters
    ----------
    theta : ndarray of shape (K, 6)
    shape : MishitShape
    rows : ShotRows
        Taken a few thousand points at a time, so that memory stays flat.
    """
    count = len(theta)
    value, gradient = 0.0, np.zeros((count, 6))
    information = np.zeros((count, 6, 6))
    width = max(rows.carry_yd.shape[1], 1)
    step = max(_CHUNK // width, 1)
    for start in range(0, len(rows.pattern), step):
        part = rows.part(slice(start, start + step))
        log_f, score = _row_scores(theta, shape, part)
        value += float(log_f @ part.weight)
        weighted = score * part.weight
        for i in range(6):
            gradient[:, i] += np.bincount(part.pattern, weighted[i], count)
            for j in range(i + 1):
                information[:, i, j] += np.bincount(part.pattern, weighted[i] * score[j], count)
    upper = np.transpose(information, (0, 2, 1))
    diagonal = information * np.eye(6)
    return Terms(value, gradient, information + upper - diagonal)


def _row_scores(theta: Floats, shape: MishitShape, rows: ShotRows) -> tuple[Floats, Floats]:
    """Log-density (N,) and its derivatives (6, N)."""
    at = rows.pattern
    raw = expit(theta[at, 5])
    mishit = np.minimum(raw + rows.mishit, MOST_MISHITS)
    log_s, solid = _solid(theta[at], rows)
    log_m, poor = _poor(theta[at], shape, rows)
    log_s = log_s + np.log1p(-mishit)[:, None] + rows.log_weight
    log_m = log_m + np.log(mishit)[:, None] + rows.log_weight
    top = np.maximum(log_s.max(axis=1), log_m.max(axis=1))
    chance_s, chance_m = np.exp(log_s - top[:, None]), np.exp(log_m - top[:, None])
    total = chance_s.sum(axis=1) + chance_m.sum(axis=1)
    chance_s, chance_m = chance_s / total[:, None], chance_m / total[:, None]
    score = np.empty((6, len(at)))
    for i in range(5):
        score[i] = (chance_s * solid[i]).sum(axis=1) + (chance_m * poor[i]).sum(axis=1)
    slope = np.where(raw + rows.mishit < MOST_MISHITS, raw * (1.0 - raw), 0.0)
    share = chance_m.sum(axis=1)
    score[5] = slope * (share / mishit - (1.0 - share) / (1.0 - mishit))
    return top + np.log(total), score


def _solid(theta: Floats, rows: ShotRows) -> tuple[Floats, list[Floats]]:
    """Log-density (N, Q) of a solid shot and its derivatives in p0 to p4, each (N, Q)."""
    y, d = float(rows.knows_carry), float(rows.knows_line)
    c, a, mu, b, r = (part[:, None] for part in _natural(theta))
    r = r * y * d
    own = (c * a * rows.spread[:, None]) ** 2
    sd = np.sqrt(own + rows.variance[:, None])
    held = own / sd**2
    wide = b * rows.spread[:, None]
    zy, zd = y * (rows.carry_yd - c) / sd, d * (rows.line_deg - mu) / wide
    q = 1.0 / (1.0 - r * r)
    form = zy * zy - 2.0 * r * zy * zd + zd * zd
    log_f = -0.5 * q * form - np.log(sd**y * wide**d * np.sqrt((2.0 * np.pi) ** (y + d) / q))
    pull_y, pull_d = q * (zy - r * zd), q * (zd - r * zy)
    return log_f, [
        y * (pull_y * (c / sd + zy * held) - held),
        y * (pull_y * zy - 1.0) * held,
        d * pull_d / wide,
        d * (pull_d * zd - 1.0),
        y * d * (r + zy * zd - form * r * q),
    ]


def _poor(theta: Floats, shape: MishitShape, rows: ShotRows) -> tuple[Floats, list[Floats | float]]:
    """Log-density (N, Q) of a mishit and its derivatives in p0 to p4."""
    y, d = float(rows.knows_carry), float(rows.knows_line)
    at = rows.pattern
    c, mu = np.exp(theta[:, :1]), theta[:, 2:3]
    mean = shape.carry[at, None] * c
    own = (np.maximum(shape.carry_sd[at] * rows.spread, _LEAST_CARRY_SD)[:, None] * c) ** 2
    sd = np.sqrt(own + rows.variance[:, None])
    held = own / sd**2
    wide = (shape.line_sd_deg[at] * rows.spread)[:, None]
    zy, zd = y * (rows.carry_yd - mean) / sd, d * (rows.line_deg - mu) / wide
    log_f = -0.5 * (zy * zy + zd * zd) - np.log(sd**y * wide**d * (2.0 * np.pi) ** (0.5 * (y + d)))
    return log_f, [y * (zy * (mean / sd + zy * held) - held), 0.0, d * zd / wide, 0.0, 0.0]


def _natural(theta: Floats) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Carry, carry spread, line, line spread and correlation."""
    p0, p1, p2, p3, p4 = theta.T[:5]
    return np.exp(p0), np.exp(p1), p2, np.exp(p3), np.tanh(p4)


def expected_information(theta: Floats, shape: MishitShape, points: int = 9) -> Floats:
    """Information that one more shot of each pattern from a good lie brings on average, (K, 6, 6).

    Gauss-Hermite over the solid and the mishit part, ``points`` squared each.
    """
    z, w = np.polynomial.hermite_e.hermegauss(points)
    z1, z2 = (part.ravel() for part in np.meshgrid(z, z))
    weight = np.outer(w, w).ravel() / w.sum() ** 2
    c, a, mu, b, r = (part[:, None] for part in _natural(theta))
    mishit = expit(theta[:, 5:6])
    zeros = np.zeros(2 * theta.shape[0] * weight.size)
    carry = np.hstack([c * (1.0 + a * (r * z2 + np.sqrt(1.0 - r * r) * z1)), _poor_carry(c, shape, z1)])
    line = np.hstack([mu + b * z2, mu + shape.line_sd_deg[:, None] * z2])
    chance = np.hstack([(1.0 - mishit) * weight, mishit * weight])
    rows = ShotRows(
        pattern=np.repeat(np.arange(len(theta)), carry.shape[1]),
        carry_yd=carry.reshape(-1, 1),
        line_deg=line.reshape(-1, 1),
        log_weight=zeros[:, None],
        spread=zeros + 1.0,
        mishit=zeros,
        variance=zeros,
        weight=chance.ravel(),
    )
    return shot_terms(theta, shape, rows).information


def _poor_carry(c: Floats, shape: MishitShape, z: Floats) -> Floats:
    """Carries of mishits at standard scores z."""
    sd = np.maximum(shape.carry_sd, _LEAST_CARRY_SD)[:, None]
    return np.asarray(c * (shape.carry[:, None] + sd * z))
