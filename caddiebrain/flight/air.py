"""Air: its pressure, density and wind, from what a forecast says.

Sources: the International Standard Atmosphere (ISO 2533:1975; U.S. Standard Atmosphere 1976) for pressure by
altitude, Buck (1981, *Journal of Applied Meteorology* 20:1527-1532) for the saturation pressure of water
vapour, the ideal gas law for a mixture of dry air and vapour, and the logarithmic wind profile over open
ground (WMO-No. 8, *Guide to Instruments and Methods of Observation*, for the roughness length and the
standard height of 10 m). Formulas quoted from memory; the tests compare them with printed tables.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "REFERENCE_DENSITY",
    "ROUGHNESS_M",
    "WIND_HEIGHT_M",
    "air_density",
    "pressure_at",
    "saturation_pressure",
    "wind_profile",
]

SEA_LEVEL_HPA = 1013.25
GAS_CONSTANT = 8.31446  # J/(mol K)
MOLAR_DRY = 0.0289644  # kg/mol
MOLAR_WATER = 0.0180153  # kg/mol
WIND_HEIGHT_M = 10.0
ROUGHNESS_M = 0.03  # open grass with few obstacles
GROUND_M = 0.5  # keeps the profile smooth where a ball leaves and lands; costs 1 % at head height
_PROFILE_AT_10_M = float(np.log((WIND_HEIGHT_M + GROUND_M) / ROUGHNESS_M))


def pressure_at(altitude_m: ArrayLike, sea_level_hpa: ArrayLike = SEA_LEVEL_HPA) -> NDArray[np.float64]:
    """Air pressure at an altitude in the standard troposphere.

    Parameters
    ----------
    altitude_m : array_like
        Metres above sea level, below 11,000.
    sea_level_hpa : array_like
        Pressure reduced to sea level, as forecasts give it, in hPa.

    Returns
    -------
    ndarray
        Pressure in hPa.
    """
    ratio = 1.0 - 0.0065 * np.asarray(altitude_m, dtype=float) / 288.15
    return np.asarray(np.asarray(sea_level_hpa, dtype=float) * ratio**5.25588)


def saturation_pressure(temperature_c: ArrayLike) -> NDArray[np.float64]:
    """Saturation pressure of water vapour over water in hPa (Buck 1981), -30 to 50 C."""
    t = np.asarray(temperature_c, dtype=float)
    return np.asarray(6.1121 * np.exp(17.502 * t / (240.97 + t)), dtype=float)


def air_density(
    temperature_c: ArrayLike,
    altitude_m: ArrayLike = 0.0,
    humidity: ArrayLike = 0.5,
    sea_level_hpa: ArrayLike = SEA_LEVEL_HPA,
) -> NDArray[np.float64]:
    """Density of moist air.

    Parameters
    ----------
    temperature_c : array_like
        Air temperature where the ball flies, Celsius.
    altitude_m : array_like
        Metres above sea level.
    humidity : array_like
        Relative humidity, 0 to 1.
    sea_level_hpa : array_like
        Pressure reduced to sea level, hPa.

    Returns
    -------
    ndarray
        Density in kg/m3.
    """
    kelvin = np.asarray(temperature_c, dtype=float) + 273.15
    vapour = np.asarray(humidity, dtype=float) * saturation_pressure(temperature_c)
    dry = pressure_at(altitude_m, sea_level_hpa) - vapour
    return np.asarray(100.0 * (dry * MOLAR_DRY + vapour * MOLAR_WATER) / (GAS_CONSTANT * kelvin), dtype=float)


def wind_profile(height_m: ArrayLike) -> NDArray[np.float64]:
    """Wind at a height above open ground, as a share of the wind at 10 m.

    The logarithmic law ``ln((z + 0.5) / z0) / ln(10.5 / z0)`` with ``z0`` = 0.03 m.

    Parameters
    ----------
    height_m : array_like
        Metres above the ground; below it counts as on it.
    """
    above = np.maximum(np.asarray(height_m, dtype=float), 0.0)
    return np.asarray(np.log((above + GROUND_M) / ROUGHNESS_M) / _PROFILE_AT_10_M)


REFERENCE_DENSITY = float(air_density(20.0))
"""kg/m3 at 20 C, sea level, 50 % humidity: the air a player's stock carries are given for."""
