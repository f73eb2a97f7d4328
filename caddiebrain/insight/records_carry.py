"""A plan on a card, as data: rules, one line for each hole, and what playing by them costs."""

from enum import StrEnum

from pydantic import Field

from caddiebrain.errors import InputError, kind_faults
from caddiebrain.player.patterns import Record

__all__ = [
    "CardHoleLine",
    "CardStep",
    "CarryCard",
    "CarryRule",
    "Play",
    "PlayKind",
    "Side",
    "Situation",
    "TeeLine",
    "check_card",
]


class Situation(StrEnum):
    """What a golfer sees of a lie before choosing."""

    FAIRWAY = "fairway"
    ROUGH = "rough"
    THICK = "thick"
    SAND = "sand"
    TREES = "trees"
    BLOCKED = "blocked"
    """Not among trees, but with trees within 40 yards on the way to the pin."""
    GREEN = "green"
    RED = "red"
    YELLOW = "yellow"
    OUT = "out"
    """Out of bounds or lost, under Local Rule E-5."""


class PlayKind(StrEnum):
    """What a rule says to do."""

    MIDDLE = "middle"
    """The club, or short shot, that finishes in the middle of the green; out of reach, the longest down the middle."""
    PIN = "pin"
    """The same, at the pin."""
    MORE = "more"
    """One club more than to the middle."""
    LESS = "less"
    """One club less than to the middle."""
    AT_MOST = "at most"
    """As to the middle, but no longer club than ``club``."""
    LEAVE = "leave"
    """Down the middle to ``value`` yards from the pin."""
    SHOT = "shot"
    """The short shot ``club``, to finish ``value`` yards past the pin."""
    PUTT = "putt"
    """From off the green, where short grass leads to the hole: a putt to stop ``value`` feet past it."""
    PUNCH_OUT = "punch out"
    """The shortest way back to mown grass that the trees leave open."""
    PUNCH_ON = "punch on"
    """The gap that leads furthest on."""
    UNPLAYABLE = "unplayable"
    """Relief for one stroke (Rule 19.2b or c) where it leads to a better lie."""
    PACE = "pace"
    """A putt to stop ``value`` feet past the hole."""
    NEAREST = "nearest"
    """Of the reliefs there are, the one nearest the hole."""
    ON_FAIRWAY = "on fairway"
    """Relief on the fairway where there is one."""
    AGAIN = "again"
    """Stroke and distance."""


class Side(StrEnum):
    """Part of the green to aim at."""

    LEFT = "left"
    MIDDLE = "middle"
    RIGHT = "right"


class Play(Record):
    """An instruction."""

    kind: PlayKind
    club: str = ""
    value: float = 0.0


class CarryRule(Record):
    """In such a situation, from so far, do this."""

    situations: tuple[Situation, ...]
    at_least: float = Field(
        ge=0.0, description="yards to the pin from which the rule holds; on the green feet"
    )
    below: float | None = Field(description="and up to which, itself not counted; None where there is no end")
    play: Play
    words: str
    times: float = Field(ge=0.0, description="expected strokes a round played by this rule")
    saves: float = Field(description="strokes a round the card would cost more without it")


class TeeLine(Record):
    """What to hit off a tee."""

    label: str
    aim_words: str
    aim_deg: float
    carry_yd: float


class CardHoleLine(Record):
    """One hole of the card."""

    number: int
    par: int
    length_yd: float
    tee: TeeLine
    instead: TeeLine | None = Field(description="another tee shot at some standings")
    from_standing: int | None = Field(description="instead from this standing (strokes over par) on")
    to_standing: int | None = Field(description="instead up to this standing")
    leaves_yd: float | None = Field(
        description="yards to the pin from where the middle one of the solid tee shots stops; None on a par 3"
    )
    then: str = Field(description="what the card says from there; empty on a par 3")
    layup_yd: float | None = Field(description="yards to leave when the green is out of reach")
    side: Side = Field(description="part of the green to aim at")
    miss: str = Field(description="where a miss costs least; empty where it makes little difference")
    miss_saves: float = Field(
        ge=0.0, description="strokes between the dearest side of the green and that one"
    )
    words: str
    expected: float = Field(description="strokes, by the card")
    plan_expected: float = Field(description="strokes, by the whole plan")
    double_bogey_or_worse: float = Field(ge=0.0, le=1.0, description="by the card")

    @property
    def cost(self) -> float:
        """Strokes the card costs on the hole beside the whole plan."""
        return self.expected - self.plan_expected


class CardStep(Record):
    """What a card with so many rules costs."""

    rules: int
    expected: float = Field(description="strokes a round")


class CarryCard(Record):
    """A plan a person can carry."""

    schema_version: int = Field(default=1, ge=1, le=1)
    course: str
    player: str
    target: int
    rules: tuple[CarryRule, ...]
    otherwise: tuple[str, ...] = Field(description="what to do where no rule says otherwise")
    holes: tuple[CardHoleLine, ...]
    expected: float = Field(description="strokes a round, by the card, first tee choices throughout")
    plan_expected: float
    chance: float = Field(ge=0.0, le=1.0, description="of the target by the card, tee choices by standing")
    plan_chance: float = Field(ge=0.0, le=1.0)
    chance_one_tee: float = Field(ge=0.0, le=1.0, description="by the card without minding the standing")
    by_rules: tuple[CardStep, ...] = Field(description="fewer rules: what the card costs with 0, 1, 2, ...")
    status: str = Field(description="of the last program that chose rules")
    sentence: str

    @property
    def cost_strokes(self) -> float:
        """Strokes a round that the card costs beside the whole plan."""
        return self.expected - self.plan_expected

    @property
    def cost_chance(self) -> float:
        """Chance of the target given up beside the whole plan."""
        return self.plan_chance - self.chance


def check_card(card: object, where: str) -> None:
    """Refuse what is no card, such as its parsed JSON."""
    faults = kind_faults("card", card, CarryCard, "a CarryCard, as carry_card makes it")
    if faults:
        raise InputError(where, faults)
