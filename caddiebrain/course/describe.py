"""What was read from a course file, what was assumed and what is missing, hole by hole."""

import re
from collections import Counter

import shapely
from pydantic import BaseModel, ConfigDict, Field

from caddiebrain.course.model import Course, Hole
from caddiebrain.course.tags import PAR_BANDS_YD
from caddiebrain.terms import Lie

__all__ = ["CourseReport", "HoleReport", "describe_course"]


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
    """How many pieces of every lie lie on the hole."""
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
    """What the reader assumed or left out that belongs to no one hole."""

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
    return CourseReport(
        name=course.name,
        source=course.source,
        par=course.par,
        length_yd=round(course.length_yd, 3),
        holes=tuple(_describe_hole(hole, tuple(by_hole[hole.number])) for hole in course.holes),
        notes=tuple(general),
    )


def _describe_hole(hole: Hole, notes: tuple[str, ...]) -> HoleReport:
    counts = Counter(area.lie for area in hole.areas)
    pin = shapely.Point(hole.pin)
    greens = [area.shape for area in hole.areas if area.lie is Lie.GREEN]
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
        missing=_missing(hole, counts),
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


def _missing(hole: Hole, counts: "Counter[Lie]") -> tuple[str, ...]:
    words = {Lie.GREEN: "green", Lie.TEE: "teeing area"}
    if hole.par > 3:
        words[Lie.FAIRWAY] = "fairway"
    missing = [word for lie, word in words.items() if not counts[lie]]
    if hole.par > 3 and counts[Lie.TIGHT]:
        missing = [word for word in missing if word != "fairway"]
    return tuple(missing)


def _doubts(hole: Hole, green_sq_yd: float) -> tuple[str, ...]:
    doubts = []
    low, high = PAR_BANDS_YD.get(hole.par, (600.0, 900.0))
    if not low <= hole.length_yd <= high:
        doubts.append(f"{hole.length_yd:.0f} yd is unusual for a par {hole.par}")
    if not 60.0 <= green_sq_yd <= 3000.0:
        doubts.append(f"a green of {green_sq_yd:.0f} square yards")
    return tuple(doubts)
