"""``caddiebrain confidence``: how sure a tee choice is, given how few shots are on record."""

from typing import Annotated

import numpy as np
import typer

from caddiebrain.cli.asked import Asked, about_a_round
from caddiebrain.cli.inputs import AsJson
from caddiebrain.cli.output import show, show_text
from caddiebrain.cli.places import HoleNumber
from caddiebrain.cli.waiting import at_work
from caddiebrain.report.confidence_text import confidence_page

__all__ = ["run"]


@about_a_round
def run(
    asked: Asked,
    hole: HoleNumber,
    draws: Annotated[
        int, typer.Option("--draws", metavar="N", min=5, max=2000, help="Players drawn; more take longer.")
    ] = 40,
    seed: Annotated[
        int, typer.Option("--seed", metavar="N", min=0, help="The same number draws the same players.")
    ] = 1,
    as_json: AsJson = False,
) -> None:
    """Say how sure the tee choice of a hole is, and how many more recorded shots would settle it."""
    asked.course.hole(hole)  # refuse an unknown hole before the work, not after
    plan = asked.plan()
    with at_work("players your records allow"):
        record = plan.confidence(hole, np.random.default_rng(seed), draws)
    show_text(record.model_dump_json(indent=2)) if as_json else show(confidence_page(record))
