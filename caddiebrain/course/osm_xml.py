"""OSM XML to OpenStreetMap elements, streamed.

A document type declaration is refused where it begins, so no entity is ever defined, expanded or fetched.

Source: OpenStreetMap wiki, OSM XML (API 0.6).
"""

from xml.parsers import expat

from caddiebrain.course.findings import Findings
from caddiebrain.course.osm import Elements, Member, Relation, Way
from caddiebrain.errors import CourseError

__all__ = ["elements_from_xml"]

DEPTH_MOST = 8
"""OSM XML has three levels."""


def elements_from_xml(data: bytes, findings: Findings) -> Elements:
    """Read an OSM XML document.

    Raises
    ------
    CourseError
        If it is not well formed, not OSM XML, or carries a document type declaration.
    """
    reader = _Reader(findings)
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler = reader.start
    parser.EndElementHandler = reader.end
    parser.StartDoctypeDeclHandler = reader.doctype
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        where = f"line {error.lineno} column {error.offset + 1}"
        reason = expat.ErrorString(error.code) or "not well formed"
        cut = error.code in (
            expat.errors.codes[expat.errors.XML_ERROR_NO_ELEMENTS],
            expat.errors.codes[expat.errors.XML_ERROR_UNCLOSED_TOKEN],
        )
        expected = (
            "a whole file; it looks cut off" if cut else "well-formed OSM XML in the encoding it declares"
        )
        raise findings.stop(where, f"broken XML ({reason})", expected) from error
    except CourseError:  # a ValueError, too; what a handler found is told already
        raise
    except (LookupError, ValueError) as error:  # an encoding that nobody knows or that is no encoding of text
        raise findings.stop("the encoding", str(error)[:80], "UTF-8") from error
    return reader.elements


class _Reader:
    """Takes elements as they open and close; attributes of a way come before its nodes and tags."""

    def __init__(self, findings: Findings) -> None:
        self.elements = Elements()
        self._findings = findings
        self._depth = 0
        self._id: int | None = None
        self._tags: dict[str, str] = {}
        self._refs: list[int] = []

    def doctype(self, name: str, system: str | None, public: str | None, subset: bool) -> None:
        raise self._findings.stop("the file", "a document type declaration", "OSM XML without one")

    def start(self, name: str, attributes: dict[str, str]) -> None:
        self._depth += 1
        if self._depth == 1 and name != "osm":
            hint = {"osmChange": "a file of changes", "gpx": "a GPS track", "kml": "KML"}.get(name)
            raise self._findings.stop("the file", hint or f"XML with <{name[:30]}>", "OSM XML, with <osm>")
        if self._depth > DEPTH_MOST:
            raise self._findings.stop("the file", "XML nested too deep", "OSM XML, of three levels")
        if self._depth == 2:
            self._open(name, attributes)
        elif name == "tag" and self._id is not None:
            self._tags[attributes.get("k", "")] = attributes.get("v", "")
        elif name == "nd" or (name == "member" and attributes.get("type") == "way"):
            self._refer(attributes)

    def end(self, name: str) -> None:
        self._depth -= 1
        if self._depth != 1 or self._id is None:
            return
        if name == "node" and self._tags:
            self.elements.node_tags[self._id] = self._tags
        elif name == "way":
            self.elements.add_way(self._id, Way(self._refs, self._tags))
        elif name == "relation":
            self.elements.add_relation(self._id, Relation([Member(ref) for ref in self._refs], self._tags))

    def _open(self, name: str, attributes: dict[str, str]) -> None:
        self._id, self._tags, self._refs = None, {}, []
        if name not in ("node", "way", "relation"):
            return
        if attributes.get("visible") == "false" or attributes.get("action") == "delete":
            return
        self._id = _whole(attributes.get("id"))
        if self._id is None:
            self._findings.fault(f"<{name}>", f"id {attributes.get('id', 'none')[:20]!r}", "a whole number")
        elif name == "node":
            lon, lat = _degrees(attributes.get("lon"), 180.0), _degrees(attributes.get("lat"), 90.0)
            if lon is not None and lat is not None:
                self.elements.nodes[self._id] = (lon, lat)
            else:
                found = f"lat {attributes.get('lat', 'none')[:20]}, lon {attributes.get('lon', 'none')[:20]}"
                self._findings.fault(f"node/{self._id}", found, "lat -90 to 90 and lon -180 to 180")

    def _refer(self, attributes: dict[str, str]) -> None:
        ref = _whole(attributes.get("ref"))
        if ref is not None:
            self._refs.append(ref)


def _whole(text: str | None) -> int | None:
    try:
        return int(text) if text is not None and len(text) < 20 else None
    except ValueError:
        return None


def _degrees(text: str | None, most: float) -> float | None:
    try:
        value = float(text) if text is not None else most + 1
    except ValueError:
        return None
    return value if abs(value) <= most else None
