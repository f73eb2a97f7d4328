"""Where a ball lies, as options of the verbs that ask about one place."""

import sys
from typing import Annotated

import typer

from caddiebrain.insight.among_trees import trees_note
from caddiebrain.insight.spots import spot_of
from caddiebrain.round import RoundPlan
from caddiebrain.terms import Lie

__all__ = [
    "At",
    "HoleNumber",
    "LieName",
    "PlayedFrom",
    "Standing",
    "Strokes",
    "ToPin",
    "note_trees",
    "place_of",
    "position_of",
]

HoleNumber = Annotated[int, typer.Option("--hole", metavar="N", help="The hole.")]
ToPin = Annotated[
    float | None,
    typer.Option(
        "--to-pin", metavar="YARDS", min=0, max=800, help="Distance to the pin, on the line of play."
    ),
]
At = Annotated[
    str | None,
    typer.Option(
        "--at", metavar="X,Y", help="Instead: yards right of the straight line tee to pin, and along it."
    ),
]
LieName = Annotated[Lie | None, typer.Option("--lie", metavar="LIE", help="By default what the map shows.")]
Strokes = Annotated[
    int, typer.Option("--strokes", metavar="N", min=0, help="Strokes taken on this hole, penalties included.")
]
Standing = Annotated[int, typer.Option("--standing", metavar="N", help="Strokes over par before this hole.")]

PlayedFrom = Annotated[
    str | None,
    typer.Option(
        "--played-from",
        metavar="X,Y",
        help="Where the ball was last played, or tee: weighs stroke and distance, too (Rules 18.1, 19.2a).",
    ),
]


def position_of(text: str | None, option: str = "--at") -> tuple[float, float] | None:
    """Read ``X,Y``."""
    if text is None:
        return None
    try:
        x, y = map(float, text.split(","))
    except ValueError:
        raise typer.BadParameter(f"{option}: found {text!r}; expected X,Y in yards, such as 12,230") from None
    return x, y


def note_trees(
    plan: RoundPlan, hole: int, position: tuple[float, float] | None, to_pin: float | None, lie: Lie | None
) -> None:
    """Tell who says that a ball lies among trees where the map has none, on standard error."""
    if lie is Lie.TREES:
        note = trees_note(spot_of(plan, hole, position, to_pin, lie, 0, 0))
        if note:
            print(f"caddiebrain: note: {note}", file=sys.stderr)


def place_of(at: str | None, to_pin: float | None) -> tuple[float, float] | None:
    """Read ``X,Y``, which may not stand beside ``--to-pin``."""
    if to_pin is not None and at is not None:
        raise typer.BadParameter("say where the ball lies once: --to-pin YARDS or --at X,Y")
    return position_of(at)
