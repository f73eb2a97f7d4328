"""One hole made ready for any objective: the choices that can matter, compiled finely and solved."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from caddiebrain import solve
from caddiebrain.course.model import Hole
from caddiebrain.flight import Conditions, FlightTable
from caddiebrain.hole import GridSpec, HoleCompiler, HoleModel
from caddiebrain.hole.arsenal import Arsenal
from caddiebrain.player.model import Player
from caddiebrain.round.sift import sift

__all__ = ["Day", "SolvedHole", "prepare", "solved_on"]


@dataclass(frozen=True)
class SolvedHole:
    """A hole solved for the lowest expected score.

    Parameters
    ----------
    model : HoleModel
    expected : ExpectedSolution
        Of ``model.graph``.
    choice_strokes : ndarray (choices,)
        Expected strokes to hole out by each choice of the graph.
    score_pmf : ndarray
        Chances of 0, 1, 2, ... strokes on the hole when every choice has the lowest expected score.
    """

    model: HoleModel
    expected: solve.ExpectedSolution
    choice_strokes: NDArray[np.float64]
    score_pmf: NDArray[np.float64]

    def trimmed(self, used: NDArray[np.int32]) -> tuple["SolvedHole", NDArray[np.int32]]:
        """Keep only the choices a policy uses, and all on the tee; return them with their new numbers.

        Parameters
        ----------
        used : ndarray of int32
            Choices of the graph, in any shape; -1 is passed over.

        Returns
        -------
        SolvedHole
        ndarray of int32 (choices,)
            New number of every old choice, -1 if it went.
        """
        model = self.model
        graph, tee = model.graph, model.tee
        marked = np.zeros(graph.n_choices + 1, dtype=bool)  # none is the last of them
        marked[used.ravel()] = marked[self.expected.choice] = True
        keep = marked[:-1]
        keep[graph.choice_start[tee] : graph.choice_start[tee + 1]] = True
        smaller, original = graph.restrict(keep)
        new = np.full(graph.n_choices, -1, dtype=np.int32)
        new[original] = np.arange(len(original), dtype=np.int32)
        in_table = (original >= model.first_choice) & (original < model.first_choice + len(model.table))
        first = int(np.argmax(in_table))
        table = model.table.take(original[in_table] - model.first_choice)
        choice = self.expected.choice
        expected = replace(self.expected, choice=np.where(choice >= 0, new[choice], -1))
        smaller_model = replace(model, graph=smaller, table=table, first_choice=first)
        return replace(
            self, model=smaller_model, expected=expected, choice_strokes=self.choice_strokes[original]
        ), new


def prepare(compiler: HoleCompiler, sifted: bool = True) -> SolvedHole:
    """Compile and solve one hole.

    Parameters
    ----------
    sifted : bool
        Sort out choices first. Without it every choice is compiled finely: slow, for checking what is lost.
    """
    if sifted:
        found = sift(compiler)
        model = compiler.knowing(found.value).build(found.table)
        # States after the fixed ones are those that the shots compiled ran into.
        start = np.full(model.graph.n_states, found.value.mean())
        start[: len(found.value)] = found.value
    else:
        model, start = compiler.build(compiler.candidates()), None
    expected = solve.fewest_strokes(model.graph, start=start)
    pmf = solve.score_pmf(model.graph, expected.choice, model.tee).pmf
    return SolvedHole(model, expected, solve.choice_values(model.graph, expected.value), pmf)


@dataclass(frozen=True)
class Day:
    """What the holes of a round are compiled with."""

    player: Player
    flight: FlightTable
    conditions: Conditions
    grid: GridSpec | None
    firmness: float
    arsenal: Arsenal


def solved_on(task: tuple[Hole, Day]) -> SolvedHole:
    """Compile and solve a hole on a day: the part of a plan that is shared between processes."""
    hole, day = task
    return prepare(
        HoleCompiler(hole, day.player, day.flight, day.conditions, day.grid, day.firmness, day.arsenal)
    )
