"""What the solvers hand back: frozen records with status, bounds and effort."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

__all__ = ["BudgetSolution", "ExpectedSolution", "ProgramSolution", "Status", "UtilitySolution"]


class Status(StrEnum):
    """How a solve ended."""

    PROVEN = "proven"
    """The bounds meet within the tolerance."""
    STOPPED = "stopped"
    """The sweeps ran out, or rounding got in the way, before the bounds met."""


@dataclass(frozen=True)
class ExpectedSolution:
    """Fewest expected strokes from every state.

    Attributes
    ----------
    value : array of float64, shape (S,)
        Expected strokes to the goal under ``choice``, which is the best there is within the bounds.
    choice : array of int64, shape (S,)
        Running index of the choice to make; -1 at the goal.
    lower, upper : array of float64, shape (S,)
        Proven bounds on the fewest expected strokes.
    status : Status
        ``proven`` when the bounds meet within the tolerance everywhere.
    residual : float
        Largest change one more exact sweep would make, in strokes, rounding included.
    sweeps : int
        Sweeps over all choices.
    """

    value: NDArray[np.float64]
    choice: NDArray[np.int64]
    lower: NDArray[np.float64]
    upper: NDArray[np.float64]
    status: Status
    residual: float
    sweeps: int

    @property
    def gap(self) -> float:
        """Largest distance between the bounds, in strokes."""
        return float((self.upper - self.lower).max())

    def __repr__(self) -> str:
        size = f"{len(self.value)} states, gap {self.gap:.1e}, {self.sweeps} sweeps"
        return f"ExpectedSolution({self.status}, {size})"


@dataclass(frozen=True)
class BudgetSolution:
    """Best chance, or best mean reward, for every number of strokes left and every state.

    Attributes
    ----------
    value : array of float64, shape (K + 1, S)
        Row k: with k strokes left.
    choice : array of int32, shape (K + 1, S)
        Running index of the choice to make; -1 at the goal.
    status : Status
        ``proven`` when no choice left out can add more than ``residual``.
    residual : float
        Proven bound on how much higher the best value can be anywhere.
    swept : int
        Choices looked at in a layer, on average; all C of them when nothing was left out. The few that guesses and
        samples are made of are not counted.
    """

    value: NDArray[np.float64]
    choice: NDArray[np.int32]
    status: Status
    residual: float
    swept: int

    def __repr__(self) -> str:
        layers, states = self.value.shape
        return (
            f"BudgetSolution({self.status}, {layers} layers, {states} states, residual {self.residual:.1e})"
        )


@dataclass(frozen=True)
class UtilitySolution:
    """Best mean utility for every number of strokes taken and every state.

    Attributes
    ----------
    value : array of float64, shape (n + 1, S)
        Row t: with t strokes taken.
    choice : array of int32, shape (n + 1, S)
        Running index of the choice to make; -1 at the goal.
    status, residual, swept
        As in ``BudgetSolution``, the residual on the scale of the utility.
    """

    value: NDArray[np.float64]
    choice: NDArray[np.int32]
    status: Status
    residual: float
    swept: int

    def __repr__(self) -> str:
        layers, states = self.value.shape
        return (
            f"UtilitySolution({self.status}, {layers} layers, {states} states, residual {self.residual:.1e})"
        )


@dataclass(frozen=True)
class ProgramSolution:
    """The linear program's answer.

    Attributes
    ----------
    value : array of float64, shape (S,)
        Fewest expected strokes; 0 at the goal.
    visits : array of float64, shape (C,)
        How often each choice is expected to be made.
    status : Status
        ``proven`` when the solver says optimal.
    """

    value: NDArray[np.float64]
    visits: NDArray[np.float64]
    status: Status

    def __repr__(self) -> str:
        return f"ProgramSolution({self.status}, {len(self.value)} states, {len(self.visits)} choices)"
