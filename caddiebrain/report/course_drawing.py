"""What a course file was read as, to look at: every hole to scale with what was assumed, missing or odd below it."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from html import escape
from textwrap import wrap

from caddiebrain.course.describe import CourseReport, HoleReport
from caddiebrain.course.model import Course, Hole
from caddiebrain.report.hole_drawing import draw_hole
from caddiebrain.report.words import ground_words

__all__ = ["draw_course", "draw_read_hole"]

_HOLE_WIDTH = 240.0
_COLUMNS = 6
_GAP = 24.0
_LINE = 14.0
_TITLE = 20.0
_LETTERS = 40
"""Letters to a line of remarks under a hole."""
_WIDE_LETTERS = 200
_SIZE = re.compile(r'width="([\d.]+)px" height="([\d.]+)px"')
_STYLE = (
    "<style>.read-title{font:bold 15px sans-serif}.read-words{font:11px sans-serif}"
    ".read-paper{fill:#fff}</style>"
)


def draw_course(course: Course, report: CourseReport) -> str:
    """Draw all holes on one sheet, in playing order.

    Parameters
    ----------
    course : Course
    report : CourseReport
        Of the same course, as `describe_course` makes it.

    Returns
    -------
    str
        An SVG document.
    """
    head = [report.name or "Course", report.size]
    notes = [line for note in report.notes for line in wrap(f"assumed: {note}", _WIDE_LETTERS)]
    top = _Column(_GAP, _GAP)
    top.title(head[0])
    top.words([head[1], *notes])
    pieces, y, widest = top.pieces, top.bottom + _GAP, 0.0
    told = {hole.number: hole for hole in report.holes}
    holes = list(course.holes)
    while holes:
        row, holes = holes[:_COLUMNS], holes[_COLUMNS:]
        x, bottom = _GAP, y
        for hole in row:
            panel = _panel(hole, told[hole.number], x, y)
            pieces += panel.pieces
            bottom, x = max(bottom, panel.bottom), x + max(panel.width, _HOLE_WIDTH) + _GAP
        y, widest = bottom + _GAP, max(widest, x)
    return _sheet(pieces, widest, y, head)


def draw_read_hole(hole: Hole, report: HoleReport) -> str:
    """Draw one hole with what was assumed, missing or odd below it.

    Parameters
    ----------
    hole : Hole
    report : HoleReport
        Of the same hole.

    Returns
    -------
    str
        An SVG document.
    """
    panel = _panel(hole, report, _GAP, _GAP)
    wide = max(panel.width, _HOLE_WIDTH) + _GAP + _GAP
    return _sheet(panel.pieces, wide, panel.bottom + _GAP, [f"Hole {hole.number}", f"par {hole.par}"])


class _Column:
    """Pieces of a picture, one below the other."""

    def __init__(self, x: float, y: float) -> None:
        self.x, self.bottom, self.width = x, y, 0.0
        self.pieces: list[str] = []

    def title(self, text: str) -> None:
        self._text(text, "title", _TITLE)

    def words(self, lines: Sequence[str]) -> None:
        for line in lines:
            self._text(line, "words", _LINE)

    def picture(self, svg: str) -> None:
        found = _SIZE.search(svg)
        wide, high = (float(v) for v in found.groups()) if found else (0.0, 0.0)
        self.pieces.append(svg.replace("<svg ", f'<svg x="{self.x:.0f}" y="{self.bottom:.0f}" ', 1))
        self.bottom, self.width = self.bottom + high, max(self.width, wide)

    def _text(self, text: str, kind: str, step: float) -> None:
        self.bottom += step
        place = f'x="{self.x:.0f}" y="{self.bottom:.0f}"'
        self.pieces.append(f'<text class="read-{kind}" {place}>{escape(_visible(text))}</text>')


def _panel(hole: Hole, report: HoleReport, x: float, y: float) -> _Column:
    """A hole with its heading above and its remarks below."""
    column = _Column(x, y)
    name = f" {hole.name}" if hole.name else ""
    column.title(f"{hole.number}{name}")
    index = f"stroke index {hole.stroke_index}"
    column.words([f"par {hole.par}, {hole.length_yd:.0f} yards, {index}", *_spots("tees", report.tees), ""])
    column.picture(draw_hole(replace(hole, name=_visible(hole.name)), width=_HOLE_WIDTH))
    remarks = [
        *(f"no {what}" for what in report.missing),
        *(f"odd: {doubt}" for doubt in report.doubts),
        *(f"assumed: {note}" for note in report.notes),
    ]
    areas = ground_words(report.areas, report.heights)
    column.words(
        [
            "",
            *wrap(areas, _LETTERS),
            *(line for remark in remarks for line in wrap(remark, _LETTERS)),
        ]
    )
    return column


def _spots(what: str, spots: Mapping[str, float]) -> list[str]:
    """Say what tees there are and how long the hole is from each."""
    told = ", ".join(f"{name} {yards:.0f}" for name, yards in spots.items())
    return wrap(f"{what}: {told}", _LETTERS) if told else []


def _visible(text: str) -> str:
    """Without the control characters that XML forbids."""
    return "".join(c if c.isprintable() or c == " " else "\N{REPLACEMENT CHARACTER}" for c in text)


def _sheet(pieces: Sequence[str], width: float, height: float, words: Sequence[str]) -> str:
    size = f'width="{width:.0f}" height="{height:.0f}"'
    title = escape(_visible(", ".join(words)))
    head = f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="0 0 {width:.0f} {height:.0f}">'
    paper = f'<rect class="read-paper" {size}/>'
    return "\n".join([head, f"<title>{title}</title>", _STYLE, paper, *pieces, "</svg>", ""])
