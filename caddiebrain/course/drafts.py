"""Which lines of a map are the holes of the course that is asked for, and which hole is which."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from caddiebrain.course.features import CourseMap, Feature, is_areal
from caddiebrain.course.findings import Findings
from caddiebrain.course.swapped import told_by_lengths
from caddiebrain.course.tags import Kind, Tags, hole_numbers, whole_numbers

__all__ = ["HOLES_MOST", "Draft", "bound_holes", "choose_course", "number_holes"]

HOLES_MOST = 18
LINES_MOST = 2_000
"""Most hole lines in a file: some hundred courses."""


@dataclass(frozen=True)
class Draft:
    """A hole on its way from the map.

    Parameters
    ----------
    number : int
        1 to 18.
    feature : Feature
        The line on the map.
    line : ndarray of shape (n, 2)
        In yards of the course's plane.
    place : int
        Which of the line's numbers this is, where it carries several ("7;16").
    """

    number: int
    feature: Feature
    line: NDArray[np.float64]
    place: int = 0

    @property
    def label(self) -> str:
        """For messages."""
        return f"hole {self.number}"


def bound_holes(feature: Feature) -> frozenset[int] | None:
    """Return the holes that a feature names in our property ``hole``; None where it names none."""
    return frozenset(whole_numbers(feature.tags.get("hole", ""))) or None


def choose_course(course_map: CourseMap, wanted: str | None, findings: Findings) -> tuple[str, list[Feature]]:
    """Pick the hole lines of one golf course.

    Parameters
    ----------
    course_map : CourseMap
        May hold several golf courses.
    wanted : str or None
        Part of the course's name; None where the file holds only one.

    Returns
    -------
    name : str
        Of the course; may be empty.
    lines : list of Feature

    Raises
    ------
    CourseError
        If there are no holes, or several courses and no telling which.
    """
    lines = _usable_lines(course_map, findings)
    swapped = told_by_lengths(lines, list(course_map.of(Kind.GREEN)))
    if swapped:
        raise findings.stop("coordinates", swapped, "longitude then latitude; they look swapped")
    if not lines:
        found = f"{len(course_map.features)} features of use, none of them a hole line"
        raise findings.stop("golf=hole", found, "a line from tee to green for every hole")
    courses = [feature for feature in course_map.of(Kind.COURSE) if is_areal(feature.shape)]
    if max(len(lines), len(courses)) > LINES_MOST:
        found = f"{len(lines):,} hole lines on {len(courses):,} golf courses"
        raise findings.stop("golf=hole", found, f"at most {LINES_MOST:,} of each; export a smaller area")
    groups = _by_course(lines, courses)
    if wanted is not None:
        return _wanted(groups, lines, wanted, findings)
    if len(groups) > 1:
        sizes = "; ".join(_sized(name, len(rows)) for name, rows in groups)
        raise findings.stop(
            "leisure=golf_course", f"{len(groups)} courses: {sizes}", "the name of one of them"
        )
    return groups[0]


def number_holes(lines: Sequence[Feature], own: bool, findings: Findings) -> list[tuple[int, int, Feature]]:
    """Say which hole every line is.

    Returns
    -------
    list of (number, place, Feature)
        A line with several numbers comes several times; a number may still come twice.
    """
    rows = [(feature, hole_numbers(feature.tags)) for feature in lines]
    named = [(number, place, f) for f, numbers in rows for place, number in enumerate(numbers) if number]
    blank = [feature for feature, numbers in rows if not any(numbers)]
    if blank and not named and not own:
        findings.note("no hole has a number; numbered in the order of the file")
        named = [(index, 0, feature) for index, feature in enumerate(blank, start=1)]
    elif blank:
        named += _place_blank(blank, {number for number, _, _ in named}, own, findings)
    for number, _, feature in named:
        if number > HOLES_MOST:
            findings.fault(feature.where, f"hole number {number}", f"a number from 1 to {HOLES_MOST}")
    return [row for row in named if row[0] <= HOLES_MOST]


def _usable_lines(course_map: CourseMap, findings: Findings) -> list[Feature]:
    lines = []
    for feature in course_map.of(Kind.HOLE):
        if isinstance(feature.shape, shapely.LineString) and feature.shape.length > 0:
            lines.append(feature)
        elif course_map.own:
            sort = feature.shape.geom_type if feature.shape.geom_type != "LineString" else "line of no length"
            findings.fault(feature.where, f"a {sort}", "a LineString from tee to pin")
        else:
            findings.note(f"{feature.where}: not a line from tee to green; left out")
    return lines


def _by_course(lines: list[Feature], courses: list[Feature]) -> list[tuple[str, list[Feature]]]:
    """Group hole lines by the golf course whose area they lie in, in the file's order."""
    if not courses:
        return _by_tag("", lines)
    areas = np.array([course.shape for course in courses], dtype=object)
    groups: dict[int, list[Feature]] = {}
    for feature in lines:
        home = np.flatnonzero(shapely.intersects(areas, feature.shape))
        # A course inside another's area (a short course) is the smaller of the two.
        index = int(home[np.argmin(shapely.area(areas[home]))]) if len(home) else -1
        groups.setdefault(index, []).append(feature)
    if len(groups) == 2 and -1 in groups and not _several(groups):
        home_index = next(index for index in groups if index >= 0)
        groups = {home_index: lines}
    named = [
        (courses[i].tags.get("name", courses[i].where) if i >= 0 else "", rows) for i, rows in groups.items()
    ]
    return [part for name, rows in named for part in _by_tag(name, rows)]


def _sized(name: str, holes: int) -> str:
    return f"{name or 'holes on no course'} ({holes} hole{'' if holes == 1 else 's'})"


def _by_tag(name: str, lines: list[Feature]) -> list[tuple[str, list[Feature]]]:
    """Tell courses on the ground of one club apart by what their holes name, if numbers come again."""
    numbers = [number for feature in lines for number in hole_numbers(feature.tags) if number]
    parts: dict[str, list[Feature]] = {}
    for feature in lines:
        parts.setdefault(_own_course(feature.tags), []).append(feature)
    if len(set(numbers)) == len(numbers) or len(parts) == 1 or min(map(len, parts.values())) == 1:
        return [(name, lines)]  # one line by itself is no course
    return [(f"{name}, {part}" if name and part else part or name, rows) for part, rows in parts.items()]


def _own_course(tags: Tags) -> str:
    """The course that a hole says it is of: in its tag, or in letters before its number ("R1" beside "B1")."""
    letters = re.match(r"\s*([^\W\d_]+)[\s.-]*\d", tags.get("ref", ""))
    return tags.get("golf:course:name", "").strip() or (letters.group(1) if letters else "")


def _several(groups: dict[int, list[Feature]]) -> bool:
    """Lines just off the only course are another course if they repeat its numbers."""
    numbers = [{n for f in rows for n in hole_numbers(f.tags) if n} for rows in groups.values()]
    return bool(numbers[0] & numbers[1])


def _wanted(
    groups: list[tuple[str, list[Feature]]], lines: list[Feature], wanted: str, findings: Findings
) -> tuple[str, list[Feature]]:
    word = wanted.strip().lower()
    hits = [group for group in groups if word in group[0].lower()]
    hits = [group for group in hits if word == group[0].lower()] or hits
    if len(hits) == 1:
        return hits[0]
    named = [
        feature
        for feature in lines
        if word in f"{feature.tags.get('golf:course:name', '')} {feature.tags.get('name', '')}".lower()
    ]
    if named and not hits:
        return wanted, named
    names = ", ".join(name or "(no name)" for name, _ in (hits or groups))
    raise findings.stop("the course", repr(wanted), f"part of the name of one of: {names}")


def _place_blank(
    blank: list[Feature], have: set[int], own: bool, findings: Findings
) -> list[tuple[int, int, Feature]]:
    """Place lines without a number (or with 0, as on a range) beside numbered ones."""
    top = 9 if max(have, default=0) <= 9 and len(blank) <= 2 else HOLES_MOST
    missing = sorted(set(range(1, top + 1)) - have)
    zero = {id(feature) for feature in blank if hole_numbers(feature.tags) == [0]}
    # A line that says 0 is a practice hole before it is the missing one.
    likely = [feature for feature in blank if id(feature) not in zero] or blank
    placed = []
    if len(likely) == 1 and len(missing) == 1 and not own:
        findings.note(f"hole {missing[0]}: taken to be {likely[0].where}, the only line without a number")
        placed, missing = [(missing[0], 0, likely[0])], []
        blank = [feature for feature in blank if feature is not likely[0]]
    for feature in blank:
        if id(feature) in zero and not own:
            findings.note(f"{feature.where}: ref 0 is no hole of the course; left out")
        elif own or missing:
            found = "ref 0" if id(feature) in zero else "no ref"
            findings.fault(feature.where, found, "ref with the hole's number, 1 to 18")
        else:
            findings.note(f"{feature.where}: no number, and every hole is there; left out")
    return placed
