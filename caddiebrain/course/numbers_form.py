"""The form of a course described by numbers: what a player can say of a hole without a map.

Distances along a hole count from its longest tee along the line of play; sides are as seen from there, right
positive. All lengths are in the file's ``units``. ``docs/holes-by-numbers.md`` explains every field.
"""

from typing import Annotated, Any, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field

__all__ = [
    "Around",
    "CourseForm",
    "Feature",
    "Form",
    "GreenForm",
    "HoleForm",
    "Kind",
    "Leg",
    "PinForm",
    "Stretch",
    "in_yards",
    "numbers_schema",
]

Kind = Literal["bunker", "water", "yellow", "red", "trees", "thick", "tight", "out"]
Clock = Literal["front", "front right", "right", "back right", "back", "back left", "left", "front left"]
Length = Annotated[float, Field(gt=0.0, le=1000.0)]
Distance = Annotated[float, Field(ge=0.0, le=1000.0)]
Offset = Annotated[float, Field(ge=-200.0, le=200.0)]
FormT = TypeVar("FormT", bound="Form")


class Form(BaseModel):
    """Frozen, strict about types and unknown keys, refuses NaN and infinity."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", allow_inf_nan=False, strict=True, populate_by_name=True
    )


LENGTHS = frozenset(
    {"at", "climb", "depth", "front", "gap", "height", "left", "length", "offset", "right", "start", "tees"}
    | {"to", "width"}
)
"""Fields in the file's units."""


def in_yards(form: FormT, yards: float) -> FormT:
    """Return a copy of a form with every length times ``yards``, the yards in one unit of the file."""

    def scaled(name: str, value: Any) -> Any:
        if isinstance(value, Form):
            return in_yards(value, yards)
        if isinstance(value, tuple):
            return tuple(scaled(name, part) for part in value)
        if isinstance(value, dict):
            return {key: scaled(name, part) for key, part in value.items()}
        return value * yards if name in LENGTHS and isinstance(value, int | float) else value

    return form.model_copy(update={name: scaled(name, value) for name, value in form})


class Leg(Form):
    """One straight stretch of the line of play."""

    length: Length
    turn_deg: float = Field(
        default=0.0, ge=-110.0, le=110.0, description="turn at the start of this leg; right is positive"
    )
    climb: float = Field(default=0.0, ge=-100.0, le=100.0, description="rise from its start to its end")


class Stretch(Form):
    """The fairway at one distance (``at``), or all along a stretch (``from``, ``to``)."""

    at: Distance | None = None
    start: Distance | None = Field(default=None, alias="from")
    to: Distance | None = None
    width: Length
    offset: Offset = Field(default=0.0, description="of its middle from the line of play")

    @property
    def ends(self) -> tuple[float, float] | None:
        """From and to; None where the three distances are neither a spot nor a stretch."""
        if self.at is not None and self.start is None and self.to is None:
            return self.at, self.at
        if self.at is None and self.start is not None and self.to is not None:
            return self.start, self.to
        return None


class Feature(Form):
    """Something beside the hole or across it."""

    kind: Kind
    side: Literal["left", "right", "across", "centre"]
    start: float = Field(alias="from", ge=-100.0, le=1000.0)
    to: float = Field(ge=-100.0, le=1000.0)
    offset: Offset | None = Field(
        default=None,
        description="left, right: clear ground between ``offset_from`` and the feature; "
        "across, centre: of its middle from the line of play",
    )
    offset_from: Literal["fairway", "line"] | None = Field(
        default=None, description="fairway (its edge on that side) where the hole has one, else line"
    )
    width: Length | None = Field(default=None, description="left to right; needed except for out")
    height: Length | None = Field(default=None, description="trees: of the canopy's top")
    lost: float | None = Field(default=None, ge=0.0, le=1.0, description="chance that a ball in it is lost")
    name: str = Field(default="", max_length=60)


class Around(Form):
    """Something beside the green, curved along its edge."""

    kind: Kind = "bunker"
    at: Clock | None = Field(default=None, description="side of the green as seen coming in")
    clock: float | None = Field(
        default=None, ge=0.0, le=12.0, description="in place of ``at``: 12 behind the green, 3 right, 6 short"
    )
    gap: float = Field(default=3.0, ge=0.0, le=60.0, description="from the green's edge")
    length: Length = Field(default=12.0, description="along the green's edge")
    width: Length = Field(default=7.0, description="away from the green")
    height: Length | None = Field(default=None, description="trees: of the canopy's top")
    lost: float | None = Field(default=None, ge=0.0, le=1.0, description="chance that a ball in it is lost")
    name: str = Field(default="", max_length=60)


class PinForm(Form):
    """A pin as a sheet gives it: from the green's front, and from its left or right edge at that depth."""

    front: Distance
    left: Distance | None = None
    right: Distance | None = None


class GreenForm(Form):
    """The green; the card's length ends in its middle."""

    depth: Length
    width: Length
    turn_deg: float = Field(default=0.0, ge=-90.0, le=90.0, description="of its long way from the line in")
    around: tuple[Around, ...] = Field(default=(), strict=False)
    pins: dict[str, PinForm] = Field(default_factory=dict)


class HoleForm(Form):
    """One hole."""

    number: int = Field(ge=1, le=18)
    par: int = Field(ge=3, le=6)
    stroke_index: int = Field(ge=1, le=18)
    length: Length
    name: str = Field(default="", max_length=60)
    legs: tuple[Leg, ...] = Field(default=(), strict=False, description="none: a straight hole")
    bearing_deg: float = Field(
        default=0.0, ge=0.0, le=360.0, description="compass bearing of the first leg, for the wind"
    )
    climb: float | None = Field(default=None, ge=-150.0, le=150.0, description="of the green above the tee")
    tees: dict[str, Distance] = Field(
        default_factory=dict, description="distance of every tee set ahead of the longest"
    )
    fairway: tuple[Stretch, ...] = Field(default=(), strict=False)
    features: tuple[Feature, ...] = Field(default=(), strict=False)
    green: GreenForm


class CourseForm(Form):
    """A whole course by numbers."""

    format: Literal["holes-by-numbers"]
    schema_version: Literal[1]
    name: str = Field(min_length=1, max_length=80)
    units: Literal["yards", "metres"] = "yards"
    local_rule_e5: bool = Field(default=False, description="the committee has adopted Model Local Rule E-5")
    lonlat: tuple[float, float] | None = Field(
        default=None, strict=False, description="longitude and latitude of the course, degrees"
    )
    holes: tuple[HoleForm, ...] = Field(min_length=1, max_length=18, strict=False)


def numbers_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of a course by numbers."""
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **CourseForm.model_json_schema()}
