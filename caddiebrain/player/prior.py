"""How unlike its level one player may be, and how alike that player's clubs are.

On the scales of `caddiebrain.player.mixture` the parameters of a bag are normal around the level's, each kind
of parameter on its own, with covariance between clubs i and j

    whole^2 + smooth^2 exp(-(place_i - place_j)^2 / (2 * reach^2)) + own^2 [i = j]

so a player long with one club is likely long with all (whole), longer still with its neighbours (smooth), and
each club keeps something to itself (own). The figures are common practice, no source.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.player.bag import CATALOGUE, club_name

__all__ = [
    "PATTERN_TRUST",
    "PUTTING_PRIOR_SD",
    "SHORT_TRUST",
    "Trust",
    "pattern_precision",
    "place",
    "putting_precision",
    "short_precision",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Trust:
    """Standard deviations of one kind of parameter around the level."""

    whole: float
    smooth: float
    own: float


PATTERN_TRUST = (
    Trust(0.070, 0.030, 0.020),  # log carry
    Trust(0.150, 0.130, 0.130),  # log carry spread
    Trust(0.700, 0.800, 0.800),  # line, degrees
    Trust(0.150, 0.130, 0.130),  # log line spread
    Trust(0.150, 0.050, 0.150),  # atanh correlation
    Trust(0.400, 0.200, 0.300),  # logit mishits
)
REACH = 0.15
"""How far along the bag a likeness reaches, in shares of the driver's carry."""

SHORT_TRUST = (Trust(0.200, 0.0, 0.200), Trust(0.450, 0.0, 0.350))
"""Short game by lie: log spread, logit mishits. No order among lies, so nothing smooth."""

PUTTING_PRIOR_SD = (0.20, 0.25)
"""Log aim and log pace."""


def place(club: str, carry_yd: float, longest_yd: float) -> float:
    """Where a club stands along the bag: its carry as a share of the driver's."""
    name = club_name(club)
    known = next((c.ratio_fast for c in CATALOGUE if c.name == name), None)
    return known if known is not None else carry_yd / longest_yd


def pattern_precision(places: Floats) -> Floats:
    """Inverse prior covariance (6 K, 6 K) of K patterns, pattern by pattern.

    Parameters
    ----------
    places : ndarray of shape (K,)
        From `place`.
    """
    near = np.exp(-0.5 * ((places[:, None] - places) / REACH) ** 2)
    return _by_unit([t.whole**2 + t.smooth**2 * near + t.own**2 * np.eye(len(places)) for t in PATTERN_TRUST])


def short_precision(lies: int) -> Floats:
    """Inverse prior covariance (2 L, 2 L) of the short game from L lies, lie by lie."""
    return _by_unit([t.whole**2 + t.own**2 * np.eye(lies) for t in SHORT_TRUST])


def putting_precision() -> Floats:
    """Inverse prior covariance (2, 2) of putting."""
    return np.diag(np.asarray(PUTTING_PRIOR_SD) ** -2.0)


def _by_unit(covariances: list[Floats]) -> Floats:
    """Invert each parameter's covariance and lay all out unit by unit."""
    kinds, units = len(covariances), len(covariances[0])
    full = np.zeros((units, kinds, units, kinds))
    for kind, covariance in enumerate(covariances):
        full[:, kind, :, kind] = np.linalg.inv(covariance)
    return full.reshape(units * kinds, units * kinds)
