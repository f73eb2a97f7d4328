"""A course to a GeoJSON file (RFC 7946) that ``load_course`` reads back as the same course.

Tags are OpenStreetMap's golf tags plus the few properties of ours that ``docs/course-files.md`` lists.
Positions are WGS84 longitude and latitude to 8 decimals (1 mm), exterior rings counter-clockwise.
"""

import json
import os
import secrets
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.polygon import orient

from caddiebrain.course.model import Area, Course, Hole
from caddiebrain.course.projection import METRES_PER_YARD, TangentPlane
from caddiebrain.errors import CourseError
from caddiebrain.terms import Lie

__all__ = ["course_to_geojson", "hole_plane", "write_course"]

_DECIMALS = 8
_TAGS: dict[Lie, dict[str, str]] = {
    Lie.TEE: {"golf": "tee"},
    Lie.FAIRWAY: {"golf": "fairway"},
    Lie.TIGHT: {"golf": "fairway", "lie": "tight"},
    Lie.ROUGH: {"golf": "rough"},
    Lie.THICK: {"golf": "rough", "lie": "thick"},
    Lie.SAND: {"golf": "bunker"},
    Lie.TREES: {"natural": "wood"},
    Lie.GREEN: {"golf": "green"},
    Lie.YELLOW: {"golf": "water_hazard"},
    Lie.RED: {"golf": "lateral_water_hazard"},
    Lie.OUT: {"golf": "out_of_bounds"},
}


def hole_plane(hole: Hole) -> TangentPlane:
    """Return the plane in whose yards the hole is drawn."""
    lon, lat = hole.origin_lonlat
    return TangentPlane(lon, lat, hole.bearing_deg)


def course_to_geojson(course: Course, *, bind: bool = True) -> dict[str, Any]:
    """Turn a course into a GeoJSON feature collection.

    Parameters
    ----------
    course : Course
        Its holes may share ground: an area that several holes see is written once.
    bind : bool
        True: every area names its holes (property ``hole``) and is read back into these alone, so the course
        comes back as it was. False: areas belong to whatever holes they lie beside, so that a hole also gets
        its neighbours' ground; for holes drawn apart and laid out on one piece of land.

    Returns
    -------
    dict
        Ready for ``json.dumps``.
    """
    features: list[dict[str, Any]] = []
    for hole in course.holes:
        features += _hole_features(hole)
    features += _area_features(course, bind)
    member = {"schema_version": 1, "name": course.name}
    return {
        "type": "FeatureCollection",
        "caddiebrain": member,
        "bbox": _bounds(features),
        "features": features,
    }


def write_course(course: Course, path: str | os.PathLike[str], *, bind: bool = True) -> Path:
    """Write a course file, whole or not at all.

    Parameters
    ----------
    course : Course
        What to write.
    path : path-like
        Where; an existing file is replaced in one step.
    bind : bool
        As in `course_to_geojson`.

    Returns
    -------
    pathlib.Path
        The file.

    Raises
    ------
    CourseError
        If the place cannot be written to.
    """
    target = Path(path)
    document = course_to_geojson(course, bind=bind)
    head = {key: value for key, value in document.items() if key != "features"}
    rows = ",\n".join(json.dumps(feature, ensure_ascii=False) for feature in document["features"])
    text = json.dumps(head, ensure_ascii=False)[:-1] + ', "features": [\n' + rows + "\n]}\n"
    try:
        part = target.with_name(f".{target.name}.{secrets.token_hex(4)}.part")
        try:
            with part.open("x", encoding="utf-8", newline="\n") as stream:
                stream.write(text)
            os.replace(part, target)
        finally:
            part.unlink(missing_ok=True)
    except OSError as error:
        found = error.strerror or str(error)
        raise CourseError.one(str(target), "the file", found, "a place that can be written to") from error
    return target


def _hole_features(hole: Hole) -> list[dict[str, Any]]:
    plane, ref = hole_plane(hole), str(hole.number)
    tags: dict[str, Any] = {"golf": "hole", "ref": ref, "par": str(hole.par)}
    tags |= {"handicap": str(hole.stroke_index), "dist": f"{hole.length_yd * METRES_PER_YARD:.1f}"}
    if hole.name:
        tags["name"] = hole.name
    if hole.local_rule_e5:
        tags["local_rule_e5"] = "yes"
    line = shapely.LineString(hole.line)
    features = [_feature(line, plane, tags)]
    for name, spot in hole.tees.items():
        features.append(_feature(shapely.Point(spot), plane, {"golf": "tee", "tee": name, "hole": ref}))
    for name, spot in hole.pins.items():
        features.append(_feature(shapely.Point(spot), plane, {"golf": "pin", "pin_name": name, "hole": ref}))
    if hole.heights is not None:
        spots = np.column_stack(
            [
                _rounded(plane.to_lonlat(hole.heights[:, :2])),
                np.round(hole.heights[:, 2] * METRES_PER_YARD, 4),
            ]
        )
        geometry = {"type": "MultiPoint", "coordinates": spots.tolist()}
        features.append({"type": "Feature", "properties": {"hole": ref}, "geometry": geometry})
    return features


def _area_features(course: Course, bind: bool) -> list[dict[str, Any]]:
    """Write every area once; two holes' copies of the same ground differ by less than the rounding keeps."""
    seen: dict[tuple[Any, ...], tuple[dict[str, Any], list[str]]] = {}
    for hole in course.holes:
        plane = hole_plane(hole)
        for area in hole.areas:
            feature = _feature(area.shape, plane, _area_tags(area))
            first = np.round(shapely.get_coordinates(shapely.geometry.shape(feature["geometry"])), 6)
            key = (*sorted(feature["properties"].items()), first.tobytes())
            feature, refs = seen.setdefault(key, (feature, []))
            refs.append(str(hole.number))
    if bind:
        for feature, refs in seen.values():
            feature["properties"]["hole"] = ";".join(dict.fromkeys(refs))
    return [feature for feature, _ in seen.values()]


def _area_tags(area: Area) -> dict[str, Any]:
    tags: dict[str, Any] = dict(_TAGS[area.lie])
    if area.name:
        tags["name"] = area.name
    if area.lie is Lie.TREES:
        plain = Area(Lie.TREES, area.shape)
        tags["height_m"] = _metres(area.height_yd)
        for field in ("canopy_base_yd", "canopy_gap_yd", "trunk_gap_yd"):
            if getattr(area, field) != getattr(plain, field):
                tags[field.removesuffix("_yd") + "_m"] = _metres(getattr(area, field))
    tags["lost"] = round(area.lost, 6)
    return tags


def _metres(yards: float) -> float:
    return round(yards * METRES_PER_YARD, 4)


def _feature(shape: shapely.Geometry, plane: TangentPlane, tags: dict[str, Any]) -> dict[str, Any]:
    placed = shapely.transform(shape, lambda xy: _rounded(plane.to_lonlat(xy)))
    if isinstance(placed, shapely.Polygon):
        placed = orient(placed)
    elif isinstance(placed, shapely.MultiPolygon):
        placed = shapely.MultiPolygon([orient(part) for part in placed.geoms])
    geometry = json.loads(json.dumps(shapely.geometry.mapping(placed)))
    return {"type": "Feature", "properties": tags, "geometry": geometry}


def _rounded(lonlat: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.round(lonlat, _DECIMALS)


def _bounds(features: list[dict[str, Any]]) -> list[float]:
    shapes = [shapely.geometry.shape(feature["geometry"]) for feature in features]
    return [round(float(edge), _DECIMALS) for edge in shapely.total_bounds(shapes)]
