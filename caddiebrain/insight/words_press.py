"""Protect or press, in words."""

from collections.abc import Sequence

from caddiebrain.insight.records_press import PressOption
from caddiebrain.insight.words_chance import tenths_in_hundred
from caddiebrain.round.ranking import GRAIN

__all__ = ["count_words", "number_words", "press_sentence"]

_NUMBERS = (
    "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen",
)  # fmt: skip
_LAST = {
    -3: "an albatross",
    -2: "an eagle",
    -1: "a birdie",
    0: "par",
    1: "a bogey",
    2: "a double bogey",
    3: "a triple bogey",
}
_EVEN = 0.005
"""Strokes nearer than this are called equal."""


def number_words(n: int) -> str:
    """Say a whole number, in a word up to eighteen.

    Examples
    --------
    >>> number_words(2), number_words(23)
    ('two', '23')
    """
    return _NUMBERS[n] if 0 <= n < len(_NUMBERS) else str(n)


def count_words(spare: int, holes: int, of: int, target: int, played: int = 0, chance: float = 0.5) -> str:
    """Say what the rest of the round may still take.

    Parameters
    ----------
    spare : int
        Strokes over par that are left for the rest, this hole from its tee included.
    holes : int
        Holes left, this one included.
    of : int
        Holes of the round.
    target : int
    played : int
        Strokes already played on this hole; they count.
    chance : float
        Of the target; 0 and 1 settle the matter.

    Examples
    --------
    >>> count_words(2, 4, 18, 79)
    'two over the last four holes still makes 79'
    >>> count_words(0, 2, 18, 79), count_words(-1, 3, 18, 79)
    ('level par over the last two holes makes 79', 'it takes one under the last three holes to make 79')
    >>> count_words(1, 1, 18, 79), count_words(-2, 1, 18, 79)
    ('a bogey at the last still makes 79', 'it takes an eagle at the last to make 79')
    >>> count_words(7, 18, 18, 79)
    'seven over for the round makes 79'
    >>> count_words(1, 2, 18, 79, played=2)
    'one over the last two holes still makes 79, the two strokes played here included'
    """
    if chance <= 0.0:
        return f"{target} is out of reach"
    if chance >= 1.0:
        return f"{target} is safe, whatever happens"
    here = "" if not played else f", the {_strokes(played)} played here included"
    if holes == 1:
        score = _LAST.get(spare, f"{number_words(abs(spare))} {'over' if spare > 0 else 'under'}")
        body = f"{score} at the last"
    elif holes == of:
        body = f"{_against_par(spare)} for the round"
        return (f"{body} makes {target}" if spare >= 0 else f"it takes {body} to make {target}") + here
    else:
        over = f"the last {number_words(holes)} holes"
        body = f"{_against_par(spare)} over {over}" if spare == 0 else f"{_against_par(spare)} {over}"
    if spare < 0:
        return f"it takes {body} to make {target}{here}"
    return f"{body} {'still ' if spare > 0 else ''}makes {target}{here}"


def _against_par(spare: int) -> str:
    if spare == 0:
        return "level par"
    return f"{number_words(abs(spare))} {'over' if spare > 0 else 'under'}"


def _strokes(n: int) -> str:
    return "one stroke" if n == 1 else f"{number_words(n)} strokes"


def press_sentence(options: Sequence[PressOption], target: int, now: float) -> str:
    """Say what to do now.

    Parameters
    ----------
    options : sequence of PressOption
        Best first, for the target.
    target : int
    now : float
        Chance of the target before choosing.
    """
    best, usual = options[0], next(o for o in options if o.stance == "usual")
    if now <= 0.0:
        return f"{target} is out of reach; the {usual.label} scores lowest."
    times = tenths_in_hundred(best.target)
    if best.stance == "usual" or best.target - usual.target < GRAIN:
        return (
            f"Play the usual shot: the {usual.label}, lowest on average, also serves {target} "
            f"({tenths_in_hundred(usual.target)} rounds in 100)."
        )
    what = "Protect" if best.stance == "protect" else "Press"
    against = f"{target} or better {times} times in 100 against {tenths_in_hundred(usual.target)}"
    cost = best.expected - usual.expected
    if cost < _EVEN:
        return (
            f"{what}: the {best.label} scores no worse on average than the {usual.label} and makes {against}."
        )
    return (
        f"{what}: the {best.label} costs {cost:.2f} strokes on average against the {usual.label}, but makes "
        f"{against}."
    )
