"""``caddiebrain bag``: which of the clubs owned to carry."""

from typing import Annotated

import typer

import caddiebrain as cb
from caddiebrain.cli.asked import Asked, about_a_round
from caddiebrain.cli.inputs import AsJson
from caddiebrain.cli.output import show, show_text
from caddiebrain.cli.waiting import at_work
from caddiebrain.errors import UnknownError
from caddiebrain.player.bag import club_name
from caddiebrain.report.work_text import bag_page

__all__ = ["run"]


@about_a_round
def run(
    asked: Asked,
    limit: Annotated[
        int,
        typer.Option(
            "--limit", metavar="N", min=2, max=14, help="Clubs to carry, the putter included (Rule 4.1b)."
        ),
    ] = 14,
    keep: Annotated[
        list[str] | None,
        typer.Option("--keep", metavar="CLUB", help="A club that stays in the bag; repeatable."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Choose which clubs to carry; the player file holds a pattern for every club owned."""
    owned = asked.player.clubs
    unknown = [club for club in keep or () if club not in owned and club_name(club) not in owned]
    if unknown:  # before the work, not after
        raise UnknownError(f"--keep: no club {unknown[0]!r}; there are {', '.join(owned)}")
    plan = asked.plan()
    with at_work("the bag"):
        found = cb.choose_bag(plan, limit=limit, keep=keep or ())
    show_text(found.model_dump_json(indent=2)) if as_json else show(bag_page(found))
