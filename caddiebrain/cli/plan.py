"""``caddiebrain plan``: a round planned hole by hole."""

from pathlib import Path
from typing import Annotated

import typer

import caddiebrain as cb
from caddiebrain.cli.asked import Asked, about_a_round
from caddiebrain.cli.inputs import AsJson
from caddiebrain.cli.output import show, show_text
from caddiebrain.cli.waiting import at_work
from caddiebrain.report.book import check_writable
from caddiebrain.report.text import hole_page, round_page
from caddiebrain.round.record import HoleOptionsRecord

__all__ = ["run"]


@about_a_round
def run(
    asked: Asked,
    hole: Annotated[int | None, typer.Option("--hole", metavar="N", help="One hole in detail.")] = None,
    standing: Annotated[
        int, typer.Option("--standing", metavar="N", help="With --hole: strokes over par on its tee.")
    ] = 0,
    book: Annotated[
        Path | None,
        typer.Option(
            "--book", metavar="FILE", help="Also write the round as a book to print and carry (HTML)."
        ),
    ] = None,
    rules: Annotated[
        int | None,
        typer.Option(
            "--rules",
            metavar="N",
            min=0,
            max=40,
            help="With --book: also a page of at most N rules to carry.",
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Plan a round: what to hit off every tee to score lowest, and to finish at or under the target.

    Without a course and a player it plans the demo.
    """
    if rules is not None and book is None:
        raise typer.BadParameter("--rules needs --book: the file the rules are for")
    if book is not None:
        check_writable(book)  # refuse it before the work, not after
    if hole is not None:
        asked.course.hole(hole)  # refuse an unknown hole before the work, not after
    plan = asked.plan()
    if book is not None:
        with at_work("the book"):
            cb.write_book(plan, book, None if rules is None else cb.carry_card(plan, rules))
    if hole is None:
        record = plan.record()
        show_text(record.model_dump_json(indent=2)) if as_json else show(round_page(record))
        return
    one, ranked = plan.hole(hole).record(), plan.hole(hole).tee_options(standing)
    if as_json:
        options = tuple(option.record() for option in ranked)
        shown = HoleOptionsRecord(**dict(one), standing=standing, options=options)
        show_text(shown.model_dump_json(indent=2))
    else:
        show(hole_page(one, standing, asked.target, ranked))
