"""OpenStreetMap elements (nodes, ways, relations) to features.

Overpass JSON and OSM XML both come here. Ways carry their own geometry (``out geom``) or the ids of nodes
that stand elsewhere in the file (``out body``); multipolygons are put together from their member ways.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray

from caddiebrain.course.features import CLOSED, CourseMap, Feature, told
from caddiebrain.course.findings import Findings
from caddiebrain.course.rings import area_of_rings, join_rings
from caddiebrain.course.tags import Kind, Tags, is_area, kind_of, kind_of_line, lie_of

__all__ = ["Elements", "LonLat", "Member", "Relation", "Way", "map_from_elements"]

LonLat = tuple[float, float]
RINGS_MOST = 5_000
_NO_SUBJECT = {"type", "source", "created_by", "note", "fixme", "attribution"}
"""Tags that do not say what a relation is of."""
_HOW = "every node of it in the file: ask for 'out geom', or for nodes too ('>; out body;')"


@dataclass(frozen=True)
class Way:
    """A run of nodes, by identity: an id, or its own position where the file gives geometry in place."""

    nodes: Sequence[int | LonLat | None]
    tags: Tags


@dataclass(frozen=True)
class Member:
    """A way in a relation: its id, and its geometry where the file gives it in place."""

    number: int | None
    way: Way | None = None


@dataclass(frozen=True)
class Relation:
    """A multipolygon, or another relation, by its member ways."""

    members: Sequence[Member]
    tags: Tags


@dataclass
class Elements:
    """What a file holds, as it is read."""

    nodes: dict[int, LonLat] = field(default_factory=dict)
    node_tags: dict[int, Tags] = field(default_factory=dict)
    ways: dict[int, Way] = field(default_factory=dict)
    relations: dict[int, Relation] = field(default_factory=dict)

    def add_way(self, number: int, way: Way) -> None:
        """Take a way. One that comes again without tags, as 'out skel' repeats members, keeps those it had."""
        known = self.ways.get(number)
        if known is None or way.tags or not known.tags:
            self.ways[number] = way

    def add_relation(self, number: int, relation: Relation) -> None:
        """Take a relation; the same holds."""
        known = self.relations.get(number)
        if known is None or relation.tags or not known.tags:
            self.relations[number] = relation


def map_from_elements(elements: Elements, source: str, findings: Findings) -> CourseMap:
    """Turn elements into features.

    A golf feature some of whose nodes are missing is a fault; other ground of that kind, as at the rim of a
    cut-out, is left out with a note.
    """
    features: list[Feature] = []
    unused: dict[str, int] = {}
    taken: set[int] = set()
    for number, relation in elements.relations.items():
        tags = _relation_tags(relation, elements)
        where = told(f"relation/{number}", tags)
        if _of_use(tags, unused):
            found = _multipolygon(relation, tags, where, elements, findings)
            taken.update(_drawn_with(relation, tags, elements) if found else ())
            features += found
    for number, way in elements.ways.items():
        if number not in taken and _of_use(way.tags, unused):
            features += _way(way, told(f"way/{number}", way.tags), elements.nodes, findings)
    for number, tags in elements.node_tags.items():
        if number in elements.nodes and _of_use(tags, unused):
            point = shapely.Point(elements.nodes[number])
            features.append(Feature(told(f"node/{number}", tags), tags, kind_of(tags), point))
    return CourseMap(source, False, tuple(features), unused=unused)


def _of_use(tags: Tags, unused: dict[str, int]) -> bool:
    if kind_of(tags) is not Kind.OTHER:
        return True
    if "golf" in tags:
        unused[tags["golf"]] = unused.get(tags["golf"], 0) + 1
    return False


def _relation_tags(relation: Relation, elements: Elements) -> Tags:
    """Tags of a multipolygon; in the old style they stand on its first member way, none on itself."""
    bare = relation.tags.get("type") == "multipolygon" and relation.tags.keys() <= _NO_SUBJECT
    first = relation.members[0].number if relation.members and bare else None
    way = elements.ways.get(first) if first is not None else None
    return way.tags if way is not None and is_area(kind_of(way.tags)) else relation.tags


def _drawn_with(relation: Relation, tags: Tags, elements: Elements) -> list[int]:
    """Member ways that stand for the same ground as their multipolygon, whose cut-outs they lack."""
    numbers = [member.number for member in relation.members if member.number is not None]
    same = _subject(tags)
    return [
        number
        for number in numbers
        if number in elements.ways and _subject(elements.ways[number].tags) == same
    ]


def _subject(tags: Tags) -> tuple[str | None, ...]:
    kind = kind_of(tags)
    return (kind, tags.get("lie") or lie_of(tags) if kind is Kind.GROUND else None)


def _way(way: Way, where: str, nodes: Mapping[int, LonLat], findings: Findings) -> list[Feature]:
    spots, missing = _positions(way, nodes)
    if missing or len(spots) < 2:
        found = f"{missing} of its {len(way.nodes)} nodes missing" if missing else f"{len(spots)} node"
        _incomplete(where, way.tags, found, findings)
        return []
    closed = len(spots) >= 4 and way.nodes[0] == way.nodes[-1]
    kind = kind_of(way.tags) if closed else kind_of_line(way.tags)
    if is_area(kind) and closed:
        return [Feature(where, way.tags, kind, shapely.Polygon(spots))]
    if is_area(kind) and kind is not Kind.OUT:
        _incomplete(where, way.tags, "an outline that is not closed", findings, CLOSED)
        return [Feature(where, way.tags, kind, shapely.LineString(spots))] if kind is Kind.COURSE else []
    return [Feature(where, way.tags, kind, shapely.LineString(spots))]


def _multipolygon(
    relation: Relation, tags: Tags, where: str, elements: Elements, findings: Findings
) -> list[Feature]:
    if kind_of(tags) is Kind.HEIGHT:
        return []
    if not is_area(kind_of(tags)):
        findings.note(f"{where}: a relation that is not an area; left out")
        return []
    ways = [
        member.way or (elements.ways.get(member.number) if member.number is not None else None)
        for member in relation.members
    ]
    pieces = [list(way.nodes) for way in ways if way is not None and len(way.nodes) > 1]
    absent = sum(way is None for way in ways)
    rings, loose = join_rings([piece for piece in pieces if None not in piece])
    if len(rings) > RINGS_MOST:
        _incomplete(where, tags, f"{len(rings):,} rings", findings, f"at most {RINGS_MOST:,}")
        return []
    lost = sum(isinstance(n, int) and n not in elements.nodes for ring in rings for n in ring)
    if absent or loose or lost or not rings:
        found = f"{absent} of its {len(ways)} ways missing" if absent else f"{loose} loose ends in its rings"
        _incomplete(where, tags, f"{lost} nodes missing" if lost and not absent else found, findings)
        return _open_outline(pieces, where, tags, elements.nodes)
    corners = [np.array([_at(n, elements.nodes) for n in ring], dtype=np.float64) for ring in rings]
    shape = area_of_rings(corners)
    return [Feature(where, tags, kind_of(tags), shape)] if shape is not None else []


def _open_outline(
    pieces: list[list["int | LonLat | None"]], where: str, tags: Tags, nodes: Mapping[int, LonLat]
) -> list[Feature]:
    """What is there of a course's outline: no area, but it says that there is one."""
    known = [[spot for node in piece if (spot := _at(node, nodes)) is not None] for piece in pieces]
    lines = [spots for spots in known if len(spots) > 1]
    if kind_of(tags) is not Kind.COURSE or not lines:
        return []
    return [Feature(where, tags, Kind.COURSE, shapely.MultiLineString(lines))]


def _incomplete(where: str, tags: Tags, found: str, findings: Findings, expected: str = _HOW) -> None:
    if "golf" in tags:
        findings.fault(where, found, expected)
    else:
        findings.note(f"{where}: {found}; left out")


def _positions(way: Way, nodes: Mapping[int, LonLat]) -> tuple[NDArray[np.float64], int]:
    spots = [_at(node, nodes) for node in way.nodes]
    known = [spot for spot in spots if spot is not None]
    return np.array(known, dtype=np.float64).reshape(-1, 2), len(spots) - len(known)


def _at(node: "int | LonLat | None", nodes: Mapping[int, LonLat]) -> "LonLat | None":
    return nodes.get(node) if isinstance(node, int) else node
