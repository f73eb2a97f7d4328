"""``caddiebrain carry``: a plan on a card, a few rules and a line for each hole."""

from pathlib import Path
from typing import Annotated

import typer
from pydantic import ValidationError

import caddiebrain as cb
from caddiebrain.cli.asked import Asked, about_a_round
from caddiebrain.cli.inputs import AsJson
from caddiebrain.cli.output import show, show_text
from caddiebrain.cli.waiting import at_work
from caddiebrain.errors import Fault, InputError, told
from caddiebrain.insight.records_carry import CarryCard
from caddiebrain.report.carry_text import carry_page

__all__ = ["run"]


@about_a_round
def run(
    asked: Asked,
    rules: Annotated[int, typer.Option("--rules", metavar="N", min=0, max=40, help="Most rules.")] = 12,
    price: Annotated[
        Path | None,
        typer.Option(
            "--price", metavar="FILE", help="Instead: what a card written by --json, and changed, would cost."
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Compress a plan into a few rules and one line for each hole, and say what that costs."""
    given = None if price is None else _card(price)
    plan = asked.plan()
    with at_work("the card"):
        card = cb.carry_card(plan, rules) if given is None else cb.price_card(plan, given)
    show_text(card.model_dump_json(indent=2)) if as_json else show(carry_page(card))


def _card(path: Path) -> CarryCard:
    """Read a card.

    Raises
    ------
    InputError
        If the file is no card; every fault is named.
    """
    try:
        return CarryCard.model_validate_json(path.read_bytes())
    except ValidationError as error:
        faults = [
            Fault(".".join(map(str, fault["loc"])) or "file", *told(fault))
            for fault in error.errors(include_url=False)
        ]
        raise InputError(str(path), faults) from None
