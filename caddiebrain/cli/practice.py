"""``caddiebrain practice``: which work would move the target most."""

from typing import Annotated

import typer

import caddiebrain as cb
from caddiebrain.cli.asked import Asked, about_a_round
from caddiebrain.cli.inputs import AsJson
from caddiebrain.cli.output import show, show_text
from caddiebrain.cli.waiting import at_work
from caddiebrain.report.work_text import practice_page

__all__ = ["run"]


@about_a_round
def run(
    asked: Asked,
    hours: Annotated[
        float | None,
        typer.Option("--hours", metavar="H", min=0, max=100, help="Hours a week to split among the skills."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Rank what to practise by how much more often it brings the target."""
    plan = asked.plan()
    with at_work("what practice would do"):
        report = cb.practice_priorities(plan, weekly_hours=hours)
    show_text(report.model_dump_json(indent=2)) if as_json else show(practice_page(report))
