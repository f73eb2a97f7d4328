"""Overpass JSON to OpenStreetMap elements, geometry in place (``out geom``) or node ids (``out body``).

Source: OpenStreetMap wiki, Overpass API/Overpass QL (settings ``[out:json]``, ``out`` statement).
"""

from collections.abc import Mapping
from typing import Any

from caddiebrain.course.findings import Findings
from caddiebrain.course.osm import Elements, LonLat, Member, Relation, Way

__all__ = ["elements_from_overpass"]


def elements_from_overpass(data: Mapping[str, Any], findings: Findings) -> Elements:
    """Read the ``elements`` of an Overpass answer.

    Raises
    ------
    CourseError
        If ``elements`` is no list.
    """
    rows = data["elements"]
    if not isinstance(rows, list):
        raise findings.stop("elements", type(rows).__name__, "a list of nodes, ways and relations")
    remark = data.get("remark")
    if isinstance(remark, str) and "error" in remark.lower():
        findings.fault("remark", remark[:80], "a complete answer; ask again for a smaller area")
    elements = Elements()
    for index, row in enumerate(rows, start=1):
        if not isinstance(row, dict) or not isinstance(row.get("id"), int):
            findings.fault(f"element {index}", _sort(row), "a node, way or relation with an id")
            continue
        _read(row, index, elements, findings)
    return elements


def _read(row: Mapping[str, Any], index: int, elements: Elements, findings: Findings) -> None:
    sort, number = row.get("type"), int(row["id"])
    tags = _tags(row)
    if sort == "node":
        spot = _lonlat(row)
        if spot is not None:
            elements.nodes[number] = spot
            if tags:
                elements.node_tags[number] = tags
        else:
            found = f"lat {str(row.get('lat'))[:20]}, lon {str(row.get('lon'))[:20]}"
            findings.fault(f"node/{number}", found, "lat -90 to 90 and lon -180 to 180")
    elif sort == "way":
        way = _way(row, tags)
        if way is not None:
            elements.add_way(number, way)
        elif "golf" in tags:
            found = "only its middle" if "center" in row else "neither geometry nor nodes"
            findings.fault(f"way/{number} (golf={tags['golf']})"[:60], found, "'out geom' or 'out body'")
    elif sort == "relation":
        members = row.get("members")
        elements.add_relation(number, Relation(_members(members), tags))
    elif sort not in ("area", "count", "timeline"):
        findings.fault(f"element {index}", f"type {str(sort)[:20]}", "node, way or relation")


def _tags(row: Mapping[str, Any]) -> dict[str, str]:
    tags = row.get("tags")
    if not isinstance(tags, dict):
        return {}
    return {key: str(value) for key, value in tags.items() if isinstance(value, str | int | float)}


def _way(row: Mapping[str, Any], tags: Mapping[str, str]) -> Way | None:
    geometry, nodes = row.get("geometry"), row.get("nodes")
    if isinstance(geometry, list):
        return Way([_lonlat(spot) for spot in geometry], tags)
    if isinstance(nodes, list):
        return Way([node if isinstance(node, int) else None for node in nodes], tags)
    return None


def _members(members: Any) -> list[Member]:
    """Keep the member ways: with their geometry where they carry it, else by id alone."""
    found: list[Member] = []
    for member in members if isinstance(members, list) else ():
        if not isinstance(member, dict) or member.get("type") != "way":
            continue
        way, number = _way(member, {}), member.get("ref")
        number = number if isinstance(number, int) else None
        if way is not None or number is not None:
            found.append(Member(number, way))
    return found


def _lonlat(spot: Any) -> LonLat | None:
    if not isinstance(spot, dict):
        return None
    lon, lat = spot.get("lon"), spot.get("lat")
    if not (isinstance(lon, int | float) and isinstance(lat, int | float)):
        return None
    return (float(lon), float(lat)) if abs(lon) <= 180 and abs(lat) <= 90 else None


def _sort(row: Any) -> str:
    return "an object without an id" if isinstance(row, dict) else type(row).__name__
