"""What a table of records may hold: its columns, the words for them, their units and ranges."""

from dataclasses import dataclass
from typing import Literal

from caddiebrain.terms import Height, Lie, Shape

__all__ = ["FINISHES", "LIE_WORDS", "SHAPE_WORDS", "TABLES", "Column", "TableKind", "kind_of_table"]

CellKind = Literal[
    "number", "count", "text", "date", "club", "lie", "finish", "shape", "height", "target", "yes"
]


@dataclass(frozen=True)
class Column:
    """One column of a table.

    Parameters
    ----------
    name : str
        Our name, and the name in a plain file.
    kind : str
        How a cell is read.
    unit : str
        "yd" or "ft" for a distance, the unit it is kept in; empty for anything else.
    low, high : float
        Smallest and largest value that can be true, in that unit.
    words : tuple of str
        Other headings that mean this column; letters and digits only, lower case.
    """

    name: str
    kind: CellKind
    unit: str = ""
    low: float = 0.0
    high: float = 0.0
    words: tuple[str, ...] = ()


@dataclass(frozen=True)
class TableKind:
    """A kind of table: its columns and the sets of columns of which one must be there."""

    name: str
    columns: tuple[Column, ...]
    needs: tuple[tuple[str, ...], ...]
    minimal: str


_DATE = Column("date", "date", words=("day", "played"))
_ROUND = Column("round", "text", words=("roundnumber", "roundno"))
_HOLE = Column("hole", "count", low=1, high=36, words=("holenumber", "holeno"))
_TRIES = Column("tries", "count", low=0, high=1e7, words=("attempts", "balls", "n"))

TABLES: tuple[TableKind, ...] = (
    TableKind(
        "cards",
        (
            _DATE,
            _ROUND,
            _HOLE,
            Column("par", "count", low=3, high=6),
            Column("length", "number", "yd", 50, 800, ("holelength", "yardage")),
            Column("score", "count", low=1, high=30, words=("strokes", "shots", "gross")),
            Column("fairway", "yes", words=("fairwayhit", "fir")),
            Column("green", "yes", words=("greenhit", "gir", "greeninregulation")),
            Column("putts", "count", low=0, high=12, words=("numberofputts",)),
            Column("penalties", "count", low=0, high=20, words=("penalty", "penaltystrokes")),
            Column("first_putt", "number", "ft", 0.1, 200, ("firstputt", "firstputtdistance")),
            Column("club", "club", words=("teeclub", "clubofftee")),
            Column("rating", "number", low=50, high=90, words=("courserating",)),
            Column("slope", "number", low=55, high=155, words=("sloperating",)),
        ),
        (("hole", "score"),),
        "hole, score",
    ),
    TableKind(
        "tallies",
        (
            _DATE,
            Column("club", "club"),
            Column("lie", "lie"),
            _TRIES,
            Column("target", "target", words=("at",)),
            Column("hit", "count", low=0, high=1e7, words=("hits", "found")),
            Column("fairway", "count", low=0, high=1e7, words=("fairways", "fairwayhit", "fairwayshit")),
            Column("green", "count", low=0, high=1e7, words=("greens", "greenhit", "greenshit")),
            Column("left", "count", low=0, high=1e7, words=("missedleft",)),
            Column("right", "count", low=0, high=1e7, words=("missedright",)),
            Column("short", "count", low=0, high=1e7, words=("missedshort",)),
            Column("long", "count", low=0, high=1e7, words=("missedlong", "over")),
            Column("penalty", "count", low=0, high=1e7, words=("penalties",)),
            Column("width", "number", "yd", 5, 120, ("fairwaywidth", "greenwidth", "targetwidth")),
            Column("depth", "number", "yd", 5, 80, ("greendepth", "targetdepth")),
        ),
        (("club", "tries", "fairway"), ("club", "tries", "green"), ("club", "tries", "hit", "target")),
        "club, tries, fairway (or green)",
    ),
    TableKind(
        "shots",
        (
            _DATE,
            _ROUND,
            _HOLE,
            Column("stroke", "count", low=1, high=30, words=("shot", "strokenumber", "shotnumber")),
            Column("club", "club"),
            Column("shape", "shape", words=("curve",)),
            Column("height", "height", words=("flight",)),
            Column("lie", "lie", words=("liebefore", "from")),
            Column(
                "before",
                "number",
                "yd",
                0,
                800,
                ("distancebefore", "tohole", "toholebefore", "startdistance"),
            ),
            Column("after", "number", "yd", 0, 800, ("distanceafter", "left", "toholeafter", "enddistance")),
            Column("carry", "number", "yd", 0, 450),
            Column("offline", "number", "yd", -400, 400, ("side", "lateral")),
            Column("lie_after", "finish", words=("finish", "ended", "to")),
            Column("penalty", "count", low=0, high=2, words=("penalties", "penaltystrokes")),
            Column("aim", "number", "yd", -150, 150, ("intendedline", "aimoffset", "line")),
        ),
        (("club", "carry"), ("club", "offline"), ("club", "before"), ("club", "lie_after")),
        "club and carry, or club, before and after",
    ),
    TableKind(
        "short_game",
        (
            _DATE,
            Column("lie", "lie", words=("from", "liebefore")),
            Column("distance", "number", "yd", 0.5, 150, ("before", "tohole")),
            _TRIES,
            Column("up_and_down", "count", low=0, high=1e6, words=("upanddowns", "saves", "saved")),
            Column("leave", "number", "ft", 0, 600, ("after", "left", "leftover")),
        ),
        (("lie", "distance", "tries", "up_and_down"), ("lie", "distance", "leave")),
        "lie, distance, tries, up_and_down (or lie, distance, leave)",
    ),
    TableKind(
        "putts",
        (
            _DATE,
            Column(
                "distance", "number", "ft", 0.05, 300, ("first", "firstputt", "firstputtdistance", "length")
            ),
            _TRIES,
            Column("holed", "count", low=0, high=1e7, words=("made", "successes", "in")),
            Column("putts", "count", low=1, high=12, words=("numberofputts", "puttstaken")),
        ),
        (("distance", "tries", "holed"), ("distance", "putts")),
        "distance, tries, holed (or distance, putts)",
    ),
)

LIE_WORDS = {lie.value: lie.value for lie in Lie} | {
    "fw": "fairway",
    "first cut": "rough",
    "semi": "rough",
    "semi rough": "rough",
    "semi-rough": "rough",
    "light rough": "rough",
    "fringe": "tight",
    "apron": "tight",
    "bare": "tight",
    "hardpan": "tight",
    "deep rough": "thick",
    "thick rough": "thick",
    "heavy rough": "thick",
    "bunker": "sand",
    "trap": "sand",
    "wood": "trees",
    "woods": "trees",
    "tree": "trees",
    "forest": "trees",
    "tee box": "tee",
    "teebox": "tee",
    "putting green": "green",
}
"""Words for lies, lower case."""

FINISHES = LIE_WORDS | {
    "hole": "holed",
    "holed": "holed",
    "cup": "holed",
    "in": "holed",
    "water": "red",
    "hazard": "red",
    "penalty area": "red",
    "ob": "out",
    "o.b.": "out",
    "out of bounds": "out",
    "lost": "out",
    "lost ball": "out",
}
"""Words for where a ball can end."""

SHAPE_WORDS = {shape.value: shape.value for shape in Shape} | {
    "stock": "straight",
    "hook": "draw",
    "slice": "fade",
}
HEIGHT_WORDS = {height.value: height.value for height in Height} | {"normal": "stock", "mid": "stock"}
TARGET_WORDS = {"fairway": "fairway", "fairways": "fairway", "green": "green", "greens": "green"}
YES_WORDS = dict.fromkeys(("yes", "y", "true", "1", "hit", "x"), 1.0) | dict.fromkeys(
    ("no", "n", "false", "0", "missed", "miss", "left", "right", "short", "long"), 0.0
)


def kind_of_table(names: set[str], kind: TableKind) -> bool:
    """Whether a table with these columns can be of this kind."""
    return any(set(need) <= names for need in kind.needs)
