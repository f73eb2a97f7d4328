"""Reading the cells of one column: numbers with units, dates, clubs, words. Names every cell that is wrong."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caddiebrain.errors import Fault
from caddiebrain.player.bag import club_key, club_name
from caddiebrain.player.records_columns import (
    FINISHES,
    HEIGHT_WORDS,
    LIE_WORDS,
    SHAPE_WORDS,
    TARGET_WORDS,
    YES_WORDS,
    Column,
)
from caddiebrain.player.records_dates import date_reader

__all__ = ["MISSING", "YARDS_PER", "Ledger", "read_cells"]

MISSING = frozenset({"", "-", "--", "?", "na", "n/a", "nan", "none", "null", "nat"})
"""Cells that say nothing, lower case."""
YARDS_PER = {"yd": 1.0, "ft": 1.0 / 3.0, "m": 1.0936132983377078}
"""Exact: a yard is 0.9144 m (international yard)."""
UNIT_WORDS = {
    "yd": "yd", "yds": "yd", "y": "yd", "yard": "yd", "yards": "yd", "m": "m", "metre": "m", "metres": "m",
    "meter": "m", "meters": "m", "ft": "ft", "foot": "ft", "feet": "ft", "'": "ft",
}  # fmt: skip
_SIDES = {"l": -1.0, "left": -1.0, "r": 1.0, "right": 1.0}
_NUMBER = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+))\s*([a-z']*)\s*([a-z]*)")
_UNFINISHED = frozenset({"x", "nr", "dnf", "pu", "pickup", "picked up"})
_MOST_FAULTS_SHOWN = 50
_MOST_ROWS_NAMED = 8


@dataclass
class Ledger:
    """Faults and warnings gathered over a source."""

    source: str
    faults: list[Fault] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    unshown: int = 0

    def fault(self, where: str, found: str, expected: str) -> None:
        """Note a fault; past fifty they are counted only."""
        if len(self.faults) < _MOST_FAULTS_SHOWN:
            self.faults.append(Fault(where, found, expected))
        else:
            self.unshown += 1

    def warn(self, text: str) -> None:
        """Note a warning."""
        self.warnings.append(f"{self.source}: {text}")

    def closing(self) -> list[Fault]:
        """All faults, with a last line for those not shown."""
        more = [Fault("more", f"{self.unshown} further faults", "none")] if self.unshown else []
        return [*self.faults, *more]


@dataclass(frozen=True)
class _Cells:
    """A column's cells on their way in."""

    column: Column
    heading: str
    cells: Sequence[Any]
    rows: Sequence[str]
    ledger: Ledger

    def where(self, i: int) -> str:
        return f"{self.rows[i]}, column {self.heading}"

    def fault(self, i: int, expected: str) -> None:
        self.ledger.fault(self.where(i), repr(self.cells[i]), expected)


def read_cells(
    column: Column,
    heading: str,
    cells: Sequence[Any],
    rows: Sequence[str],
    unit: str,
    ledger: Ledger,
    aliases: Mapping[str, str],
) -> NDArray[Any]:
    """Read a column into its array: float with NaN for missing, or text with "" for missing.

    Parameters
    ----------
    column : Column
    heading : str
        As the source has it.
    cells : sequence
    rows : sequence of str
        What to call each row.
    unit : str
        "yd", "ft" or "m": what a bare number is in; read for distances alone.
    ledger : Ledger
        Takes faults and warnings.
    aliases : mapping
        The golfer's own names for clubs.
    """
    given = _Cells(column, heading, cells, rows, ledger)
    if column.kind in ("number", "count"):
        values = _numbers(given, unit)
        _check_range(given, values)
        return values
    if column.kind == "date":
        return _dates(given)
    if column.kind == "club":
        named = {club_key(k): v for k, v in aliases.items()}
        return _words(
            given, lambda text: _club(text, named), "a club such as driver, 7-iron or pw, or an alias"
        )
    if column.kind == "text":
        return np.array(["" if _is_missing(c) else str(c).strip() for c in cells], dtype=np.str_)
    table = _TABLES[column.kind]
    return _words(given, lambda text: table.get(text), f"one of {', '.join(dict.fromkeys(table.values()))}")


_TABLES: dict[str, dict[str, str]] = {
    "lie": LIE_WORDS,
    "finish": FINISHES,
    "shape": SHAPE_WORDS,
    "height": HEIGHT_WORDS,
    "target": TARGET_WORDS,
    "yes": {word: "yes" if value else "no" for word, value in YES_WORDS.items()},
}


def _is_missing(cell: Any) -> bool:
    if cell is None or (isinstance(cell, float | np.floating) and cell != cell):
        return True
    return isinstance(cell, str) and cell.strip().lower() in MISSING


def _numbers(given: _Cells, unit: str) -> NDArray[np.float64]:
    """Numbers in the column's own unit; a unit written in the cell holds over the declared one."""
    column = given.column
    scale = YARDS_PER[unit] / YARDS_PER[column.unit] if column.unit else 1.0
    try:
        quick = np.array([np.nan if c is None or c == "" else c for c in given.cells], dtype=np.float64)
        return quick * scale
    except (TypeError, ValueError):
        pass
    out = np.full(len(given.cells), np.nan)
    own_units: list[int] = []
    for i, cell in enumerate(given.cells):
        if not (_is_missing(cell) or (column.kind == "count" and str(cell).strip().lower() in _UNFINISHED)):
            out[i] = _number(given, i, cell, scale, own_units)
    if own_units:
        named = ", ".join(f"{given.rows[i]} ({given.cells[i]})" for i in own_units[:_MOST_ROWS_NAMED])
        more = f" and {len(own_units) - _MOST_ROWS_NAMED} more" if len(own_units) > _MOST_ROWS_NAMED else ""
        given.ledger.warn(f"{named}{more}: {given.heading} read in the unit written in the cell")
    return out


def _number(given: _Cells, i: int, cell: Any, scale: float, own_units: list[int]) -> float:
    """One number, with a unit or a side of the line where the column has them."""
    column, text = given.column, str(cell).strip().lower()
    match = _NUMBER.fullmatch(text)
    words = [word for word in match.groups()[1:] if word] if match else []
    side, own = 1.0, scale
    for word in words:
        if word in _SIDES and column.low < 0.0:
            side = _SIDES[word]
        elif word in UNIT_WORDS and column.unit:
            own = YARDS_PER[UNIT_WORDS[word]] / YARDS_PER[column.unit]
        else:
            match = None
    if match is None:
        given.fault(i, _expected(column))
        return float("nan")
    if own != scale:
        own_units.append(i)
    return float(match[1]) * side * own


def _check_range(given: _Cells, values: NDArray[np.float64]) -> None:
    column = given.column
    slack = 1e-9 * max(1.0, abs(column.high))
    wrong = (values < column.low - slack) | (values > column.high + slack) | np.isinf(values)
    if column.kind == "count":
        wrong |= values != np.floor(values)
        wrong &= ~np.isnan(values)
    for i in np.flatnonzero(wrong):
        given.fault(int(i), _expected(column))
    values[wrong] = np.nan  # told once: no other check is to stumble over it


def _expected(column: Column) -> str:
    """Say what a number may be."""
    what = "a whole number" if column.kind == "count" else "a number"
    unit = {"yd": " yards", "ft": " feet", "": ""}[column.unit]
    return f"{what} from {column.low:g} to {column.high:g}{unit}"


def _dates(given: _Cells) -> NDArray[np.float64]:
    """Dates as days since year 1."""
    out = np.full(len(given.cells), np.nan)
    known: dict[Any, float] = {}
    read = date_reader({cell for cell in given.cells if isinstance(cell, str)})
    for i, cell in enumerate(given.cells):
        if _is_missing(cell):
            continue
        if cell not in known:
            known[cell] = read(cell)
        out[i] = known[cell]
        if known[cell] != known[cell]:
            given.fault(i, "a date as YYYY-MM-DD, or whose day and month can be told")
    return out


def _club(text: str, named: Mapping[str, str]) -> str | None:
    own = named.get(club_key(text))
    return club_name(own) if own is not None else club_name(text)


def _words(given: _Cells, read: Callable[[str], str | None], expected: str) -> NDArray[np.str_]:
    """Words through a reader, each spelling read once."""
    known: dict[Any, str] = {}
    out: list[str] = []
    for i, cell in enumerate(given.cells):
        found = known.get(cell)
        if found is None:
            text = "" if _is_missing(cell) else " ".join(str(cell).lower().replace("_", " ").split())
            meant = "" if not text else read(text)
            if meant is None:
                given.fault(i, expected)
                out.append("")
                continue
            found = known[cell] = meant
        out.append(found)
    return np.array(out, dtype=np.str_)
