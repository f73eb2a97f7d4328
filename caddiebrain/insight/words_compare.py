"""A comparison in plain words, made from its biggest parts."""

from collections.abc import Sequence
from dataclasses import dataclass

from caddiebrain.insight.records_compare import ResultPart, Side
from caddiebrain.insight.words_chance import tenths_in_hundred

__all__ = ["name_of", "sentence_of", "share_words", "verdict_of"]

_SAY = 0.01
"""Parts smaller than this, in strokes, are left out of the sentence while there are larger ones."""
_LEAST = 0.005
"""Differences smaller than this, in strokes, count as none."""
_FEW, _MOST = 2, 4
"""Findings in a sentence: at least so many where there are, and at most."""
_YARDS = 3.0
"""Lengths nearer than this count as equal."""

_GROUPS = {
    "yellow": "water",
    "red": "water",
    "out": "out",
    "stroke and distance": "out",
    "trees": "trees",
    "sand": "sand",
    "rough": "rough",
    "thick": "thick",
    "fairway": "fairway",
    "tight": "fairway",
    "green": "green",
}
_BALLS = {
    "water": "in the penalty area",
    "out": "lost or out of bounds",
    "trees": "in the trees",
    "sand": "in the sand",
    "thick": "in the thick rough",
}
_FRACTIONS = (
    (0.05, ""),
    (0.15, "a tenth"),
    (0.225, "a fifth"),
    (0.29, "a quarter"),
    (0.42, "a third"),
    (0.58, "half"),
    (0.71, "two thirds"),
    (0.775, "three quarters"),
    (0.85, "four fifths"),
    (0.95, "nine tenths"),
    (0.995, "nearly all"),
)


@dataclass(frozen=True)
class _Clause:
    """A finding and what it is worth: negative saves strokes for the first choice."""

    words: str
    strokes: float


def share_words(share: float) -> str:
    """Say a share (0 to 1) as a fraction; empty below one in twenty.

    Examples
    --------
    >>> share_words(0.66), share_words(0.93), share_words(0.999), share_words(0.01)
    ('two thirds', 'nine tenths', 'all', '')
    """
    return next((words for limit, words in _FRACTIONS if share < limit), "all")


def name_of(side: Side, other: Side) -> str:
    """Name a choice; by its aim too where the other has the same name.

    A drop is called what it is, without the strokes it costs.
    """
    name = "unplayable drop" if side.label.startswith("drop") else side.label
    return f"{name} {_aimed(side.aim_words)}" if side.label == other.label else name


def _aimed(aim_words: str) -> str:
    place = aim_words.partition(", ")[0]
    return place if place.startswith(("at ", "down ", "along ")) else f"aimed {place}"


def sentence_of(first: Side, second: Side, parts: Sequence[ResultPart]) -> str:
    """One sentence on what the first choice gives and takes against the second.

    Parameters
    ----------
    first, second : Side
    parts : sequence of ResultPart
    """
    told = _ranked(first, second, parts)
    if not told:
        one, other = name_of(first, second), name_of(second, first)
        return f"The {one} and the {other} come to the same, wherever the ball ends."
    name = name_of(first, second)
    words, before = f"The {name} {told[0].words}, {_worth(told[0].strokes, 'strokes')}", told[0].strokes
    for clause in told[1:]:
        turn = "and" if (clause.strokes > 0) == (before > 0) else "but"
        words += f", {turn} {clause.words}, {_worth(clause.strokes)}"
        before = clause.strokes
    return words + "."


def _worth(strokes: float, unit: str = "") -> str:
    amount = f"{abs(strokes):.2f} {unit}".strip()
    return f"which {'costs' if strokes > 0 else 'saves'} {amount}"


def _ranked(first: Side, second: Side, parts: Sequence[ResultPart]) -> list[_Clause]:
    """Distance first if it matters, then kinds of result, until what is left out is small."""
    distance = _distance(first, second, parts)
    often = sorted(_often(parts), key=lambda clause: -abs(clause.strokes))
    clauses = ([distance] if distance else []) + often
    whole = sum(p.strokes for p in parts)
    told: list[_Clause] = []
    for clause in (c for c in clauses if abs(c.strokes) >= _SAY):
        left = whole - sum(c.strokes for c in told)
        if len(told) >= _FEW and (len(told) >= _MOST or abs(left) <= max(2.0 * _SAY, 0.2 * abs(whole))):
            break
        told.append(clause)
    return told or sorted((c for c in clauses if abs(c.strokes) >= _LEAST), key=lambda c: -abs(c.strokes))[:1]


def _distance(first: Side, second: Side, parts: Sequence[ResultPart]) -> _Clause | None:
    """What better or worse places of the same kind come to."""
    total = sum(p.strokes_how_good for p in parts)
    biggest = max(parts, key=lambda p: abs(p.strokes_how_good))
    longer = first.total_yd - second.total_yd
    yards = f"{abs(longer):.0f} yards"
    if biggest.result == "green":
        words = "leaves longer putts and recoveries" if total > 0 else "leaves shorter putts and recoveries"
    elif longer <= -_YARDS:
        words = f"gives up {yards}" if total > 0 else f"gives up {yards} and leaves the easier next shot"
    elif longer >= _YARDS:
        words = f"is {yards} longer but leaves the harder next shot" if total > 0 else f"gains {yards}"
    else:
        words = f"leaves the {'harder' if total > 0 else 'easier'} next shot"
    return _Clause(words, total) if total else None


def _often(parts: Sequence[ResultPart]) -> list[_Clause]:
    """What each kind of result comes to by how often it happens."""
    groups: dict[str, list[ResultPart]] = {}
    for part in parts:
        if part.result in _GROUPS:
            groups.setdefault(_GROUPS[part.result], []).append(part)
    clauses = []
    for group, members in groups.items():
        one, other = sum(p.chance_first for p in members), sum(p.chance_second for p in members)
        words = _count(group, one, other)
        if words:
            strokes = sum(p.strokes_how_often for p in members)
            if group == "fairway" and (one > other) == (strokes > 0):  # the fairway is the poorer place here
                words = (
                    words.replace("finds", "leaves").replace("fairways", "balls").replace("fairway", "ball")
                )
                words += " on the fairway"
            clauses.append(_Clause(words, strokes))
    return clauses


def _count(group: str, one: float, other: float) -> str:
    """Say how many more or fewer balls end so; empty where it is too few to say."""
    more = round(100.0 * abs(one - other))
    if more == 0:
        return ""
    if group in ("fairway", "green"):
        noun = group if more == 1 else f"{group}s"
        return f"finds {more} {'more' if one > other else 'fewer'} {noun} in 100"
    if group == "rough":
        times = "time" if more == 1 else "times"
        return f"ends in the rough {more} {times} {'more' if one > other else 'fewer'} in 100"
    where = _BALLS[group]
    if one < other:
        share = share_words((other - one) / other)
        return f"takes out {share} of the balls {where}" if share else ""
    return (
        f"puts {more} {'more ' if other > 0 else ''}{'ball' if more == 1 else 'balls'} in 100 {_INTO[group]}"
    )


_INTO = {
    "water": "into the penalty area",
    "out": "out of bounds or where they are lost",
    "trees": "into the trees",
    "sand": "into the sand",
    "thick": "into the thick rough",
}


def verdict_of(first: Side, second: Side, target: int) -> str:
    """What it comes to in all: in strokes, and for the target."""
    one, other = name_of(first, second), name_of(second, first)
    gain = second.expected - first.expected
    if abs(gain) < _LEAST:
        score = f"In all nothing to choose between them: {first.expected:.2f} strokes to hole out"
    else:
        better, worse = (one, other) if gain > 0 else (other, one)
        score = f"In all the {better} is {abs(gain):.2f} strokes better than the {worse}"
    turn = "yet " if abs(gain) >= _LEAST and gain * (first.chance - second.chance) < 0 else ""
    return f"{score}; {turn}{_for_target(one, other, first.chance, second.chance, target)}."


def _for_target(one: str, other: str, first: float, second: float, target: int) -> str:
    times, rest = tenths_in_hundred(first), tenths_in_hundred(second)
    if first == second:
        return f"{target} does not hang on it ({times} rounds in 100 either way)"
    if times == rest:
        return f"{target} hardly hangs on it ({times} rounds in 100 either way)"
    better, worse = (one, other) if first > second else (other, one)
    high, low = (times, rest) if first > second else (rest, times)
    return f"{target} or better comes {high} times in 100 with the {better}, {low} with the {worse}"
