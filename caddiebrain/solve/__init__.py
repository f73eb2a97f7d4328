"""Solvers for state graphs. They know states, choices, chances and strokes, and nothing else."""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from caddiebrain.solve.budget import within_budget
from caddiebrain.solve.contract import Contraction, contract
from caddiebrain.solve.evaluate import evaluate, visit_frequencies
from caddiebrain.solve.expected import choice_values, fewest_strokes
from caddiebrain.solve.forward import BudgetFlow, ScoreDistribution, budget_flow, score_pmf
from caddiebrain.solve.frontier import Corner, Frontier, frontier
from caddiebrain.solve.many_utilities import ManyUtilities, best_utilities
from caddiebrain.solve.records import (
    BudgetSolution,
    ExpectedSolution,
    ProgramSolution,
    Status,
    UtilitySolution,
)
from caddiebrain.solve.simulation import simulate
from caddiebrain.solve.utility import best_utility
from caddiebrain.solve.visits import BudgetVisits, budget_visits, expected_visits

if TYPE_CHECKING:
    from caddiebrain.solve.constrained import CappedSolution, Mixture, fewest_strokes_capped
    from caddiebrain.solve.program import linear_program
    from caddiebrain.solve.shared_cap import SharedCap, SharedPart, share_cap

__all__ = [
    "BudgetFlow",
    "BudgetSolution",
    "BudgetVisits",
    "CappedSolution",
    "Contraction",
    "Corner",
    "ExpectedSolution",
    "Frontier",
    "ManyUtilities",
    "Mixture",
    "ProgramSolution",
    "ScoreDistribution",
    "SharedCap",
    "SharedPart",
    "Status",
    "UtilitySolution",
    "best_utilities",
    "best_utility",
    "budget_flow",
    "budget_visits",
    "choice_values",
    "contract",
    "evaluate",
    "expected_visits",
    "fewest_strokes",
    "fewest_strokes_capped",
    "frontier",
    "linear_program",
    "score_pmf",
    "share_cap",
    "simulate",
    "visit_frequencies",
    "within_budget",
]


_LAZY = {
    "CappedSolution": "constrained",
    "Mixture": "constrained",
    "SharedCap": "shared_cap",
    "SharedPart": "shared_cap",
    "fewest_strokes_capped": "constrained",
    "linear_program": "program",
    "share_cap": "shared_cap",
}
"""Names whose module needs PuLP, which is slow to import."""


def __getattr__(name: str) -> Any:
    if name in _LAZY:
        return getattr(import_module(f"{__name__}.{_LAZY[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
