"""One hole made ready for any objective: sort out the choices that can matter, compile them finely, solve.

A hole has some 80,000 choices of club and aim; a few per place are ever best. A first graph with few points per
shot (`HoleCompiler.first_look`) is solved for the lowest expected score, for the chance of each number of strokes,
and for a family of smooth attitudes between desperate and safe; what is best for any of them, or within ``MARGIN``
strokes of the best expected score, is kept, with the aims half a step to either side, and compiled again with many
points.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from caddiebrain import solve
from caddiebrain.hole import HoleCompiler, HoleModel
from caddiebrain.hole.propose import between

__all__ = ["MARGIN", "SolvedHole", "prepare", "worth_keeping"]

MARGIN = 0.03
"""Choices this near to the best expected score are kept, strokes."""
_WIDE_MARGIN = 0.5
"""Choices worse than this are dropped before budgets are looked at, strokes."""
_A_PUTT_OR_TWO, _YARDS_A_STROKE = 2.2, 170.0
_BUDGET = 8
_SOFT_BUDGET = 12
_SOFTNESS = 2.0


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
        keep = np.zeros(graph.n_choices, dtype=bool)
        keep[used[used >= 0]] = True
        keep[self.expected.choice[self.expected.choice >= 0]] = True
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


def prepare(compiler: HoleCompiler, sift: bool = True) -> SolvedHole:
    """Compile and solve one hole.

    Parameters
    ----------
    sift : bool
        Sort out choices first. Without it every choice is compiled finely: slow, for checking what is lost.
    """
    if sift:
        coarse = compiler.first_look()
        value = solve.fewest_strokes(coarse.graph, tol=1e-6, start=_guess(coarse)).value
        model = compiler.build(between(coarse.table.take(worth_keeping(coarse, value))))
        start = np.full(model.graph.n_states, value.mean())
        same = model.numbering.trouble  # states from there on are those that the shots compiled ran into
        start[:same] = value[:same]
    else:
        model, start = compiler.build(compiler.candidates()), None
    expected = solve.fewest_strokes(model.graph, start=start)
    pmf = solve.score_pmf(model.graph, expected.choice, model.tee).pmf
    return SolvedHole(model, expected, solve.choice_values(model.graph, expected.value), pmf)


def _guess(model: HoleModel) -> NDArray[np.float64]:
    """About how many strokes are left from everywhere; the solver takes it from there."""
    places, number, ground = model.compiler.places, model.numbering, model.compiler.ground
    strokes = np.full(model.graph.n_states, _A_PUTT_OR_TWO)
    for part, x, y in (
        (slice(number.node, number.spot), places.x, places.y),
        (slice(number.spot, number.bin), places.spot_x, places.spot_y),
    ):
        strokes[part] += ground.from_pin(x, y) / _YARDS_A_STROKE
    return strokes


def worth_keeping(model: HoleModel, value: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Mark the rows of a coarse model's table that can matter for some attitude to risk; ``value``: its strokes."""
    graph = model.graph
    strokes = solve.choice_values(graph, value)
    loss = strokes - value[graph.choice_state]
    keep = loss <= MARGIN
    smaller, original = graph.restrict(loss <= _WIDE_MARGIN)
    soft = ndtr((np.arange(_SOFT_BUDGET + 1) - 0.5 * _SOFT_BUDGET) / _SOFTNESS)
    for budget, finish in ((_BUDGET, None), (_SOFT_BUDGET, soft)):
        best = solve.within_budget(smaller, budget, finish, tiebreak=strokes[original], prune=False)
        chosen = np.unique(best.choice[best.choice >= 0])
        keep[original[chosen]] = True
    rows: NDArray[np.bool_] = keep[model.first_choice : model.first_choice + len(model.table)]
    rows |= model.table.node == 0  # every choice on the tee, for a golfer wants to see them all
    return rows
