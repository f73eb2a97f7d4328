"""What stands in a book to carry, as one record: pages are templates over it and do no arithmetic."""

from typing import Literal

from pydantic import Field

from caddiebrain.insight.records_compare import Ellipse, Point, Record

__all__ = [
    "Bar",
    "BookHole",
    "BookRecord",
    "CardLine",
    "Cover",
    "Distance",
    "GreenSize",
    "HoleScore",
    "MapScale",
    "MissSide",
    "NextShot",
    "SpotChoice",
    "SpotLookup",
    "SwitchLine",
    "TeeShot",
    "WindOnHole",
]


class Bar(Record):
    """One total of the round's distribution."""

    total: int
    x: float = Field(description="middle of the bar, where bars stand 10 apart and the first at 5")
    tick: bool = Field(description="whether its total is written under it")
    chance: float = Field(description="of exactly this total when playing for the target")
    tall: float = Field(description="its height where the tallest bar is 100")
    plain_tall: float = Field(description="the same when every hole is played for its average")
    within: bool = Field(description="whether it is at or under the target")


class WindOnHole(Record):
    """The forecast's wind as it blows on a hole."""

    mph: float
    toward_deg: float = Field(description="where it blows, degrees clockwise from the top of the page")
    along: Literal["head", "tail", "cross"]
    from_side: Literal["left", "right", ""]


class Cover(Record):
    """The round in numbers."""

    course: str
    player: str
    par: int
    length_yd: float
    target: int
    chance: float
    chance_plain: float = Field(description="of the target when every hole is played for its average")
    gain: float = Field(description="what playing for the target adds to its chance")
    expected_score: float
    usual_low: int = Field(description="two rounds in three lie from here ...")
    usual_high: int = Field(description="... to here")
    bars: tuple[Bar, ...]
    wide: float = Field(description="width of the distribution, 10 to the bar")
    target_x: float = Field(description="edge between the target and the total above it, in the same units")
    wind_mph: float
    wind_from_deg: float
    temperature_c: float
    altitude_m: float
    tees: str | None
    pin: str | None
    few_shots: dict[str, float]


class CardLine(Record):
    """One hole in the table of the round."""

    number: int
    par: int
    length_yd: float
    stroke_index: int
    label: str
    aim_words: str
    expected_score: float
    pace: int | None = Field(
        description="worst standing, strokes over par on this tee, that keeps the target as likely as at the start"
    )


class HoleScore(Record):
    """Chance of a score on a hole; the last one stands for it and everything above."""

    over_par: int
    chance: float
    tall: float = Field(description="height of its bar where the tallest is 100")
    or_worse: bool = False
    or_better: bool = False


class TeeShot(Record):
    """A choice on the tee with its picture."""

    label: str
    aim_words: str
    ball: Point
    aim_xy: Point
    carry_yd: float = Field(description="mean of the solid shots on this line, wind included")
    total_yd: float = Field(description="where the middle one of the solid shots stops, from the tee")
    leaves_yd: float = Field(description="to the pin from there")
    leaves_low: float = Field(description="two solid shots in three leave from this ...")
    leaves_high: float = Field(description="... to this")
    expected: float
    dots: tuple[Point, ...] = Field(
        description="where equally likely balls stop, mishits among them; trees apart"
    )
    oval: Ellipse = Field(description="holds two thirds of the solid shots")
    shots: float
    tag_at: Point = Field(description="where its name stands on the map")
    tag_anchor: Literal["start", "middle", "end"] = Field(description="which part of the name stands there")


class MissSide(Record):
    """What the third of the solid shots furthest to each side costs, against all of them."""

    left: float = Field(description="strokes more than the average shot")
    right: float
    better: Literal["left", "right", ""] = Field(description="empty where the sides differ by little")
    there: Literal["", "out of bounds", "woods"] = Field(
        default="", description="what a ball still wider on the better side would meet"
    )


class SwitchLine(Record):
    """A tee choice and the standings at which it serves the target best."""

    from_standing: int | None
    to_standing: int | None
    label: str
    aim_words: str


class Distance(Record):
    """Something on the way, by its distances."""

    mark: str = Field(description="letter on the map")
    lie: str
    side: Literal["left", "right", "across"]
    start_yd: float
    end_yd: float
    of_pin: bool = Field(description="distances are to the pin, else from the tee")
    at: Point = Field(description="where its letter stands")
    anchor: Literal["start", "middle", "end"] = "middle"


class NextShot(Record):
    """Where the ball often lies next, and what is played from there."""

    to_pin_yd: float
    lie: str
    side: str
    share: float
    label: str
    aim_words: str
    leaves_yd: float = Field(
        description="to the pin from the middle of the solid shots; 0 where it is aimed at the green"
    )
    expected: float


class GreenSize(Record):
    """The green as seen from the last stretch of the line of play, yards."""

    depth_yd: float
    width_yd: float
    front_yd: float = Field(description="from its front edge to the pin")
    back_yd: float
    left_yd: float
    right_yd: float
    yards_per_inch: float
    scale: int = Field(description="one to so many")
    margin_yd: Point = Field(description="ground shown to the sides, and above and below")
    edges: tuple[Point, Point, Point, Point] = Field(
        description="where the lines through the pin meet the edge: front, back, left, right"
    )
    bar: tuple[Point, Point] = Field(description="ends of a bar of ten yards below the green")
    bar_words: Point


class MapScale(Record):
    """How large a hole stands on a printed page."""

    margin_yd: float = Field(description="ground shown left and right of the line of play")
    beyond_yd: float
    yards_per_inch: float
    scale: int
    grain: float = Field(description="yards of ground for each unit of the drawing's line widths and words")


class SpotChoice(Record):
    """One choice from one spot."""

    label: str
    club: int = Field(description="number that the aims of one club share")
    aim: str
    aim_xy: Point
    carry_yd: float
    expected: float
    lost: tuple[int, ...] = Field(
        description="for each number of strokes left, millionths by which its chance is below the best"
    )
    oval: tuple[float, float, float, float, float] | None = Field(
        description="x, y, half the longer and the shorter axis in yards, turn in degrees"
    )


class SpotLookup(Record):
    """A spot of a hole and the choices from it, for a range of strokes left."""

    words: str
    lie: str
    x: float
    y: float
    to_pin_yd: float
    share: float = Field(description="times a round that a ball comes to rest about here")
    strokes: int = Field(description="usually played before a shot from here")
    least_left: int = Field(description="strokes left that the first entries stand for")
    best: tuple[int, ...] = Field(description="best chance of the target, millionths, by strokes left")
    choices: tuple[SpotChoice, ...] = Field(description="the lowest expected score first")


class BookHole(Record):
    """One page."""

    number: int
    name: str
    par: int
    length_yd: float
    stroke_index: int
    level_left: int = Field(description="strokes left under the target on this tee when level par")
    first: bool = Field(description="whether the round starts here, so that every standing but level is idle")
    expected_score: float
    double_bogey_or_worse: float
    scores: tuple[HoleScore, ...]
    tee: TeeShot
    other: TeeShot | None = Field(description="the other tee shot of the switches, with its picture")
    miss: MissSide | None
    switches: tuple[SwitchLine, ...]
    distances: tuple[Distance, ...]
    after: tuple[NextShot, ...]
    pace: int | None
    wind: WindOnHole | None
    north_deg: float = Field(description="where north lies, degrees clockwise from the top of the page")
    map: MapScale
    green: GreenSize | None
    green_miss: str = Field(
        description="side of the green to miss on; empty where it makes little difference"
    )
    spots: tuple[SpotLookup, ...] = Field(description="the tee first")


class BookRecord(Record):
    """A book to carry."""

    schema_version: int = Field(default=1, ge=1, le=1)
    cover: Cover
    card: tuple[CardLine, ...]
    holes: tuple[BookHole, ...]
    rules: tuple[str, ...] = Field(default=(), description="rules to carry, in words")
    otherwise: tuple[str, ...] = Field(default=(), description="what to do where no rule speaks")
    rules_cost: str = Field(default="", description="what going by them costs beside the whole plan")
