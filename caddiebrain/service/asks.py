"""What a request may ask, and what tells one plan from another."""

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field

from caddiebrain.course import Setup
from caddiebrain.flight import Conditions
from caddiebrain.player import Level
from caddiebrain.service.settings import ServiceSettings
from caddiebrain.terms import Lie

__all__ = ["ASKS", "CompareAsk", "OptionsAsk", "PlaceAsk", "PlanAsk", "PracticeAsk", "ReviewAsk", "plan_key"]

_Yards = Annotated[float, Field(ge=-2000.0, le=2000.0)]
_Degrees = Annotated[float, Field(ge=-360.0, le=360.0)]
_Share = Annotated[float, Field(ge=0.0, lt=0.9)]
_Whole = Annotated[int, BeforeValidator(lambda given: _without_point(given))]
"""A whole number, which some languages write with a point: 79.0 is one to a JSON Schema, too."""
_Label = Annotated[str, Field(min_length=1, max_length=80)]


def _without_point(given: Any) -> Any:
    return int(given) if isinstance(given, float) and given.is_integer() else given


class PlanAsk(BaseModel):
    """A round to be planned."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    course: Any = Field(
        default="demo", description="the name of a course that the service has, or a course file"
    )
    player: Any = Field(
        default="demo", description="the name of a player that it has, a player file, or a level"
    )
    course_name: str | None = Field(
        default=None, max_length=80, description="which of several courses in a course file: part of its name"
    )
    out_beyond_outline: Annotated[bool | None, AfterValidator(bool)] = Field(
        default=False, description="take the outline of the course in a course file for its boundary"
    )
    tees: str | None = Field(default=None, max_length=60, description="tee set in play")
    target: _Whole = Field(default=79, ge=1, le=300, description="most strokes the round may take")
    conditions: Annotated[Conditions | None, AfterValidator(lambda day: day or Conditions())] = Field(
        default_factory=Conditions, description="null: still air, as if left out"
    )
    setup: Setup | None = None


class PlaceAsk(PlanAsk):
    """A place on a hole of a planned round."""

    hole: _Whole = Field(ge=1, le=36)
    position: tuple[_Yards, _Yards] | None = Field(
        default=None, description="yards right of the straight line tee to pin, and along it"
    )
    to_pin: float | None = Field(
        default=None, gt=0.0, le=800.0, description="instead: yards to the pin, on the line of play"
    )
    lie: Lie | None = Field(default=None, description="by default what the map shows")
    strokes_on_hole: _Whole = Field(default=0, ge=0, le=30, description="so far, penalties included")
    standing: _Whole = Field(default=0, ge=-60, le=200, description="strokes over par before the hole")


class OptionsAsk(PlaceAsk):
    """Every choice from a place."""

    every_aim: bool = Field(default=False, description="every aim of every club, not only the best of each")


class CompareAsk(PlaceAsk):
    """Two choices from a place; from the tee where none is given."""

    first: _Label
    second: _Label
    first_aim_deg: _Degrees | None = None
    second_aim_deg: _Degrees | None = None
    aim_for: Literal["score", "target"] = "score"


class ReviewAsk(PlanAsk):
    """A played round against its plan."""

    round: Any = Field(description="the round as it was played")
    reference: Level | None = Field(
        default=None, description="a level to hold the strokes against, too; takes about a second a hole"
    )


class PracticeAsk(PlanAsk):
    """What to practise."""

    efforts: dict[_Label, _Share] | None = Field(
        default=None, description="share of the error that the same effort takes away, by skill"
    )
    weekly_hours: float | None = Field(default=None, gt=0.0, le=100.0)


ASKS: Mapping[str, type[PlanAsk]] = {
    "plan": PlanAsk,
    "options": OptionsAsk,
    "compare": CompareAsk,
    "review": ReviewAsk,
    "practice": PracticeAsk,
}
"""Verb -> what it may be asked."""


def plan_key(ask: PlanAsk, settings: ServiceSettings) -> str:
    """Hash of everything the plan behind a request depends on."""
    named = [_stamp(ask.course, settings.courses), _stamp(ask.player, settings.players)]
    data = {name: getattr(ask, name) for name in PlanAsk.model_fields}
    plain = PlanAsk.model_construct(**data).model_dump(mode="json")
    return hashlib.sha256(json.dumps([named, plain], sort_keys=True).encode()).hexdigest()


def _stamp(given: Any, files: Mapping[str, Path]) -> tuple[int, int] | None:
    """When a named file was last changed, and its size: a new file of the same name is another course."""
    file = files.get(given) if isinstance(given, str) else None
    if file is None or not file.exists():
        return None
    found = file.stat()
    return found.st_mtime_ns, found.st_size
