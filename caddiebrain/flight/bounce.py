"""Bounce and rollout of full shots, from the player's own rollout on a level, medium firm fairway.

    rollout = own rollout * lie * firmness * steepness * slope

======================  =====================================================================================
factor                  where it comes from
======================  =====================================================================================
lie                     common practice, no source
firmness                0.5 (soaked) to 2 (baked), 1 as given; common practice, no source
steepness               cot(descent) / cot(own descent): the speed along the ground that survives the landing
                        falls with the angle (trend: Penner A.R. 2002, *Canadian Journal of Physics*
                        80:931-940, from memory); its form is ours, no source
slope                   resistance / (resistance + rise): the stopping distance of a body that resistance and
                        gravity slow together; resistance 0.25 of its weight for a bouncing, rolling ball on a
                        fairway, common practice, no source
======================  =====================================================================================

A ball in a penalty area or a bunker stays where it came down. Pitches and chips roll by their own share of
the distance and do not come here.
"""

from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

from caddiebrain.errors import UnknownError
from caddiebrain.terms import Lie

__all__ = ["ROLLOUT_BY_LIE", "rollout_yd"]

ROLLOUT_BY_LIE = MappingProxyType(
    {
        Lie.TEE: 1.0,
        Lie.FAIRWAY: 1.0,
        Lie.TIGHT: 1.1,
        Lie.GREEN: 0.5,
        Lie.ROUGH: 0.4,
        Lie.THICK: 0.15,
        Lie.TREES: 0.3,
        Lie.SAND: 0.0,
        Lie.YELLOW: 0.0,
        Lie.RED: 0.0,
        Lie.OUT: 0.4,
    }
)
"""Share of the fairway's rollout by the lie the ball comes down on; common practice, no source."""

RESISTANCE = 0.25
LEAST_STEEPNESS, MOST_STEEPNESS = 0.25, 3.0
MOST_SLOPE_GAIN = 3.0


def rollout_yd(
    pattern_rollout_yd: ArrayLike,
    pattern_descent_deg: ArrayLike,
    lie: Lie | ArrayLike,
    descent_deg: ArrayLike,
    firmness: ArrayLike = 0.5,
    slope: ArrayLike = 0.0,
) -> NDArray[np.float64]:
    """Bounce and roll after the landing.

    Parameters
    ----------
    pattern_rollout_yd : array_like
        The player's own rollout with the shot on a level, medium firm fairway, yards.
    pattern_descent_deg : array_like
        The descent angle that goes with it, degrees.
    lie : Lie or array_like of Lie
        What the ball comes down on.
    descent_deg : array_like
        Descent angle of this shot, degrees.
    firmness : array_like
        0 (soaked) to 1 (baked); 0.5 as the player gave it.
    slope : array_like
        Rise over run of the ground along the shot where it lands; positive is uphill.

    Returns
    -------
    ndarray
        Yards, never negative, of the broadcast shape.

    Raises
    ------
    UnknownError
        If a lie is none of ours.
    """
    firm = 4.0 ** (np.clip(firmness, 0.0, 1.0) - 0.5)
    own, now = np.clip(pattern_descent_deg, 5.0, 85.0), np.clip(descent_deg, 5.0, 85.0)
    steep = np.clip(np.tan(np.radians(own)) / np.tan(np.radians(now)), LEAST_STEEPNESS, MOST_STEEPNESS)
    least = RESISTANCE / MOST_SLOPE_GAIN
    tilt = RESISTANCE / np.maximum(RESISTANCE + np.asarray(slope, dtype=float), least)
    own_rollout = np.asarray(pattern_rollout_yd, dtype=float)
    return np.asarray(own_rollout * _by_lie(lie) * firm * steep * tilt)


def _by_lie(lie: Lie | ArrayLike) -> NDArray[np.float64]:
    """Share of the rollout for every lie of an array."""
    lies = np.asarray(lie, dtype=object)
    found, place = np.unique(lies.astype(str), return_inverse=True)
    try:
        shares = np.array([ROLLOUT_BY_LIE[Lie(name)] for name in found])
    except ValueError as error:
        raise UnknownError(f"{error}; lies are {', '.join(ROLLOUT_BY_LIE)}") from error
    return shares[place].reshape(lies.shape)
