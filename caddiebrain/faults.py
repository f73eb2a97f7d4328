"""An error as lines a person or a program can read: which file or field, what was found, what would do."""

from collections.abc import Iterator
from typing import get_args

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from caddiebrain.errors import CaddieError, Fault, InputError, told

__all__ = [
    "FaultRecord",
    "FaultReport",
    "fault_lines",
    "fault_record",
    "fault_report",
    "is_bad_input",
    "model_faults",
]

_MOST_LINES = 100


class _Record(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class FaultRecord(_Record):
    """One thing wrong: as a line and, where it is known, in its parts."""

    line: str
    source: str | None = Field(default=None, description="the file or the argument")
    where: str | None = Field(default=None, description="the place in it")
    found: str | None = None
    expected: str | None = None


class FaultReport(_Record):
    """Why a request or a file was refused."""

    schema_version: int = Field(default=1, ge=1, le=1)
    error: str = Field(description="in a few words")
    faults: tuple[FaultRecord, ...]


def is_bad_input(error: BaseException) -> bool:
    """Whether an error is one that whoever gave the input can mend."""
    return isinstance(error, CaddieError | ValidationError | OSError)


def fault_lines(error: BaseException) -> list[str]:
    """Return one printable line per fault.

    Parameters
    ----------
    error : exception
        Ours, a file's that cannot be opened, a model's that refused a value; of any other its kind and its words.
    """
    lines = [_printable(line) for line in _raw_lines(error)]
    if len(lines) > _MOST_LINES:
        return [*lines[:_MOST_LINES], _more(len(lines))]
    return lines


def _more(faults: int) -> str:
    return f"and {faults - _MOST_LINES} more faults; mend these first"


def fault_report(
    error: BaseException, words: str = "bad input", model: type[BaseModel] | None = None
) -> FaultReport:
    """Return an error as a record that other programs can read.

    Parameters
    ----------
    error : exception
    words : str
        What is the matter, in a few words.
    model : type of BaseModel, optional
        What refused the input, for the names of its fields.
    """
    if isinstance(error, InputError):
        found, source = error.faults, error.source
    elif isinstance(error, ValidationError):
        found, source = model_faults(error, model), None
    else:
        return FaultReport(error=words, faults=tuple(FaultRecord(line=line) for line in fault_lines(error)))
    parts = [fault_record(fault, source) for fault in found[:_MOST_LINES]]
    if len(found) > _MOST_LINES:
        parts.append(FaultRecord(line=_more(len(found))))
    return FaultReport(error=words, faults=tuple(parts))


def fault_record(fault: Fault, source: str | None = None) -> FaultRecord:
    """Return a fault as a line and in its parts."""
    line = _printable(f"{fault}" if source is None else f"{source}: {fault}")
    return FaultRecord(
        line=line, source=source, where=fault.where, found=fault.found, expected=fault.expected
    )


def model_faults(
    error: ValidationError, model: type[BaseModel] | None = None, within: str = ""
) -> tuple[Fault, ...]:
    """One fault for each field that a model refused, where it stands with dots between.

    Parameters
    ----------
    error : ValidationError
    model : type of BaseModel, optional
        The one that refused, for the names of its fields.
    within : str
        Where what it refused stands itself.
    """
    wanted: dict[tuple[str, str], list[str]] = {}
    for one in error.errors(include_url=False):
        place = [within, *_place(one["loc"])] if within else _place(one["loc"])
        if one["type"] == "misfit":
            parts = one["ctx"]
            place, found, expected = [*place, parts["where"]], parts["found"], parts["expected"]
        elif one["type"] == "json_invalid":
            place, found, expected = ["body"], one["ctx"]["error"], "a JSON object"
        else:
            found, expected = told(one)
            if one["type"] == "extra_forbidden":
                expected = _no_such_field(one["loc"], model)
        said = wanted.setdefault((".".join(place) or "value", found), [])
        if expected not in said:
            said.append(expected)
    return tuple(Fault(where, found, ", or ".join(said)) for (where, found), said in wanted.items())


def _place(loc: tuple[int | str, ...]) -> list[str]:
    """Where a value stands, up to the kinds of a union that were tried on it: "literal['front','back']"."""
    place = []
    for part in map(str, loc):
        if "[" in part:
            break
        place.append(part)
    return place


def _no_such_field(loc: tuple[int | str, ...], model: type[BaseModel] | None) -> str:
    """What would do for a field that is none: the names of those there are, where they are known."""
    for part in loc[:-1]:
        field = model.model_fields.get(str(part)) if model is not None else None
        kinds = [] if field is None else [field.annotation, *get_args(field.annotation)]
        model = next((k for k in kinds if isinstance(k, type) and issubclass(k, BaseModel)), None)
    return "no field of this name" if model is None else f"one of {', '.join(model.model_fields)}"


def _raw_lines(error: BaseException) -> Iterator[str]:
    if isinstance(error, InputError):
        yield from (f"{error.source}: {fault}" for fault in error.faults)
    elif isinstance(error, CaddieError):
        yield from str(error).splitlines()
    elif isinstance(error, ValidationError):
        yield from map(str, model_faults(error))
    elif isinstance(error, OSError):
        yield f"{error.filename or 'file'}: {error.strerror or error}"
    else:
        yield f"{type(error).__name__}: {error}"


def _printable(line: str) -> str:
    """One line, without the control characters a hostile file could send to a terminal."""
    spaced = "".join(c if c.isprintable() or c.isspace() else "\N{REPLACEMENT CHARACTER}" for c in line)
    return " ".join(spaced.split())
