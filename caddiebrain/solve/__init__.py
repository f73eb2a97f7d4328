"""Solvers for state graphs. They know states, choices, chances and strokes, and nothing else."""

from caddiebrain.solve.budget import within_budget
from caddiebrain.solve.expected import choice_values, evaluate, fewest_strokes
from caddiebrain.solve.records import BudgetSolution, ExpectedSolution, Status

__all__ = [
    "BudgetSolution",
    "ExpectedSolution",
    "Status",
    "choice_values",
    "evaluate",
    "fewest_strokes",
    "within_budget",
]
