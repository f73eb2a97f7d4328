"""The distribution of a round's total under the policy that serves a target."""

from collections.abc import Sequence
from copy import copy

import numpy as np
from numpy.typing import NDArray

from caddiebrain import solve
from caddiebrain.round.hole_plan import HolePlan

__all__ = ["total_pmf"]

_RARE = 1e-11
"""Standings less likely than this are played for the lowest expected score."""
_PAD = 14
"""Strokes below a hole's window that are followed one by one; there the lowest-expected-score policy is played."""

Floats = NDArray[np.float64]


def total_pmf(holes: Sequence[HolePlan], target: int) -> Floats:
    """Chance of each total when every choice serves ``target``.

    Once the target is out of reach, or sure, play goes on for the lowest expected score.

    Parameters
    ----------
    holes : sequence of HolePlan
        In playing order.
    target : int

    Returns
    -------
    ndarray
        Index is the total, from 0 strokes on.
    """
    used = np.ones(1)
    for hole in holes:
        used = _play(hole, used, target)
    return np.trim_zeros(used, "b")


def _play(hole: HolePlan, used: Floats, target: int) -> Floats:
    """Strokes used after a hole, given those used before it."""
    chances, model = hole.chances, hole.solved.model
    top = len(chances.value) - 1
    row = target - np.arange(len(used)) - chances.least
    live = (row >= 0) & (row <= top) & (used > _RARE)
    plain = np.convolve(np.where(live, 0.0, used), hole.score_pmf)
    if not live.any():
        return plain
    low, high = int(row[live].min()), int(row[live].max())
    # Rows of the flow: strokes left from _PAD below the window's floor up to the highest in use.
    floor = max(0, low - 3 * _PAD)
    pad = max(0, _PAD - (low - floor)) if floor == 0 else 0
    below = np.broadcast_to(hole.solved.expected.choice, (pad, model.graph.n_states))
    policy = np.concatenate([below, chances.choice[floor : high + 1]])
    start = np.zeros(len(policy))
    start[row[live] - floor + pad] = used[live]
    # A copy: what is made ready for the flow alone is not kept with the plan.
    flow = solve.budget_flow(copy(model.graph), policy, model.tee, start)
    left = np.arange(len(policy)) - pad + floor + chances.least
    strokes_used = target - left
    result = np.zeros(max(len(plain), int(strokes_used.max()) + 2))
    result[: len(plain)] += plain
    result[strokes_used] += flow.at_goal
    # What overspent even the padded window is a disaster hole: counted one stroke beyond it.
    result[int(strokes_used.max()) + 1] += flow.below
    return result
