"""``caddiebrain compare``: why one choice beats another, and what would change that."""

from typing import Annotated, Literal

import typer

import caddiebrain as cb
from caddiebrain.cli.asked import Asked, about_a_round
from caddiebrain.cli.inputs import AsJson
from caddiebrain.cli.output import show, show_text
from caddiebrain.cli.places import At, HoleNumber, LieName, Standing, Strokes, ToPin, note_trees, place_of
from caddiebrain.cli.waiting import at_work
from caddiebrain.insight.records_breakeven import Reasons
from caddiebrain.report.insight_text import break_evens_page, compare_page

__all__ = ["run"]


@about_a_round
def run(
    asked: Asked,
    first: Annotated[
        str, typer.Argument(metavar="FIRST", help='As options names it: driver, "4-hybrid draw".')
    ],
    second: Annotated[str, typer.Argument(metavar="SECOND", help="The other choice.")],
    hole: HoleNumber,
    to_pin: ToPin = None,
    at: At = None,
    lie: LieName = None,
    strokes: Strokes = 0,
    standing: Standing = 0,
    aim_for: Annotated[
        Literal["score", "target"], typer.Option("--aim-for", help="What each choice is aimed for.")
    ] = "score",
    what_if: Annotated[
        bool, typer.Option("--what-if", help="Also say what would have to be true for the other choice.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Say why one choice beats another from the same spot, the tee unless you say otherwise."""
    position = place_of(at, to_pin)
    asked.course.hole(hole)  # refuse an unknown hole before the work, not after
    plan = asked.plan()
    spot = {
        "position": position,
        "to_pin": to_pin,
        "lie": lie,
        "strokes_on_hole": strokes,
        "standing": standing,
    }
    reasons = cb.compare(plan, hole, first, second, aim_for=aim_for, **spot)  # type: ignore[arg-type]
    changes = None
    if what_if:
        with at_work("what would change it"):
            changes = cb.break_evens(plan, hole, first, second, **spot)  # type: ignore[arg-type]
    note_trees(plan, hole, position, to_pin, lie)
    if not as_json:
        show(compare_page(reasons), *(() if changes is None else ("", break_evens_page(changes))))
    elif changes is None:
        show_text(reasons.model_dump_json(indent=2))
    else:
        show_text(Reasons(comparison=reasons, break_evens=changes).model_dump_json(indent=2))
