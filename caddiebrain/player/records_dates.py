"""Dates as people write them. The order of day and month is taken from the column itself or not at all."""

import datetime as dt
import math
import re
from collections.abc import Callable, Iterable
from typing import Any

__all__ = ["date_reader"]

_MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
    "december",
)  # fmt: skip
_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[t ].*)?")
_RUN_TOGETHER = re.compile(r"(\d{4})(\d{2})(\d{2})")
_DOTTED = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4}|\d{2})")
_EITHER = re.compile(r"(\d{1,2})[-/](\d{1,2})[-/](\d{4}|\d{2})")
_NAMED = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[ -]([a-z]+)[ -](\d{4}|\d{2})")
_NAME_FIRST = re.compile(r"([a-z]+) (\d{1,2})(?:st|nd|rd|th)? (\d{4}|\d{2})")


def date_reader(cells: Iterable[Any]) -> Callable[[Any], float]:
    """Return what reads the dates of one column.

    ``2026-04-09``, ``9 Apr 2026``, ``April 9th, 2026`` and ``9.4.2026`` are read as they stand. ``9/4/2026`` is read
    where another cell of the column shows which number is the day, as ``19/4/2026`` does. Two figures of a year are
    those of this century.

    Parameters
    ----------
    cells : iterable
        All cells of the column.

    Returns
    -------
    callable
        From a cell to days since year 1; NaN where it is no date or its order is open.

    Examples
    --------
    >>> cells = ["2026-04-09", "9/4/26", "19/4/2026", "Apr 9, 2026", "next week"]
    >>> [date_reader(cells)(cell) for cell in cells]
    [739715.0, 739715.0, 739725.0, 739715.0, nan]
    """
    both = [m for m in (_EITHER.fullmatch(_text(c)) for c in cells if isinstance(c, str)) if m]
    first, second = (any(int(m[i]) > 12 for m in both) for i in (1, 2))
    day_first = None if first == second else first

    def read(cell: Any) -> float:
        if isinstance(cell, dt.datetime):
            return float(cell.date().toordinal())
        if isinstance(cell, dt.date):
            return float(cell.toordinal())
        try:
            return float(dt.date(*_numbers(_text(cell), day_first)).toordinal())
        except ValueError:
            return math.nan

    return read


def _numbers(text: str, day_first: bool | None) -> tuple[int, int, int]:
    """Year, month and day; all 0 where they cannot be told."""
    if m := _YEAR_FIRST.fullmatch(text) or _RUN_TOGETHER.fullmatch(text):
        return int(m[1]), int(m[2]), int(m[3])
    if m := _DOTTED.fullmatch(text):
        return _year(m[3]), int(m[2]), int(m[1])
    if m := _NAMED.fullmatch(text):
        return _year(m[3]), _month(m[2]), int(m[1])
    if m := _NAME_FIRST.fullmatch(text):
        return _year(m[3]), _month(m[1]), int(m[2])
    if (m := _EITHER.fullmatch(text)) and day_first is not None:
        day, month = (m[1], m[2]) if day_first else (m[2], m[1])
        return _year(m[3]), int(month), int(day)
    return 0, 0, 0


def _text(cell: Any) -> str:
    return " ".join(str(cell).lower().replace(",", " ").split())


def _year(figures: str) -> int:
    return int(figures) + (2000 if len(figures) == 2 else 0)


def _month(name: str) -> int:
    """Number of a month, 0 for a word that is none."""
    short = len(name) == 3 or name == "sept"
    return next((i for i, m in enumerate(_MONTHS, start=1) if name == m or (short and m.startswith(name))), 0)
