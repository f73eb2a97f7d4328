"""Break-evens in words."""

from collections.abc import Sequence

from caddiebrain.insight.records_breakeven import BreakEven, Measure

__all__ = ["answer_words", "break_even_sentence"]


def _amount(value: float, unit: str) -> str:
    if unit == "share":
        return f"{100.0 * value:.0f} %"
    if unit == "yards":
        return f"{value:.0f} yard{'' if round(value) == 1 else 's'}"
    return f"{value:.0f} {unit}"


def _condition(question: str, unit: str, value: float) -> str:
    """Say a change: "a fairway 12 yards wider", "a head wind of 9 mph"."""
    amount = _amount(value, unit)
    if question.startswith("fairway "):
        return f"a fairway {amount} {question.removeprefix('fairway ')}"
    if question.startswith("pin "):
        return f"a pin {amount} {question.removeprefix('pin ')}"
    if unit == "share":
        return f"a {question.removesuffix(' tighter')} pattern {amount} tighter"
    if question.startswith("wind "):
        return f"a {amount} {question}"
    return f"a {question} of {amount}"


def _lead(lead: float, by: Measure) -> str:
    return f"{lead:.2f} strokes" if by == "score" else f"{100.0 * lead:.1f} rounds in 100"


_NOTHING: dict[Measure, float] = {"score": 0.005, "target": 0.0005}
"""Leads smaller than this are written as nothing."""


def answer_words(
    question: str,
    unit: str,
    change: float | None,
    bound: float,
    other: str,
    leads: tuple[float, float],
    by: Measure,
) -> str:
    """Say where one thing would tip the choice, or that it does not.

    Parameters
    ----------
    question, unit : str
    change, bound : float
        Where it tips, if it does; how far was looked.
    other : str
        The choice that is behind today.
    leads : tuple of float
        By how much, today and at the bound.
    by : {"score", "target"}

    Examples
    --------
    >>> answer_words("fairway wider", "yards", 12.4, 40.0, "driver", (0.5, -0.2), "score")
    'A fairway 12 yards wider would make it the driver.'
    >>> answer_words("head wind", "mph", None, 25.0, "driver", (0.5, 0.3), "score")
    'Not even a head wind of 25 mph would make it the driver: it would still be 0.30 strokes behind.'
    >>> answer_words("tail wind", "mph", None, 25.0, "driver", (0.5, 0.6), "score")
    'A tail wind of 25 mph would not help the driver.'
    >>> answer_words("head wind", "mph", None, 25.0, "driver", (0.5, 0.002), "score")
    'A head wind of 25 mph would bring the driver level, and no further.'
    """
    if change is not None:
        words = _condition(question, unit, change)
        return f"{words[0].upper()}{words[1:]} would make it the {other}."
    limit, (today, at_bound) = _condition(question, unit, bound), leads
    if at_bound >= today:
        return f"{limit[0].upper()}{limit[1:]} would not help the {other}."
    if at_bound < _NOTHING[by]:
        return f"{limit[0].upper()}{limit[1:]} would bring the {other} level, and no further."
    return f"Not even {limit} would make it the {other}: it would still be {_lead(at_bound, by)} behind."


def break_even_sentence(
    better: str,
    other: str,
    lead: float,
    by: Measure,
    answers: Sequence[BreakEven],
    target: int,
    level: bool = False,
) -> str:
    """Say who is ahead, and which changes would turn it round; ``level``: the lead is too small to speak of."""
    for_what = "on average" if by == "score" else f"for {target}"
    start = f"Today the {better} is {_lead(lead, by)} ahead of the {other} {for_what}"
    tips = [a for a in answers if a.change is not None]
    if level:
        return f"{start}: as good as level."
    if not answers:
        return f"{start}."
    if not tips:
        return f"{start}, and nothing that was tried would turn it round."
    named = [_condition(a.question, a.unit, a.change or 0.0) for a in tips]
    listed = named[0] if len(named) == 1 else ", ".join(named[:-1]) + " or " + named[-1]
    return f"{start}; {listed} would turn it round."
