"""``caddiebrain plan``: a round planned hole by hole."""

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
from caddiebrain.cli.output import show, show_text
from caddiebrain.cli.setup_inputs import (
    Firmness,
    GreenSpeed,
    Pin,
    PreferredLies,
    Rough,
    RoughWord,
    setup_of,
)
from caddiebrain.report.text import hole_page, round_page
from caddiebrain.round.record import HoleOptionsRecord

__all__ = ["run"]


def run(
    course: CourseFile = None,
    player: PlayerFile = None,
    tees: Tees = None,
    target: TargetScore = 79,
    hole: Annotated[int | None, typer.Option("--hole", metavar="N", help="One hole in detail.")] = None,
    standing: Annotated[
        int, typer.Option("--standing", metavar="N", help="With --hole: strokes over par on its tee.")
    ] = 0,
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
    """Plan a round: what to hit off every tee to score lowest, and to finish at or under the target.

    Without a course and a player it plans the demo.
    """
    day = day_of(wind, wind_from, temperature, altitude, gust, humidity)
    today = setup_of(pin, firmness, rough, green_speed, preferred_lies)
    where, who = read_course(course, tees), read_player(player)
    if hole is not None:
        where.hole(hole)  # refuse an unknown hole before the work, not after
    with progress_bar() as progress:
        plan = cb.plan_round(where, who, target=target, conditions=day, setup=today, progress=progress)
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
        show(hole_page(one, standing, target, ranked))
