"""``caddiebrain check``: is this file sound, and what was read from it?"""

import json
import re
from pathlib import Path
from typing import Annotated, Literal

import typer

import caddiebrain as cb
from caddiebrain.cli.inputs import AsJson, CourseName, OutBeyondOutline, Partial, Tees, read_course
from caddiebrain.cli.output import show, show_text, write_whole
from caddiebrain.course import Course, CourseReport, describe_course
from caddiebrain.player import load_records
from caddiebrain.player.records_report import RecordsReport
from caddiebrain.report.course_drawing import draw_course, draw_read_hole
from caddiebrain.report.text import course_page, player_page, records_page

__all__ = ["run"]


_PLAYER = {"patterns", "putting"}
_COURSE = {"features", "elements", "holes", "type"}
_OTHER_PICTURES = {".gif", ".htm", ".html", ".jpeg", ".jpg", ".pdf", ".png", ".webp"}
"""What nobody calls a directory."""
_TABLE = re.compile(r"(#[^\n]*\n\s*)*[^#<\n]*[,;\t]")
"""Remarks, perhaps, then a line of headings."""


def run(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A course, a player or records.")],
    course_name: CourseName = None,
    partial: Partial = False,
    out_beyond_outline: OutBeyondOutline = False,
    tees: Tees = None,
    draw: Annotated[
        Path | None,
        typer.Option(
            "--draw",
            metavar="OUT",
            help="Also draw what a course was read as: one sheet to a file .svg, or one for each hole in a directory.",
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Say what a file holds, what was assumed, and everything that is wrong with it."""
    sort = _sort_of(file)
    if draw is not None and sort != "course":
        raise typer.BadParameter(
            f"--draw draws courses; {file} holds {sort if sort == 'records' else 'a player'}"
        )
    if sort == "player":
        player = cb.load_player(file)
        show_text(player.model_dump_json(indent=2)) if as_json else show(player_page(player))
    elif sort == "records":
        records = load_records(file)
        read = RecordsReport.of(records, str(file))
        show_text(read.model_dump_json(indent=2)) if as_json else show(records_page(read.rows, read.warnings))
    else:
        course = read_course(file, tees, course_name, partial, out_beyond_outline)
        report = describe_course(course)
        if draw is not None:
            _draw(course, report, draw)
        show_text(report.model_dump_json(indent=2)) if as_json else show(course_page(report))


def _draw(course: Course, report: CourseReport, out: Path) -> None:
    """Draw all holes on one sheet, or each in a file of its own."""
    if out.suffix.lower() in _OTHER_PICTURES:
        raise typer.BadParameter(f"--draw: found {out.name!r}; expected a file .svg, or a directory")
    if out.suffix.lower() == ".svg":
        write_whole({out: draw_course(course, report)})
        return
    pairs = zip(course.holes, report.holes, strict=True)
    drawings = {out / f"hole-{hole.number:02}.svg": draw_read_hole(hole, told) for hole, told in pairs}
    out.mkdir(exist_ok=True)
    write_whole(drawings)


def _sort_of(file: Path) -> Literal["course", "player", "records"]:
    """Tell a file by its content; what cannot be told apart is left to the course reader's words."""
    try:
        text = file.read_text(encoding="utf-8-sig").lstrip()
        if "\0" in text[:4] and text[:4].replace("\0", "")[:1] in ("{", "["):
            return "course"  # JSON of two or four bytes a character, whose commas are no table's
        if not text and file.suffix.lower() == ".csv":
            return "records"
        if text[:1] not in ("{", "["):
            return "records" if _TABLE.match(text) else "course"
        data = json.loads(text)
    except (OSError, ValueError, RecursionError):
        return "course"
    if isinstance(data, list):
        return "records"
    if not _PLAYER.isdisjoint(data):
        return "player"
    return "course" if not data or not _COURSE.isdisjoint(data) else "records"
