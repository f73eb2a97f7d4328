"""A round as it was played, and what `review` says of it, as records other programs can read and write."""

from typing import Any

from pydantic import Field

from caddiebrain.insight.records_compare import Point, Record

__all__ = ["HoleReview", "PartReview", "PlayedHole", "PlayedRound", "PlayedShot", "RoundReview", "ShotReview"]


class PlayedShot(Record):
    """One stroke: where it was played from, with what, and what came of it.

    The place is a ``position``, or ``to_pin`` with a ``lie``, or ``feet`` on the green; the first stroke of a
    hole needs none: it is the tee.
    """

    club: str = Field(description='as in the player file, or "putter", "chip", "pitch", "punch"')
    position: Point | None = Field(default=None, description="yards in the hole's axes, before the stroke")
    to_pin: float | None = Field(default=None, description="yards to the pin, before the stroke")
    feet: float | None = Field(default=None, description="on the green, feet to the hole")
    lie: str | None = Field(default=None, description="before the stroke; by default what the map shows")
    aim_deg: float | None = Field(default=None, description="aimed line, clockwise from the line tee to pin")
    result: str | None = Field(default=None, description='the lie it ended in, or "holed"')
    penalty: int = Field(default=0, description="penalty strokes that followed, 0 to 2")
    stroke: int | None = Field(default=None, description="number of the stroke, for finding missing ones")


class PlayedHole(Record):
    """One hole as played; ``score`` includes penalty strokes."""

    number: int
    shots: tuple[PlayedShot, ...]
    score: int | None = None


class PlayedRound(Record):
    """A round as played, or the holes of it that were kept."""

    schema_version: int = Field(default=1, ge=1, le=1)
    holes: tuple[PlayedHole, ...]
    score: int | None = None
    date: str | None = Field(default=None, description="2026-07-04")
    name: str = ""


class ShotReview(Record):
    """One stroke weighed: decision + execution = 1 + penalty + expected after - expected before."""

    hole: int
    stroke: int
    club: str
    part: str
    lie: str
    to_pin_yd: float
    result: str
    penalty: int
    expected_before: float = Field(description="strokes to hole out when play is best from there")
    best: str
    chosen: str
    decision: float = Field(description="strokes that the choice gives up against the best")
    execution: float = Field(description="strokes that the result is worse than the choice's expectation")
    luck: float = Field(ge=0.0, description="standard deviation of the execution of this choice, strokes")
    target_before: float = Field(description="best chance of the target there")
    target_given_up: float = Field(description="chance that the choice gives up against the best")
    gained_on_reference: float | None = None
    note: str = ""

    @property
    def gained(self) -> float:
        """Strokes gained on the player's own expectation."""
        return -(self.decision + self.execution)

    @property
    def to_pin_ft(self) -> float:
        """Feet to the pin, as putts are measured."""
        return 3.0 * self.to_pin_yd


class HoleReview(Record):
    """One hole: decision + execution = score - expected."""

    number: int
    par: int
    score: int
    expected: float
    decision: float
    execution: float


class PartReview(Record):
    """A part of the game over the round."""

    part: str
    strokes: int
    gained: float = Field(description="strokes gained on the player's own expectation; negative lost")
    decision: float
    execution: float
    luck: float = Field(ge=0.0, description="standard deviation of the execution, strokes")
    gained_on_reference: float | None = None


class RoundReview(Record):
    """A round against its plan: decision + execution = score - expected, exactly."""

    schema_version: int = Field(default=1, ge=1, le=1)
    sentence: str
    takeaways: tuple[str, str, str]
    target: int
    score: int
    expected: float
    difference: float = Field(description="score - expected")
    decision: float
    execution: float
    luck: float = Field(ge=0.0)
    reference: str | None = None
    reference_expected: float | None = None
    parts: tuple[PartReview, ...]
    holes: tuple[HoleReview, ...]
    shots: tuple[ShotReview, ...]
    records: dict[str, Any] = Field(description="rows for the next fit of the player")
