"""What to hit from every place on a golf hole, to bring the round in at or under a target.

Names are fetched from their rooms when first used, so importing the package is quick and a program that only
solves graphs never loads the geometry.
"""

import logging
from typing import TYPE_CHECKING

from caddiebrain.opening import opener
from caddiebrain.version import __version__

if TYPE_CHECKING:
    import caddiebrain.demo as demo
    import caddiebrain.plots as plots
    import caddiebrain.solve as solve
    import caddiebrain.testing as testing
    from caddiebrain.batch import PlanJob, PlanResult, plan_many
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
    from caddiebrain.insight.bag import choose_bag
    from caddiebrain.insight.breakeven import break_evens
    from caddiebrain.insight.carry import carry_card, price_card
    from caddiebrain.insight.compare import compare
    from caddiebrain.insight.disasters import disaster_frontier, limit_disasters, limit_disasters_of_round
    from caddiebrain.insight.played import load_played_round
    from caddiebrain.insight.practice import practice_priorities
    from caddiebrain.insight.press import press
    from caddiebrain.insight.review import review
    from caddiebrain.player import Level, Player, fit_player, load_player, load_records, update_player
    from caddiebrain.report import book_html, write_book
    from caddiebrain.round import (
        MatchPlay,
        MaximumScore,
        ParBogey,
        RoundPlan,
        Stableford,
        course_handicap,
        plan_format,
        plan_round,
    )
    from caddiebrain.schemas import json_schema
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
    "MatchPlay",
    "MaximumScore",
    "ParBogey",
    "PlanJob",
    "PlanResult",
    "Player",
    "PlayerError",
    "RecordsError",
    "RoundPlan",
    "Setup",
    "Shape",
    "SolveError",
    "Stableford",
    "StateGraph",
    "UnknownError",
    "__version__",
    "book_html",
    "break_evens",
    "carry_card",
    "choose_bag",
    "compare",
    "course_handicap",
    "demo",
    "disaster_frontier",
    "fit_player",
    "json_schema",
    "limit_disasters",
    "limit_disasters_of_round",
    "load_course",
    "load_played_round",
    "load_player",
    "load_records",
    "plan_format",
    "plan_many",
    "plan_round",
    "plots",
    "practice_priorities",
    "press",
    "price_card",
    "review",
    "solve",
    "testing",
    "update_player",
    "write_book",
]

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
    "batch": ("PlanJob", "PlanResult", "plan_many"),
    "schemas": ("json_schema",),
    "terms": ("Height", "Lie", "Shape"),
    "graph": ("StateGraph",),
    "course": ("Setup", "load_course"),
    "player": ("Level", "Player", "fit_player", "load_player", "load_records", "update_player"),
    "flight": ("Conditions",),
    "round": (
        "MatchPlay",
        "MaximumScore",
        "ParBogey",
        "RoundPlan",
        "Stableford",
        "course_handicap",
        "plan_format",
        "plan_round",
    ),
    "insight": (
        "break_evens",
        "carry_card",
        "choose_bag",
        "compare",
        "disaster_frontier",
        "limit_disasters",
        "limit_disasters_of_round",
        "load_played_round",
        "practice_priorities",
        "press",
        "price_card",
        "review",
    ),
    "report": ("book_html", "write_book"),
    "demo": (),
    "plots": (),
    "solve": (),
    "testing": (),
}

logging.getLogger(__name__).addHandler(logging.NullHandler())

__getattr__ = opener(__name__, _ROOMS)


def __dir__() -> list[str]:
    return sorted(__all__)
