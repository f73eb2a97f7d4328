"""A course without a map: holes described by numbers, turned into the same geometry as a map.

``docs/holes-by-numbers.md`` explains the form with examples.
"""

import difflib
import json
from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from caddiebrain.course.model import Course
from caddiebrain.course.numbers_build import build_hole
from caddiebrain.course.numbers_checks import check_form
from caddiebrain.course.numbers_form import (
    Around,
    CourseForm,
    Feature,
    GreenForm,
    HoleForm,
    Leg,
    PinForm,
    Stretch,
    in_yards,
    numbers_schema,
)
from caddiebrain.course.projection import METRES_PER_YARD
from caddiebrain.errors import CourseError, Fault, would_do

__all__ = ["FORMAT", "is_numbers", "numbers_schema", "read_numbers"]

FORMAT = "holes-by-numbers"

_FIELDS = sorted(
    {
        field.alias or name
        for form in (Around, CourseForm, Feature, GreenForm, HoleForm, Leg, PinForm, Stretch)
        for name, field in form.model_fields.items()
    }
)


def is_numbers(document: object) -> bool:
    """Say whether a parsed file claims to be a course by numbers."""
    return isinstance(document, Mapping) and document.get("format") == FORMAT


def read_numbers(data: Mapping[str, Any], source: str) -> Course:
    """Read a course by numbers.

    Parameters
    ----------
    data : mapping
        The parsed document.
    source : str
        The file, for messages.

    Returns
    -------
    Course
        In the order of the hole numbers; what was assumed stands in ``notes``.

    Raises
    ------
    CourseError
        With every fault: the path of the field, what was found, what would do.

    Examples
    --------
    >>> hole = {"number": 1, "par": 3, "stroke_index": 1, "length": 150, "green": {"depth": 28, "width": 22}}
    >>> data = {"format": "holes-by-numbers", "schema_version": 1, "name": "One hole", "holes": [hole]}
    >>> read_numbers(data, "example").hole(1).length_yd
    150.0
    """
    try:
        form = CourseForm.model_validate(data)
    except ValidationError as error:
        raise CourseError(source, _faults(error)) from None
    faults = check_form(form)
    if faults:
        raise CourseError(source, faults)
    yards = 1.0 if form.units == "yards" else 1.0 / METRES_PER_YARD
    built = [
        build_hole(
            in_yards(hole, yards),
            f"holes[{index}]",
            local_rule_e5=form.local_rule_e5,
            lonlat=form.lonlat or (0.0, 0.0),
            unit_yd=yards,
        )
        for index, hole in enumerate(form.holes)
    ]
    faults = [fault for each in built for fault in each.faults]
    if faults:
        raise CourseError(source, faults)
    holes = tuple(sorted((each.hole for each in built), key=lambda hole: hole.number))
    notes = tuple(dict.fromkeys(note for each in built for note in each.notes))
    return Course(form.name, holes, source=source, notes=notes)


def _faults(error: ValidationError) -> list[Fault]:
    """One fault per field; a list is not called too short because its parts are at fault."""
    rows = error.errors(include_url=False)
    places = {row["loc"] for row in rows}
    inner = {place[:depth] for place in places for depth in range(len(place))}
    return [_fault(row) for row in rows if not (row["type"] == "too_short" and row["loc"] in inner)]


def _fault(error: ErrorDetails) -> Fault:
    """Say what a field lacks: its path in the file, what stands there, what would do."""
    path = "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in error["loc"])
    where = path.lstrip(".") or "the file"
    if error["type"] == "missing":
        return Fault(where, "nothing", "a value; the field is required")
    if error["type"] == "extra_forbidden":
        known = difflib.get_close_matches(str(error["loc"][-1]), _FIELDS, n=1)
        hint = f"did you mean {known[0]!r}?" if known else "see docs/holes-by-numbers.md"
        return Fault(where, "a field this form does not have", f"a known field; {hint}")
    return Fault(where, _brief(error["input"]), would_do(error["msg"]))


def _brief(value: object) -> str:
    try:
        text = json.dumps(value)
    except (TypeError, ValueError):
        text = type(value).__name__
    return text if len(text) <= 60 else text[:57] + "..."
