"""JSON Schema of a course file of ours: GeoJSON with the member ``caddiebrain``, as ``docs/course-files.md`` has it."""

from typing import Any

from caddiebrain.terms import Lie

__all__ = ["course_file_schema"]

Schema = dict[str, Any]

_TEXT: Schema = {"type": "string"}
_WRITTEN: Schema = {"type": ["string", "number"]}
"""A number, or the text a map writes it as."""
_TRUTH: Schema = {"type": ["string", "boolean"]}


def _tag(description: str, kind: Schema = _TEXT) -> Schema:
    return {**kind, "description": description}


_PROPERTIES: dict[str, Schema] = {
    "golf": _tag("hole, tee, pin, green, fairway, rough, bunker, water_hazard, lateral_water_hazard, ..."),
    "ref": _tag("number of a hole", _WRITTEN),
    "par": _tag("3 to 6", _WRITTEN),
    "handicap": _tag("stroke index, 1 to 18", _WRITTEN),
    "dist": _tag("length of a hole, metres unless a unit is written", _WRITTEN),
    "name": _TEXT,
    "tee": _tag("name of the tee set"),
    "pin_name": _tag("front, back, ..."),
    "hole": _tag('holes a feature belongs to: "7", or "7;16"', _WRITTEN),
    "lie": {"enum": [str(lie) for lie in Lie], "description": "its lie, whatever its other tags"},
    "lost": _tag("chance, 0 to 1, that a ball at rest there is not found", _WRITTEN),
    "ele": _tag("height above the sea, metres", _WRITTEN),
    "local_rule_e5": _tag("yes where the committee has adopted Model Local Rule E-5", _TRUTH),
    "out_beyond_outline": _tag("yes on leisure=golf_course: out of bounds beyond it", _TRUTH),
    "natural": _TEXT,
    "landuse": _TEXT,
    "waterway": _TEXT,
    "leisure": _TEXT,
    "diameter_crown": _tag("of a tree, metres", _WRITTEN),
}
_TREES = {
    "height": "of the canopy's top",
    "canopy_base": "where branches begin",
    "canopy_gap": "mean way a ball flies through branches before it is stopped",
    "trunk_gap": "the same between trunks",
}
_PROPERTIES |= {
    f"{name}_{unit}": _tag(f"trees: {what}, {unit}", _WRITTEN)
    for name, what in _TREES.items()
    for unit in ("m", "ft", "yd")
}

_POSITION: Schema = {
    "type": "array",
    "description": "longitude, latitude in WGS84 degrees; height in metres",
    "prefixItems": [
        {"type": "number", "minimum": -180, "maximum": 180},
        {"type": "number", "minimum": -90, "maximum": 90},
        {"type": "number"},
    ],
    "minItems": 2,
}
_DEPTH = {
    "Point": (0, 0),
    "MultiPoint": (1, 1),
    "LineString": (1, 2),
    "MultiLineString": (2, 2),
    "Polygon": (2, 4),
    "MultiPolygon": (3, 4),
}
"""Kind of geometry -> lists around a position, and fewest positions in the innermost of them."""


def _coordinates(depth: int, least: int) -> Schema:
    found: Schema = {"$ref": "#/$defs/Position"}
    for level in range(depth):
        found = {"type": "array", "items": found, "minItems": least if level == 0 else 1}
    return found


def _geometry() -> Schema:
    simple = [
        {
            "type": "object",
            "properties": {"type": {"const": kind}, "coordinates": _coordinates(*shape)},
            "required": ["type", "coordinates"],
        }
        for kind, shape in _DEPTH.items()
    ]
    parts = {"type": "array", "items": {"$ref": "#/$defs/Geometry"}}
    several = {
        "type": "object",
        "properties": {"type": {"const": "GeometryCollection"}, "geometries": parts},
        "required": ["type", "geometries"],
    }
    return {"anyOf": [*simple, several]}


def _feature() -> Schema:
    return {
        "type": "object",
        "properties": {
            "type": {"const": "Feature"},
            "id": {"type": ["string", "number"]},
            "properties": {"anyOf": [{"type": "null"}, {"type": "object", "properties": _PROPERTIES}]},
            "geometry": {"$ref": "#/$defs/Geometry"},
        },
        "required": ["type", "properties", "geometry"],
    }


def course_file_schema() -> Schema:
    """Return the schema; tags we do not know are allowed, as RFC 7946 has it."""
    member = {
        "type": "object",
        "properties": {
            "schema_version": {"const": 1},
            "name": _tag("of the course"),
            "tees": _tag("tee set in play"),
            "local_rule_e5": {"type": "boolean"},
        },
        "required": ["schema_version"],
        "additionalProperties": False,
    }
    box = {"type": "array", "items": {"type": "number"}, "minItems": 4, "maxItems": 4}
    return {
        "type": "object",
        "description": "RFC 7946, tagged with OpenStreetMap's golf tags and a few properties of ours",
        "properties": {
            "type": {"const": "FeatureCollection"},
            "caddiebrain": member,
            "bbox": {**box, "description": "west, south, east, north"},
            "features": {"type": "array", "items": {"$ref": "#/$defs/Feature"}},
        },
        "required": ["type", "caddiebrain", "features"],
        "$defs": {"Position": _POSITION, "Geometry": _geometry(), "Feature": _feature()},
    }
