"""Rounds: eighteen decision graphs and an objective."""

from caddiebrain.round.hole_plan import HolePlan, Switch
from caddiebrain.round.options import Aim, Option
from caddiebrain.round.plan import RoundPlan, plan_round
from caddiebrain.round.record import PlanRecord

__all__ = ["Aim", "HolePlan", "Option", "PlanRecord", "RoundPlan", "Switch", "plan_round"]
