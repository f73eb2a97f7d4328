"""What `compare` answers, as a record other programs can read."""

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

__all__ = ["Comparison", "Ellipse", "Record", "ResultPart", "Side"]

Point = tuple[float, float]


class Record(BaseModel):
    """Frozen, strict about unknown keys, refuses NaN and infinity."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class Ellipse(Record):
    """Holds two thirds of the solid shots, were they normal."""

    centre: Point = Field(description="yards in the hole's axes")
    long_yd: float = Field(ge=0.0, description="half the longer axis, yards")
    short_yd: float = Field(ge=0.0, description="half the shorter axis, yards")
    turn_deg: float = Field(description="of the longer axis, degrees clockwise from the line tee to pin")


class Side(Record):
    """One of the two choices."""

    label: str
    aim_words: str
    aim_deg: float = Field(description="degrees clockwise from the straight line tee to pin")
    aim_xy: Point
    carry_yd: float
    total_yd: float = Field(description="carry and rollout of a solid shot, yards")
    expected: float = Field(description="strokes to hole out, this one included")
    chance: float = Field(ge=0.0, le=1.0, description="of the round within the target")
    points: tuple[Point, ...] = Field(
        description="where equally likely balls come down, yards; for a picture"
    )
    ellipse: Ellipse | None = Field(description="none for a drop")


class ResultPart(Record):
    """One kind of result and its part in the difference, first choice minus second.

    ``strokes_first`` and ``strokes_second`` are mean strokes still to come from there, penalties included;
    ``target_*`` the mean chance of the target from there. None where a choice never ends so.
    """

    result: str
    chance_first: float
    chance_second: float
    strokes_first: float | None
    strokes_second: float | None
    target_first: float | None
    target_second: float | None
    strokes_how_often: float = Field(description="strokes, from how often the ball ends so")
    strokes_how_good: float = Field(description="strokes, from where in this kind of result it ends")
    target_how_often: float
    target_how_good: float

    @property
    def strokes(self) -> float:
        """Part in the difference of expected strokes."""
        return self.strokes_how_often + self.strokes_how_good

    @property
    def target(self) -> float:
        """Part in the difference of the chance of the target."""
        return self.target_how_often + self.target_how_good


class Comparison(Record):
    """Two choices from the same spot and why one beats the other.

    The parts add up to ``strokes_difference`` and ``target_difference``.
    """

    schema_version: int = Field(default=1, ge=1, le=1)
    sentence: str
    verdict: str
    hole: int
    position: Point
    to_pin_yd: float
    lie: str
    strokes_on_hole: int
    standing: int
    target: int
    aimed_for: Literal["score", "target"]
    first: Side
    second: Side
    strokes_difference: float = Field(
        description="expected strokes, first minus second; negative favours first"
    )
    target_difference: float = Field(description="chance of the target, first minus second")
    parts: tuple[ResultPart, ...]
