"""An error as lines a person or a program can read: which file or field, what was found, what would do."""

from collections.abc import Iterator

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from caddiebrain.errors import CaddieError, InputError

__all__ = ["FaultRecord", "FaultReport", "fault_lines", "fault_report", "is_bad_input"]

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
        more = len(lines) - _MOST_LINES
        return [*lines[:_MOST_LINES], f"and {more} more faults; mend these first"]
    return lines


def fault_report(error: BaseException, words: str = "bad input") -> FaultReport:
    """Return an error as a record that other programs can read."""
    if isinstance(error, InputError):
        parts = [
            FaultRecord(
                line=_printable(f"{error.source}: {fault}"),
                source=error.source,
                where=fault.where,
                found=fault.found,
                expected=fault.expected,
            )
            for fault in error.faults[:_MOST_LINES]
        ]
        more = [FaultRecord(line=line) for line in fault_lines(error)[_MOST_LINES:]]
        return FaultReport(error=words, faults=(*parts, *more))
    return FaultReport(error=words, faults=tuple(FaultRecord(line=line) for line in fault_lines(error)))


def _raw_lines(error: BaseException) -> Iterator[str]:
    if isinstance(error, InputError):
        yield from (f"{error.source}: {fault}" for fault in error.faults)
    elif isinstance(error, CaddieError):
        yield from str(error).splitlines()
    elif isinstance(error, ValidationError):
        for fault in error.errors(include_url=False):
            if fault["type"] == "misfit":
                yield ".".join([*map(str, fault["loc"]), fault["msg"]])
                continue
            where = ".".join(map(str, fault["loc"])) or "value"
            yield f"{where}: found {_brief(fault['input'])}; {fault['msg'].lower()}"
    elif isinstance(error, OSError):
        yield f"{error.filename or 'file'}: {error.strerror or error}"
    else:
        yield f"{type(error).__name__}: {error}"


def _brief(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 80 else text[:77] + "..."


def _printable(line: str) -> str:
    """One line, without the control characters a hostile file could send to a terminal."""
    spaced = "".join(c if c.isprintable() or c.isspace() else "\N{REPLACEMENT CHARACTER}" for c in line)
    return " ".join(spaced.split())
