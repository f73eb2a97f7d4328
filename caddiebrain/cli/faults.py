"""What went wrong, as lines on standard error and an exit code."""

import os
import re
import sys
import traceback
from collections.abc import Sequence
from typing import cast

import typer
from pydantic import ValidationError

from caddiebrain.errors import CaddieError, told
from caddiebrain.faults import fault_lines as lines_of
from caddiebrain.faults import is_bad_input

__all__ = ["BAD_INPUT", "BROKEN_PIPE", "INTERRUPTED", "OUR_FAULT", "fault_lines", "tell"]

BAD_INPUT = 2
OUR_FAULT = 70
INTERRUPTED = 130
BROKEN_PIPE = 141

_UsageError = cast(type[Exception], typer.BadParameter.__base__)
"""A wrong command line; the class has moved between versions of typer, its child has not."""


def fault_lines(error: Exception) -> list[str]:
    """Return one printable line per fault; of the command line's own errors too."""
    if isinstance(error, _UsageError):
        message = _usage(error)
        error = CaddieError(f"{message.rstrip('.')}; caddiebrain {_verb(error)}--help shows what there is")
    return lines_of(error)


def _usage(error: Exception) -> str:
    """What is wrong with a command line, in our own words where a value is."""
    message = str(getattr(error, "format_message", error.__str__)())
    cause, option = error.__cause__, re.match(r"Invalid value(?: for '?([^':]+)'?)?: ", message)
    if option is None:
        return message
    if not isinstance(cause, ValidationError):
        return f"{option[1]}: {message[option.end() :]}" if option[1] else message[option.end() :]
    found, expected = told(cause.errors()[0])
    expected = re.sub(r"^'.*?' is not |, unable to parse \w+ as \w+ \w+$", "", expected)
    return f"{option[1]}: found {found}; expected {expected}"


def _verb(error: Exception) -> str:
    """The verb a usage error belongs to, with a space after it; nothing where there is none."""
    context = getattr(error, "ctx", None)
    words: Sequence[str] = context.command_path.split()[1:] if context is not None else ()
    return "".join(f"{word} " for word in words)


def tell(error: Exception) -> int:
    """Write an error to standard error and return the exit code it deserves."""
    if is_bad_input(error) or isinstance(error, _UsageError):
        for line in fault_lines(error):
            print(f"caddiebrain: {line}", file=sys.stderr)
        return BAD_INPUT
    if os.environ.get("CADDIEBRAIN_TRACEBACK"):
        traceback.print_exception(error)
    else:
        print(f"caddiebrain: a fault of the program, not yours: {fault_lines(error)[0]}", file=sys.stderr)
        print("caddiebrain: with CADDIEBRAIN_TRACEBACK=1 set it says where", file=sys.stderr)
    return OUR_FAULT
