"""Which round a verb is about: the options that every verb with a plan shares, given to it as one record."""

import inspect
import sys
from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any

import caddiebrain as cb
from caddiebrain.cli.inputs import (
    AltitudeM,
    CourseFile,
    CourseName,
    GustMph,
    Humidity,
    OutBeyondOutline,
    Partial,
    PlayerFile,
    TargetScore,
    Tees,
    TemperatureC,
    WindDoubtMph,
    WindFrom,
    WindMph,
    day_of,
    read_course,
    read_player,
)
from caddiebrain.cli.kept import kept_or_made
from caddiebrain.cli.setup_inputs import (
    Firmness,
    GreenSpeed,
    LocalRuleE5,
    Pins,
    PreferredLies,
    Rough,
    RoughWord,
    TemporaryGreens,
    setup_of,
)
from caddiebrain.cli.waiting import progress_bar
from caddiebrain.course import Course, Setup
from caddiebrain.flight import Conditions
from caddiebrain.player import Player
from caddiebrain.round import RoundPlan

__all__ = ["Asked", "about_a_round"]


@dataclass(frozen=True)
class Asked:
    """A round to plan."""

    course: Course
    player: Player
    target: int
    conditions: Conditions
    setup: Setup | None

    def plan(self) -> RoundPlan:
        """Return its plan, as kept from an earlier question or made now."""
        asked = self.course, self.player, self.target, self.conditions, self.setup
        return kept_or_made(asked, self._made)

    def _made(self) -> RoundPlan:
        """Plan it, with progress on standard error if someone is looking."""
        with progress_bar() as progress:
            return cb.plan_round(
                self.course,
                self.player,
                target=self.target,
                conditions=self.conditions,
                setup=self.setup,
                progress=progress,
            )


def about_a_round(run: Callable[..., None]) -> Callable[..., None]:
    """Give a verb the options of a round.

    Parameters
    ----------
    run : callable
        Takes an `Asked` first and its own options by name.

    Returns
    -------
    callable
        For the app: its own options, then those that say which round.
    """
    shared = inspect.signature(_asked).parameters
    own = list(inspect.signature(run).parameters.values())[1:]

    @wraps(run)
    def verb(**given: Any) -> None:
        asked = _asked(**{name: given.pop(name) for name in shared})
        run(asked, **given)

    every = [p.replace(kind=inspect.Parameter.KEYWORD_ONLY) for p in (*own, *shared.values())]
    verb.__signature__ = inspect.Signature(every)  # type: ignore[attr-defined]
    verb.__annotations__ = {p.name: p.annotation for p in every}
    return verb


def _asked(
    course: CourseFile = None,
    course_name: CourseName = None,
    partial: Partial = False,
    out_beyond_outline: OutBeyondOutline = False,
    player: PlayerFile = None,
    tees: Tees = None,
    target: TargetScore = 79,
    wind: WindMph = 0.0,
    wind_from: WindFrom = None,
    temperature: TemperatureC = 20.0,
    altitude: AltitudeM = 0.0,
    gust: GustMph = None,
    wind_doubt: WindDoubtMph = 0.0,
    humidity: Humidity = 0.5,
    pin: Pins = None,
    firmness: Firmness = 0.5,
    rough: Rough = RoughWord.NORMAL,
    green_speed: GreenSpeed = 9.5,
    preferred_lies: PreferredLies = False,
    local_rule_e5: LocalRuleE5 = None,
    temporary_green: TemporaryGreens = None,
) -> Asked:
    """Read what the options name."""
    day = day_of(wind, wind_from, temperature, altitude, gust, humidity, wind_doubt)
    ground = read_course(course, tees, course_name, partial, out_beyond_outline)
    _tell_of_other_tees(ground, tees)
    today = setup_of(
        ground, pin, firmness, rough, green_speed, preferred_lies, local_rule_e5, temporary_green
    )
    return Asked(ground, read_player(player), target, day, today)


def _tell_of_other_tees(course: Course, tees: str | None) -> None:
    """Say on standard error where the tees asked for are missing: a plan says lengths, not tees."""
    without = [hole.number for hole in course.holes if tees and tees.strip().lower() not in hole.tees]
    if without:
        where = ", ".join(map(str, without))
        holes = f"hole {where} has" if len(without) == 1 else f"holes {where} have"
        print(f"caddiebrain: {holes} no tees {tees!r}; played from others", file=sys.stderr)
