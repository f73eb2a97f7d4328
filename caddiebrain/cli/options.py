"""``caddiebrain options``: every choice from one place, weighed."""

import json

import typer

from caddiebrain.cli.asked import Asked, about_a_round
from caddiebrain.cli.inputs import AsJson
from caddiebrain.cli.output import show, show_text
from caddiebrain.cli.places import (
    At,
    HoleNumber,
    LieName,
    PlayedFrom,
    Standing,
    Strokes,
    ToPin,
    note_trees,
    position_of,
)
from caddiebrain.insight.spots import spot_of
from caddiebrain.report.text import options_page
from caddiebrain.report.words import place_words

__all__ = ["run"]


@about_a_round
def run(
    asked: Asked,
    hole: HoleNumber,
    to_pin: ToPin = None,
    at: At = None,
    lie: LieName = None,
    strokes: Strokes = 0,
    standing: Standing = 0,
    played_from: PlayedFrom = None,
    as_json: AsJson = False,
) -> None:
    """Rank every choice from one place on a hole: for planning, practice and lessons, not during a round."""
    if (to_pin is None) == (at is None):
        raise typer.BadParameter("say where the ball lies: --to-pin YARDS or --at X,Y")
    position = position_of(at)
    before = None if played_from == "tee" else position_of(played_from, "--played-from")
    asked.course.hole(hole)  # refuse an unknown hole before the work, not after
    plan = asked.plan()
    ranked = plan.options(
        hole,
        position,
        to_pin=to_pin,
        lie=lie,
        strokes_on_hole=strokes,
        standing=standing,
        played_from="tee" if played_from == "tee" else before,
    )
    note_trees(plan, hole, position, to_pin, lie)
    if as_json:
        choices = [option.record().model_dump(mode="json") for option in ranked]
        show_text(json.dumps(choices, indent=2))
    else:
        spot = spot_of(plan, hole, position, to_pin, lie, strokes, standing)
        words = place_words(hole, spot.to_pin, spot.lie, strokes, standing, position)
        show(options_page(words, ranked))
