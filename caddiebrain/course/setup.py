"""How the course is set up today: tees, pins, ground, rough, greens, local rules."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Annotated, Any, Literal, Self

import numpy as np
import shapely
from pydantic import BaseModel, ConfigDict, Field, ValidationError
from shapely.geometry.base import BaseGeometry

from caddiebrain.course.geometry import Frame, areal, play_line
from caddiebrain.course.model import Area, Course, Hole, Point
from caddiebrain.course.projection import TangentPlane
from caddiebrain.course.write import hole_plane
from caddiebrain.errors import CourseError, Fault, InputError, UnknownError, field_faults
from caddiebrain.terms import Lie

__all__ = ["PinPlace", "Setup", "pin_places", "prepare"]

Word = Literal["front", "middle", "back", "left", "right"]
PinPlace = Word | tuple[float, float]
HoleNumber = Annotated[int, Field(ge=1, le=18)]

EDGE_YD = 4.0
"""Pins are cut at least four paces from the edge (Committee Procedures, from memory)."""
TEMPORARY_GREEN_YD = 7.0
SHORTEST_YD = 30.0
ASIDE_YD = 80.0
"""A temporary green is at least so far ahead of the tee and at most so far from the line of play."""
TEE_YD = 4.0


class Setup(BaseModel):
    """The day's set-up.

    Tees and pins move the holes (`prepare`); the rest is read where shots are worked out.

    Raises
    ------
    InputError
        With every field that is wrong.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    schema_version: int = Field(default=1, ge=1, le=1)
    tees: str | None = Field(default=None, description="tee set in play; None: as the course file has it")
    pin: PinPlace | dict[HoleNumber, PinPlace] | None = Field(
        default=None,
        description="front, middle, back, left, right, or x and y in yards in the hole's axes; or "
        "one of these for each hole by number; None: as the course file has it",
    )
    firmness: float = Field(default=0.5, ge=0.0, le=1.0, description="0 soft, 0.5 medium, 1 firm")
    rough: Literal["short", "normal", "long"] = "normal"
    green_speed_ft: float = Field(default=9.5, ge=4.0, le=16.0, description="Stimp distance, feet")
    preferred_lies: bool = Field(default=False, description="Model Local Rule E-3 on fairways")
    local_rule_e5: bool | None = Field(default=None, description="None: as the course file has it")
    temporary_greens: dict[HoleNumber, tuple[float, float]] = Field(
        default_factory=dict, description="middle of a temporary green, x and y in yards in the hole's axes"
    )

    def __new__(cls, **given: Any) -> Self:
        """Refuse what will not do in our own words; inside another model or a file pydantic's own stand."""
        try:
            if given:  # none when pydantic itself makes the object
                cls.model_validate(given)
        except ValidationError as error:
            raise InputError("set-up", field_faults(error.errors(), cls.model_fields)) from None
        return super().__new__(cls)


def prepare(course: Course, setup: Setup) -> Course:
    """Return the course as set up today.

    Every hole is drawn anew from the tee to the pin in play: the origin, the axes and all ground move with
    them.

    Parameters
    ----------
    course : Course
        As read from its file; not changed.
    setup : Setup
        Spots in it are in the axes of the holes of ``course``.

    Raises
    ------
    UnknownError
        If no hole has the tees asked for, or a hole number is not on the course.
    CourseError
        If a pin is not on its green, or a temporary green not on the hole; every such hole is named.
    """
    _check_numbers(course, setup)
    notes = list(course.notes) + _check_tees(course, setup)
    faults: list[Fault] = []
    holes = []
    for hole in course.holes:
        hole = _with_temporary_green(hole, setup, faults)
        tee = hole.tees.get(setup.tees.strip().lower(), hole.tee) if setup.tees else hole.tee
        pin = _pin_today(hole, setup, faults)
        holes.append(_moved(hole, tee, pin, setup.local_rule_e5))
    if faults:
        raise CourseError("set-up", faults)
    return Course(course.name, tuple(holes), source=course.source, notes=tuple(notes))


def pin_places(hole: Hole) -> Mapping[str, Point]:
    """Return where front, middle, back, left and right pins stand on a hole's green.

    Front is toward the last turn of the hole's line (or the tee), as a player comes in. Pins stand about 4
    yards inside the edge; on a green too small for that, nearer to its middle.

    Raises
    ------
    CourseError
        If the hole has no green.
    """
    green = _green(hole)
    if green is None:
        raise CourseError.one(f"hole {hole.number}", "green", "no area of green", "a green to put the pin on")
    centre = green.centroid if green.contains(green.centroid) else green.representative_point()
    middle = (float(centre.x), float(centre.y))
    way_in = np.subtract(middle, hole.line[-2])
    ahead = way_in / np.hypot(*way_in)
    right = np.array([ahead[1], -ahead[0]])
    toward = {"front": -ahead, "back": ahead, "left": -right, "right": right}
    return {"middle": middle} | {name: _toward(green, middle, unit) for name, unit in toward.items()}


def _toward(
    green: BaseGeometry, middle: Point, unit: "np.ndarray[tuple[int], np.dtype[np.float64]]"
) -> Point:
    """The spot on a ray from the middle that is 4 yards from the green's edge, measured to all sides."""
    inner = areal(green.buffer(-EDGE_YD))
    ray = shapely.LineString([middle, np.add(middle, 200.0 * unit)])
    cut = ray.intersection(inner) if inner is not None else shapely.LineString()
    if cut.is_empty:  # a small green: halfway to its edge
        edge = ray.intersection(green)
        reach = max(float(np.hypot(*np.subtract(c, middle))) for c in shapely.get_coordinates(edge)) / 2.0
    else:
        first = min(shapely.get_parts(cut), key=lambda part: float(part.distance(shapely.Point(middle))))
        reach = max(float(np.hypot(*np.subtract(c, middle))) for c in shapely.get_coordinates(first))
    x, y = np.add(middle, reach * unit)
    return float(x), float(y)


def _green(hole: Hole) -> BaseGeometry | None:
    """The green in play: the one that holds the pin."""
    pin = shapely.Point(hole.pin)
    greens = [area.shape for area in hole.areas if area.lie is Lie.GREEN]
    return min(greens, key=lambda shape: float(shape.distance(pin)), default=None)


def _check_numbers(course: Course, setup: Setup) -> None:
    named = set(setup.temporary_greens) | (set(setup.pin) if isinstance(setup.pin, dict) else set())
    for number in sorted(named):
        course.hole(number)


def _check_tees(course: Course, setup: Setup) -> list[str]:
    if not setup.tees:
        return []
    wanted = setup.tees.strip().lower()
    without = [hole.number for hole in course.holes if wanted not in hole.tees]
    if len(without) == len(course.holes):
        have = ", ".join(sorted({name for hole in course.holes for name in hole.tees}))
        raise UnknownError(f"no hole has tees {wanted!r}; the course has {have or 'none by name'}")
    return [f"hole {number}: has no tee {wanted!r}; played from its usual tee" for number in without]


def _pin_today(hole: Hole, setup: Setup, faults: list[Fault]) -> Point:
    place = setup.pin.get(hole.number) if isinstance(setup.pin, dict) else setup.pin
    if place is None or hole.number in setup.temporary_greens:
        return hole.pin
    if isinstance(place, str):
        return hole.pins[place] if place in hole.pins else pin_places(hole)[place]
    green = _green(hole)
    if green is None or not green.contains(shapely.Point(place)):
        away = f", {green.distance(shapely.Point(place)):.0f} yd off the green" if green is not None else ""
        faults.append(
            Fault(f"hole {hole.number}: pin", f"{place[0]:g}, {place[1]:g}{away}", "a spot on the green")
        )
        return hole.pin
    return place


def _with_temporary_green(hole: Hole, setup: Setup, faults: list[Fault]) -> Hole:
    """Cut a small round green and close the usual one, which then plays as fairway (Rule 13.1f)."""
    spot = setup.temporary_greens.get(hole.number)
    if spot is None:
        return hole
    wrong = _no_place_for_a_green(hole, shapely.Point(spot))
    if wrong:
        expected = "a place on the hole, where grass is mown or could be"
        found = f"{spot[0]:g}, {spot[1]:g}, {wrong}"
        faults.append(Fault(f"hole {hole.number}: temporary green", found, expected))
        return hole
    closed = [replace(a, lie=Lie.FAIRWAY) if a.lie is Lie.GREEN else a for a in hole.areas]
    green = Area(Lie.GREEN, shapely.Point(spot).buffer(TEMPORARY_GREEN_YD), name="temporary green")
    line = play_line(hole.line, hole.tee, spot)
    return replace(hole, areas=(*closed, green), line=line, pins={"middle": spot})


def _no_place_for_a_green(hole: Hole, spot: shapely.Point) -> str:
    """Say why nobody would cut a green there; empty where somebody might."""
    line = shapely.LineString(hole.line)
    along, aside = line.project(spot), line.distance(spot)
    if along < SHORTEST_YD:
        return f"{along:.0f} yd ahead of the tee"
    if aside > ASIDE_YD:
        return f"{aside:.0f} yd off the line of play"
    under = {area.lie for area in hole.areas if area.shape.intersects(spot)}
    return next((f"in {lie}" for lie in (Lie.OUT, Lie.SAND, Lie.YELLOW, Lie.RED) if lie in under), "")


def _moved(hole: Hole, tee: Point, pin: Point, e5: bool | None) -> Hole:
    """Draw a hole anew from another tee to another pin."""
    e5 = hole.local_rule_e5 if e5 is None else e5
    if tee == hole.tee and pin == hole.pin and hole.tee == (0.0, 0.0) and abs(pin[0]) < 1e-6:
        return replace(hole, local_rule_e5=e5)
    frame = Frame.between(tee, pin)
    lon_lat = hole_plane(hole).to_lonlat([tee, pin])
    plane = TangentPlane.through(lon_lat[0], lon_lat[1])
    areas = [_seen_from(area, tee) for area in hole.areas]
    if not any(area.lie is Lie.TEE for area in areas):
        areas.append(Area(Lie.TEE, shapely.Point(tee).buffer(TEE_YD, quad_segs=4)))
    heights = hole.heights
    if heights is not None:
        heights = np.column_stack([frame.to_local(heights[:, :2]), heights[:, 2]])
    return replace(
        hole,
        line=frame.to_local(play_line(hole.line, tee, pin)),
        areas=tuple(replace(a, shape=shapely.transform(a.shape, frame.to_local)) for a in areas),
        tee=(0.0, 0.0),
        bearing_deg=plane.bearing_deg,
        origin_lonlat=(plane.lon, plane.lat),
        tees=_spots(hole.tees, frame),
        pins=_spots(hole.pins, frame),
        heights=heights,
        local_rule_e5=e5,
    )


def _seen_from(area: Area, tee: Point) -> Area:
    """A teeing area that is not in play is cut grass."""
    if area.lie is Lie.TEE and area.shape.distance(shapely.Point(tee)) > 0.5:
        return replace(area, lie=Lie.FAIRWAY)
    return area


def _spots(spots: Mapping[str, Point], frame: Frame) -> dict[str, Point]:
    return {
        name: (float(x), float(y)) for name, (x, y) in ((n, frame.to_local([s])[0]) for n, s in spots.items())
    }
