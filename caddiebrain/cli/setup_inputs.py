"""Options for how the course is set up today, shared by the verbs that plan."""

from collections.abc import Sequence
from enum import StrEnum
from typing import Annotated, Literal

import typer

from caddiebrain.cli.inputs import checked
from caddiebrain.course import Course, Setup
from caddiebrain.course.setup import PinPlace

__all__ = [
    "Firmness",
    "GreenSpeed",
    "LocalRuleE5",
    "Pins",
    "PreferredLies",
    "Rough",
    "RoughWord",
    "TemporaryGreens",
    "setup_of",
]

_WORDS: tuple[Literal["front", "middle", "back", "left", "right"], ...] = (
    "front",
    "middle",
    "back",
    "left",
    "right",
)
_NAMES_MOST = 8
"""Most names of pins that a complaint lists."""


class RoughWord(StrEnum):
    """How the rough is cut."""

    SHORT = "short"
    NORMAL = "normal"
    LONG = "long"


Pins = Annotated[
    list[str] | None,
    typer.Option(
        "--pin",
        metavar="WHERE",
        help=f"{', '.join(_WORDS)}, or a name that pins have in the course file: all pins. 7=back or 7=3,150 "
        "(x,y in yards): one hole's, repeatable. Where the course file has them when left out.",
    ),
]
Firmness = Annotated[float, typer.Option("--firmness", metavar="F", help="Ground: 0 soaked, 1 baked.")]
Rough = Annotated[RoughWord, typer.Option("--rough", help="How the rough is cut.")]
GreenSpeed = Annotated[float, typer.Option("--green-speed", metavar="FT", help="Stimp distance, feet.")]
PreferredLies = Annotated[
    bool, typer.Option("--preferred-lies", help="Model Local Rule E-3 is in force on fairways.")
]
LocalRuleE5 = Annotated[
    bool | None,
    typer.Option(
        "--e5/--no-e5",
        help="Model Local Rule E-5, two strokes at the fairway's edge for a ball lost or out, is in force or not; "
        "as the course file has it when left out.",
    ),
]
TemporaryGreens = Annotated[
    list[str] | None,
    typer.Option(
        "--temporary-green", metavar="HOLE=X,Y", help="Middle of a temporary green, yards; repeatable."
    ),
]


def setup_of(
    course: Course,
    pins: Sequence[str] | None,
    firmness: float,
    rough: RoughWord,
    green_speed: float,
    preferred_lies: bool,
    local_rule_e5: bool | None,
    temporary_greens: Sequence[str] | None,
) -> Setup | None:
    """Make the set-up of the day; None where everything is as usual."""
    given = {
        "pin": ("--pin", _pin(pins or (), course)),
        "firmness": ("--firmness", firmness),
        "rough": ("--rough", rough.value),
        "green_speed_ft": ("--green-speed", green_speed),
        "preferred_lies": ("--preferred-lies", preferred_lies),
        "local_rule_e5": ("--e5", local_rule_e5),
        "temporary_greens": ("--temporary-green", dict(_temporary(text) for text in temporary_greens or ())),
    }
    today = checked(Setup, "the set-up", given)
    return None if today == Setup() else today


def _pin(given: Sequence[str], course: Course) -> PinPlace | dict[int, PinPlace] | None:
    """Read one word for all pins, or one place for each hole named."""
    if not given:
        return None
    if len(given) == 1 and "=" not in given[0]:
        name = given[0].strip().lower()
        named: dict[int, PinPlace] = {
            hole.number: hole.pins[name] for hole in course.holes if name in hole.pins and name not in _WORDS
        }
        return named or _place(given[0], "--pin", given[0], spots=False, names=_pin_names(course))
    return dict(_pin_of_hole(text, course) for text in given)


def _pin_of_hole(text: str, course: Course) -> tuple[int, PinPlace]:
    number, place = _hole_and_place("--pin", text, "7=back or 7=3,150, one for each hole")
    pins = next((hole.pins for hole in course.holes if hole.number == number), {})
    if place.lower() in pins and place.lower() not in _WORDS:
        return number, pins[place.lower()]
    return number, _place(place, "--pin", text, names=[name for name in pins if name not in _WORDS])


def _pin_names(course: Course) -> list[str]:
    return sorted({name for hole in course.holes for name in hole.pins} - {*_WORDS})


def _hole_and_place(option: str, text: str, like: str) -> tuple[int, str]:
    """Part ``7=back`` or ``7=3,150``."""
    number, sign, place = (part.strip() for part in text.partition("="))
    if not sign or not number.isdecimal() or not 1 <= int(number) <= 18:
        raise typer.BadParameter(f"{option}: found {text!r}; expected {like}")
    return int(number), place


def _temporary(text: str) -> tuple[int, PinPlace]:
    number, place = _hole_and_place("--temporary-green", text, "7=0,310, one for each hole")
    return number, _place(place, "--temporary-green", text, words=False)


def _place(
    place: str, option: str, text: str, *, words: bool = True, spots: bool = True, names: Sequence[str] = ()
) -> PinPlace:
    for word in _WORDS if words else ():
        if place.strip().lower() == word:
            return word
    spot = _spot(place) if spots else None
    if spot is None:
        ways = [*(_WORDS if words else ()), *names[:_NAMES_MOST], *(("x,y in yards",) if spots else ())]
        raise typer.BadParameter(f"{option}: found {text!r}; expected {', '.join(ways)}")
    return spot


def _spot(text: str) -> tuple[float, float] | None:
    try:
        x, y = map(float, text.split(","))
    except ValueError:
        return None
    return x, y
