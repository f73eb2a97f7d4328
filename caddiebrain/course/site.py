"""A course's ground on one plane of yards: every sound feature within reach of its holes."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from caddiebrain.course.clip import clip_area, clip_line
from caddiebrain.course.features import CourseMap, Feature, is_areal, sound_areas
from caddiebrain.course.findings import Findings
from caddiebrain.course.projection import TangentPlane
from caddiebrain.course.tags import Kind

__all__ = ["Site", "lay_out"]

SITE_DEG = 0.12
"""A feature of a course file farther than this (13 km) from the middle of its holes is misplaced."""
AROUND_DEG = 0.006
"""Features of a map within this (700 yards of latitude) of the holes' bounding box are looked at."""
POSITIONS_MOST = 10_000
"""Most corners of one feature near the holes. Checking the worst outline of that size takes about a second."""
SITE_POSITIONS_MOST = 200_000
"""Most corners of all features near the holes."""
PLAIN_POSITIONS = 2_000
"""Outlines with more corners than this are thinned."""


@dataclass(frozen=True)
class Site:
    """Features in yards of one plane.

    Parameters
    ----------
    plane : TangentPlane
        Origin amid the holes, y axis north.
    lines : tuple of Feature
        The hole lines of the course in question.
    features : tuple of Feature
        Everything else around them. Shapes in yards east and north of the origin.
    """

    plane: TangentPlane
    lines: tuple[Feature, ...]
    features: tuple[Feature, ...]

    def of(self, *kinds: Kind) -> Iterator[Feature]:
        """Give the features of these kinds."""
        return (feature for feature in self.features if feature.kind in kinds)

    def areas(self, *kinds: Kind) -> Iterator[Feature]:
        """Give the features of these kinds that are areas, not points or lines."""
        return (feature for feature in self.of(*kinds) if is_areal(feature.shape))


def lay_out(course_map: CourseMap, lines: Sequence[Feature], findings: Findings) -> Site:
    """Put some hole lines and the features around them on a plane.

    On a map, features elsewhere are left out. In a course file of ours they are faults, since they come from
    swapped or mistyped coordinates.
    """
    mids = np.array([np.median(shapely.get_coordinates(feature.shape), axis=0) for feature in lines])
    first = mids[0, 0]
    lon = first + np.median(_turn(mids[:, 0] - first))
    plane = TangentPlane(float(lon), float(np.median(mids[:, 1])))
    others = [feature for feature in course_map.features if feature.kind is not Kind.HOLE]
    if course_map.own:
        reach = SITE_DEG * np.array([-1.0, -1.0, 1.0, 1.0]) / [_shrink(plane), 1.0, _shrink(plane), 1.0]
        lines = _checked(lines, reach, plane, findings)
        others = _checked(others, reach, plane, findings)
    else:
        edges = _relative(lines, plane)
        slack = AROUND_DEG * np.array([-1.0, -1.0, 1.0, 1.0]) / [_shrink(plane), 1.0, _shrink(plane), 1.0]
        reach = np.concatenate([edges[:, :2].min(axis=0), edges[:, 2:].max(axis=0)]) + slack
        others = [f for f, near in zip(others, _within(others, reach, plane), strict=True) if near]
        others = _cut_down(others, reach, plane)
    others = _of_a_size(others, reach, plane, findings)
    lines = _of_a_size(lines, reach, plane, findings)
    others = sound_areas(others, course_map.own, findings)
    return Site(plane, tuple(_placed(lines, plane)), tuple(_thinned(f) for f in _placed(others, plane)))


def _checked(
    features: Sequence[Feature], box: NDArray[np.float64], plane: TangentPlane, findings: Findings
) -> list[Feature]:
    near = _within(features, box, plane)
    for feature, fine in zip(features, near, strict=True):
        if not fine:
            findings.fault(feature.where, _how_far(feature.shape, plane), "a place on the course")
    return [feature for feature, fine in zip(features, near, strict=True) if fine]


def _cut_down(features: Sequence[Feature], reach: NDArray[np.float64], plane: TangentPlane) -> list[Feature]:
    """Cut woods, seas and rivers that run far beyond the course, or are very fine, down to its surroundings."""
    box = np.add(reach, [plane.lon, plane.lat] * 2)
    large = _far_across(features, reach, plane) | (_positions(features) > POSITIONS_MOST // 2)
    kept: list[Feature] = []
    for feature, cut in zip(features, large, strict=True):
        if not cut or "golf" in feature.tags or feature.shape.geom_type == "Point":
            kept.append(feature)
        elif is_areal(feature.shape):
            shape = clip_area(feature.shape, box)
            kept += [replace(feature, shape=shape)] if shape is not None else []
        else:
            parts = shapely.get_parts(feature.shape)
            kept += [replace(feature, shape=piece) for part in parts for piece in clip_line(part, box)]
    return kept


def _of_a_size(
    features: Sequence[Feature], reach: NDArray[np.float64], plane: TangentPlane, findings: Findings
) -> list[Feature]:
    """Keep features that geometry can be done on: not half a world across, not of millions of corners.

    Raises
    ------
    CourseError
        If all together have too many corners.
    """
    counts, far = _positions(features), _far_across(features, reach, plane)
    if counts.sum() > SITE_POSITIONS_MOST:
        found = f"{counts.sum():,} positions around the holes"
        raise findings.stop(
            "the map", found, f"at most {SITE_POSITIONS_MOST:,}; export fewer kinds of features"
        )
    kept = []
    for feature, count, wide in zip(features, counts, far, strict=True):
        if count > POSITIONS_MOST:
            findings.fault(
                feature.where, f"{count:,} positions", f"at most {POSITIONS_MOST:,} in one feature"
            )
        elif wide:
            west, south, east, north = feature.shape.bounds
            across = max(east - west, north - south)
            findings.fault(feature.where, f"positions {across:.3g} degrees apart", "a shape on the course")
        else:
            kept.append(feature)
    return kept


def _far_across(
    features: Sequence[Feature], reach: NDArray[np.float64], plane: TangentPlane
) -> NDArray[np.bool_]:
    """Whether features stretch far beyond the course; a plane holds nothing half a world away."""
    beyond = _relative(features, plane) - reach
    slack = SITE_DEG / np.array([_shrink(plane), 1.0])
    outside = np.column_stack([beyond[:, :2] < -slack, beyond[:, 2:] > slack])
    far: NDArray[np.bool_] = np.logical_or.reduce(outside, axis=1)
    return far


def _positions(features: Sequence[Feature]) -> NDArray[np.int_]:
    return np.asarray(shapely.get_num_coordinates(_shapes(features)), dtype=np.int_)


def _thinned(feature: Feature) -> Feature:
    """Thin a very fine outline to within 0.2 yards."""
    if shapely.get_num_coordinates(feature.shape) <= PLAIN_POSITIONS:
        return feature
    return replace(feature, shape=feature.shape.simplify(0.2))


def _placed(features: Sequence[Feature], plane: TangentPlane) -> list[Feature]:
    shapes = shapely.transform(_shapes(features), plane.to_yards)
    return [replace(feature, shape=shape) for feature, shape in zip(features, shapes, strict=True)]


def _shapes(features: Sequence[Feature]) -> NDArray[np.object_]:
    shapes = np.empty(len(features), dtype=object)
    shapes[:] = [feature.shape for feature in features]
    return shapes


def _turn(degrees: NDArray[np.float64]) -> NDArray[np.float64]:
    """Longitudes as angles from -180 to 180: a course astride the 180th meridian stays in one piece."""
    return (degrees + 180.0) % 360.0 - 180.0


def _shrink(plane: TangentPlane) -> float:
    return max(float(np.cos(np.radians(plane.lat))), 1e-3)


def _relative(features: Sequence[Feature], plane: TangentPlane) -> NDArray[np.float64]:
    """Bounds (n, 4) in degrees from the plane's origin."""
    west, south, east, north = shapely.bounds(_shapes(features)).T
    from_west = _turn(west - plane.lon)
    return np.column_stack([from_west, south - plane.lat, from_west + (east - west), north - plane.lat])


def _within(features: Sequence[Feature], box: NDArray[np.float64], plane: TangentPlane) -> NDArray[np.bool_]:
    west, south, east, north = _relative(features, plane).T
    within: NDArray[np.bool_] = (west <= box[2]) & (east >= box[0]) & (south <= box[3]) & (north >= box[1])
    return within


def _how_far(shape: shapely.Geometry, plane: TangentPlane) -> str:
    lon, lat = shapely.get_coordinates(shape)[0]
    place = f"a place near [{lon:.6f}, {lat:.6f}], far from the other holes"
    turned = np.hypot(lat - plane.lon, lon - plane.lat) < 2 * SITE_DEG
    return place + ("; latitude and longitude look swapped" if turned else "")
