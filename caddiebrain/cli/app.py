"""One app for all verbs, and the one place where an error becomes lines and an exit code."""

import os
import sys
from collections.abc import Sequence
from io import TextIOWrapper
from typing import Annotated

import typer

import caddiebrain as cb
from caddiebrain.cli import (
    bag,
    carry,
    check,
    compare,
    confidence,
    doubles,
    fit,
    options,
    plan,
    practice,
    press,
    review,
    schema,
    serve,
)
from caddiebrain.cli.faults import BROKEN_PIPE, INTERRUPTED, tell
from caddiebrain.cli.output import ReaderGone

__all__ = ["app", "main"]

app = typer.Typer(
    name="caddiebrain",
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    help="What to hit from every place on a golf hole, from your own shots, to finish at or under a target.",
)
app.command("plan")(plan.run)
app.command("options")(options.run)
app.command("carry")(carry.run)
app.command("compare")(compare.run)
app.command("press")(press.run)
app.command("doubles")(doubles.run)
app.command("confidence")(confidence.run)
app.command("review")(review.run)
app.command("practice")(practice.run)
app.command("bag")(bag.run)
app.command("fit")(fit.run)
app.command("check")(check.run)
app.command("schema")(schema.run)
app.command("serve")(serve.run)


def _show_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"caddiebrain {cb.__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool, typer.Option("--version", callback=_show_version, is_eager=True, help="Show the version.")
    ] = False,
) -> None:
    pass


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code.

    Parameters
    ----------
    arguments : sequence of str, optional
        Those of the process when left out.

    Returns
    -------
    int
        0 when all went well, 2 for bad input, 70 for a fault of the program itself.
    """
    if isinstance(sys.stdout, TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")  # a name the terminal cannot show is no reason to stop
    try:
        given = None if arguments is None else list(arguments)
        code = app(args=given, prog_name="caddiebrain", standalone_mode=False)
    except ReaderGone:
        # The reader has gone; let nothing more be written to it while Python closes down.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return BROKEN_PIPE
    except (KeyboardInterrupt, typer.Abort):
        code = INTERRUPTED
    except Exception as error:  # the last door: no traceback reaches a golfer
        return tell(error)
    if code == INTERRUPTED:
        print("caddiebrain: stopped", file=sys.stderr)
    return code if isinstance(code, int) else 0
