"""``caddiebrain serve``: the HTTP API."""

import sys
from pathlib import Path
from typing import Annotated

import typer

import caddiebrain as cb
from caddiebrain.cli.inputs import checked
from caddiebrain.errors import InputError
from caddiebrain.service import ServiceSettings

__all__ = ["run"]

_SHOWN = ServiceSettings()


def run(
    host: Annotated[
        str, typer.Option("--host", metavar="ADDRESS", help="Address to listen on.")
    ] = "127.0.0.1",
    port: Annotated[
        int, typer.Option("--port", metavar="N", min=0, max=65535, help="Port; 0 takes a free one.")
    ] = 8046,
    workers: Annotated[
        int, typer.Option("--workers", metavar="N", help="Processes that plan.")
    ] = _SHOWN.workers,
    seconds: Annotated[
        float, typer.Option("--seconds", metavar="S", help="Longest a request may be worked on.")
    ] = _SHOWN.seconds,
    memory: Annotated[
        int, typer.Option("--memory", metavar="MB", help="Most memory of one worker; 0 for no limit.")
    ] = _SHOWN.memory_mb or 0,
    body: Annotated[
        int, typer.Option("--body", metavar="BYTES", help="Largest request.")
    ] = _SHOWN.body_bytes,
    waiting: Annotated[
        int, typer.Option("--waiting", metavar="N", help="Requests that may wait for a worker.")
    ] = _SHOWN.waiting,
    plans: Annotated[
        int, typer.Option("--plans", metavar="N", help="Finished plans kept while it runs.")
    ] = _SHOWN.plans,
    course: Annotated[
        list[str] | None,
        typer.Option("--course", metavar="NAME=FILE", help="A course requests may name; repeatable."),
    ] = None,
    player: Annotated[
        list[str] | None,
        typer.Option("--player", metavar="NAME=FILE", help="A player requests may name; repeatable."),
    ] = None,
) -> None:
    """Serve plans to other programs over HTTP, until it is stopped."""
    courses, players = _named("--course", course), _named("--player", player)
    for file in courses.values():
        cb.load_course(file)
    for file in players.values():
        cb.load_player(file)
    settings = checked(
        ServiceSettings,
        "serve",
        {
            "workers": ("--workers", workers),
            "seconds": ("--seconds", seconds),
            "memory_mb": ("--memory", memory or None),
            "body_bytes": ("--body", body),
            "waiting": ("--waiting", waiting),
            "plans": ("--plans", plans),
            "courses": ("--course", _SHOWN.courses | courses),
            "players": ("--player", _SHOWN.players | players),
        },
    )
    try:
        from caddiebrain.service.run import serve
    except ModuleNotFoundError as error:
        found = f"no {error.name}"
        raise InputError.one("serve", "extra", found, "pip install 'caddiebrain[service]'") from None
    serve(settings, host, port, started=_say)


def _say(address: str) -> None:
    print(f"caddiebrain: serving on {address}; openapi.json describes it, Ctrl-C stops it", file=sys.stderr)


def _named(option: str, given: list[str] | None) -> dict[str, Path]:
    """Read NAME=FILE."""
    found = {}
    for text in given or []:
        name, mark, file = text.partition("=")
        if not (name and mark and file):
            raise typer.BadParameter(f"{option}: found {text!r}; expected NAME=FILE")
        found[name] = Path(file)
    return found
