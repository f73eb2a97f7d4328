"""The demo course and the demo player: invented, complete, shipped inside the wheel."""

from pathlib import Path

from caddiebrain.course import Course, load_course
from caddiebrain.player import Player, load_player

__all__ = ["course", "course_path", "player", "player_path"]

_INSTALLED = Path(__file__).parent
_CHECKOUT = _INSTALLED.parents[1]


def _find(folder: str, name: str) -> Path:
    """Where the wheel put the file, or where it stands in a checkout."""
    installed = _INSTALLED / name
    return installed if installed.exists() else _CHECKOUT / folder / name


def course_path() -> Path:
    """Return the demo course's file: 18 holes, par 72."""
    return _find("course_specs", "demo_course.geojson")


def player_path() -> Path:
    """Return the demo player's file: handicap index about 9."""
    return _find("examples", "demo_player.json")


def course() -> Course:
    """Read the demo course.

    Examples
    --------
    >>> course().par
    72
    """
    return load_course(course_path())


def player() -> Player:
    """Read the demo player.

    Examples
    --------
    >>> player().clubs[0]
    'driver'
    """
    return load_player(player_path())
