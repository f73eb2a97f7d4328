"""Playing a policy by chance, many plays at once.

Each play draws a uniform number and takes the outcome whose cumulative probability passes it. Error of a mean over
n plays: standard deviation / sqrt(n).
"""

from collections.abc import Hashable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from caddiebrain.errors import InputError, SolveError, kind_faults, number_faults
from caddiebrain.graph import StateGraph
from caddiebrain.solve.policy import checked_budget, checked_policy

__all__ = ["simulate"]


def simulate(
    graph: StateGraph,
    policy: ArrayLike,
    start: Hashable,
    n: int,
    rng: np.random.Generator,
    *,
    budget: int | None = None,
    limit: int = 10_000,
) -> NDArray[np.int64]:
    """Play n times from a start and return the strokes taken, shape (n,).

    Parameters
    ----------
    policy : array of int, shape (S,) or (K + 1, S)
        Running index of the choice made in each state, or with each number of strokes left in each state; once
        those run out play goes on with row 0.
    start : hashable
        Label of the state play starts in.
    n : int
        Number of plays.
    rng : numpy.random.Generator
    budget : int, optional
        Strokes left at the start, for a policy by strokes left; by default its K.
    limit : int
        Most moves of a play.

    Raises
    ------
    InputError
        If the policy names a choice that is not open in its state, the budget lies outside the policy, a number is no
        whole one, or ``rng`` is no generator.
    SolveError
        If a play does not end within the limit.
    UnknownError
        If no state has the label.
    """
    table = checked_policy(graph, policy)
    left = checked_budget(table, budget, "simulate")
    faults = number_faults("n", n, 0, 10**9, "a whole number of plays, 0 or more", whole=True)
    faults += number_faults("limit", limit, 0, 10**9, "a whole number of moves, 0 or more", whole=True)
    faults += kind_faults("rng", rng, np.random.Generator, "a generator, such as numpy.random.default_rng(1)")
    if faults:
        raise InputError("simulate", faults)
    n, limit = int(n), int(limit)
    running = np.cumsum(graph.outcome_prob)
    before = np.concatenate(([0.0], running))
    state, taken = np.full(n, graph.index(start)), np.zeros(n, dtype=np.int64)
    playing = np.flatnonzero(state != graph.goal)
    for _ in range(limit):
        if len(playing) == 0:
            return taken
        choice = table[np.maximum(left - taken[playing], 0), state[playing]]
        first, last = graph.outcome_start[choice], graph.outcome_start[choice + 1]
        share = before[first] + rng.random(len(playing)) * (before[last] - before[first])
        # Rounding may push a draw over the edge of its row.
        outcome = np.clip(np.searchsorted(running, share, side="right"), first, last - 1)
        taken[playing] += graph.outcome_strokes[outcome]
        state[playing] = graph.outcome_state[outcome]
        playing = playing[state[playing] != graph.goal]
    if len(playing):
        raise SolveError(
            f"{len(playing)} of {n} plays did not end in {limit} moves; raise the limit or choose another policy"
        )
    return taken
