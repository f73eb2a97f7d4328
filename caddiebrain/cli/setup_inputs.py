"""Options for how the course is set up today, shared by the verbs that plan."""

from enum import StrEnum
from typing import Annotated

import typer

from caddiebrain.cli.inputs import checked
from caddiebrain.course import Setup

__all__ = ["Firmness", "GreenSpeed", "Pin", "PinWord", "PreferredLies", "Rough", "RoughWord", "setup_of"]


class PinWord(StrEnum):
    """Where on the green."""

    FRONT = "front"
    MIDDLE = "middle"
    BACK = "back"
    LEFT = "left"
    RIGHT = "right"


class RoughWord(StrEnum):
    """How the rough is cut."""

    SHORT = "short"
    NORMAL = "normal"
    LONG = "long"


Pin = Annotated[
    PinWord | None,
    typer.Option("--pin", help="Pins of all holes; where the course file has them when left out."),
]
Firmness = Annotated[float, typer.Option("--firmness", metavar="F", help="Ground: 0 soaked, 1 baked.")]
Rough = Annotated[RoughWord, typer.Option("--rough", help="How the rough is cut.")]
GreenSpeed = Annotated[float, typer.Option("--green-speed", metavar="FT", help="Stimp distance, feet.")]
PreferredLies = Annotated[
    bool, typer.Option("--preferred-lies", help="Model Local Rule E-3 is in force on fairways.")
]


def setup_of(
    pin: PinWord | None, firmness: float, rough: RoughWord, green_speed: float, preferred_lies: bool
) -> Setup | None:
    """Make the set-up of the day; None where everything is as usual."""
    given = {
        "pin": ("--pin", None if pin is None else pin.value),
        "firmness": ("--firmness", firmness),
        "rough": ("--rough", rough.value),
        "green_speed_ft": ("--green-speed", green_speed),
        "preferred_lies": ("--preferred-lies", preferred_lies),
    }
    today = checked(Setup, "the set-up", given)
    return None if today == Setup() else today
