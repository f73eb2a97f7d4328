"""GeoJSON (RFC 7946) to features: our own course files and exports of OpenStreetMap data.

A course file of ours says so with a foreign member ``caddiebrain`` and is read strictly; any other file is
taken for an export, whose small slips are mended and noted.
"""

import re
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from caddiebrain.course.features import CourseMap, Feature, closed_to_area, told
from caddiebrain.course.findings import Findings
from caddiebrain.course.tags import Kind, Tags, kind_of, kind_of_line

__all__ = ["map_from_geojson"]

_LONLAT = "longitude then latitude in WGS84 degrees"
_HSTORE = re.compile(r'"((?:[^"\\]|\\.)*)"\s*=>\s*"((?:[^"\\]|\\.)*)"')


class _ShapeError(ValueError):
    """Found and expected of a geometry that is none."""


def map_from_geojson(data: Mapping[str, Any], source: str, findings: Findings) -> CourseMap:
    """Read a GeoJSON object.

    Parameters
    ----------
    data : mapping
        The parsed document.
    source : str
        The file, for messages.
    findings : Findings
        Takes faults and notes.

    Returns
    -------
    CourseMap
        Without the features that had faults.
    """
    member = _own_member(data, findings)
    rows = data.get("features") if data.get("type") == "FeatureCollection" else [data]
    if not isinstance(rows, list):
        raise findings.stop("features", _brief(rows), "a list of features")
    features: list[Feature] = []
    unused: dict[str, int] = {}
    for index, row in enumerate(rows, start=1):
        for feature in _read_feature(row, index, member is not None, findings):
            if feature.kind is Kind.OTHER:
                sort = feature.tags.get("golf", "other")
                unused[sort] = unused.get(sort, 0) + 1
            else:
                features.append(feature)
    member = member if member is not None else {}
    if member:
        _inside_box(data.get("bbox"), features, findings)
    return CourseMap(
        source,
        "schema_version" in member,
        tuple(features),
        name=member.get("name", ""),
        tees=member.get("tees", ""),
        local_rule_e5=member.get("local_rule_e5", False),
        unused=unused,
    )


def _own_member(data: Mapping[str, Any], findings: Findings) -> dict[str, Any] | None:
    """Check our foreign member; None where the file has none."""
    if "caddiebrain" not in data:
        return None
    member = data["caddiebrain"]
    if not isinstance(member, dict):
        raise findings.stop("caddiebrain", _brief(member), 'an object such as {"schema_version": 1}')
    if member.get("schema_version") != 1 or isinstance(member.get("schema_version"), bool):
        raise findings.stop("caddiebrain.schema_version", _brief(member.get("schema_version")), "1")
    known = {"name": str, "tees": str, "local_rule_e5": bool}
    for key, value in member.items():
        if key != "schema_version" and (key not in known or not isinstance(value, known[key])):
            what = f"a {known[key].__name__}" if key in known else "only " + ", ".join(known)
            findings.fault(f"caddiebrain.{key}"[:60], _brief(value), what)
    return {k: v for k, v in member.items() if k == "schema_version" or isinstance(v, known.get(k, ()))}


def _read_feature(row: Any, index: int, own: bool, findings: Findings) -> Iterator[Feature]:
    if not isinstance(row, dict):
        findings.fault(f"feature {index}", _brief(row), "a Feature object")
        return
    tags, identity = _tags(row), f"feature {index}"
    if row.get("id", tags.get("@id")) and not own:
        identity = str(row.get("id", tags.get("@id")))[:40]
    where, kind = told(identity, tags), kind_of(tags)
    geometry = row.get("geometry") if row.get("type") == "Feature" else row
    if geometry is None:
        (findings.fault if own else _as_note(findings))(where, "no geometry", "a Point, a line or an area")
        return
    if kind is Kind.OTHER and not _bare_height(geometry, tags):
        yield Feature(where, tags, kind, shapely.Point())
        return
    try:
        for shape, spots in _shapes(geometry, own, where, findings):
            part: Kind = Kind.HEIGHT if kind is Kind.OTHER else kind
            if isinstance(shape, shapely.LineString):
                shape = closed_to_area(shape, tags)
                part = kind_of_line(tags) if isinstance(shape, shapely.LineString) else part
            yield Feature(where, tags, part, shape, spots)
    except _ShapeError as error:
        findings.fault(where, *error.args)


def _as_note(findings: Findings) -> Any:
    return lambda where, found, expected: findings.note(f"{where}: {found}; left out")


def _bare_height(geometry: Any, tags: Tags) -> bool:
    """A point without tags may carry a height in its position; so may a cloud of points."""
    sort = geometry.get("type") if isinstance(geometry, dict) else None
    return sort == "MultiPoint" or (sort == "Point" and not set(tags) - {"hole"})


def _tags(row: Mapping[str, Any]) -> dict[str, str]:
    """Gather tags from where exporters put them: flat, under ``tags``, or in one ``other_tags`` text."""
    properties = row.get("properties")
    if not isinstance(properties, dict):
        return {}
    tags: dict[str, str] = {}
    nested = properties.get("tags")
    for level in (properties, nested if isinstance(nested, dict) else {}):
        for key, value in level.items():
            if isinstance(value, bool):
                tags[key] = "yes" if value else "no"
            elif isinstance(value, str | int | float):
                tags[key] = str(value)
    for key, value in _HSTORE.findall(tags.pop("other_tags", "")):
        tags.setdefault(key, value)
    return tags


def _shapes(
    geometry: Any, own: bool, where: str, findings: Findings, depth: int = 0
) -> Iterator[tuple[shapely.Geometry, "NDArray[np.float64] | None"]]:
    """Turn one geometry object into simple shapes (points, lines, polygons, multipolygons)."""
    sort = geometry.get("type") if isinstance(geometry, dict) else None
    if sort == "GeometryCollection" and isinstance(geometry.get("geometries"), list) and depth < 3:
        for part in geometry["geometries"]:
            yield from _shapes(part, own, where, findings, depth + 1)
        return
    if sort not in ("Point", "MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon"):
        raise _ShapeError(_brief(sort if isinstance(geometry, dict) else geometry), "a geometry of RFC 7946")
    coordinates = geometry.get("coordinates")
    if not isinstance(coordinates, list) or not coordinates:
        raise _ShapeError(f"{sort} with coordinates {_brief(coordinates)}", "a list of positions")
    if sort == "Point":
        spots = _positions([coordinates], 1)
        yield shapely.Point(spots[0, :2]), _with_height(spots)
    elif sort == "MultiPoint":
        spots = _positions(coordinates, 1)
        yield shapely.MultiPoint(spots[:, :2]), _with_height(spots)
    elif sort == "LineString":
        spots = _positions(coordinates, 2)
        yield shapely.LineString(spots[:, :2]), _with_height(spots)
    elif sort == "MultiLineString":
        lines = [shapely.LineString(_positions(part, 2)[:, :2]) for part in coordinates]
        merged = shapely.line_merge(shapely.MultiLineString(lines))
        for part in shapely.get_parts(merged):
            yield part, None
    else:
        parts = [coordinates] if sort == "Polygon" else coordinates
        yield _polygons(parts, own, where, findings)


def _polygons(
    parts: list[Any], own: bool, where: str, findings: Findings
) -> tuple[shapely.Geometry, "NDArray[np.float64] | None"]:
    polygons, spots = [], []
    for part in parts:
        if not isinstance(part, list) or not part:
            raise _ShapeError(f"a polygon of {_brief(part)}", "a list of rings")
        rings = [_ring(ring, own, where, findings) for ring in part]
        spots += rings
        polygons.append(shapely.Polygon(rings[0][:, :2], [ring[:, :2] for ring in rings[1:]]))
    heights = _with_height(np.vstack(spots)) if len({ring.shape[1] for ring in spots}) == 1 else None
    return (polygons[0] if len(polygons) == 1 else shapely.MultiPolygon(polygons)), heights


def _ring(value: Any, own: bool, where: str, findings: Findings) -> NDArray[np.float64]:
    spots = _positions(value, 3)
    if not np.array_equal(spots[0, :2], spots[-1, :2]):
        if own:
            raise _ShapeError("a ring that is not closed", "the last position of a ring equal to its first")
        findings.note(f"{where}: its outline was open; closed")
        spots = np.vstack([spots, spots[:1]])
    if len(spots) < 4:
        raise _ShapeError(f"a ring of {len(spots)} positions", "at least 4, the last equal to the first")
    return spots


def _positions(value: Any, at_least: int) -> NDArray[np.float64]:
    """Check a list of positions and return it as (n, 2) or (n, 3): longitude, latitude, metres."""
    if not isinstance(value, list) or len(value) < at_least:
        raise _ShapeError(f"{_brief(value)} for positions", f"a list of at least {at_least} positions")
    try:
        spots = np.array(value)
    except ValueError:  # some positions carry a height and others do not
        try:
            spots = np.array([[spot[0], spot[1]] for spot in value])
        except (TypeError, IndexError, ValueError, KeyError):
            raise _ShapeError("a position that is not two numbers", _LONLAT) from None
    if spots.ndim != 2 or spots.shape[1] < 2 or spots.dtype.kind not in "iuf":
        raise _ShapeError(f"a position {_brief(value[0])} that is not two numbers", _LONLAT)
    spots = spots[:, :3].astype(np.float64)
    if not np.isfinite(spots).all():
        raise _ShapeError("a position that is not finite", _LONLAT)
    lon, lat = np.abs(spots[:, 0]), np.abs(spots[:, 1])
    if (lat > 90).any() or (lon > 180).any():
        spot = spots[int(np.argmax((lat > 90) | (lon > 180)))]
        swapped = lon.max() <= 90 and lat.max() <= 180
        hint = "; latitude and longitude look swapped" if swapped else ""
        raise _ShapeError(f"position [{spot[0]:.12g}, {spot[1]:.12g}]", _LONLAT + hint)
    return spots


def _with_height(spots: NDArray[np.float64]) -> "NDArray[np.float64] | None":
    """Heights all zero are what exporters write when they know none."""
    return spots if spots.shape[1] == 3 and spots[:, 2].any() else None


def _inside_box(box: Any, features: list[Feature], findings: Findings) -> None:
    """Hold a course file to its own bounding box, which swapped coordinates do not fit."""
    if box is None or not features:
        return
    if not (isinstance(box, list) and len(box) == 4 and all(isinstance(edge, int | float) for edge in box)):
        findings.fault("bbox", _brief(box), "[west, south, east, north]")
        return
    west, south, east, north = (float(edge) for edge in box)
    bounds = shapely.bounds(np.array([feature.shape for feature in features], dtype=object))
    slack = 1e-6
    low = np.array([west, south, -east, -north]) - slack
    outside = (bounds * [1, 1, -1, -1] < low).any(axis=1)
    turned = (bounds[:, [1, 0, 3, 2]] * [1, 1, -1, -1] >= low).all(axis=1)
    if outside.all() and turned.all():
        raise findings.stop(
            "coordinates", "[latitude, longitude] in every feature, by the file's bbox", _LONLAT
        )
    for index in np.flatnonzero(outside):
        spot = bounds[index, :2]
        hint = "; latitude and longitude look swapped" if turned[index] else ""
        found = f"a position near [{spot[0]:.6f}, {spot[1]:.6f}]"
        findings.fault(features[index].where, found, f"one inside the file's bbox{hint}")


def _brief(value: Any) -> str:
    """Show a value in a message without letting it fill the screen."""
    if value is None:
        return "nothing"
    if isinstance(value, list | dict):
        return f"{'a list' if isinstance(value, list) else 'an object'} of {len(value)}"
    text = repr(value)
    return text if len(text) <= 40 else text[:37] + "..."
