"""Whether latitude and longitude look exchanged on a map, where no position is off the globe.

East and north are not to the same scale except on the equator, so exchanged coordinates bend every length that does
not run north. They are taken for exchanged only if two witnesses agree: the card (tagged lengths, else pars), which the
lengths of the holes fit only the other way round; and the greens, which are about as deep as wide on the average of a
course and are rounder the other way round. A course of odd lengths has the card against it, not its greens.
"""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from caddiebrain.course.features import Feature, is_areal
from caddiebrain.course.projection import TangentPlane
from caddiebrain.course.tags import PAR_BANDS_YD, length_yd, whole_numbers

__all__ = ["told_by_lengths"]

FITS, FITS_NOT = 0.03, 0.08
"""Tagged lengths are right if half of them are within the first share of what is measured, wrong beyond the second."""
PARS_LEAST = 3
ODD_SHARE = 1 / 4
"""Pars speak if so many holes have one and this share of them do not fit its band. The bands are wide: of exchanged
courses half the holes may still fit."""
MENDED_SHARE = 1 / 4
"""They speak for an exchange if at most this share of those would be left by it."""


def told_by_lengths(lines: Sequence[Feature], greens: Sequence[Feature]) -> str:
    """What says that coordinates are exchanged; empty where nothing does.

    Parameters
    ----------
    lines, greens : sequence of Feature
        Hole lines with their tags, and greens, as read: x for longitude, y for latitude.
    """
    spots = [shapely.get_coordinates(feature.shape) for feature in lines]
    if any(np.abs(xy[:, 0]).max() > 90.0 for xy in spots) or not _rounder(greens):
        return ""
    read, turned = (np.array([_length_yd(xy[:, order]) for xy in spots]) for order in ([0, 1], [1, 0]))
    tagged = np.array([length_yd(feature.tags.get("dist", "")) or np.nan for feature in lines])
    if np.isfinite(tagged).any():
        off, off_turned = (float(np.nanmedian(np.abs(length / tagged - 1.0))) for length in (read, turned))
        if off <= FITS_NOT:
            return ""
        if off_turned < FITS:
            return f"hole lengths {off:.0%} off their dist, with latitude and longitude exchanged {off_turned:.0%}"
    return _told_by_pars(lines, read, turned)


def _told_by_pars(lines: Sequence[Feature], read: NDArray[np.float64], turned: NDArray[np.float64]) -> str:
    bands = [PAR_BANDS_YD.get((whole_numbers(feature.tags.get("par", "")) or [0])[0]) for feature in lines]
    known = [(band, a, b) for band, a, b in zip(bands, read, turned, strict=True) if band]
    odd = sum(not band[0] <= length <= band[1] for band, length, _ in known)
    odd_turned = sum(not band[0] <= length <= band[1] for band, _, length in known)
    if len(known) < PARS_LEAST or odd < ODD_SHARE * len(known) or odd_turned > MENDED_SHARE * odd:
        return ""
    return (
        f"{odd} of {len(known)} holes with a length unusual for their par, "
        f"with latitude and longitude exchanged {odd_turned or 'none'}"
    )


def _rounder(greens: Sequence[Feature]) -> bool:
    """Whether greens are, taken together, about as deep as wide only with latitude and longitude exchanged."""
    shapes = [green.shape for green in greens if is_areal(green.shape) and not green.shape.is_empty]
    west, south, east, north = np.array([shape.bounds for shape in shapes]).reshape(-1, 4).T
    # A degree of longitude is shorter by the cosine of the latitude, whichever coordinate that is.
    with np.errstate(divide="ignore", invalid="ignore"):
        read = np.log((north - south) / (east - west) / np.cos(np.radians(south)))
        turned = np.log((east - west) / (north - south) / np.cos(np.radians(west)))
    sound = np.isfinite(read) & np.isfinite(turned)
    return bool(sound.any() and abs(read[sound].mean()) > abs(turned[sound].mean()))


def _length_yd(lonlat: NDArray[np.float64]) -> float:
    flat = TangentPlane(float(lonlat[0, 0]), float(lonlat[0, 1])).to_yards(lonlat)
    return float(np.hypot(*np.diff(flat, axis=0).T).sum())
