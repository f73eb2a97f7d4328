"""A file's bytes to a parsed document, told apart by content and held to bounds of size and time.

Nothing is fetched and nothing in a file is executed: JSON by the standard library, XML by its streaming
parser with document type declarations (and so entities) refused.
"""

import codecs
import json
import os
from pathlib import Path
from typing import Any

from caddiebrain.course.constants import CONSTANTS, Constant, constant_faults
from caddiebrain.errors import CourseError

__all__ = ["MAX_BYTES", "MAX_PARTS", "read_bytes", "read_json", "sort_of"]

MAX_BYTES = 96 * 2**20
"""Largest file read; a city's extract has about 50 MB."""

MAX_PARTS = 3_000_000
"""Most objects and lists a JSON file may hold: a position is one of them, at about 150 bytes of memory."""

_CUT_DOWN = "a map of one golf course: export only its bounding box, or only its golf, natural and water tags"

_MAGIC = (
    (b"\x1f\x8b", "a gzip archive", "the unpacked file"),
    (b"BZh", "a bzip2 archive", "the unpacked file"),
    (b"\xfd7zXZ", "an xz archive", "the unpacked file"),
    (b"PK\x03\x04", "a zip archive", "the unpacked GeoJSON, Overpass JSON or OSM XML file"),
    (b"SQLite format 3", "a database", "GeoJSON, Overpass JSON or OSM XML"),
    (b"%PDF", "a PDF document", "GeoJSON, Overpass JSON or OSM XML"),
    (b"\x89PNG", "a picture", "GeoJSON, Overpass JSON or OSM XML"),
    (b"\xff\xd8\xff", "a picture", "GeoJSON, Overpass JSON or OSM XML"),
)


def read_bytes(path: str | os.PathLike[str]) -> bytes:
    """Read a file of bounded size.

    Raises
    ------
    CourseError
        If it is not there, not a file, empty or too large.
    """
    source, place = str(path), Path(path)
    try:
        if not place.is_file():
            found = "a folder" if place.is_dir() else "no such file"
            raise CourseError.one(source, "the file", found, "a course file")
        size = place.stat().st_size
        with place.open("rb") as stream:
            data = stream.read(min(size, MAX_BYTES) + 1)
    except (OSError, ValueError) as error:
        if isinstance(error, CourseError):
            raise
        found = getattr(error, "strerror", None) or str(error)
        raise CourseError.one(source, "the file", found, "a course file that can be read") from error
    if len(data) > MAX_BYTES:
        raise CourseError.one(source, "the file", f"more than {MAX_BYTES // 2**20} MB", _CUT_DOWN)
    if not data.strip(b" \t\r\n\0\xef\xbb\xbf"):
        raise CourseError.one(source, "the file", "an empty file", "GeoJSON, Overpass JSON or OSM XML")
    return data


def sort_of(data: bytes, source: str) -> str:
    """Tell "json" from "xml" by the first character that is not white space.

    Raises
    ------
    CourseError
        If it is neither.
    """
    for magic, found, expected in _MAGIC:
        if data.startswith(magic):
            raise CourseError.one(source, "the file", found, expected)
    if b"OSMHeader" in data[:64]:
        raise CourseError.one(source, "the file", "OSM data in PBF", "the same data as OSM XML or GeoJSON")
    head = data[:400].replace(b"\0", b"")
    for mark in (codecs.BOM_UTF8, codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE):
        head = head.removeprefix(mark)
    head = head.lstrip()
    sort = {b"<": "xml", b"{": "json", b"[": "json"}.get(head[:1])
    if sort is not None:
        wide = _wide(data)
        if wide == "UTF-32" or (wide and sort == "json"):
            raise CourseError.one(source, "the encoding", f"{wide} text", "UTF-8; save the file as UTF-8")
        return sort
    found = f"a file that begins with {head[:20].decode('latin-1')!r}"
    raise CourseError.one(source, "the file", found, "GeoJSON, Overpass JSON or OSM XML")


def read_json(data: bytes, source: str) -> Any:
    """Parse JSON of bounded size and depth, without NaN and infinity.

    Raises
    ------
    CourseError
        Saying where the text stops being JSON.
    """
    parts = data.count(b"{") + data.count(b"[")
    if parts > MAX_PARTS:
        raise CourseError.one(source, "the file", f"about {parts:,} positions and objects", _CUT_DOWN)
    text = _utf8(data, source).rstrip()
    try:
        document = json.loads(text, parse_constant=Constant)
    except json.JSONDecodeError as error:
        where = f"line {error.lineno} column {error.colno}"
        if error.pos >= len(text) or text[-1] not in "]}" or error.msg.startswith("Unterminated"):
            found, expected = "the end of the file inside its JSON", "a whole file; it looks cut off"
        else:
            found, expected = f"broken JSON ({error.msg})", "JSON"
        raise CourseError.one(source, where, found, expected) from error
    except RecursionError as error:
        raise CourseError.one(source, "the file", "JSON nested too deep", "at most a few levels") from error
    except ValueError as error:  # a number with thousands of digits
        raise CourseError.one(source, "the file", str(error)[:80], "finite numbers") from error
    faults = constant_faults(document) if any(word in text for word in CONSTANTS) else []
    if faults:
        raise CourseError(source, faults)
    return document


def _utf8(data: bytes, source: str) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        found = f"byte 0x{data[error.start]:02x} at position {error.start}, which is not UTF-8"
        raise CourseError.one(source, "the encoding", found, "UTF-8; save the file as UTF-8") from error


def _wide(data: bytes) -> str | None:
    """Name an encoding of two or four bytes for a character; None where it is another.

    Source: byte order marks, The Unicode Standard, section 23.8; without one, the zeros among the first four bytes,
    RFC 4627, section 3, since the first two characters are ASCII.
    """
    if data.startswith((codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE)) or data[:4].count(0) == 3:
        return "UTF-32"
    return "UTF-16" if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)) or 0 in data[:4] else None
