"""A review in words a player takes home."""

from collections.abc import Sequence

from caddiebrain.insight.records_review import PartReview, ShotReview

__all__ = ["review_sentence", "takeaways_of"]

_SMALL = 0.25
"""Strokes a round that are not worth a word."""
_PLAIN = 0.05
_BIG = 0.8
_FEW = 4
"""Fewer strokes than this say little about a part of the game."""


def review_sentence(
    score: int, expected: float, decision: float, execution: float, luck: float, *, whole: bool = True
) -> str:
    """Say how a score came about; ``whole`` where it is that of every hole of the course.

    Examples
    --------
    >>> review_sentence(84, 82.6, 0.9, 0.5, 2.9)
    '84 is 1.4 more than your game expects of this course: 0.9 went on choices, 0.5 on strokes (ordinary luck is \
2.9 either way).'
    """
    off, of = score - expected, "of this course" if whole else "of the holes played"
    if abs(off) < _PLAIN:
        start = f"{score} is what your game expects {of}"
    else:
        start = f"{score} is {abs(off):.1f} {'more' if off > 0 else 'fewer'} than your game expects {of}"
    if abs(execution) < _PLAIN:
        strokes = "the strokes came out even"
    else:
        strokes = f"{abs(execution):.1f} {'on' if execution > 0 else 'came back with good'} strokes"
    return f"{start}: {decision:.1f} went on choices, {strokes} (ordinary luck is {luck:.1f} either way)."


def takeaways_of(shots: Sequence[ShotReview], parts: Sequence[PartReview]) -> tuple[str, str, str]:
    """Three things to take from a round: the choices, the part of the game that cost most, and one more."""
    worst = min(parts, key=lambda p: p.gained)
    dearest = max(shots, key=lambda s: s.execution)
    if dearest.execution >= _BIG and dearest.part != worst.part:
        third = _stroke(dearest)
    else:
        third = _best(max(parts, key=lambda p: p.gained))
    return _choices(shots), _worst(worst), third


def _choices(shots: Sequence[ShotReview]) -> str:
    total = sum(s.decision for s in shots)
    dearest = max(shots, key=lambda s: s.decision)
    if total < _SMALL:
        return f"Your choices gave away next to nothing ({total:.2f} strokes): keep to the plan."
    poor = sum(s.decision >= _PLAIN for s in shots)
    where = f"stroke {dearest.stroke} on {dearest.hole}"
    return (
        f"Choices gave away {total:.1f} strokes, on {poor} stroke{'s' * (poor != 1)} worth naming. The dearest: "
        f"the {dearest.chosen}, {where}, where the {dearest.best} was {dearest.decision:.2f} better."
    )


def _luck(part: PartReview) -> str:
    if part.strokes < _FEW:
        return "too few strokes to read much into"
    if abs(part.execution) > 2.0 * part.luck:
        return "more than luck explains"
    if abs(part.execution) > part.luck:
        return "at the edge of ordinary luck; see whether it happens again"
    return "within ordinary luck for one round"


def _worst(part: PartReview) -> str:
    strokes = f"{part.strokes} stroke{'s' * (part.strokes != 1)}"
    if part.gained > -_SMALL:
        return "No part of the game lost ground worth a word against your own average."
    return f"{_name(part)} lost {-part.gained:.1f} against your own average over {strokes}, {_luck(part)}."


def _best(part: PartReview) -> str:
    if part.gained < _SMALL:
        return "No part of the game stood out for the better either: an even round."
    return f"{_name(part)} gained {part.gained:.1f} against your own average, {_luck(part)}."


def _name(part: PartReview) -> str:
    name = {"off the tee": "play off the tee"}.get(part.part, part.part)
    head, _, tail = name.partition(", ")
    words = {"approach": "approach play", "short game": "the short game"}.get(head, head)
    joined = f"{words} from {tail}" if tail else words
    return joined[0].upper() + joined[1:]


_WHERE = {
    "yellow": "into the penalty area",
    "red": "into the penalty area",
    "out": "out of bounds or lost",
    "trees": "into the trees",
    "sand": "into the sand",
    "rough": "into the rough",
    "thick": "into the thick rough",
    "green": "onto the green",
    "fairway": "onto the fairway",
}


def _stroke(shot: ShotReview) -> str:
    where = _WHERE.get(shot.result, "")
    placed = f" {where}," if where and shot.part != "putting" else ""
    return (
        f"One stroke did most harm: the {shot.club} on {shot.hole} (stroke {shot.stroke}),{placed} "
        f"cost {shot.execution:.1f}. One stroke is no habit."
    )
