"""Rounds: eighteen decision graphs and an objective.

Modules are opened when a name of theirs is first used: whoever plans a round needs few of them.
"""

from typing import TYPE_CHECKING

from caddiebrain.opening import opener

if TYPE_CHECKING:
    from caddiebrain.round.aims import Aim
    from caddiebrain.round.format_plan import FormatPlan, FormatRecord, plan_format
    from caddiebrain.round.formats import MatchPlay, MaximumScore, ParBogey, Stableford
    from caddiebrain.round.handicap import (
        course_handicap,
        net_double_bogey,
        score_differential,
        strokes_received,
    )
    from caddiebrain.round.hole_plan import HolePlan, Switch
    from caddiebrain.round.options import Option
    from caddiebrain.round.plan import RoundPlan, plan_round
    from caddiebrain.round.record import PlanRecord

__all__ = [
    "Aim",
    "FormatPlan",
    "FormatRecord",
    "HolePlan",
    "MatchPlay",
    "MaximumScore",
    "Option",
    "ParBogey",
    "PlanRecord",
    "RoundPlan",
    "Stableford",
    "Switch",
    "course_handicap",
    "net_double_bogey",
    "plan_format",
    "plan_round",
    "score_differential",
    "strokes_received",
]

_MODULES = {
    "aims": ("Aim",),
    "format_plan": (
        "FormatPlan",
        "FormatRecord",
        "plan_format",
    ),
    "formats": (
        "MatchPlay",
        "MaximumScore",
        "ParBogey",
        "Stableford",
    ),
    "handicap": (
        "course_handicap",
        "net_double_bogey",
        "score_differential",
        "strokes_received",
    ),
    "hole_plan": (
        "HolePlan",
        "Switch",
    ),
    "options": ("Option",),
    "plan": (
        "RoundPlan",
        "plan_round",
    ),
    "record": ("PlanRecord",),
}

__getattr__ = opener(__name__, _MODULES)
