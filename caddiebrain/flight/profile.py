"""The path of a shot between ball and landing in simple formulas, for trees and corners.

Shares run along the line from the ball (0) to the landing (1). The exponents were fitted to integrated
flights from a wedge to a driver; the tests measure how far the formulas stray from them.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["curve_profile", "drift_profile", "height_profile", "shares_above"]

RISE, FALL, BEND, DRIFT = 1.42, 2.15, 1.9, 2.3


def height_profile(share: ArrayLike, apex_yd: ArrayLike, apex_share: ArrayLike) -> NDArray[np.float64]:
    """Height of the ball over the line.

    Parameters
    ----------
    share : array_like
        Share of the carry flown, 0 to 1; outside it the ball is on the ground.
    apex_yd : array_like
        Height of the apex, yards.
    apex_share : array_like
        Share of the carry at which the apex is, between 0 and 1.

    Returns
    -------
    ndarray
        Yards above the ball, of the broadcast shape.
    """
    u, top = np.clip(share, 0.0, 1.0), np.asarray(apex_share, dtype=float)
    short = np.maximum(1.0 - u / top, 0.0) ** RISE
    past = np.maximum((u - top) / (1.0 - top), 0.0) ** FALL
    return np.asarray(np.asarray(apex_yd, dtype=float) * (1.0 - short - past))


def shares_above(
    height_yd: ArrayLike, apex_yd: ArrayLike, apex_share: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Shares of the carry at which the ball rises above and falls below a height: `height_profile` inverted.

    Parameters
    ----------
    height_yd : array_like
        Yards above the ball; at or below 0 the ball is above it from start to landing.
    apex_yd, apex_share : array_like
        As in `height_profile`.

    Returns
    -------
    up, down : ndarray
        Both the apex share where the ball never gets that high.
    """
    top = np.asarray(apex_share, dtype=float)
    below = 1.0 - np.asarray(height_yd, dtype=float) / np.asarray(apex_yd, dtype=float)
    left = np.clip(below, 0.0, 1.0)
    up, down = top * (1.0 - left ** (1.0 / RISE)), top + (1.0 - top) * left ** (1.0 / FALL)
    return np.asarray(up), np.asarray(down)


def curve_profile(share: ArrayLike, curve_yd: ArrayLike) -> NDArray[np.float64]:
    """Where a curving ball is beside the straight line from the ball to its landing.

    Parameters
    ----------
    share : array_like
        Share of the carry flown, 0 to 1.
    curve_yd : array_like
        Sideways move in the air from the line of launch, right positive.

    Returns
    -------
    ndarray
        Yards, right positive: a ball that curves to the right is to the left of the line until it lands.
    """
    u = np.clip(share, 0.0, 1.0)
    return np.asarray(np.asarray(curve_yd, dtype=float) * (u**BEND - u))


def drift_profile(share: ArrayLike, drift_yd: ArrayLike) -> NDArray[np.float64]:
    """How much of its drift the wind has given a ball by a share of the carry; yards, right positive."""
    u = np.clip(share, 0.0, 1.0)
    return np.asarray(np.asarray(drift_yd, dtype=float) * u**DRIFT)
