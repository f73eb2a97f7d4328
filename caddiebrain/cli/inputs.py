"""Options that several verbs share, and how their values become a course, a player and a day."""

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, TypeVar

import typer
from pydantic import BaseModel, ValidationError

import caddiebrain as cb
from caddiebrain.course import Course
from caddiebrain.errors import Fault, InputError
from caddiebrain.flight import Conditions
from caddiebrain.player import Player

__all__ = [
    "AltitudeM",
    "AsJson",
    "CourseFile",
    "CourseName",
    "GustMph",
    "Humidity",
    "OutBeyondOutline",
    "Partial",
    "PlayerFile",
    "TargetScore",
    "Tees",
    "TemperatureC",
    "WindDoubtMph",
    "WindFrom",
    "WindMph",
    "checked",
    "day_of",
    "read_course",
    "read_player",
]

Given = TypeVar("Given", bound=BaseModel)

_QUARTERS = (
    ("N", "NNE", "NE", "ENE"),
    ("E", "ESE", "SE", "SSE"),
    ("S", "SSW", "SW", "WSW"),
    ("W", "WNW", "NW", "NNW"),
)
_BEARINGS = {
    point: 90.0 * q + 22.5 * i for q, quarter in enumerate(_QUARTERS) for i, point in enumerate(quarter)
}


def _bearing(text: str) -> float:
    """Read degrees or a compass point."""
    if text.strip().upper() in _BEARINGS:
        return _BEARINGS[text.strip().upper()]
    try:
        degrees = float(text)
    except ValueError:
        degrees = -1.0
    if not 0.0 <= degrees <= 360.0:
        raise typer.BadParameter(f"found {text!r}; expected degrees from north (0 to 360) or a point (SW)")
    return degrees


CourseFile = Annotated[
    Path | None,
    typer.Option("--course", metavar="FILE", help="The course; the demo course when left out."),
]
PlayerFile = Annotated[
    Path | None,
    typer.Option("--player", metavar="FILE", help="The player; the demo player when left out."),
]
CourseName = Annotated[
    str | None,
    typer.Option("--course-name", metavar="PART", help="Which course, where a map holds several."),
]
Partial = Annotated[
    bool,
    typer.Option("--partial", help="Leave out what is wrong in a map and say so, instead of refusing it."),
]
OutBeyondOutline = Annotated[
    bool,
    typer.Option(
        "--out-beyond-outline", help="Out of bounds beyond the outline of the course, leisure=golf_course."
    ),
]
Tees = Annotated[
    str | None,
    typer.Option("--tees", metavar="NAME", help="Tees in play; the course file's own when left out."),
]
TargetScore = Annotated[int, typer.Option("--target", metavar="N", help="Total to finish at or under.")]
WindMph = Annotated[float, typer.Option("--wind", metavar="MPH", help="Mean wind of the forecast.")]
WindFrom = Annotated[
    float | None,
    typer.Option(
        "--wind-from",
        metavar="WHERE",
        parser=_bearing,
        help="Where the wind comes from: degrees from north, or a point such as SW.",
    ),
]
GUSTS = 1.0 / 6.0
"""Spread of the wind from shot to shot, as a share of its mean, where none is given.

Over open country the standard deviation of the wind at 10 m is 0.19 of the mean (EN 1991-1-4, turbulence intensity,
terrain category II, from memory); a flight of some seconds feels most of it.
"""
GustMph = Annotated[
    float | None,
    typer.Option(
        "--gust",
        metavar="MPH",
        help="Spread of the wind from shot to shot: (peak - mean) / 3. A sixth of the wind when left out; 0 is steady.",
    ),
]
WindDoubtMph = Annotated[
    float,
    typer.Option(
        "--wind-doubt",
        metavar="MPH",
        help="How far the wind may be from its forecast: the standard deviation of its error, along and across.",
    ),
]
Humidity = Annotated[float, typer.Option("--humidity", metavar="H", help="Relative humidity, 0 to 1.")]
TemperatureC = Annotated[float, typer.Option("--temperature", metavar="C", help="Air temperature, Celsius.")]
AltitudeM = Annotated[float, typer.Option("--altitude", metavar="M", help="Metres above sea level.")]
AsJson = Annotated[bool, typer.Option("--json", help="Write JSON for programs and nothing else.")]


def read_course(
    path: Path | None,
    tees: str | None,
    name: str | None = None,
    partial: bool = False,
    out_beyond_outline: bool = False,
) -> Course:
    """Read a course file, or the demo course; of a map with several courses the one of that name."""
    return cb.load_course(
        path or cb.demo.course_path(),
        tees=tees,
        course=name,
        partial=partial,
        out_beyond_outline=out_beyond_outline,
    )


def read_player(path: Path | None) -> Player:
    """Read a player file, or the demo player."""
    return cb.load_player(path or cb.demo.player_path())


def day_of(
    wind: float,
    wind_from: float | None,
    temperature: float,
    altitude: float,
    gust: float | None = None,
    humidity: float = 0.5,
    wind_doubt: float = 0.0,
) -> Conditions:
    """Make the day's conditions; mph, degrees from north, Celsius, metres, mph, share, mph."""
    if wind and wind_from is None:
        raise typer.BadParameter("a wind needs --wind-from: degrees from north, or a point such as SW")
    given = {
        "wind_mph": ("--wind", wind),
        "wind_from_deg": ("--wind-from", wind_from or 0.0),
        "temperature_c": ("--temperature", temperature),
        "altitude_m": ("--altitude", altitude),
        "gust_mph": ("--gust", round(GUSTS * wind, 1) if gust is None else gust),
        "wind_uncertainty_mph": ("--wind-doubt", wind_doubt),
        "humidity": ("--humidity", humidity),
    }
    return checked(Conditions, "the day", given)


def checked(kind: type[Given], what: str, given: Mapping[str, tuple[str, object]]) -> Given:
    """Make a record of options, given as field name to (option, value); a fault names the option."""
    try:
        return kind.model_validate({name: value for name, (_, value) in given.items()})
    except ValidationError as error:
        faults = [
            Fault(
                given[str(fault["loc"][0])][0],
                f"{fault['input']}",
                fault["msg"].removeprefix("Input should be "),
            )
            for fault in error.errors()
        ]
        raise InputError(what, faults) from None
