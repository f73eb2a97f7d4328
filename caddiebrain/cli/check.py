"""``caddiebrain check``: is this file sound, and what was read from it?"""

import json
from pathlib import Path
from typing import Annotated

import typer

import caddiebrain as cb
from caddiebrain.cli.output import show
from caddiebrain.report.text import course_page, player_page

__all__ = ["run"]


def run(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A course or a player.")],
) -> None:
    """Say what a course or player file holds, what was assumed, and everything that is wrong with it."""
    if _is_player(file):
        show(player_page(cb.load_player(file)))
    else:
        show(course_page(cb.load_course(file)))


def _is_player(file: Path) -> bool:
    """Whether the content is a player's; whatever cannot be told apart is left to the course reader."""
    try:
        data = json.loads(file.read_bytes())
    except (OSError, ValueError, RecursionError):
        return False
    return isinstance(data, dict) and not data.keys().isdisjoint({"patterns", "putting", "short_game"})
