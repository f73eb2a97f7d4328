"""A golfer's records: shots, tallies, short game, putts and round cards, read, checked and put in yards and feet.

What is certain to be wrong (a negative number of tries, more hits than tries, a date to come) is refused, with
every such cell named; what is only missing or odd is left out or kept with a warning that names the row.
"""

import datetime as dt
import logging
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from caddiebrain.errors import RecordsError
from caddiebrain.player.records_cells import UNIT_WORDS, Ledger, read_cells
from caddiebrain.player.records_checks import check_dates, check_table
from caddiebrain.player.records_columns import TABLES, TableKind, kind_of_table
from caddiebrain.player.records_open import RawTable, open_records

__all__ = ["Records", "Table", "load_records"]

Table = dict[str, NDArray[Any]]
"""Columns of one kind of record by name; numbers NaN and text "" where missing."""

_LOG = logging.getLogger("caddiebrain.player")
_UNIT_IN_HEADING = re.compile(r"(.*?)[\s_(\[]+(yd|yds|yards|m|metres|meters|ft|feet)[)\]]*", re.IGNORECASE)
_COLUMNS_NAMED = 8
_PLACE = {"hole", "round"}
"""Headings that say where a row belongs; where they are of no use nobody expects them to be."""
_DECLARED = {
    "yards": ("yd", "ft"),
    "yd": ("yd", "ft"),
    "metres": ("m", "m"),
    "meters": ("m", "m"),
    "m": ("m", "m"),
}


@dataclass(frozen=True)
class Records:
    """Checked records: a table for each kind, and what the reader had to say.

    Parameters
    ----------
    tables : mapping of str to Table
        Keys "cards", "tallies", "shots", "short_game", "putts"; a kind without rows is left out.
    warnings : tuple of str
        Each names the source and the rows.
    """

    tables: Mapping[str, Table] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()

    def __add__(self, other: "Records") -> "Records":
        kinds = [kind.name for kind in TABLES if kind.name in self.tables or kind.name in other.tables]
        tables = {
            kind: {
                name: np.concatenate(
                    [part.tables[kind][name] for part in (self, other) if kind in part.tables]
                )
                for name in next(iter(p.tables[kind] for p in (self, other) if kind in p.tables))
            }
            for kind in kinds
        }
        return Records(tables, (*self.warnings, *other.warnings))

    def __len__(self) -> int:
        return sum(len(next(iter(table.values()))) for table in self.tables.values())

    def __repr__(self) -> str:
        rows = [f"{kind}: {len(next(iter(table.values())))}" for kind, table in self.tables.items()]
        return f"Records({', '.join([*rows, f'warnings: {len(self.warnings)}'])})"

    def ordered(self) -> "Records":
        """Return the same records in an order that their values alone decide."""
        return Records({kind: _sorted(table) for kind, table in self.tables.items()}, self.warnings)

    def to_plain(self) -> dict[str, dict[str, list[Any]]]:
        """Return the tables as plain lists for a file; None where missing, columns without values left out."""
        return {
            kind: {name: _plain(column) for name, column in table.items() if _says_something(column)}
            for kind, table in self.tables.items()
        }

    @classmethod
    def from_plain(cls, plain: Mapping[str, Mapping[str, list[Any]]]) -> Self:
        """Return the records that `to_plain` wrote.

        Raises
        ------
        RecordsError
            If the tables are not what `to_plain` writes.
        """
        tables = {}
        for kind in TABLES:
            if kind.name not in plain:
                continue
            given = plain[kind.name]
            lengths = {len(column) for column in given.values()}
            strange = set(given) - {column.name for column in kind.columns}
            if len(lengths) != 1 or strange:
                found = f"columns {', '.join(sorted(given))} of lengths {sorted(lengths)}"
                raise RecordsError.one("records", kind.name, found, "columns as a fit wrote them")
            tables[kind.name] = _completed(
                kind, {k: _array(kind, k, v) for k, v in given.items()}, lengths.pop()
            )
        return cls(tables)


def load_records(
    records: Any,
    *,
    units: str | None = None,
    aliases: Mapping[str, str] | None = None,
    today: dt.date | None = None,
) -> Records:
    """Read and check records of any form.

    Parameters
    ----------
    records : path, rows, mapping, frame, Records, or a sequence of these
        See ``docs/record-files.md``.
    units : {"yards", "metres"}, optional
        What bare numbers are in where a source does not say: yards (feet on the green) or metres.
    aliases : mapping of str to str, optional
        Own names of clubs: ``{"old faithful": "7-wood"}``.
    today : date, optional
        Dates after it are refused; the computer's day by default.

    Returns
    -------
    Records

    Raises
    ------
    RecordsError
        If anything is certainly wrong; names every row, column and value.
    """
    if isinstance(records, Records):
        return records
    if units is not None and units not in _DECLARED:
        raise RecordsError.one("records", "units", repr(units), "'yards' or 'metres'")
    if aliases is not None and not isinstance(aliases, Mapping):
        found = type(aliases).__name__
        raise RecordsError.one(
            "records", "aliases", found, "a mapping of your own names, {'old faithful': '7-wood'}"
        )
    if isinstance(records, list | tuple) and any(isinstance(part, Records) for part in records):
        parts = [load_records(part, units=units, aliases=aliases, today=today) for part in records]
        return sum(parts[1:], parts[0])
    last = today or dt.date.today()
    total, ledgers = Records(), []
    for raw in open_records(records):
        ledger = Ledger(raw.source)
        ledgers.append(ledger)
        total = total + _read(raw, units, aliases or {}, last, ledger)
    faulty = [ledger for ledger in ledgers if ledger.faults]
    if faulty:
        sources = {ledger.source for ledger in faulty}
        raise RecordsError(", ".join(sorted(sources)), [f for ledger in faulty for f in ledger.closing()])
    warnings = tuple(text for ledger in ledgers for text in ledger.warnings)
    for text in warnings:
        _LOG.warning(text)
    return Records(total.tables, warnings)


def _read(
    raw: RawTable, units: str | None, aliases: Mapping[str, str], today: dt.date, ledger: Ledger
) -> Records:
    """Read one raw table; on faults the records are empty and the ledger says why."""
    length = len(next(iter(raw.columns.values()), []))
    if not length and raw.kind:
        return Records()
    if not length:
        raise RecordsError.one(raw.source, "rows", "none", "at least one row")
    kind, headings = _kind_of(raw)
    _say_unread(raw, kind, headings, ledger)
    long_unit, short_unit = _declared(raw, units, kind, headings, ledger)
    table: Table = {}
    for column in kind.columns:
        if column.name not in headings:
            continue
        heading, written = headings[column.name]
        unit = written or (short_unit if column.unit == "ft" else long_unit)
        cells = raw.columns[heading]
        table[column.name] = read_cells(column, heading, cells, raw.rows, unit, ledger, aliases)
    as_written = {name: heading for name, (heading, _) in headings.items()}
    check_dates(table, raw, as_written, today, ledger)
    table = _completed(kind, table, length)  # a cell that cannot be read counts as missing from here on
    keep = check_table(kind.name, table, raw, as_written, ledger)
    if ledger.faults or not keep.any():
        return Records()
    return Records({kind.name: {name: column[keep] for name, column in table.items()}})


def _kind_of(raw: RawTable) -> tuple[TableKind, dict[str, tuple[str, str]]]:
    """The kind of table, and for each of its columns the heading and the unit written in it."""
    for kind in TABLES:
        if raw.kind not in ("", kind.name):
            continue
        headings = _headings(raw, kind)
        if kind_of_table(set(headings), kind):
            return kind, headings
    wanted = "; or ".join(f"{kind.name}: {kind.minimal}" for kind in TABLES if raw.kind in ("", kind.name))
    found = ", ".join(raw.columns)
    raise RecordsError.one(
        raw.source, "headings", found if len(found) < 200 else found[:200] + "...", f"columns of {wanted}"
    )


def _headings(raw: RawTable, kind: TableKind) -> dict[str, tuple[str, str]]:
    found: dict[str, tuple[str, str]] = {}
    words = {word: c for c in kind.columns for word in (c.name.replace("_", ""), *c.words)}
    for heading in raw.columns:
        key, unit = re.sub(r"[^a-z0-9]", "", heading.lower()), ""
        match = _UNIT_IN_HEADING.fullmatch(heading.strip())
        if key not in words and match:
            key, unit = re.sub(r"[^a-z0-9]", "", match[1].lower()), UNIT_WORDS[match[2].lower()]
        column = words.get(key)
        if column is None:
            continue
        if column.name in found:
            clash = f"{found[column.name][0]!r} and {heading!r}"
            raise RecordsError.one(raw.source, "headings", clash, f"one column of {column.name}")
        found[column.name] = (heading, unit)
    return found


def _say_unread(
    raw: RawTable, kind: TableKind, headings: Mapping[str, tuple[str, str]], ledger: Ledger
) -> None:
    """Name the columns that mean nothing here, so that nobody believes them read."""
    read = {heading for heading, _ in headings.values()}
    unread = [h for h in raw.columns if h.strip() and h not in read and h.strip().lower() not in _PLACE]
    if not unread:
        return
    more = f" and {len(unread) - _COLUMNS_NAMED} more" if len(unread) > _COLUMNS_NAMED else ""
    total = kind.name == "shots" and any(heading.strip().lower().startswith("total") for heading in unread)
    why = "; a total distance holds the roll, so it tells no carry" if total else ""
    ledger.warn(f"columns not read: {', '.join(unread[:_COLUMNS_NAMED])}{more}{why}")


def _declared(
    raw: RawTable,
    units: str | None,
    kind: TableKind,
    headings: Mapping[str, tuple[str, str]],
    ledger: Ledger,
) -> tuple[str, str]:
    """Units of bare numbers, long and short; says so when nobody declared them."""
    stated = raw.units.strip().lower() or units or ""
    if stated and stated not in _DECLARED:
        raise RecordsError.one(raw.source, "units", repr(raw.units), "yards or metres")
    if stated:
        return _DECLARED[stated]
    bare = [c for c in kind.columns if c.unit and c.name in headings and not headings[c.name][1]]
    if bare:
        names = ", ".join(f"{headings[c.name][0]} in {'feet' if c.unit == 'ft' else 'yards'}" for c in bare)
        ledger.warn(f"no units declared: read {names}")
    return "yd", "ft"


def _completed(kind: TableKind, table: Table, length: int) -> Table:
    """Add the columns that are not there, all missing, in the order of the kind."""
    out = {}
    for column in kind.columns:
        number = column.kind in ("number", "count", "date")
        empty = np.full(length, np.nan) if number else np.full(length, "", dtype="<U1")
        out[column.name] = table.get(column.name, empty)
    return out


def _sorted(table: Table) -> Table:
    keys = [np.nan_to_num(c, nan=-1e9) if c.dtype.kind == "f" else c for c in table.values()]
    order = np.lexsort(keys[::-1])
    return {name: column[order] for name, column in table.items()}


def _says_something(column: NDArray[Any]) -> bool:
    return bool(np.isfinite(column).any()) if column.dtype.kind == "f" else bool((column != "").any())


def _plain(column: NDArray[Any]) -> list[Any]:
    if column.dtype.kind == "f":
        return [None if value != value else value for value in column.tolist()]
    return [str(value) for value in column.tolist()]


def _array(kind: TableKind, name: str, values: list[Any]) -> NDArray[Any]:
    column = next(c for c in kind.columns if c.name == name)
    try:
        if column.kind in ("number", "count", "date"):
            return np.array([np.nan if v is None else v for v in values], dtype=np.float64)
    except (TypeError, ValueError):
        raise RecordsError.one("records", f"{kind.name}.{name}", "text", "numbers") from None
    return np.array([str(v) for v in values], dtype=np.str_)
