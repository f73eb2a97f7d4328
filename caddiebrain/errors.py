"""Every error of the house, in one tree.

::

    CaddieError                     anything a user can mend; the message says the next move
    +-- InputError (ValueError)     a file, a field or an argument is wrong
    |   +-- CourseError             ... in a course file
    |   +-- PlayerError             ... in a player file
    |   +-- RecordsError            ... in shot records
    +-- GraphError (ValueError)     a decision graph that cannot be solved as it stands
    +-- SolveError (RuntimeError)   a solver stopped without a proven answer
    +-- UnknownError (LookupError)  a hole, club, lie or choice that is not there

The command line maps the base class to one line per fault on standard error and exit code 2.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from numbers import Real
from os import PathLike
from types import UnionType
from typing import Any

from pydantic_core import PydanticCustomError

__all__ = [
    "CaddieError",
    "CourseError",
    "Fault",
    "GraphError",
    "InputError",
    "PlayerError",
    "RecordsError",
    "SolveError",
    "UnknownError",
    "field_faults",
    "kind_faults",
    "misfit",
    "number_faults",
    "path_faults",
    "told",
    "would_do",
]


class CaddieError(Exception):
    """Base of every error a user can mend."""


@dataclass(frozen=True)
class Fault:
    """One thing wrong with an input: where it stands, what was found, what would do."""

    where: str
    found: str
    expected: str

    def __str__(self) -> str:
        return f"{self.where}: found {self.found}; expected {self.expected}"


class InputError(CaddieError, ValueError):
    """A file, a field or an argument is wrong; carries every fault found, not only the first.

    Parameters
    ----------
    source : str
        The file, or the name of the argument.
    faults : sequence of Fault
        At least one.
    """

    def __init__(self, source: str, faults: Sequence[Fault]) -> None:
        self.source = source
        self.faults = tuple(faults)
        super().__init__("\n".join(f"{source}: {fault}" for fault in self.faults))

    @classmethod
    def one(cls, source: str, where: str, found: str, expected: str) -> "InputError":
        """Make an error with a single fault."""
        return cls(source, [Fault(where, found, expected)])

    def __reduce__(self) -> tuple[type["InputError"], tuple[str, tuple[Fault, ...]]]:
        return type(self), (self.source, self.faults)


class CourseError(InputError):
    """A course file is wrong."""


class PlayerError(InputError):
    """A player file is wrong."""


class RecordsError(InputError):
    """Shot records are wrong."""


class GraphError(CaddieError, ValueError):
    """A decision graph that cannot be solved as it stands."""


class SolveError(CaddieError, RuntimeError):
    """A solver stopped without a proven answer."""


class UnknownError(CaddieError, LookupError):
    """A hole, club, lie or choice that is not there."""


def field_faults(errors: Iterable[Mapping[str, Any]], fields: Iterable[str]) -> list[Fault]:
    """One fault for each field that a model refused.

    Parameters
    ----------
    errors : iterable of mapping
        What ``errors()`` of pydantic's ``ValidationError`` lists.
    fields : iterable of str
        Those the model has, for one that it has not.
    """
    found: dict[str, tuple[str, list[str]]] = {}
    for error in errors:
        if error["type"] == "misfit":
            parts = error["ctx"]
            found[parts["where"]] = (parts["found"], [parts["expected"]])
            continue
        where = str(error["loc"][0]) if error["loc"] else "value"
        what, do = told(error)
        if error["type"] == "extra_forbidden":
            do = f"one of {', '.join(fields)}"
        wanted = found.setdefault(where, (what, []))[1]
        if do not in wanted:
            wanted.append(do)
    return [Fault(where, what, ", or ".join(wanted)) for where, (what, wanted) in found.items()]


def told(error: Mapping[str, Any]) -> tuple[str, str]:
    """What stands in a field that a model refused, and what would do.

    Parameters
    ----------
    error : mapping
        One of those that ``errors()`` of pydantic's ``ValidationError`` lists.

    Examples
    --------
    >>> told({"type": "missing", "loc": ("shots",), "input": {"number": 4}, "msg": "Field required"})
    ('nothing', 'a value; the field is required')
    """
    if error["type"] == "missing":
        return "nothing", "a value; the field is required"
    text = repr(error["input"])
    do = "no field of this name" if error["type"] == "extra_forbidden" else would_do(str(error["msg"]))
    return text if len(text) <= 60 else text[:57] + "...", do


def would_do(message: str) -> str:
    """What would do, out of a message of pydantic's: no sentence, and no name of a class of ours.

    Examples
    --------
    >>> would_do("Input should be a valid dictionary or instance of GreenForm")
    'an object with fields'
    >>> would_do("Input should be a dictionary or an instance of Level")
    'an object with fields'
    >>> would_do("Tuple should have at most 2 items after validation, not 3")
    'at most 2 items'
    """
    do = re.sub(r"^(?:Value error, |[A-Z]\w* should (?:be|have) )", "", message)
    do = re.sub(r" after validation, not \d+$", "", do)
    return re.sub(r"^a (?:valid )?dictionary(?: or (?:an )?instance of \w+)?", "an object with fields", do)


def misfit(where: str, found: str, expected: str) -> PydanticCustomError:
    """Return what a model's validator raises about fields that do not fit each other; readers write it as a fault."""
    parts = {"where": where, "found": found, "expected": expected}
    return PydanticCustomError("misfit", "{where}: found {found}; expected {expected}", parts)


def number_faults(
    where: str, value: object, low: float, high: float, expected: str, *, whole: bool = False
) -> list[Fault]:
    """One fault if a value is no number from low to high, or no whole one where it must be; else none.

    Parameters
    ----------
    where : str
    value : object
        Whatever came in: text and booleans are no numbers.
    low, high : float
    expected : str
        What would do, in words.
    whole : bool
    """
    if not isinstance(value, Real) or isinstance(value, bool):
        return [Fault(where, _shown(value), expected)]
    number = float(value)
    if low <= number <= high and (not whole or number.is_integer()):
        return []
    return [Fault(where, f"{number:g}", expected)]


def kind_faults(
    where: str, value: object, kind: type | UnionType | tuple[type, ...], expected: str
) -> list[Fault]:
    """One fault if a value is no ``kind``; else none. ``expected`` says in words how to come by one."""
    return [] if isinstance(value, kind) else [Fault(where, _shown(value), expected)]


def path_faults(path: object, otherwise: str) -> list[Fault]:
    """One fault if a path is none, or the text of a file itself; else none.

    Parameters
    ----------
    path : object
        Whatever came in.
    otherwise : str
        What reads content instead.
    """
    if isinstance(path, str) and path.lstrip().startswith(("{", "[", "<")):
        return [Fault("path", f"the text {path.strip()[:20]!r}...", f"a path; {otherwise}")]
    return kind_faults("path", path, (str, PathLike), f"a path; {otherwise}")


def _shown(value: object) -> str:
    """A plain value as it is, anything larger by its kind."""
    plain = value is None or isinstance(value, str | bytes | int | float)
    return repr(value)[:60] if plain else f"{type(value).__name__} object"
