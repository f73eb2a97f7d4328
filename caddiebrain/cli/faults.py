"""What went wrong, as lines on standard error and an exit code."""

import os
import sys
import traceback
from collections.abc import Iterator, Sequence
from typing import cast

import typer
from pydantic import ValidationError

from caddiebrain.errors import CaddieError, InputError

__all__ = ["BAD_INPUT", "BROKEN_PIPE", "INTERRUPTED", "OUR_FAULT", "fault_lines", "tell"]

BAD_INPUT = 2
OUR_FAULT = 70
INTERRUPTED = 130
BROKEN_PIPE = 141

_MOST_LINES = 100
_UsageError = cast(type[Exception], typer.BadParameter.__base__)
"""A wrong command line; the class has moved between versions of typer, its child has not."""


def fault_lines(error: Exception) -> list[str]:
    """Return one printable line per fault.

    Parameters
    ----------
    error : Exception
        Ours, a file's that cannot be opened, a model's that refused a value, or the command line's own.
    """
    lines = [_printable(line) for line in _raw_lines(error)]
    if len(lines) > _MOST_LINES:
        more = len(lines) - _MOST_LINES
        return [*lines[:_MOST_LINES], f"and {more} more faults; mend these first"]
    return lines


def _raw_lines(error: Exception) -> Iterator[str]:
    if isinstance(error, InputError):
        yield from (f"{error.source}: {fault}" for fault in error.faults)
    elif isinstance(error, CaddieError):
        yield from str(error).splitlines()
    elif isinstance(error, ValidationError):
        for fault in error.errors(include_url=False):
            where = ".".join(map(str, fault["loc"])) or "value"
            yield f"{where}: found {fault['input']!r}; {fault['msg'].lower()}"
    elif isinstance(error, OSError):
        yield f"{error.filename or 'file'}: {error.strerror or error}"
    elif isinstance(error, _UsageError):
        message = getattr(error, "format_message", error.__str__)()
        yield f"{message.rstrip('.')}; caddiebrain {_verb(error)}--help shows what there is"
    else:
        yield f"{type(error).__name__}: {error}"


def _verb(error: Exception) -> str:
    """The verb a usage error belongs to, with a space after it; nothing where there is none."""
    context = getattr(error, "ctx", None)
    words: Sequence[str] = context.command_path.split()[1:] if context is not None else ()
    return "".join(f"{word} " for word in words)


def _printable(line: str) -> str:
    """One line, without the control characters a hostile file could send to a terminal."""
    spaced = "".join(c if c.isprintable() or c.isspace() else "\N{REPLACEMENT CHARACTER}" for c in line)
    return " ".join(spaced.split())


def tell(error: Exception) -> int:
    """Write an error to standard error and return the exit code it deserves."""
    if isinstance(error, (CaddieError, ValidationError, OSError, _UsageError)):
        for line in fault_lines(error):
            print(f"caddiebrain: {line}", file=sys.stderr)
        return BAD_INPUT
    if os.environ.get("CADDIEBRAIN_TRACEBACK"):
        traceback.print_exception(error)
    else:
        print(f"caddiebrain: a fault of the program, not yours: {fault_lines(error)[0]}", file=sys.stderr)
        print("caddiebrain: with CADDIEBRAIN_TRACEBACK=1 set it says where", file=sys.stderr)
    return OUR_FAULT
