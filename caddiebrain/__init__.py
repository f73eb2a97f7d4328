"""What to hit from every place on a golf hole, to bring the round in at or under a target.

Names are fetched from their rooms when first used, so importing the package is quick and a program that only
solves graphs never loads the geometry.
"""

import logging
from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import caddiebrain.demo as demo
    import caddiebrain.solve as solve
    import caddiebrain.testing as testing
    from caddiebrain.course import Setup, load_course
    from caddiebrain.errors import (
        CaddieError,
        CourseError,
        Fault,
        GraphError,
        InputError,
        PlayerError,
        RecordsError,
        SolveError,
        UnknownError,
    )
    from caddiebrain.flight import Conditions
    from caddiebrain.graph import StateGraph
    from caddiebrain.insight.breakeven import break_evens
    from caddiebrain.insight.compare import compare
    from caddiebrain.insight.played import load_played_round
    from caddiebrain.insight.press import press
    from caddiebrain.insight.review import review
    from caddiebrain.player import Level, Player, fit_player, load_player, load_records, update_player
    from caddiebrain.round import RoundPlan, plan_round
    from caddiebrain.terms import Height, Lie, Shape

__all__ = [
    "CaddieError",
    "Conditions",
    "CourseError",
    "Fault",
    "GraphError",
    "Height",
    "InputError",
    "Level",
    "Lie",
    "Player",
    "PlayerError",
    "RecordsError",
    "RoundPlan",
    "Setup",
    "Shape",
    "SolveError",
    "StateGraph",
    "UnknownError",
    "__version__",
    "break_evens",
    "compare",
    "demo",
    "fit_player",
    "load_course",
    "load_played_round",
    "load_player",
    "load_records",
    "plan_round",
    "press",
    "review",
    "solve",
    "testing",
    "update_player",
]

__version__ = "0.1.0"

_ROOMS = {
    "errors": (
        "CaddieError",
        "CourseError",
        "Fault",
        "GraphError",
        "InputError",
        "PlayerError",
        "RecordsError",
        "SolveError",
        "UnknownError",
    ),
    "terms": ("Height", "Lie", "Shape"),
    "graph": ("StateGraph",),
    "course": ("Setup", "load_course"),
    "player": ("Level", "Player", "fit_player", "load_player", "load_records", "update_player"),
    "flight": ("Conditions",),
    "round": ("RoundPlan", "plan_round"),
    "insight": ("break_evens", "compare", "load_played_round", "press", "review"),
    "demo": (),
    "solve": (),
    "testing": (),
}
_HOME = {name: room for room, names in _ROOMS.items() for name in names}

logging.getLogger(__name__).addHandler(logging.NullHandler())


def __getattr__(name: str) -> Any:
    if name in _HOME:
        return getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
    if name in _ROOMS:
        return import_module(f"{__name__}.{name}")
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(__all__)
