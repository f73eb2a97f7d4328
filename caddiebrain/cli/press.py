"""``caddiebrain press``: a round in progress, and what the strokes in hand ask for."""

import caddiebrain as cb
from caddiebrain.cli.asked import Asked, about_a_round
from caddiebrain.cli.inputs import AsJson
from caddiebrain.cli.output import show, show_text
from caddiebrain.cli.places import At, HoleNumber, LieName, Standing, Strokes, ToPin, note_trees, place_of
from caddiebrain.report.insight_text import press_page

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
    as_json: AsJson = False,
) -> None:
    """Say whether to protect or to press with this standing, and at which standings that changes."""
    position = place_of(at, to_pin)
    asked.course.hole(hole)  # refuse an unknown hole before the work, not after
    plan = asked.plan()
    record = cb.press(
        plan,
        hole,
        standing=standing,
        position=position,
        to_pin=to_pin,
        lie=lie,
        strokes_on_hole=strokes,
    )
    note_trees(plan, hole, position, to_pin, lie)
    show_text(record.model_dump_json(indent=2)) if as_json else show(press_page(record))
