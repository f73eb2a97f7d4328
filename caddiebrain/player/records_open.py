"""Opening records, whatever they come in: CSV or JSON files, rows, frames. Ends in raw tables of cells."""

import csv
import io
import json
import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from caddiebrain.errors import Fault, RecordsError

__all__ = ["RawTable", "open_records"]

_KEYS = ("cards", "rounds", "tallies", "shots", "short_game", "putts")


@dataclass(frozen=True)
class RawTable:
    """A table as found: columns of cells (text, number or None) under their headings.

    ``rows`` names each row the way its reader would find it; ``kind`` is empty where the headings must tell;
    ``units`` is "yards", "metres" or empty where nothing was declared.
    """

    source: str
    columns: dict[str, list[Any]]
    rows: Sequence[str]
    kind: str = ""
    units: str = ""


def open_records(records: Any) -> list[RawTable]:
    """Open records of any form.

    Parameters
    ----------
    records : path, mapping, sequence or frame
        A CSV or JSON file; rows (mappings); a mapping of table names to rows or frames; a pandas, polars or
        other frame that narwhals knows; or a sequence of any of these.

    Raises
    ------
    RecordsError
        If there is nothing to read, or it is something else.
    """
    found: list[RawTable] = []
    _open(records, "records", found)
    return found


def _open(records: Any, source: str, found: list[RawTable], kind: str = "", units: str = "") -> None:
    if isinstance(records, str | os.PathLike):
        found.extend(_open_path(Path(records)))
    elif isinstance(records, Mapping):
        _open_mapping(records, source, found)
    elif _is_frame(records):
        columns = _frame_columns(records, source)
        length = len(next(iter(columns.values()), []))
        found.append(RawTable(source, columns, _Numbered("row", length), kind, units))
    elif isinstance(records, Iterable):
        _open_sequence(list(records), source, found, kind, units)
    else:
        raise RecordsError.one(source, "records", type(records).__name__, "a path, rows or a frame")


def _open_mapping(records: Mapping[str, Any], source: str, found: list[RawTable]) -> None:
    """A mapping of table names to tables, or one table as columns."""
    named = [key for key in records if key in _KEYS]
    strange = sorted(str(key) for key in records if key not in (*_KEYS, "units", "schema_version", "notes"))
    if named and not strange:
        for key in named:
            kind = "cards" if key == "rounds" else key
            _open(records[key], f"{source}: {key}", found, kind, str(records.get("units", "")))
        return
    columns = {str(k): _cells(v) for k, v in records.items() if isinstance(v, list | tuple) or _is_column(v)}
    lengths = {len(v) for v in columns.values()}
    if columns and len(columns) == len(records) and len(lengths) == 1:
        found.append(RawTable(source, columns, _Numbered("row", lengths.pop())))
        return
    raise RecordsError.one(
        source, "keys", ", ".join(map(str, list(records)[:6])) or "none", f"tables named {', '.join(_KEYS)}"
    )


def _open_sequence(items: list[Any], source: str, found: list[RawTable], kind: str, units: str) -> None:
    """Rows, or several sources."""
    if items and not any(isinstance(item, Mapping) and not _is_bundle(item) for item in items):
        odd = next((i for i, item in enumerate(items) if not _is_source(item)), None)
        if odd is not None:
            fault = Fault(
                f"row {odd + 1}",
                type(items[odd]).__name__,
                "a mapping of columns to values, a path or a frame",
            )
            raise RecordsError(source, [fault])
        for item in items:
            _open(item, source, found, kind, units)
        return
    strange = [i for i, item in enumerate(items, start=1) if not isinstance(item, Mapping)]
    if strange:
        fault = Fault(
            f"row {strange[0]}", type(items[strange[0] - 1]).__name__, "a mapping of columns to values"
        )
        raise RecordsError(source, [fault])
    groups: dict[tuple[str, ...], list[int]] = {}
    for i, item in enumerate(items):
        groups.setdefault(tuple(item), []).append(i)
    if not groups:
        if kind:
            return
        raise RecordsError.one(source, "rows", "none", "at least one row")
    for keys, rows in _merged(groups).items():
        columns = {str(key): _cells(items[i].get(key) for i in rows) for key in keys}
        found.append(RawTable(source, columns, [f"row {i + 1}" for i in rows], kind, units))


def _merged(groups: dict[tuple[str, ...], list[int]]) -> dict[tuple[str, ...], list[int]]:
    """Join groups of rows whose keys differ only by what is left out."""
    merged: dict[tuple[str, ...], list[int]] = {}
    for keys, rows in sorted(groups.items(), key=lambda pair: -len(pair[0])):
        home = next((have for have in merged if set(keys) <= set(have)), None)
        merged.setdefault(home or keys, []).extend(rows)
    return {keys: sorted(rows) for keys, rows in merged.items()}


def _is_bundle(item: Mapping[str, Any]) -> bool:
    return any(key in _KEYS and not isinstance(item[key], str | int | float | None) for key in item)


def _open_path(path: Path) -> list[RawTable]:
    source = str(path)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise RecordsError.one(source, "file", error.strerror or str(error), "a readable file") from None
    except UnicodeDecodeError:
        raise RecordsError.one(source, "file", "bytes that are no UTF-8 text", "a CSV or JSON file") from None
    if not text.strip():
        raise RecordsError.one(source, "file", "nothing", "a CSV or JSON file of records")
    if text.lstrip()[0] in "[{":
        return _open_json(text, source)
    return [_open_csv(text, source)]


def _open_json(text: str, source: str) -> list[RawTable]:
    try:
        data = json.loads(text)
    except json.JSONDecodeError as error:
        where = f"line {error.lineno} column {error.colno}"
        raise RecordsError.one(source, where, error.msg, "valid JSON") from None
    found: list[RawTable] = []
    _open(data, source, found)
    return found


def _open_csv(text: str, source: str) -> RawTable:
    """One table; lines that start with # before the heading may declare "units: metres"."""
    lines = text.splitlines()
    units, first = "", 0
    while first < len(lines) and (not lines[first].strip() or lines[first].lstrip().startswith("#")):
        words = lines[first].lstrip("# \t").lower().split(":")
        if words[0].strip() == "units" and len(words) == 2:
            units = words[1].strip()
        first += 1
    if first == len(lines):
        raise RecordsError.one(source, "file", "comments alone", "a heading and rows")
    heading = lines[first]
    mark = max(",;\t", key=heading.count)
    reader = csv.reader(io.StringIO("\n".join(lines[first + 1 :])), delimiter=mark)
    names = [cell.strip() for cell in next(csv.reader([heading], delimiter=mark))]
    try:
        numbered = [(reader.line_num + first + 1, row) for row in reader]
    except csv.Error as error:
        raise RecordsError.one(source, f"line {first + 1 + reader.line_num}", str(error), "CSV") from None
    body = [(n, row) for n, row in numbered if any(cell.strip() for cell in row)]
    _check_shape(source, names, body, f"line {first + 1}")
    width = len(names)
    cells = [row[:width] if len(row) >= width else row + [""] * (width - len(row)) for _, row in body]
    columns = {
        name: list(column) for name, column in zip(names, zip(*cells, strict=True), strict=True) if name
    }
    if mark == ";":
        columns = {name: [cell.replace(",", ".") for cell in column] for name, column in columns.items()}
    return RawTable(source, columns, [f"line {n}" for n, _ in body], units=units)


def _check_shape(source: str, names: list[str], body: list[tuple[int, list[str]]], where: str) -> None:
    if not body:
        raise RecordsError.one(source, "file", "a heading and no rows", "at least one row")
    twice = {name for name in names if name and names.count(name) > 1}
    faults = [Fault(where, f"heading {name!r} twice", "each heading once") for name in sorted(twice)]
    faults += [
        Fault(f"line {n}", f"{len(row)} cells", f"{len(names)} cells, as in the heading")
        for n, row in body
        if any(cell.strip() for cell in row[len(names) :])
    ]
    if faults:
        raise RecordsError(source, faults)


class _Numbered(Sequence[str]):
    """Row names without a list of them: "row 1", "row 2", ..."""

    def __init__(self, word: str, length: int) -> None:
        self._word, self._length = word, length

    def __len__(self) -> int:
        return self._length

    def __getitem__(self, i: Any) -> Any:
        return f"{self._word} {range(1, self._length + 1)[i]}"


def _is_frame(records: Any) -> bool:
    return hasattr(records, "columns") and (hasattr(records, "__dataframe__") or hasattr(records, "to_dict"))


def _frame_columns(frame: Any, source: str) -> dict[str, list[Any]]:
    """Columns of a pandas, polars or other frame, through narwhals."""
    try:
        import narwhals as nw
    except ImportError:
        raise RecordsError.one(
            source,
            "records",
            f"a frame ({type(frame).__name__})",
            "narwhals: pip install 'caddiebrain[frames]'",
        ) from None
    try:
        table = nw.from_native(frame, eager_only=True)
    except TypeError as error:
        raise RecordsError.one(source, "records", str(error), "a pandas or polars frame, not lazy") from None
    return {str(name): _cells(table[name].to_list()) for name in table.columns}


def _cells(cells: Iterable[Any]) -> list[Any]:
    """Cells with None for what is missing; frames have marks of their own for it, which are no number and no text."""
    return [None if type(cell).__name__ in ("NAType", "NaTType") else cell for cell in cells]


def _is_column(value: Any) -> bool:
    """Whether a value is an array or a series: what lies flat and can be listed."""
    return getattr(value, "ndim", None) == 1 and hasattr(value, "__iter__")


def _is_source(item: Any) -> bool:
    """Whether a part of a list can be records itself."""
    if isinstance(item, str | os.PathLike | Mapping) or _is_frame(item):
        return True
    return isinstance(item, Iterable) and not hasattr(item, "_fields") and not _is_column(item)
