"""Rounds played ball by ball under a plan: an outside check on what the plan computes.

The plan's decisions are handed to `caddiebrain.hole.play`, which knows nothing of the compiled graph's chances.
Under the target policy play goes on for the lowest expected score once the target is out of reach or sure, as in
`RoundPlan.score_pmf`.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.errors import InputError, UnknownError
from caddiebrain.hole.decisions import Decisions
from caddiebrain.hole.green import putt_rows
from caddiebrain.hole.play import CELL, HolePlay
from caddiebrain.round.advice import Advice
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.round.plan import RoundPlan

__all__ = ["SimulatedRounds", "decisions_of", "play_rounds"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class SimulatedRounds:
    """Rounds that were played.

    Parameters
    ----------
    scores : ndarray of int (rounds, holes)
        Strokes on each hole, in the plan's order of holes.
    """

    scores: NDArray[np.int64]

    @property
    def totals(self) -> NDArray[np.int64]:
        """Strokes of each round."""
        return np.asarray(self.scores.sum(axis=1))

    def chance(self, total: int) -> float:
        """Share (0 to 1) of rounds of at most ``total`` strokes."""
        return float((self.totals <= total).mean())

    @property
    def standard_error(self) -> float:
        """Standard error of the mean total, strokes."""
        return float(self.totals.std() / np.sqrt(len(self.scores)))


def play_rounds(
    plan: RoundPlan,
    n: int,
    rng: np.random.Generator,
    policy: str = "expected",
    *,
    cell: float = CELL,
    progress: Callable[[int, int], None] | None = None,
) -> SimulatedRounds:
    """Play rounds in continuous positions under a plan.

    Parameters
    ----------
    plan : RoundPlan
    n : int
        Rounds, at least 1.
    rng : numpy.random.Generator
    policy : {"expected", "target"}
        Lowest expected score throughout, or whatever serves the plan's target from the standing at hand.
    cell : float
        Side of the cells from which lies are read, yards; the compiler's are 1 yard.
    progress : callable, optional
        Told (holes done, holes in all) after each hole.

    Returns
    -------
    SimulatedRounds

    Raises
    ------
    InputError
        If ``n`` is below 1.
    UnknownError
        For any other policy.
    """
    if policy not in ("expected", "target"):
        raise UnknownError(f'no policy {policy!r}; there are "expected" and "target"')
    if n < 1:
        raise InputError.one("play_rounds", "n", str(n), "1 or more rounds")
    scores = np.zeros((n, len(plan.holes)), dtype=np.int64)
    left = np.full(n, plan.target, dtype=np.int64)
    for i, hole in enumerate(plan.holes):
        game = HolePlay(hole.compiler, cell)
        decisions = decisions_of(hole, policy == "target")
        scores[:, i] = game.play(decisions, left, rng, Advice(hole, decisions))
        left -= scores[:, i]
        if progress is not None:
            progress(i + 1, len(plan.holes))
    return SimulatedRounds(scores)


def decisions_of(hole: HolePlan, target: bool) -> Decisions:
    """Decisions of a planned hole at nodes and putting distances, by strokes left where ``target``."""
    model, chances = hole.solved.model, hole.chances
    number = model.numbering
    nodes = slice(number.node, number.spot)
    strokes = hole.solved.expected.value[: number.spot]
    choice = hole.solved.expected.choice[None, nodes]
    pace = _paces(hole, strokes[None], -1.0)
    kept = chances.value[:0]
    if target:
        kept = chances.value
        choice = np.concatenate([choice, chances.choice[:, nodes]])
        before = np.concatenate([np.zeros((1, kept.shape[1])), kept[:-1]])
        pace = np.concatenate([pace, _paces(hole, before, 1.0)])
    return Decisions(
        model.table, choice.astype(np.int64) - model.first_choice, pace, strokes, kept, chances.least
    )


def _paces(hole: HolePlan, after: Floats, sign: float) -> NDArray[np.int64]:
    """Best pace (rows, putts), looking one putt ahead to the worth (rows, kept) of what follows."""
    number = hole.solved.model.numbering
    putts = putt_rows(hole.compiler.player.putting)
    later = after[:, number.putt : number.node]
    mean = putts.holed * after[:, number.cup, None, None] + np.einsum("rq,pkq->rpk", later, putts.leave)
    # Where every pace serves the target alike, the second of the list, an ordinary one, is played.
    order = np.array([1, 2, 0, 3, 4])
    best = np.argmax(np.round(sign * mean[:, :, order], 12), axis=2)
    return np.asarray(order[best])
