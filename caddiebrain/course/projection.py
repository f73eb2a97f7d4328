"""Longitude and latitude to the yards of a hole, and back.

A hole is flat enough for the plane that touches the WGS84 ellipsoid at its origin. A spot's place on the
ellipsoid, in metres from the earth's centre, is

    X = N cos(lat) cos(lon),  Y = N cos(lat) sin(lon),  Z = N (1 - e2) sin(lat),
    N = a / sqrt(1 - e2 sin2(lat))

and its east and north parts from the origin are the dot products with the origin's own east and north. Way
back: the spot on the plane is lifted straight up or down to the ellipsoid (a quadratic). A plane shortens a
distance d by d^3 / (6 R^2): 0.5 micrometre at 500 m, 0.03 mm at 2 km. Heights are left out of it.

Constants: World Geodetic System 1984, NGA.STND.0036 (semi-major axis and flattening).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["METRES_PER_YARD", "TangentPlane"]

METRES_PER_YARD = 0.9144
"""International yard, exact."""

_A = 6378137.0
_F = 1.0 / 298.257223563
_E2 = _F * (2.0 - _F)


@dataclass(frozen=True)
class TangentPlane:
    """The flat yards of one hole: the plane that touches the earth at a spot, turned to a bearing.

    Parameters
    ----------
    lon, lat : float
        The origin on WGS84, degrees; -180 to 180 and -90 to 90.
    bearing_deg : float
        Compass bearing of the y axis, degrees clockwise from north. The x axis points to the right of it.
    """

    lon: float
    lat: float
    bearing_deg: float = 0.0

    @classmethod
    def through(cls, start: Sequence[float], end: Sequence[float]) -> Self:
        """Return the plane with its origin at ``start`` and its y axis toward ``end``.

        Parameters
        ----------
        start, end : sequence of float
            Longitude and latitude, degrees. Where both are the same spot, y runs north.
        """
        level = cls(float(start[0]), float(start[1]))
        east, north = level.to_yards([[end[0], end[1]]])[0]
        return cls(level.lon, level.lat, float(np.degrees(np.arctan2(east, north))) % 360.0)

    def to_yards(self, lonlat: ArrayLike) -> NDArray[np.float64]:
        """Turn longitudes and latitudes into x (right) and y (along the bearing).

        Parameters
        ----------
        lonlat : array_like of shape (n, 2)
            Degrees.

        Returns
        -------
        ndarray of shape (n, 2)
            Yards.
        """
        lon, lat = np.radians(np.asarray(lonlat, dtype=np.float64).reshape(-1, 2)).T
        offset = _on_ellipsoid(lon, lat) - self._origin
        return (offset @ self._axes[:, :2]) / METRES_PER_YARD

    def to_lonlat(self, xy: ArrayLike) -> NDArray[np.float64]:
        """Turn x and y into longitudes and latitudes.

        Parameters
        ----------
        xy : array_like of shape (n, 2)
            Yards.

        Returns
        -------
        ndarray of shape (n, 2)
            Degrees.
        """
        metres = np.asarray(xy, dtype=np.float64).reshape(-1, 2) * METRES_PER_YARD
        flat = self._origin + metres @ self._axes[:, :2].T
        x, y, z = _onto_ellipsoid(flat, self._axes[:, 2]).T
        lat = np.arctan2(z, (1.0 - _E2) * np.hypot(x, y))
        lonlat: NDArray[np.float64] = np.degrees(np.column_stack([np.arctan2(y, x), lat]))
        return lonlat

    @cached_property
    def _origin(self) -> NDArray[np.float64]:
        origin: NDArray[np.float64] = _on_ellipsoid(*np.radians([[self.lon], [self.lat]]))[0]
        return origin

    @cached_property
    def _axes(self) -> NDArray[np.float64]:
        """Columns: the x axis, the y axis and up, as unit vectors from the earth's centre."""
        lon, lat, turn = np.radians([self.lon, self.lat, self.bearing_deg])
        east = np.array([-np.sin(lon), np.cos(lon), 0.0])
        north = np.array([-np.sin(lat) * np.cos(lon), -np.sin(lat) * np.sin(lon), np.cos(lat)])
        up = np.array([np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)])
        axes: NDArray[np.float64] = np.column_stack(
            [np.cos(turn) * east - np.sin(turn) * north, np.sin(turn) * east + np.cos(turn) * north, up]
        )
        return axes


def _on_ellipsoid(lon: NDArray[np.float64], lat: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return (n, 3) metres from the earth's centre; arguments in radians."""
    sin_lat, cos_lat = np.sin(lat), np.cos(lat)
    n = _A / np.sqrt(1.0 - _E2 * sin_lat**2)
    return np.column_stack([n * cos_lat * np.cos(lon), n * cos_lat * np.sin(lon), n * (1.0 - _E2) * sin_lat])


def _onto_ellipsoid(flat: NDArray[np.float64], up: NDArray[np.float64]) -> NDArray[np.float64]:
    """Move spots along ``up`` until they lie on X^2 + Y^2 + Z^2 / (1 - e2) = a^2, the nearer of two."""
    weight = np.array([1.0, 1.0, 1.0 / (1.0 - _E2)])
    square = float((weight * up) @ up)
    half = flat @ (weight * up)
    rest = (flat * weight * flat).sum(axis=1) - _A**2
    root = np.sqrt(np.maximum(half**2 - square * rest, 0.0))
    # The textbook root loses digits where it is near zero; this form of it does not.
    lift = -rest / (half + np.where(half < 0.0, -root, root))
    moved: NDArray[np.float64] = flat + lift[:, np.newaxis] * up
    return moved
