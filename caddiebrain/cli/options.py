"""``caddiebrain options``: every choice from one place, weighed."""

import json
from typing import Annotated

import typer

import caddiebrain as cb
from caddiebrain.cli.inputs import (
    AltitudeM,
    AsJson,
    CourseFile,
    GustMph,
    Humidity,
    PlayerFile,
    TargetScore,
    Tees,
    TemperatureC,
    WindFrom,
    WindMph,
    day_of,
    progress_bar,
    read_course,
    read_player,
)
from caddiebrain.cli.output import choices_as_json, show, show_text
from caddiebrain.cli.setup_inputs import (
    Firmness,
    GreenSpeed,
    Pin,
    PreferredLies,
    Rough,
    RoughWord,
    setup_of,
)
from caddiebrain.report.text import options_page, place_words
from caddiebrain.terms import Lie

__all__ = ["run"]


def _position(text: str) -> tuple[float, float]:
    """Read ``X,Y``."""
    try:
        x, y = map(float, text.split(","))
    except ValueError:
        raise typer.BadParameter(f"found {text!r}; expected X,Y in yards, such as 12,230") from None
    return x, y


def run(
    hole: Annotated[int, typer.Option("--hole", metavar="N", help="The hole.")],
    to_pin: Annotated[
        float | None,
        typer.Option(
            "--to-pin", metavar="YARDS", min=0, max=800, help="Distance to the pin, on the line of play."
        ),
    ] = None,
    at: Annotated[
        str | None,
        typer.Option(
            "--at", metavar="X,Y", help="Instead: yards right of the straight line tee to pin, and along it."
        ),
    ] = None,
    lie: Annotated[
        Lie | None, typer.Option("--lie", metavar="LIE", help="By default what the map shows.")
    ] = None,
    strokes: Annotated[
        int,
        typer.Option("--strokes", metavar="N", min=0, help="Strokes taken on this hole, penalties included."),
    ] = 0,
    standing: Annotated[
        int, typer.Option("--standing", metavar="N", help="Strokes over par before this hole.")
    ] = 0,
    course: CourseFile = None,
    player: PlayerFile = None,
    tees: Tees = None,
    target: TargetScore = 79,
    wind: WindMph = 0.0,
    wind_from: WindFrom = None,
    temperature: TemperatureC = 20.0,
    altitude: AltitudeM = 0.0,
    gust: GustMph = 0.0,
    humidity: Humidity = 0.5,
    pin: Pin = None,
    firmness: Firmness = 0.5,
    rough: Rough = RoughWord.NORMAL,
    green_speed: GreenSpeed = 9.5,
    preferred_lies: PreferredLies = False,
    as_json: AsJson = False,
) -> None:
    """Rank every choice from one place on a hole: for planning, practice and lessons, not during a round."""
    if (to_pin is None) == (at is None):
        raise typer.BadParameter("say where the ball lies: --to-pin YARDS or --at X,Y")
    position = _position(at) if at is not None else None
    day = day_of(wind, wind_from, temperature, altitude, gust, humidity)
    today = setup_of(pin, firmness, rough, green_speed, preferred_lies)
    where, who = read_course(course, tees), read_player(player)
    where.hole(hole)  # refuse an unknown hole before the work, not after
    with progress_bar() as progress:
        plan = cb.plan_round(where, who, target=target, conditions=day, setup=today, progress=progress)
    ranked = plan.options(hole, position, to_pin=to_pin, lie=lie, strokes_on_hole=strokes, standing=standing)
    if as_json:
        show_text(json.dumps(choices_as_json(ranked), indent=2))
    else:
        show(options_page(place_words(hole, to_pin, position, lie, strokes, standing), ranked))
