"""What `press` answers, as a record other programs can read."""

from typing import Literal

from pydantic import Field

from caddiebrain.insight.records_compare import Point, Record

__all__ = ["Press", "PressOption", "PressResult", "PressStep", "Stance"]

Stance = Literal["usual", "protect", "press"]
"""The choice with the lowest expected score; one that varies less than it; one that varies more."""


class PressResult(Record):
    """One kind of result of a choice, and the chance of the target once it has happened."""

    result: str
    chance: float = Field(ge=0.0, le=1.0)
    target: float = Field(ge=0.0, le=1.0)


class PressOption(Record):
    """One choice: ``target`` is the chance of the target once it is made, before the ball is struck."""

    label: str
    aim_words: str
    stance: Stance
    expected: float = Field(description="strokes to hole out, this one included")
    spread: float = Field(description="standard deviation of strokes to hole out over where this ball ends")
    target: float = Field(ge=0.0, le=1.0)
    results: tuple[PressResult, ...]


class PressStep(Record):
    """Standings (strokes over par before this hole) at which one choice serves the target best.

    ``None`` where there is no end: beyond it the target is all but sure, or out of reach.
    ``in_hand_*`` are strokes in hand at the first and last standing that was looked at.
    """

    from_standing: int | None
    to_standing: int | None
    in_hand_most: float
    in_hand_least: float
    label: str
    aim_words: str
    stance: Stance
    target_most: float
    target_least: float
    gain_most: float = Field(
        description="chance gained at best over the choice with the lowest expected score"
    )


class Press(Record):
    """Protect or press: the choice now, and how it depends on the strokes in hand."""

    schema_version: int = Field(default=1, ge=1, le=1)
    sentence: str
    count: str = Field(description="the strokes still to spare, in words")
    hole: int
    par: int
    position: Point
    to_pin_yd: float
    lie: str
    strokes_on_hole: int
    standing: int
    target: int
    holes_left: int = Field(description="this one included")
    strokes_left: int
    expected_to_finish: float
    strokes_in_hand: float = Field(description="strokes left under the target minus expected_to_finish")
    to_spare: int = Field(description="strokes over par that the rest of the round may still take")
    target_now: float = Field(ge=0.0, le=1.0, description="chance of the target before choosing")
    options: tuple[PressOption, ...] = Field(description="best first, for the target")
    by_standing: tuple[PressStep, ...] = Field(description="from the best standing to the worst")
