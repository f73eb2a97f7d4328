"""Green speed: what a measured roll says about friction and slope.

A ball released at 1.83 m/s rolls ``S`` on a level green, so it slows by ``1.83^2 / (2 S)``. Two rolls over
the same ground, down and up, differ by the pull of the slope alone: the level speed is ``2 D U / (D + U)``.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["RELEASE_M_S", "green_deceleration", "level_green_speed"]

RELEASE_M_S = 1.83
METRES_PER_FOOT = 0.3048


def green_deceleration(speed_ft: ArrayLike) -> NDArray[np.float64]:
    """Deceleration of a rolling ball on a level green.

    Parameters
    ----------
    speed_ft : array_like
        Green speed: the roll of a ball released at 1.83 m/s, feet.

    Returns
    -------
    ndarray
        m/s2.
    """
    return np.asarray(RELEASE_M_S**2 / (2.0 * METRES_PER_FOOT * np.asarray(speed_ft, dtype=float)))


def level_green_speed(down_ft: ArrayLike, up_ft: ArrayLike) -> NDArray[np.float64]:
    """Green speed of the level green from two rolls over the same slope.

    Parameters
    ----------
    down_ft, up_ft : array_like
        Rolls downhill and uphill, feet.

    Returns
    -------
    ndarray
        Feet.
    """
    down, up = np.asarray(down_ft, dtype=float), np.asarray(up_ft, dtype=float)
    return np.asarray(2.0 * down * up / (down + up))
