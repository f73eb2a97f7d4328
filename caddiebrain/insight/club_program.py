r"""Which clubs to carry, as an integer program over visited positions.

Every visited position s is served by one club; with x(s) its expected visits and l(s, c) what club c costs there
beyond the best,

.. math:: \min \sum_s x(s) \sum_c l(s, c) \, y(s, c) \quad \text{s.t.} \quad \sum_c y(s, c) = 1, \quad
          y(s, c) \le z_c, \quad \sum_c z_c = N, \quad z_c \in \{0, 1\}.

If N of M clubs are carried, one of a position's M - N + 1 best clubs is among them: no others need a variable.
Positions that rank those alike are served alike, so they are taken together. Both are exact.
Source: Balinski M.L. (1965), Integer programming: methods, uses, computation, *Management Science* 12(3):253-313
(plant location); Cornuejols G., Fisher M.L., Nemhauser G.L. (1977), *Management Science* 23(8):789-810.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pulp
from numpy.typing import NDArray

from caddiebrain.errors import InputError, SolveError
from caddiebrain.solve.highs import ProgramRun, run_program

__all__ = ["ClubLosses", "pick_clubs"]


@dataclass(frozen=True)
class ClubLosses:
    """What clubs cost at positions.

    Attributes
    ----------
    visits : array of float64, shape (P,)
        Expected visits of each position a round; 0 where none is expected but a club is needed.
    loss : array of float64, shape (P, M)
        Strokes a club costs there beyond the best; infinite where it is not played.
    free : array of float64, shape (P,)
        The same for the best choice that needs none of the clubs (short shots, drops); infinite where there is none.
    """

    visits: NDArray[np.float64]
    loss: NDArray[np.float64]
    free: NDArray[np.float64]


def pick_clubs(
    losses: ClubLosses,
    count: int,
    keep: Iterable[int] = (),
    passed_over: Sequence[frozenset[int]] = (),
    *,
    time_limit: float = 30.0,
    gap: float = 1e-6,
) -> tuple[frozenset[int], ProgramRun]:
    """Pick the clubs that cost least.

    Parameters
    ----------
    losses : ClubLosses
    count : int
        How many.
    keep : iterable of int
        Clubs that must be among them.
    passed_over : sequence of frozenset
        Sets that may not be picked again.
    time_limit, gap : float
        Seconds, and relative gap at which the program may end.

    Raises
    ------
    InputError
        If no such set leaves a club for every position.
    """
    clubs = losses.loss.shape[1]
    problem: Any = pulp.LpProblem("clubs", pulp.LpMinimize)
    carried = [problem.add_variable(f"z{c}", 0, 1, cat="Integer") for c in range(clubs)]
    problem += pulp.lpSum(carried) == count, "count"
    for c in set(keep):
        problem += carried[c] == 1, f"keep{c}"
    for i, bag in enumerate(passed_over):
        problem += pulp.lpSum(carried[c] for c in sorted(bag)) <= len(bag) - 1, f"not{i}"
    for i, needed in enumerate(sorted(_needs(losses, clubs - count))):
        problem += pulp.lpSum(carried[c] for c in needed) >= 1, f"need{i}"
    cost = []
    for g, (order, terms) in enumerate(_groups(losses, clubs - count).items()):
        serve = [problem.add_variable(f"y{g}_{j}", 0, 1) for j in range(len(order))]
        problem += pulp.lpSum(serve) == 1, f"serve{g}"
        for j, c in enumerate(order):
            if c < clubs:
                problem += serve[j] <= carried[c], f"only{g}_{j}"
            cost.append(float(terms[j]) * serve[j])
    problem.setObjective(pulp.lpSum(cost))
    try:
        run = run_program(problem, time_limit=time_limit, gap=gap)
    except SolveError as error:
        found = f"{count} of {clubs} clubs"
        raise InputError.one(
            "choose_bag", "limit", found, "enough clubs for every place on the holes"
        ) from error
    return frozenset(c for c in range(clubs) if (carried[c].value() or 0.0) > 0.5), run


def _needs(losses: ClubLosses, left_out: int) -> set[tuple[int, ...]]:
    """Sets of clubs of which one must be carried, because some position has no other choice."""
    bound = ~np.isfinite(losses.free)
    playable = np.isfinite(losses.loss[bound])
    few = playable[playable.sum(axis=1) <= left_out]
    return {tuple(np.flatnonzero(row).tolist()) for row in few}


def _groups(losses: ClubLosses, left_out: int) -> dict[tuple[int, ...], NDArray[np.float64]]:
    """Costs of visited positions by the order in which they would have the clubs; one past the last is no club."""
    both = np.column_stack([losses.loss, losses.free])
    nothing = both.shape[1] - 1
    order = np.argsort(both, axis=1, kind="stable")
    grouped: dict[tuple[int, ...], NDArray[np.float64]] = {}
    for p in np.flatnonzero(losses.visits > 0.0):
        ranked = order[p][np.isfinite(both[p, order[p]])][: left_out + 1].tolist()
        if nothing in ranked:
            ranked = ranked[: ranked.index(nothing) + 1]
        if len(ranked) < 2:  # always served alike
            continue
        key = tuple(ranked)
        grouped[key] = grouped.get(key, np.zeros(len(key))) + losses.visits[p] * both[p, ranked]
    return grouped
