"""From a request to its plan, and from a plan to the JSON of an answer; runs in a worker."""

from typing import Any

from pydantic import TypeAdapter

from caddiebrain.batch.job import PlanJob, course_of, player_of
from caddiebrain.course import Course
from caddiebrain.errors import InputError, UnknownError
from caddiebrain.insight.compare import compare
from caddiebrain.insight.played import load_played_round
from caddiebrain.insight.practice import practice_priorities
from caddiebrain.insight.review import review
from caddiebrain.player import Level, Player
from caddiebrain.round import RoundPlan, plan_round
from caddiebrain.round.record import ChoiceRecord
from caddiebrain.service.asks import CompareAsk, OptionsAsk, PlanAsk, PracticeAsk, ReviewAsk
from caddiebrain.service.settings import ServiceSettings

__all__ = ["answer", "check", "make_plan"]

_CHOICES = TypeAdapter(tuple[ChoiceRecord, ...])


def make_plan(ask: PlanAsk, settings: ServiceSettings) -> RoundPlan:
    """Plan the round of a request; raises CaddieError for what its client can mend."""
    course, player = _course(ask, settings), _player(ask, settings)
    return plan_round(
        course,
        player,
        ask.target,
        ask.conditions,
        ask.setup,
        grid=settings.grid,
        workers=settings.plan_processes,
    )


def check(ask: PlanAsk) -> None:
    """Refuse a request that no plan could answer, before the plan is made."""
    if isinstance(ask, ReviewAsk):
        if not isinstance(ask.round, dict):
            raise InputError.one("round", "round", type(ask.round).__name__, "an object with holes")
        load_played_round(ask.round)
    if isinstance(ask, OptionsAsk) and (ask.position is None) == (ask.to_pin is None):
        found = "neither" if ask.position is None else "both"
        raise InputError.one("request", "position", found, "either position or to_pin")
    if isinstance(ask, CompareAsk) and ask.position is not None and ask.to_pin is not None:
        raise InputError.one("request", "position", "both", "either position or to_pin, or none for the tee")


def answer(ask: PlanAsk, plan: RoundPlan, settings: ServiceSettings) -> str:
    """Return the JSON of an answer: what the command line writes with ``--json``."""
    if isinstance(ask, OptionsAsk):
        options = plan.options(
            ask.hole,
            ask.position,
            to_pin=ask.to_pin,
            lie=ask.lie,
            strokes_on_hole=ask.strokes_on_hole,
            standing=ask.standing,
            every_aim=ask.every_aim,
        )
        return _CHOICES.dump_json(tuple(option.record() for option in options)).decode()
    if isinstance(ask, CompareAsk):
        return compare(
            plan,
            ask.hole,
            ask.first,
            ask.second,
            position=ask.position,
            to_pin=ask.to_pin,
            lie=ask.lie,
            strokes_on_hole=ask.strokes_on_hole,
            standing=ask.standing,
            first_aim_deg=ask.first_aim_deg,
            second_aim_deg=ask.second_aim_deg,
            aim_for=ask.aim_for,
        ).model_dump_json()
    if isinstance(ask, ReviewAsk):
        return review(plan, ask.round, reference=ask.reference).model_dump_json()
    if isinstance(ask, PracticeAsk):
        return practice_priorities(plan, efforts=ask.efforts, weekly_hours=ask.weekly_hours).model_dump_json()
    return plan.record().model_dump_json()


def _course(ask: PlanAsk, settings: ServiceSettings) -> Course:
    source = ask.course
    if isinstance(source, str):
        if source not in settings.courses:
            raise UnknownError(_unknown("course", source, settings.courses))
        source = settings.courses[source]
    elif not isinstance(source, dict):
        raise InputError.one("course", "course", type(source).__name__, "a name or a course file")
    job = PlanJob(
        source,
        Level(0.0),
        1,
        tees=ask.tees,
        course_name=ask.course_name,
        out_beyond_outline=bool(ask.out_beyond_outline),
    )
    return course_of(job)


def _player(ask: PlanAsk, settings: ServiceSettings) -> Player:
    if isinstance(ask.player, str):
        file = settings.players.get(ask.player)
        if file is None:
            raise UnknownError(_unknown("player", ask.player, settings.players))
        return player_of(PlanJob({}, file, 1))
    if not isinstance(ask.player, dict):
        raise InputError.one(
            "player", "player", type(ask.player).__name__, "a name, a level or a player file"
        )
    return player_of(PlanJob({}, ask.player, 1))


def _unknown(what: str, name: str, known: dict[str, Any]) -> str:
    return f"no {what} {name[:60]!r} here; there are {', '.join(sorted(known))}, or send one"
