"""What was read from a course file, what was assumed and what is missing, hole by hole.

A hole holds all ground that its balls may reach, its neighbours' too. What is told of it is what lies along its own
line of play.
"""

import re
from collections import Counter

import shapely
from pydantic import BaseModel, ConfigDict, Field
from shapely.ops import substring

from caddiebrain.course.model import Course, Hole
from caddiebrain.course.tags import PAR_BANDS_YD
from caddiebrain.terms import Lie

__all__ = ["CourseReport", "HoleReport", "describe_course"]

ALONG_YD = 40.0
"""Ground this near to a hole's line lies along it; neighbouring lines are seldom nearer than twice that."""
_ALONG_YD = {Lie.FAIRWAY: 20.0, Lie.TIGHT: 20.0} | dict.fromkeys((Lie.YELLOW, Lie.RED, Lie.OUT), 60.0)
"""Mown ground of the hole's own lies under its line; penalty areas and boundaries tell from farther off."""
FAIRWAY_FROM_YD = 100.0
FAIRWAY_SHORT_YD = 30.0
"""A fairway lies between here, from the tee, and so far short of the pin; on a short hole in its middle third."""
TEE_SQ_YD = 1_500.0
"""Cut grass around a tee that is larger than this is a fairway on which the tee stands."""
BESIDE_YD = 15.0
FAIRWAY_SHARE = 0.25
"""A hole has a fairway if mown ground lies this near to this share of that stretch: a crossing one has less."""


class _Record(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class HoleReport(_Record):
    """One hole of a course report; yards and square yards."""

    number: int
    name: str
    par: int
    stroke_index: int
    length_yd: float
    turns: int
    """Bends of the line of play."""
    tees: dict[str, float]
    """Length from every tee, yards in a straight line for the first stretch."""
    pins: tuple[str, ...]
    areas: dict[Lie, int]
    """How many pieces of every lie lie along the hole; its own tees out of play count as tees."""
    green_sq_yd: float
    green_depth_yd: float
    green_width_yd: float
    heights: int
    """Spot heights."""
    local_rule_e5: bool
    missing: tuple[str, ...]
    """What a golfer would expect on the map and is not there."""
    doubts: tuple[str, ...]
    """What is there and looks odd."""
    notes: tuple[str, ...]
    """What the reader assumed."""


class CourseReport(_Record):
    """What a course file gives."""

    schema_version: int = Field(default=1, ge=1, le=1)
    name: str
    source: str
    par: int
    length_yd: float
    holes: tuple[HoleReport, ...]
    notes: tuple[str, ...]
    """What the reader assumed or left out that belongs to no one hole, or is the same on every hole."""

    @property
    def size(self) -> str:
        """Say how large the course is: "9 holes, par 36, 3200 yards"."""
        count = f"{len(self.holes)} hole{'' if len(self.holes) == 1 else 's'}"
        return f"{count}, par {self.par}, {self.length_yd:.0f} yards"


def describe_course(course: Course) -> CourseReport:
    """Report what a course holds, hole by hole.

    Parameters
    ----------
    course : Course
        As `load_course` returned it.

    Returns
    -------
    CourseReport
    """
    by_hole: dict[int, list[str]] = {hole.number: [] for hole in course.holes}
    general = []
    for note in course.notes:
        match = re.match(r"hole (\d+): (.*)", note, re.DOTALL)
        if match and int(match.group(1)) in by_hole:
            by_hole[int(match.group(1))].append(match.group(2))
        else:
            general.append(note)
    for note in _on_every_hole(list(by_hole.values())):
        general.append(f"every hole: {note}")
        for notes in by_hole.values():
            notes.remove(note)
    return CourseReport(
        name=course.name,
        source=course.source,
        par=course.par,
        length_yd=round(course.length_yd, 3),
        holes=tuple(_describe_hole(hole, tuple(by_hole[hole.number])) for hole in course.holes),
        notes=tuple(general),
    )


def _on_every_hole(notes: list[list[str]]) -> list[str]:
    """Notes that several holes share, all of them."""
    return [note for note in notes[0] if all(note in more for more in notes)] if len(notes) > 1 else []


def _describe_hole(hole: Hole, notes: tuple[str, ...]) -> HoleReport:
    pieces = _along(hole)
    counts = Counter(lie for lie, _ in pieces)
    pin = shapely.Point(hole.pin)
    greens = [shape for lie, shape in pieces if lie is Lie.GREEN]
    green = min(greens, key=lambda shape: float(shape.distance(pin)), default=shapely.Polygon())
    depth, width = _green_size(green, hole)
    rest = hole.length_yd - float(shapely.Point(hole.tee).distance(shapely.Point(hole.line[1])))
    tees = {
        name: round(float(shapely.Point(spot).distance(shapely.Point(hole.line[1]))) + rest, 3)
        for name, spot in hole.tees.items()
    }
    return HoleReport(
        number=hole.number,
        name=hole.name,
        par=hole.par,
        stroke_index=hole.stroke_index,
        length_yd=round(hole.length_yd, 3),
        turns=len(hole.line) - 2,
        tees=tees,
        pins=tuple(hole.pins),
        areas={lie: counts[lie] for lie in Lie if counts[lie]},
        green_sq_yd=round(float(green.area), 1),
        green_depth_yd=round(depth, 1),
        green_width_yd=round(width, 1),
        heights=0 if hole.heights is None else len(hole.heights),
        local_rule_e5=hole.local_rule_e5,
        missing=_missing(hole, pieces),
        doubts=_doubts(hole, float(green.area)),
        notes=notes,
    )


def _green_size(green: shapely.Geometry, hole: Hole) -> tuple[float, float]:
    """Depth along the way in and width across it, yards."""
    if green.is_empty:
        return 0.0, 0.0
    into = hole.line[-1] - hole.line[-2]
    ahead = into / (into @ into) ** 0.5
    corners = shapely.get_coordinates(green)
    along, across = corners @ ahead, corners @ [ahead[1], -ahead[0]]
    return float(along.max() - along.min()), float(across.max() - across.min())


def _along(hole: Hole) -> list[tuple[Lie, shapely.Geometry]]:
    """Lie and shape of the ground along a hole's line; cut grass on which one of its tees stands is that tee's."""
    line = shapely.LineString(hole.line)
    tees = shapely.MultiPoint(list(hole.tees.values()))
    pieces = []
    for area in hole.areas:
        if float(area.shape.distance(line)) <= _ALONG_YD.get(area.lie, ALONG_YD):
            tee = area.lie is Lie.FAIRWAY and area.shape.area <= TEE_SQ_YD and area.shape.intersects(tees)
            pieces.append((Lie.TEE if tee else area.lie, area.shape))
    return pieces


def _missing(hole: Hole, pieces: list[tuple[Lie, shapely.Geometry]]) -> tuple[str, ...]:
    lies = {lie for lie, _ in pieces}
    missing = [word for lie, word in ((Lie.GREEN, "green"), (Lie.TEE, "teeing area")) if lie not in lies]
    if hole.par > 3 and not _has_fairway(hole, pieces):
        missing.append("fairway")
    return tuple(missing)


def _has_fairway(hole: Hole, pieces: list[tuple[Lie, shapely.Geometry]]) -> bool:
    """Whether mown ground lies on the line of play, where a fairway would be."""
    line = shapely.LineString(hole.line)
    third = line.length / 3
    stretch = substring(line, min(FAIRWAY_FROM_YD, third), line.length - min(FAIRWAY_SHORT_YD, third))
    mown = shapely.union_all([shape for lie, shape in pieces if lie in (Lie.FAIRWAY, Lie.TIGHT)])
    share = stretch.intersection(mown.buffer(BESIDE_YD)).length / stretch.length
    return bool(share >= FAIRWAY_SHARE)


def _doubts(hole: Hole, green_sq_yd: float) -> tuple[str, ...]:
    doubts = []
    low, high = PAR_BANDS_YD.get(hole.par, (600.0, 900.0))
    if not low <= hole.length_yd <= high:
        doubts.append(f"{hole.length_yd:.0f} yd is unusual for a par {hole.par}")
    if not 60.0 <= green_sq_yd <= 3000.0:
        doubts.append(f"a green of {green_sq_yd:.0f} square yards")
    return tuple(doubts)
