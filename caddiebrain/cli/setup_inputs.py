"""Options for how the course is set up today, shared by the verbs that plan."""

from collections.abc import Sequence
from enum import StrEnum
from typing import Annotated, Literal

import typer

from caddiebrain.cli.inputs import checked
from caddiebrain.course import Setup
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
        help=f"{', '.join(_WORDS)}: all pins. 7=back or 7=3,150 (x,y in yards): one hole's, repeatable. "
        "Where the course file has them when left out.",
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
        "pin": ("--pin", _pin(pins or ())),
        "firmness": ("--firmness", firmness),
        "rough": ("--rough", rough.value),
        "green_speed_ft": ("--green-speed", green_speed),
        "preferred_lies": ("--preferred-lies", preferred_lies),
        "local_rule_e5": ("--e5", local_rule_e5),
        "temporary_greens": ("--temporary-green", dict(_temporary(text) for text in temporary_greens or ())),
    }
    today = checked(Setup, "the set-up", given)
    return None if today == Setup() else today


def _pin(given: Sequence[str]) -> PinPlace | dict[int, PinPlace] | None:
    """Read one word for all pins, or one place for each hole named."""
    if not given:
        return None
    if len(given) == 1 and "=" not in given[0]:
        return _place(given[0], f"--pin {given[0]}", spots=False)
    return dict(_of_hole("--pin", text) for text in given)


def _of_hole(option: str, text: str, words: bool = True) -> tuple[int, PinPlace]:
    """Read ``7=back`` or ``7=3,150``."""
    number, sign, place = (part.strip() for part in text.partition("="))
    if not sign or not number.isdecimal() or not 1 <= int(number) <= 18:
        like = "7=back or 7=3,150, one for each hole" if words else "7=0,310, one for each hole"
        raise typer.BadParameter(f"{option}: found {text!r}; expected {like}")
    return int(number), _place(place, f"{option} {text}", words=words)


def _temporary(text: str) -> tuple[int, PinPlace]:
    return _of_hole("--temporary-green", text, words=False)


def _place(place: str, text: str, *, words: bool = True, spots: bool = True) -> PinPlace:
    for word in _WORDS if words else ():
        if place.strip().lower() == word:
            return word
    spot = _spot(place) if spots else None
    if spot is None:
        ways = [*(_WORDS if words else ()), *(("x,y in yards",) if spots else ())]
        raise typer.BadParameter(f"found {text!r}; expected {', '.join(ways)}")
    return spot


def _spot(text: str) -> tuple[float, float] | None:
    try:
        x, y = map(float, text.split(","))
    except ValueError:
        return None
    return x, y
