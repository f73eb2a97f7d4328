"""What OpenStreetMap's golf tags mean to us.

Source of tags and spellings: OpenStreetMap wiki, pages Key:golf, Tag:golf=hole, Tag:leisure=golf_course (de
facto use, never voted on, so every tag is optional), plus Key:natural, Key:landuse, Key:waterway, Key:height.
"""

import re
from collections.abc import Mapping
from enum import StrEnum

from caddiebrain.course.projection import METRES_PER_YARD
from caddiebrain.terms import Lie

__all__ = [
    "PAR_BANDS_YD",
    "Kind",
    "Tags",
    "hole_numbers",
    "is_area",
    "kind_of",
    "kind_of_line",
    "length_yd",
    "lie_of",
    "par_in_name",
    "truth",
    "whole_numbers",
]

Tags = Mapping[str, str]


class Kind(StrEnum):
    """The part a map feature plays."""

    HOLE = "hole"
    TEE = "tee"
    PIN = "pin"
    GREEN = "green"
    GROUND = "ground"
    """An area with a lie of its own: fairway, rough, bunker, water, woods, scrub."""
    OUT = "out of bounds"
    TREE = "tree"
    TREE_ROW = "tree row"
    STREAM = "stream"
    COAST = "coast"
    COURSE = "course"
    PRACTICE = "practice ground"
    CLUBHOUSE = "clubhouse"
    HEIGHT = "spot height"
    OTHER = "other"


_OLD_SPELLINGS = {
    "faiway": "fairway",
    "putting_green": "green",
    "sand_trap": "bunker",
    "tee_area": "tee",
    "tee_box": "tee",
    "teebox": "tee",
}
_GOLF = {
    "hole": Kind.HOLE,
    "tee": Kind.TEE,
    "pin": Kind.PIN,
    "green": Kind.GREEN,
    "out_of_bounds": Kind.OUT,
    "clubhouse": Kind.CLUBHOUSE,
    "driving_range": Kind.PRACTICE,
    "practice_green": Kind.PRACTICE,
    "practice": Kind.PRACTICE,
    "pitching_green": Kind.PRACTICE,
    "cartpath": Kind.OTHER,
    "path": Kind.OTHER,
}
_GOLF_LIES = {
    "fairway": Lie.FAIRWAY,
    "rough": Lie.ROUGH,
    "bunker": Lie.SAND,
    "water_hazard": Lie.YELLOW,
    "lateral_water_hazard": Lie.RED,
    "green": Lie.GREEN,
    "tee": Lie.TEE,
    "out_of_bounds": Lie.OUT,
}
_LAND_LIES = {
    ("natural", "water"): Lie.YELLOW,
    ("natural", "wetland"): Lie.YELLOW,
    ("waterway", "riverbank"): Lie.YELLOW,
    ("landuse", "reservoir"): Lie.YELLOW,
    ("landuse", "basin"): Lie.YELLOW,
    ("natural", "wood"): Lie.TREES,
    ("landuse", "forest"): Lie.TREES,
    ("natural", "scrub"): Lie.THICK,
    ("natural", "heath"): Lie.THICK,
    ("natural", "sand"): Lie.SAND,
}
_LAND_KINDS = {
    ("natural", "tree"): Kind.TREE,
    ("natural", "tree_row"): Kind.TREE_ROW,
    ("natural", "coastline"): Kind.COAST,
    ("waterway", "river"): Kind.STREAM,
    ("waterway", "stream"): Kind.STREAM,
    ("waterway", "canal"): Kind.STREAM,
    ("waterway", "ditch"): Kind.STREAM,
    ("waterway", "drain"): Kind.STREAM,
    ("leisure", "golf_course"): Kind.COURSE,
    ("leisure", "golf_pin"): Kind.PIN,
}
_UNITS = {
    "": 1.0,
    "m": 1.0,
    "metre": 1.0,
    "metres": 1.0,
    "meter": 1.0,
    "meters": 1.0,
    "km": 1000.0,
    "yd": METRES_PER_YARD,
    "yds": METRES_PER_YARD,
    "yard": METRES_PER_YARD,
    "yards": METRES_PER_YARD,
    "y": METRES_PER_YARD,
    "ft": 0.3048,
    "feet": 0.3048,
    "'": 0.3048,
}


PAR_BANDS_YD: dict[int, tuple[float, float]] = {3: (0.0, 260.0), 4: (240.0, 490.0), 5: (450.0, 710.0)}
"""Par by length, men: Rules of Handicapping (World Handicap System), appendix on par."""


def _golf_value(tags: Tags) -> str:
    """Return the ``golf`` tag in today's spelling; empty when there is none."""
    value = tags.get("golf", "").strip().lower()
    return _OLD_SPELLINGS.get(value, value)


def kind_of(tags: Tags) -> Kind:
    """Say what part a feature with these tags plays. The golf tag wins over what the ground is."""
    golf = _golf_value(tags)
    if (golf in ("green", "tee") and _for_practice(tags)) or (golf == "hole" and _practises(tags)):
        return Kind.PRACTICE
    if golf in _GOLF:
        return _GOLF[golf]
    if golf in _GOLF_LIES or "lie" in tags:
        return Kind.GROUND
    underground = tags.get("tunnel", "no") != "no"
    for key in ("natural", "landuse", "waterway", "leisure"):
        pair = (key, tags.get(key, "").strip().lower())
        kind = Kind.GROUND if pair in _LAND_LIES else _LAND_KINDS.get(pair)
        if kind is not None and not (underground and kind in (Kind.GROUND, Kind.STREAM)):
            return kind
    return Kind.HEIGHT if tags.get("ele") else Kind.OTHER


def kind_of_line(tags: Tags) -> Kind:
    """Say what part an open line with these tags plays: a ditch whose penalty area is tagged is still a ditch."""
    kind = kind_of(tags)
    if kind is not Kind.GROUND:
        return kind
    pairs = ((key, tags.get(key, "").strip().lower()) for key in ("natural", "waterway"))
    drawn = (_LAND_KINDS.get(pair) for pair in pairs)
    return next((line for line in drawn if line in (Kind.STREAM, Kind.COAST)), kind)


def lie_of(tags: Tags) -> Lie:
    """Return the lie of a feature of ground, green, tee, stream, coast or out of bounds, by its tags alone.

    Raises
    ------
    ValueError
        If the property ``lie`` has a value that is no lie.
    """
    if "lie" in tags:
        return Lie(tags["lie"].strip().lower())
    golf = _golf_value(tags)
    if golf in _GOLF_LIES:
        return _GOLF_LIES[golf]
    for key in ("natural", "landuse", "waterway"):
        pair = (key, tags.get(key, "").strip().lower())
        if pair in _LAND_LIES:
            return _LAND_LIES[pair]
    return Lie.YELLOW if kind_of(tags) in (Kind.STREAM, Kind.COAST) else Lie.ROUGH


def is_area(kind: Kind) -> bool:
    """Say whether a closed line of this kind stands for the ground inside it."""
    return kind in (Kind.TEE, Kind.GREEN, Kind.GROUND, Kind.COURSE, Kind.PRACTICE, Kind.CLUBHOUSE, Kind.OUT)


def whole_numbers(text: str) -> list[int]:
    """Return the whole numbers of a tag with one or several values: "7", "07", "7;16", "4/5"."""
    return [int(digits) for digits in re.findall(r"\d{1,4}", text)]


def hole_numbers(tags: Tags) -> list[int]:
    """Return the hole numbers a feature names in ``ref``, else in ``name``; empty where it names none."""
    numbers = whole_numbers(tags.get("ref", ""))
    if numbers:
        return list(dict.fromkeys(numbers))
    name = re.sub(r"par\W*\d", "", tags.get("name", "").lower())
    match = re.search(r"(?:\bhole|\bno\.?|#)\s*(\d{1,2})\b", name) or re.match(
        r"\s*(\d{1,2})(?:st|nd|rd|th)?\b(?!\s*(?:m|yd|yards|ft)\b)", name
    )
    return [int(match.group(1))] if match else []


def par_in_name(name: str) -> int | None:
    """Return the par written inside a name such as "7 (par 4)"; None where there is none."""
    match = re.search(r"\bpar\W{0,3}([3-6])\b", name.lower())
    return int(match.group(1)) if match else None


def length_yd(text: str) -> float | None:
    """Return a tagged length in yards: metres unless a unit is written; None where it is no length."""
    text = text.strip().lower()
    if re.fullmatch(r"\d,\d{3}\s*(?:y|f)[a-z]*\.?", text):  # "1,200 ft": those who use feet group digits so
        text = text.replace(",", "")
    feet = re.fullmatch(r"([0-9]{1,4})\s*'\s*([0-9]{1,2}(?:\.[0-9]{1,9})?)\s*\"", text)
    if feet:
        return (float(feet.group(1)) + float(feet.group(2)) / 12.0) / 3.0
    match = re.fullmatch(r"([0-9]{1,7}(?:[.,][0-9]{1,9})?)\s*([a-z']*)\.?", text)
    if not match or match.group(2) not in _UNITS:
        return None
    return float(match.group(1).replace(",", ".")) * _UNITS[match.group(2)] / METRES_PER_YARD


def truth(text: str) -> bool | None:
    """Return the truth of a yes-or-no tag; None where it says neither."""
    return {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}.get(
        text.strip().lower()
    )


def _practises(tags: Tags) -> bool:
    return truth(tags.get("practice", "")) is True


def _for_practice(tags: Tags) -> bool:
    """Greens to putt on and tees to hit balls from are marked in several ways."""
    words = " ".join(tags.get(key, "") for key in ("name", "description", "usage", "ref")).lower()
    said = ("practice", "practise", "putting", "chipping", "driving range")
    return _practises(tags) or any(word in words for word in said)
