"""``caddiebrain check``: is this file sound, and what was read from it?"""

import json
from pathlib import Path
from typing import Annotated

import typer

import caddiebrain as cb
from caddiebrain.cli.inputs import AsJson, Tees, read_course
from caddiebrain.cli.output import show, show_text
from caddiebrain.course import describe_course
from caddiebrain.report.text import course_page, player_page

__all__ = ["run"]


def run(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A course or a player.")],
    tees: Tees = None,
    as_json: AsJson = False,
) -> None:
    """Say what a course or player file holds, what was assumed, and everything that is wrong with it."""
    if _is_player(file):
        player = cb.load_player(file)
        show_text(player.model_dump_json(indent=2)) if as_json else show(player_page(player))
    else:
        report = describe_course(read_course(file, tees))
        show_text(report.model_dump_json(indent=2)) if as_json else show(course_page(report))


def _is_player(file: Path) -> bool:
    """Whether the content is a player's; whatever cannot be told apart is left to the course reader."""
    try:
        data = json.loads(file.read_bytes())
    except (OSError, ValueError, RecursionError):
        return False
    return isinstance(data, dict) and not data.keys().isdisjoint({"patterns", "putting", "short_game"})
