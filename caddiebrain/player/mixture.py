"""The law of one full shot, in numbers that run from minus to plus infinity, with two derivatives.

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
from typing import Literal

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
_BOTH_SPREADS = np.zeros((6, 6))
_BOTH_SPREADS[[1, 3], [3, 1]] = 0.5
_TIES = {
    "all": np.eye(6),
    "scatter": np.diag([0.0, 0.5, 0.0, 0.5, 0.0, 1.0]) + _BOTH_SPREADS,
    "carry": np.diag([1.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
}
"""Projections of the parameters that some evidence speaks of."""


@dataclass(frozen=True)
class MishitShape:
    """What is not fitted of K patterns.

    Parameters
    ----------
    carry, carry_sd, line_sd_deg : ndarray of shape (K,)
        Of mishits: mean carry and its spread (shares of the carry), direction spread (degrees).
    centre : ndarray of shape (K, 6)
        Parameters before the fit: their spreads give the form of a scatter whose size alone is known.
    """

    carry: Floats
    carry_sd: Floats
    line_sd_deg: Floats
    centre: Floats


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
    tells : {"all", "scatter", "carry"}
        What the shots speak of; the other parameters stay where they were before the fit. How far from the hole
        balls finish tells the size of the scatter, not whether they missed long or wide, short or past, left or
        right: both spreads then move together.
    counted : bool
        Whether these are shots, not a mere word on them.
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
    tells: Literal["all", "scatter", "carry"] = "all"
    counted: bool = True

    def part(self, rows: slice) -> "ShotRows":
        """Return some of the rows."""
        arrays = ("pattern", "carry_yd", "line_deg", "log_weight", "spread", "mishit", "variance", "weight")
        return replace(self, **{name: getattr(self, name)[rows] for name in arrays})


def shot_terms(theta: Floats, shape: MishitShape, rows: ShotRows) -> Terms:
    """Log-likelihood of shots, its gradient, and minus its second derivatives as information.

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
    step = max(_CHUNK // max(rows.carry_yd.shape[1], 1), 1)
    tie = _TIES[rows.tells]
    theta = theta @ tie + shape.centre @ (np.eye(6) - tie)
    for start in range(0, len(rows.pattern), step):
        part = rows.part(slice(start, start + step))
        log_f, score, second = _row_terms(theta, shape, part)
        value += float(log_f @ part.weight)
        for i in range(6):
            gradient[:, i] += np.bincount(part.pattern, score[i] * part.weight, count)
            for j in range(i + 1):
                bent = (score[i] * score[j] - second[i, j]) * part.weight
                information[:, i, j] += np.bincount(part.pattern, bent, count)
    lower = np.tril(information, -1)
    information = information + np.transpose(lower, (0, 2, 1))
    return Terms(value, gradient @ tie, tie @ information @ tie)


@dataclass(frozen=True)
class _Part:
    """One part of the law at all points (N, Q): log-density, first and second derivatives by parameter.

    What is not listed is zero.
    """

    log_f: Floats
    first: dict[int, Floats]
    second: dict[tuple[int, int], Floats]


def _row_terms(theta: Floats, shape: MishitShape, rows: ShotRows) -> tuple[Floats, Floats, Floats]:
    """Log-density (N,), its first derivatives (6, N), and the mean second moments (6, 6, N), lower half.

    With responsibilities w of the parts and points, the second derivatives of log sum exp l are
    sum w (l'' + l' l'^T) - (sum w l')(sum w l')^T; the sum without its last term is returned.
    """
    own = theta[rows.pattern]
    raw = expit(own[:, 5])
    free = raw + rows.mishit < MOST_MISHITS
    mishit = np.minimum(raw + rows.mishit, MOST_MISHITS)
    slope = np.where(free, raw * (1.0 - raw), 0.0)
    bend = slope * (1.0 - 2.0 * raw)
    rest = 1.0 - mishit
    parts = (
        (_solid(own, rows), np.log(rest), -slope / rest, -bend / rest - (slope / rest) ** 2),
        (_poor(own, shape, rows), np.log(mishit), slope / mishit, bend / mishit - (slope / mishit) ** 2),
    )
    logs = [part.log_f + log_share[:, None] + rows.log_weight for part, log_share, _, _ in parts]
    top = np.maximum(logs[0].max(axis=1), logs[1].max(axis=1))
    chances = [np.exp(log - top[:, None]) for log in logs]
    total = sum(chance.sum(axis=1) for chance in chances)
    score, second = np.zeros((6, len(top))), np.zeros((6, 6, len(top)))
    for chance, (part, _, tilt, curl) in zip(chances, parts, strict=True):
        _gather(part, chance / total[:, None], tilt, curl, score, second)
    return top + np.log(total), score, second


def _gather(part: _Part, chance: Floats, tilt: Floats, curl: Floats, score: Floats, second: Floats) -> None:
    """Add one part's derivatives, weighted by responsibility (N, Q); tilt and curl are those in p5."""
    share = chance.sum(axis=1)
    means = {i: (chance * slope).sum(axis=1) for i, slope in part.first.items()}
    for i, mean in means.items():
        score[i] += mean
        second[5, i] += tilt * mean
        for j in part.first:
            if j <= i:
                square = part.first[i] * part.first[j]
                bent = part.second.get((i, j))
                second[i, j] += (chance * (square if bent is None else square + bent)).sum(axis=1)
    score[5] += tilt * share
    second[5, 5] += (curl + tilt * tilt) * share


def _solid(own: Floats, rows: ShotRows) -> _Part:
    """Return a solid shot's part; derivatives in p0 to p4."""
    y, d = float(rows.knows_carry), float(rows.knows_line)
    c, a, mu, b, r = (part[:, None] for part in _natural(own))
    r = r * y * d
    variance = (c * a * rows.spread[:, None]) ** 2
    sd = np.sqrt(variance + rows.variance[:, None])
    h = y * variance / sd**2
    k = 2.0 * h * (1.0 - h)
    wide = b * rows.spread[:, None]
    zy, zd = y * (rows.carry_yd - c) / sd, d * (rows.line_deg - mu) / wide
    q = 1.0 / (1.0 - r * r)
    form = zy * zy - 2.0 * r * zy * zd + zd * zd
    log_f = -0.5 * q * form - np.log(sd**y * wide**d * np.sqrt((2.0 * np.pi) ** (y + d) / q))
    push, turn = -q * (zy - r * zd), -q * (zd - r * zy)
    ratio = y * c / sd
    y0, y1, d2, d3 = -ratio - zy * h, -zy * h, -d / wide, -zd
    first = {0: push * y0 - h, 1: push * y1 - h, 2: turn * d2, 3: turn * d3 - d}
    second = {
        (0, 0): -q * y0 * y0 - push * (ratio * (1.0 - h) + y0 * h + zy * k) - k,
        (1, 0): -q * y0 * y1 + push * (ratio * h - y1 * h - zy * k) - k,
        (1, 1): -q * y1 * y1 - push * (y1 * h + zy * k) - k,
        (2, 2): -q * d2 * d2 + 0.0 * zd,
        (3, 2): -q * d2 * d3 - turn * d2,
        (3, 3): -q * d3 * d3 + turn * zd,
    }
    if y and d:
        first[4] = r + zy * zd - form * r * q
        second |= {(i, j): q * r * u * v for i, u in ((2, d2), (3, d3)) for j, v in ((0, y0), (1, y1))}
        bent_y, bent_d = 2.0 * r * push + zd, 2.0 * r * turn + zy
        second |= {(4, 0): bent_y * y0, (4, 1): bent_y * y1, (4, 2): bent_d * d2, (4, 3): bent_d * d3}
        second[4, 4] = 1.0 / q - form - 2.0 * r * r * q * form + 2.0 * r * zy * zd
    return _Part(log_f, first, second)


def _poor(own: Floats, shape: MishitShape, rows: ShotRows) -> _Part:
    """Return a mishit's part; derivatives in p0 and p2."""
    y, d = float(rows.knows_carry), float(rows.knows_line)
    at = rows.pattern
    c, mu = np.exp(own[:, :1]), own[:, 2:3]
    mean = shape.carry[at, None] * c
    variance = (np.maximum(shape.carry_sd[at] * rows.spread, _LEAST_CARRY_SD)[:, None] * c) ** 2
    sd = np.sqrt(variance + rows.variance[:, None])
    h = y * variance / sd**2
    k = 2.0 * h * (1.0 - h)
    wide = (shape.line_sd_deg[at] * rows.spread)[:, None]
    zy, zd = y * (rows.carry_yd - mean) / sd, d * (rows.line_deg - mu) / wide
    log_f = -0.5 * (zy * zy + zd * zd) - np.log(sd**y * wide**d * (2.0 * np.pi) ** (0.5 * (y + d)))
    ratio = y * mean / sd
    y0 = -ratio - zy * h
    first = {0: -zy * y0 - h, 2: d * zd / wide}
    second = {
        (0, 0): -y0 * y0 + zy * (ratio * (1.0 - h) + y0 * h + zy * k) - k,
        (2, 2): -d / wide**2 + 0.0 * zd,
    }
    return _Part(log_f, first, second)


def _natural(theta: Floats) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Carry, carry spread, line, line spread and correlation of rows or patterns."""
    p0, p1, p2, p3, p4 = theta.T[:5]
    return np.exp(p0), np.exp(p1), p2, np.exp(p3), np.tanh(p4)


def expected_information(theta: Floats, shape: MishitShape, points: int = 25) -> Floats:
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
