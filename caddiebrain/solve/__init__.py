"""Solvers for state graphs. They know states, choices, chances and strokes, and nothing else."""

from typing import TYPE_CHECKING, Any

from caddiebrain.solve.budget import within_budget
from caddiebrain.solve.evaluate import evaluate, visit_frequencies
from caddiebrain.solve.expected import choice_values, fewest_strokes
from caddiebrain.solve.forward import BudgetFlow, ScoreDistribution, budget_flow, score_pmf
from caddiebrain.solve.records import (
    BudgetSolution,
    ExpectedSolution,
    ProgramSolution,
    Status,
    UtilitySolution,
)
from caddiebrain.solve.simulation import simulate
from caddiebrain.solve.utility import best_utility

if TYPE_CHECKING:
    from caddiebrain.solve.program import linear_program

__all__ = [
    "BudgetFlow",
    "BudgetSolution",
    "ExpectedSolution",
    "ProgramSolution",
    "ScoreDistribution",
    "Status",
    "UtilitySolution",
    "best_utility",
    "budget_flow",
    "choice_values",
    "evaluate",
    "fewest_strokes",
    "linear_program",
    "score_pmf",
    "simulate",
    "visit_frequencies",
    "within_budget",
]


def __getattr__(name: str) -> Any:
    if name == "linear_program":
        from caddiebrain.solve.program import linear_program  # PuLP is slow to import

        return linear_program
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
