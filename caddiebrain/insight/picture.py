"""Where the balls of a choice come down, as points and an ellipse for a picture."""

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole import HoleCompiler, Kind
from caddiebrain.hole.ground import CODE
from caddiebrain.hole.off_green import putt_offsets
from caddiebrain.hole.points import ErrorPoints, normal_points
from caddiebrain.hole.short_swings import ShortSwing
from caddiebrain.hole.swings import Offsets
from caddiebrain.insight.records_compare import Ellipse
from caddiebrain.round.lookup import Spread

__all__ = ["dispersion", "picture_points", "short_swing", "two_thirds_ellipse"]

_SHOTS = 89
"""Balls in a picture; a Fibonacci number spreads them evenly."""
_TWO_THIRDS = float(np.sqrt(-2.0 * np.log(1.0 / 3.0)))
"""Standard deviations from the centre within which two thirds of a plane's normal points lie."""

Floats = NDArray[np.float64]


def dispersion(spread: Spread, row: int) -> tuple[tuple[tuple[float, float], ...], Ellipse | None]:
    """Balls of one row of a spread: mishits among them in their share, the ellipse of the solid ones.

    Full shots are shown where they land, short ones and putts where they stop; trees are left out. A drop is where it
    is made.
    """
    table = spread.table
    if table.kind[row] == Kind.DROP:
        way, far = float(table.heading[row]), float(table.distance[row])
        return ((spread.x + far * float(np.sin(way)), spread.y + far * float(np.cos(way))),), None
    offsets, solid = _offsets(spread, row)
    heading = float(table.heading[row])
    along, across = np.float64(offsets.along), np.float64(offsets.across)
    x = spread.x + along * np.sin(heading) + across * np.cos(heading)
    y = spread.y + along * np.cos(heading) - across * np.sin(heading)
    points = tuple((round(a, 2), round(b, 2)) for a, b in zip(x.tolist(), y.tolist(), strict=True))
    return points, two_thirds_ellipse(x[solid], y[solid])


def _offsets(spread: Spread, row: int) -> tuple[Offsets, NDArray[np.bool_]]:
    """Offsets along and across the aimed line of the picture's balls, and which are solid."""
    table, compiler = spread.table, spread.compiler
    kind, index = Kind(table.kind[row]), int(table.index[row])
    code = CODE[spread.lie]
    if kind is Kind.FULL:
        swing = next(s for s in compiler.arsenal.full[code] if s.index == index)
        points = picture_points(swing.mishit)
        bins = None
        if compiler.wind_to_deg is not None:
            line = compiler.hole.bearing_deg + np.rad2deg(table.heading[row])
            bins = swing.bin_of(np.array([compiler.wind_to_deg - line]))
        offsets = swing.offsets(points, bins)
    elif kind is Kind.PUTT:
        points, ball = picture_points(0.0), (np.array([spread.x]), np.array([spread.y]))
        offsets = putt_offsets(compiler.ground, compiler.arsenal.putter, ball, np.array([index]), points)
    else:
        short = short_swing(compiler, kind, code, index)
        points = picture_points(short.shot.mishit)
        here = slice(row, row + 1)
        at = np.array([spread.x]), np.array([spread.y]), table.heading[here], table.distance[here]
        allowed = compiler.allowance(at, short.shot, kind is Kind.PUNCH)
        offsets = short.offsets(points, table.distance[here], allowed)
    flat = Offsets(np.ravel(offsets.along), np.ravel(offsets.across), offsets.weight)
    return flat, points.solid


def short_swing(compiler: HoleCompiler, kind: Kind, code: int, index: int) -> ShortSwing:
    """Short shot or punch of a row, from a lie by its code."""
    if kind is Kind.PUNCH:
        return compiler.arsenal.punch
    return next(s for s in compiler.arsenal.short[code] if s.index == index)


def picture_points(mishit: float) -> ErrorPoints:
    """Equally likely errors: every so many of them a mishit."""
    both = normal_points(_SHOTS)
    poor = np.diff(np.floor(np.arange(_SHOTS + 1) * mishit + 0.5)) > 0
    return ErrorPoints(both[:, 0], both[:, 1], ~poor, np.full(_SHOTS, 1.0 / _SHOTS))


def two_thirds_ellipse(x: Floats, y: Floats) -> Ellipse:
    """Ellipse that holds two thirds of a normal cloud with the mean and covariance of points (n,)."""
    spread = np.cov(np.stack([x, y]))
    size, axes = np.linalg.eigh(spread)
    short, long = _TWO_THIRDS * np.sqrt(np.maximum(size, 0.0))
    return Ellipse(
        centre=(float(x.mean()), float(y.mean())),
        long_yd=float(long),
        short_yd=float(short),
        turn_deg=float(np.rad2deg(np.arctan2(axes[0, 1], axes[1, 1]))),
    )
