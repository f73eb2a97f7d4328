"""``caddiebrain review``: a round as it was played against its plan."""

from pathlib import Path
from typing import Annotated

import typer

import caddiebrain as cb
from caddiebrain.cli.asked import Asked, about_a_round
from caddiebrain.cli.inputs import AsJson
from caddiebrain.cli.output import show, show_text
from caddiebrain.cli.waiting import at_work
from caddiebrain.insight.played import check_round
from caddiebrain.report.insight_text import review_page

__all__ = ["run"]


@about_a_round
def run(
    asked: Asked,
    played: Annotated[
        Path, typer.Argument(metavar="ROUND", help="The round as played, JSON; a part of the holes will do.")
    ],
    strokes: Annotated[bool, typer.Option("--strokes", help="List every stroke.")] = False,
    reference: Annotated[
        float | None,
        typer.Option(
            "--reference", metavar="N", help="Also hold the strokes against a handicap index; -2 for +2."
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Say what the choices of a round cost, what the strokes cost, and three things to take home."""
    card = cb.load_played_round(played)
    check_round(asked.course, asked.player, asked.setup, card, str(played))  # before the work, not after
    level = None if reference is None else cb.Level(handicap_index=reference)
    plan = asked.plan()
    with at_work("the round"):
        found = cb.review(plan, card, reference=level)
    show_text(found.model_dump_json(indent=2)) if as_json else show(review_page(found, strokes))
