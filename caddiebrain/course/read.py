"""Read a course file of any kind, told apart by its content."""

import os
from pathlib import Path
from typing import Any

from caddiebrain.course.assemble import build_course
from caddiebrain.course.features import CourseMap, Wanted
from caddiebrain.course.findings import Findings
from caddiebrain.course.geojson import map_from_geojson
from caddiebrain.course.model import Course
from caddiebrain.course.numbers import FORMAT, is_numbers, read_numbers
from caddiebrain.course.osm import map_from_elements
from caddiebrain.course.osm_xml import elements_from_xml
from caddiebrain.course.overpass import elements_from_overpass
from caddiebrain.course.setup import Setup, prepare
from caddiebrain.course.source import read_bytes, read_json, sort_of
from caddiebrain.errors import CourseError, path_faults

__all__ = ["course_from_document", "load_course"]


def load_course(
    path: str | os.PathLike[str],
    *,
    tees: str | None = None,
    course: str | None = None,
    partial: bool = False,
    out_beyond_outline: bool = False,
) -> Course:
    """Read a course.

    The content decides what the file is, not its extension: a course file of ours or a GeoJSON export of
    OpenStreetMap data, Overpass JSON, OSM XML, or a course described by numbers.
    ``docs/course-files.md`` says what each may hold.

    Parameters
    ----------
    path : path-like
        The file.
    tees : str, optional
        Name of the tee set in play, such as "white".
    course : str, optional
        Part of the golf course's name, for a map that holds several.
    partial : bool
        Leave out what has faults and say so in ``Course.notes``, instead of refusing the file.
    out_beyond_outline : bool
        Take the outline of the course on the map for its boundary: out of bounds beyond it.

    Returns
    -------
    Course
        Holes in yards; everything that was assumed stands in ``notes``.

    Raises
    ------
    CourseError
        With every fault found: the file, the feature, what was found and what would do.
    UnknownError
        If a course by numbers has no tees of that name.
    """
    faults = path_faults(path, "course_from_document reads what is parsed")
    if faults:
        raise CourseError("load_course", faults)
    source, wanted = str(path), Wanted(tees, course, partial, out_beyond_outline)
    data = read_bytes(path)
    if sort_of(data, source) != "xml":
        document = read_json(data, source)
        del data
        built = _from_document(document, source, wanted)
    else:
        findings = Findings(source)
        course_map = map_from_elements(elements_from_xml(data, findings), source, findings)
        built = build_course(course_map, wanted, findings)
    if not built.name:
        return Course(Path(path).stem, built.holes, source=built.source, notes=built.notes)
    return built


def course_from_document(
    document: Any,
    source: str = "course",
    *,
    tees: str | None = None,
    course: str | None = None,
    partial: bool = False,
    out_beyond_outline: bool = False,
) -> Course:
    """Read a course from parsed JSON, of any kind that `load_course` knows.

    Parameters
    ----------
    document : dict
        A course file of ours, GeoJSON, Overpass JSON or a course by numbers, as ``json.loads`` returns it.
    source : str
        What to call it in messages.
    tees, course, partial, out_beyond_outline
        As in `load_course`.

    Raises
    ------
    CourseError, UnknownError
        As `load_course` does.
    """
    return _from_document(document, source, Wanted(tees, course, partial, out_beyond_outline))


def _from_document(document: Any, source: str, wanted: Wanted) -> Course:
    findings = Findings(source)
    if is_numbers(document):
        by_numbers = read_numbers(document, source)
        if wanted.out_beyond_outline:
            expected = 'a map with one; by numbers, features {"kind": "out", ...}'
            raise findings.stop("the outline of the course", "none in a course by numbers", expected)
        return prepare(by_numbers, Setup(tees=wanted.tees)) if wanted.tees else by_numbers
    return build_course(_map_from_json(document, source, findings), wanted, findings)


def _map_from_json(document: Any, source: str, findings: Findings) -> CourseMap:
    if isinstance(document, dict) and ("features" in document or "type" in document):
        return map_from_geojson(document, source, findings)
    if isinstance(document, dict) and "elements" in document:
        return map_from_elements(elements_from_overpass(document, findings), source, findings)
    what = "a list" if isinstance(document, list) else f"a {type(document).__name__}"
    if isinstance(document, dict):
        if "format" in document:
            raise findings.stop(
                "format", repr(document["format"])[:60], f'"{FORMAT}" for a course by numbers'
            )
        what = "an object with " + (", ".join(str(key)[:20] for key in list(document)[:6]) or "nothing in it")
    raise findings.stop(
        "the file", f"JSON, {what}", f'GeoJSON, Overpass JSON or a course by numbers ("format": "{FORMAT}")'
    )
