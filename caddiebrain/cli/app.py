"""One app for all verbs, and the one place where an error becomes lines and an exit code."""

import os
import sys
from collections.abc import Sequence
from importlib import import_module
from io import TextIOWrapper
from typing import Annotated, Any, cast

import typer
from typer.core import TyperCommand, TyperGroup

import caddiebrain as cb
from caddiebrain.cli.faults import BROKEN_PIPE, INTERRUPTED, tell
from caddiebrain.cli.output import ReaderGone

__all__ = ["VERBS", "app", "main"]

VERBS = {
    "plan": "Plan a round: what to hit off every tee to score lowest, and to finish at or under the target.",
    "options": "Rank every choice from one place on a hole: for planning, practice and lessons, not during a round.",
    "carry": "Compress a plan into a few rules and one line for each hole, and say what that costs.",
    "compare": "Say why one choice beats another from the same spot, the tee unless you say otherwise.",
    "press": "Say whether to protect or to press with this standing, and at which standings that changes.",
    "doubles": "Keep double bogeys or worse rare at the least cost in strokes.",
    "confidence": "Say how sure the tee choice of a hole is, and how many more recorded shots would settle it.",
    "review": "Say what the choices of a round cost, what the strokes cost, and three things to take home.",
    "practice": "Rank what to practise by how much more often it brings the target.",
    "bag": "Choose which clubs to carry; the player file holds a pattern for every club owned.",
    "fit": "Make a player from records of any kind, a handicap index or both, and say how sure it is of each club.",
    "check": "Say what a file holds, what was assumed, and everything that is wrong with it.",
    "schema": "Show the JSON Schema of a kind of file or record.",
    "serve": "Serve plans to other programs over HTTP, until it is stopped.",
}
"""What each does; it is the ``run`` of the module of its name, whose docstring begins with the same words."""


class _Verbs(TyperGroup):
    """The verbs, of which only the one that is called is imported: the rooms behind them take seconds."""

    def __init__(self, **kept: Any) -> None:
        super().__init__(**kept)
        self.commands = {verb: TyperCommand(verb, help=words) for verb, words in VERBS.items()}

    def resolve_command(self, ctx: Any, args: list[str]) -> tuple[str | None, TyperCommand | None, list[str]]:
        """Return the verb that is called, ready to run, and what is left of the command line."""
        name, shown, rest = super().resolve_command(ctx, args)
        return name, _ready(shown.name) if shown and shown.name else None, rest


def _ready(verb: str) -> TyperCommand:
    one = typer.Typer(add_completion=False, pretty_exceptions_enable=False)
    one.command(verb)(import_module(f"caddiebrain.cli.{verb}").run)
    return cast(TyperCommand, typer.main.get_command(one))


app = typer.Typer(
    name="caddiebrain",
    cls=_Verbs,
    add_completion=False,
    pretty_exceptions_enable=False,
    help="What to hit from every place on a golf hole, from your own shots, to finish at or under a target.",
)


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
        given = list(sys.argv[1:] if arguments is None else arguments)
        code = app(args=given or ["--help"], prog_name="caddiebrain", standalone_mode=False)
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
