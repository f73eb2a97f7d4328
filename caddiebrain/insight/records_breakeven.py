"""What `break_evens` answers, as a record other programs can read."""

from typing import Literal

from pydantic import Field

from caddiebrain.insight.records_compare import Comparison, Record

__all__ = ["BreakEven", "BreakEvens", "Measure", "Reasons", "StandingRange"]

Measure = Literal["score", "target"]


class BreakEven(Record):
    """One thing that might be otherwise, and where it would tip the choice.

    ``change`` is None where nothing up to ``bound`` tips it; else the true value lies within ``within`` of it,
    and the two choices were re-solved on either side. ``lead_*`` say by how much the better choice of today is
    ahead (strokes, or chance of the target), today and at the bound.
    """

    question: str
    unit: str
    change: float | None
    within: float = Field(ge=0.0)
    bound: float
    lead_today: float
    lead_at_bound: float
    solved: int = Field(ge=0, description="times the hole was solved again")
    words: str


class StandingRange(Record):
    """Standings (strokes over par before the hole) at which one choice serves the target better."""

    from_standing: int
    to_standing: int
    label: str
    gain_most: float = Field(description="chance of the target, over the other choice, at most")


class BreakEvens(Record):
    """What would have to be true for the other choice."""

    schema_version: int = Field(default=1, ge=1, le=1)
    sentence: str
    hole: int
    measure: Measure
    better: str = Field(description="the better choice of today")
    other: str
    lead: float = Field(description="strokes or chance by which it is ahead today")
    answers: tuple[BreakEven, ...]
    by_standing: tuple[StandingRange, ...] = Field(description="for the target, whatever the measure")


class Reasons(Record):
    """Why one choice beats another, and what would have to be true for the other."""

    schema_version: int = Field(default=1, ge=1, le=1)
    comparison: Comparison
    break_evens: BreakEvens
