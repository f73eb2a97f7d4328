"""A few weighted points that stand for a player's whole spread of one shot.

The two standard normal errors (length, direction) of a shot are replaced by a Fibonacci lattice on the unit
square, carried through the inverse normal distribution and scaled to mean zero, unit variance and no
correlation exactly. A lattice fills the plane evenly, so the share of shots beyond any straight edge (a bunker's
side, a water margin) is met to within about 1/n (Niederreiter 1992, chapter 5: rank-1 lattices).
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

__all__ = ["ErrorPoints", "mixture_points", "normal_points"]


@dataclass(frozen=True)
class ErrorPoints:
    """Standard errors of a shot, solid ones first, each part sorted by direction.

    ``length`` and ``direction`` (n,) in standard deviations, ``solid`` (n,) bool tells the part of the mixture,
    ``weight`` (n,) is the share within its own part.
    """

    length: NDArray[np.float64]
    direction: NDArray[np.float64]
    solid: NDArray[np.bool_]
    weight: NDArray[np.float64]


@lru_cache(maxsize=64)
def normal_points(n: int) -> NDArray[np.float64]:
    """Return n equal-weight points (n, 2) of the standard normal plane.

    Parameters
    ----------
    n : int
        At least 5; Fibonacci numbers give true Fibonacci lattices, others the nearest generator.
    """
    generator = round(n * (np.sqrt(5.0) - 1.0) / 2.0)
    while np.gcd(generator, n) != 1:
        generator += 1
    i = np.arange(n)
    square = np.stack([(i + 0.5) / n, ((i * generator) % n + 0.5) / n], axis=1)
    normal = ndtri(square)
    normal -= normal.mean(axis=0)
    root = np.linalg.cholesky(normal.T @ normal / n)
    points: NDArray[np.float64] = np.linalg.solve(root, normal.T).T
    points.setflags(write=False)
    return points


@lru_cache(maxsize=16)
def mixture_points(solid: int, mishit: int) -> ErrorPoints:
    """Return the points of both parts of a shot, solid ones first, each sorted by direction (left first)."""
    both = np.concatenate([normal_points(solid), normal_points(mishit)])
    part = np.arange(solid + mishit) < solid
    weight = np.where(part, 1.0 / solid, 1.0 / mishit)
    order = np.lexsort([both[:, 1], ~part])
    return ErrorPoints(both[order, 0], both[order, 1], part[order], weight[order])
