"""NaN and infinity, which Python's JSON reader lets through: in which feature or field of a course file they stand.

Source: RFC 8259, section 6: numeric values that the grammar does not know, such as Infinity and NaN, are not permitted.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from caddiebrain.course.features import told
from caddiebrain.errors import Fault

__all__ = ["CONSTANTS", "Constant", "constant_faults"]

CONSTANTS = ("NaN", "Infinity")
"""Words that stand in a text wherever it has one, with or without a sign."""


@dataclass(frozen=True)
class Constant:
    """Stands in a parsed document where the text has one of these words."""

    word: str


def constant_faults(document: Any) -> list[Fault]:
    """One fault for every feature of a map, or field of another document, that has a constant in it."""
    faults: dict[str, Fault] = {}
    rest: list[tuple[tuple[str | int, ...], Any]] = [((), document)]
    while rest:
        path, value = rest.pop()
        if isinstance(value, Constant):
            where = _where(document, path)
            faults.setdefault(where, Fault(where, f"the value {value.word}", "finite numbers"))
        elif isinstance(value, dict):
            rest += [((*path, key), part) for key, part in reversed(value.items())]
        elif isinstance(value, list):
            rest += [((*path, index), value[index]) for index in reversed(range(len(value)))]
    return list(faults.values())


def _where(document: Any, path: Sequence[str | int]) -> str:
    """The feature, as complaints about maps name it, else the path of the field."""
    if len(path) > 1 and path[0] in ("features", "elements"):
        row = document[path[0]][path[1]]
        return _named(row if isinstance(row, dict) else {}, f"{str(path[0])[:-1]} {int(path[1]) + 1}")
    field = "".join(f"[{part}]" if isinstance(part, int) else f".{part[:40]}" for part in path)
    return field.lstrip(".") or "the file"


def _named(row: Mapping[str, Any], identity: str) -> str:
    if row.get("type") in ("node", "way", "relation") and isinstance(row.get("id"), int):
        identity = f"{row['type']}/{row['id']}"
    tags = row.get("properties", row.get("tags"))
    plain = isinstance(tags, dict)
    return told(
        identity, {key: value for key, value in tags.items() if isinstance(value, str)} if plain else {}
    )
