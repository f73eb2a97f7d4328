"""``caddiebrain doubles``: what keeping double bogeys off the card costs, on a hole or over a round."""

import math
from typing import Annotated

import typer

import caddiebrain as cb
from caddiebrain.cli.asked import Asked, about_a_round
from caddiebrain.cli.inputs import AsJson
from caddiebrain.cli.output import show, show_text
from caddiebrain.cli.waiting import at_work
from caddiebrain.errors import InputError
from caddiebrain.report.doubles_text import hole_doubles_page, round_doubles_page
from caddiebrain.round import RoundPlan

__all__ = ["run"]


@about_a_round
def run(
    asked: Asked,
    hole: Annotated[int | None, typer.Option("--hole", metavar="N", help="One hole; else the round.")] = None,
    at_most: Annotated[
        float | None,
        typer.Option(
            "--at-most",
            metavar="X",
            min=0,
            help="Most double bogeys or worse: so many a round on average, or on one hole times in 100. For a round "
            "a twentieth fewer than now when left out, or half of what can be saved if that is less.",
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Keep double bogeys or worse rare at the least cost in strokes."""
    if hole is not None:
        if at_most is not None and at_most > 100:
            raise typer.BadParameter(f"on one hole {at_most:g} times in 100 is no limit: 0 to 100 is")
        asked.course.hole(hole)  # refuse an unknown hole before the work, not after
        _one_hole(asked.plan(), hole, at_most, as_json)
        return
    plan = asked.plan()
    try:
        with at_work("fewer doubles"):
            found = cb.limit_disasters_of_round(plan, at_most)
    except InputError as error:
        if at_most is None or error.faults[0].where != "cap":
            raise
        raise _too_few(f"{at_most:g}", error.faults[0].expected) from None
    show_text(found.model_dump_json(indent=2)) if as_json else show(round_doubles_page(found))


def _one_hole(plan: RoundPlan, hole: int, at_most: float | None, as_json: bool) -> None:
    with at_work("fewer doubles"):
        curve, limit = cb.disaster_frontier(plan, hole), None
    if at_most is not None:
        try:
            limit = cb.limit_disasters(plan, hole, at_most / 100.0)
        except InputError as error:
            if error.faults[0].where != "cap":
                raise
            # Rounded up, so that the figure named is one that will do.
            least = math.ceil(1e4 * curve.points[-1].double_bogey_or_worse) / 100.0
            expected = f"at least {least:.2f} times in 100: no way to play does better"
            raise _too_few(f"{at_most:g}", expected) from None
    if not as_json:
        show(hole_doubles_page(curve, limit))
        return
    show_text((curve if limit is None else limit).model_dump_json(indent=2))


def _too_few(found: str, expected: str) -> InputError:
    return InputError.one("doubles", "--at-most", found, expected)
