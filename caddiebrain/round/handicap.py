"""Strokes received: course handicap, allocation by stroke index, net double bogey, score differential.

Source: World Handicap System, *Rules of Handicapping*: course handicap = index x slope / 113 + (course rating -
par) (rule 6.1); net double bogey = par + 2 + strokes received (rule 3.1); score differential = 113 / slope x
(adjusted gross - course rating - PCC), to a tenth (rule 5.1). Strokes are allocated in the order of the stroke
index (appendix E), rounding halves upward (from memory). Scores are posted under those rules; the committee
decides what counts.
"""

import math
from collections.abc import Sequence

from caddiebrain.errors import Fault, InputError, number_faults

__all__ = ["course_handicap", "handicap_faults", "net_double_bogey", "score_differential", "strokes_received"]


def course_handicap(index: float, slope: float, rating: float, par: int, *, allowance: float = 1.0) -> int:
    """Return the strokes a player receives on a course.

    Parameters
    ----------
    index : float
        Handicap index, -10 (that is +10) to 54.
    slope : float
        Slope rating, 55 to 155.
    rating : float
        Course rating, strokes.
    par : int
        Par of the course.
    allowance : float
        Handicap allowance of the format, 0 to 1: the playing handicap is this share.

    Raises
    ------
    InputError
        With every value out of range.

    Examples
    --------
    >>> course_handicap(11.0, 125, 72.1, 72)
    12
    """
    faults = number_faults("index", index, -10.0, 54.0, "-10 (that is +10) to 54")
    faults += number_faults("slope", slope, 55.0, 155.0, "55 to 155")
    faults += number_faults("par", par, 1, 90, "par of the holes, as on the card", whole=True)
    faults += number_faults("rating", rating, 1.0, 120.0, "strokes, as on the card")
    faults += number_faults("allowance", allowance, 1e-9, 1.0, "a share, above 0 to 1")
    if not faults and abs(rating - par) > 30.0:
        faults.append(Fault("rating", f"{rating:g} for par {par}", "within 30 strokes of par"))
    if faults:
        raise InputError("course_handicap", faults)
    return math.floor(allowance * (index * slope / 113.0 + (rating - par)) + 0.5)


_HANDICAPS = (-30, 90)
"""54 on the steepest course comes to 74 and the course rating less par; a difference of two players may be more."""


def handicap_faults(handicap: object) -> list[Fault]:
    """One fault if a handicap is not a whole number of strokes that some course and player come to; else none."""
    low, high = _HANDICAPS
    expected = f"a whole number of strokes, {low} to {high}, as course_handicap gives from an index"
    return number_faults("handicap", handicap, low, high, expected, whole=True)


def strokes_received(handicap: int, stroke_index: Sequence[int]) -> tuple[int, ...]:
    """Allocate strokes to holes, lowest stroke index first; a plus handicap gives them back from the highest.

    Parameters
    ----------
    handicap : int
        Course or playing handicap for these holes, -30 to 90.
    stroke_index : sequence of int
        In playing order, all different.

    Returns
    -------
    tuple of int
        Strokes received on each hole; negative where given back.

    Raises
    ------
    InputError
        If two holes share a stroke index, or there is none; if the handicap is no such number.

    Examples
    --------
    >>> strokes_received(4, [2, 1, 3])
    (1, 2, 1)
    >>> strokes_received(-1, [2, 1, 3])
    (0, 0, -1)
    """
    faults = handicap_faults(handicap)
    if faults:
        raise InputError("strokes_received", faults)
    order = sorted(stroke_index)
    if not order or len(set(order)) != len(order):
        raise InputError.one("strokes_received", "stroke_index", str(list(stroke_index)), "different numbers")
    each, more = divmod(int(handicap), len(order))
    rank = {one: i for i, one in enumerate(order)}
    return tuple(each + (rank[one] < more) for one in stroke_index)


def net_double_bogey(par: int, received: int) -> int:
    """Return the highest score that counts for handicapping on a hole.

    Examples
    --------
    Course handicap 15, par 4, stroke index 10: one stroke, at most 7.

    >>> net_double_bogey(4, 1)
    7
    """
    return par + 2 + received


def score_differential(adjusted_gross: float, rating: float, slope: float, pcc: float = 0.0) -> float:
    """Return the score differential, to a tenth.

    Parameters
    ----------
    adjusted_gross : float
        Gross score with every hole capped at net double bogey.
    rating, slope : float
    pcc : float
        Playing conditions calculation, -1 to 3.

    Examples
    --------
    >>> score_differential(94, 73.0, 125)
    19.0
    """
    if not 55.0 <= slope <= 155.0:
        raise InputError.one("score_differential", "slope", f"{slope:g}", "55 to 155")
    return math.floor(113.0 / slope * (adjusted_gross - rating - pcc) * 10.0 + 0.5) / 10.0
