"""What a player is made of: shot patterns, what lies do, the short game, putting.

Yards, degrees, shares (0 to 1). Right of the line is positive. Read and written as JSON.
"""

import re
from typing import Annotated, Any, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from caddiebrain.errors import Fault, PlayerError, told
from caddiebrain.terms import Height, Lie, Shape

__all__ = ["LieEffect", "Part", "PuttingSkill", "Ramp", "Record", "ShortShot", "ShotPattern", "part_faults"]

Share = Annotated[float, Field(ge=0.0, le=1.0)]


class Record(BaseModel):
    """Frozen, strict about unknown keys, refuses NaN and infinity."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class Part(Record):
    """A record that a program may make itself: what will not do is refused in our own words."""

    def __new__(cls, **given: Any) -> Self:
        """Look at what is given; inside another model or a file pydantic's own errors stand."""
        try:
            if given:  # none when pydantic itself makes the object
                cls.model_validate(given)
        except ValidationError as error:
            named = re.sub("(?<=[a-z])(?=[A-Z])", " ", cls.__name__).lower()
            raise PlayerError(named, part_faults(error)) from None
        return super().__new__(cls)


def part_faults(error: ValidationError) -> list[Fault]:
    """One fault for each field that a model of a player refused, in its order."""
    return [_fault(one) for one in error.errors()]


def _fault(error: Any) -> Fault:
    if error["type"] == "misfit":
        parts = error["ctx"]
        return Fault(_where((*error["loc"], parts["where"])), parts["found"], parts["expected"])
    return Fault(_where(error["loc"]), *told(error))


def _where(loc: tuple[int | str, ...]) -> str:
    """Write a path into the file the way a reader would: patterns[3].carry_sd."""
    text = "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in loc)
    return text.lstrip(".") or "file"


class Ramp(Part):
    """A value that runs linearly with a club's carry, from the shortest full shot to the longest club."""

    short: float
    long: float


class ShotPattern(Part):
    """One stock full shot, club x shape x height, played from a good lie in still air at 20 C at sea level.

    A stroke is solid with chance ``1 - mishit``: its carry is normal with mean ``carry_yd`` and standard
    deviation ``carry_sd * carry_yd``, its direction from the aimed line normal with mean ``line_deg`` and
    standard deviation ``line_sd_deg``, the two correlated. Otherwise it is a mishit: carry normal with mean
    ``mishit_carry * carry_yd`` and deviation ``mishit_carry_sd * carry_yd`` (never below 2 % of the carry),
    direction normal around the same mean with deviation ``mishit_line_sd_deg``.
    """

    club: str = Field(min_length=1, max_length=40)
    shape: Shape = Shape.STRAIGHT
    height: Height = Height.STOCK
    carry_yd: float = Field(ge=20.0, le=400.0)
    carry_sd: float = Field(gt=0.0, le=0.5, description="share of the carry")
    line_deg: float = Field(default=0.0, ge=-20.0, le=20.0)
    line_sd_deg: float = Field(gt=0.0, le=30.0)
    correlation: float = Field(default=0.0, ge=-0.95, le=0.95)
    mishit: float = Field(default=0.05, ge=0.0, le=0.6)
    mishit_carry: float = Field(default=0.7, ge=0.05, le=1.0)
    mishit_carry_sd: float = Field(default=0.15, gt=0.0, le=0.5)
    mishit_line_sd_deg: float = Field(default=10.0, gt=0.0, le=45.0)
    apex_yd: float = Field(default=28.0, gt=0.0, le=80.0)
    descent_deg: float = Field(default=42.0, ge=5.0, le=80.0)
    rollout_yd: float = Field(default=5.0, ge=0.0, le=80.0, description="on level fairway, medium firm")
    curve_yd: float = Field(default=0.0, ge=-80.0, le=80.0, description="sideways move in the air")
    tee_only: bool = False
    derived: bool = Field(default=False, description="worked out from a stock shot, not the player's own")
    shots: float = Field(default=0.0, ge=0.0, description="weight of the shots on record behind the pattern")


class LieEffect(Part):
    """What a lie does to a full shot, compared with a good lie."""

    carry: Ramp = Ramp(short=1.0, long=1.0)
    spread: Ramp = Ramp(short=1.0, long=1.0)
    mishit: Ramp = Ramp(short=0.0, long=0.0)
    rollout: Ramp = Ramp(short=1.0, long=1.0)
    longest_carry_yd: float | None = Field(
        default=None, gt=0.0, description="clubs whose stock shot is longer stay in the bag"
    )

    def stretched(self, factor: float) -> Self:
        """Return the effect for a player ``factor`` times as long: the same clubs stay in the bag."""
        if self.longest_carry_yd is None:
            return self
        return self.model_copy(update={"longest_carry_yd": self.longest_carry_yd * factor})


class ShortShot(Part):
    """A shot inside a full wedge: the player chooses its distance.

    For a chosen distance d (yards, to where the ball should stop) the stopping distance is normal with mean d
    and standard deviation ``hypot(depth_sd * d, depth_sd_floor_yd)``, its direction normal with deviation
    ``line_sd_deg`` plus a sideways floor of ``line_sd_floor_yd``. A mishit (share ``mishit``) stops at
    ``mishit_depth * d`` on average with deviation ``mishit_depth_sd * d``.
    """

    name: str = Field(min_length=1, max_length=40)
    lie: Lie
    longest_yd: float = Field(gt=0.0, le=120.0)
    depth_sd: float = Field(gt=0.0, le=0.6, description="share of the distance")
    depth_sd_floor_yd: float = Field(default=0.5, ge=0.05, le=5.0)
    line_sd_deg: float = Field(gt=0.0, le=20.0)
    line_sd_floor_yd: float = Field(default=0.2, ge=0.0, le=3.0)
    mishit: float = Field(default=0.05, ge=0.0, le=0.6)
    mishit_depth: float = Field(default=0.55, ge=0.0, le=2.0)
    mishit_depth_sd: float = Field(default=0.3, gt=0.0, le=1.0)
    carry_share: float = Field(default=0.8, gt=0.0, le=1.0, description="share of the distance in the air")
    shots: float = Field(default=0.0, ge=0.0)


class PuttingSkill(Part):
    """Two errors of a putt: aim in degrees, pace as a share of the distance to the aimed stopping point."""

    aim_sd_deg: float = Field(gt=0.0, le=10.0)
    pace_sd: float = Field(gt=0.0, le=0.6)
    putts: float = Field(default=0.0, ge=0.0)
