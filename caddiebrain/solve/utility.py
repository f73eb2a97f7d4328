r"""Best mean utility of the total strokes, for any utility.

With t strokes taken,

.. math:: U_t(s) = \max_a \sum p(s', c \mid s, a) \, U_{t+c}(s'), \qquad U_t(\text{goal}) = u_t,

u constant from its last entry on. From there nothing changes any more, so the layers t = n, n - 1, ... 0 are those
of the budget problem with k = n - t strokes left and the reward u_{n-k} - u_n. Ties as there.
Source: Howard R.A., Matheson J.E. (1972), Risk-sensitive Markov decision processes, *Management Science*
18(7):356-369, for the state carried along with the running total.
"""

import numpy as np
from numpy.typing import ArrayLike

from caddiebrain.errors import InputError
from caddiebrain.graph import StateGraph
from caddiebrain.solve.budget import best_layers
from caddiebrain.solve.records import UtilitySolution

__all__ = ["best_utility"]


def best_utility(
    graph: StateGraph, utility: ArrayLike, tiebreak: ArrayLike | None = None, *, prune: bool | None = None
) -> UtilitySolution:
    """Find the choice with the best mean utility for every state and every number of strokes taken.

    Parameters
    ----------
    graph : StateGraph
    utility : array of float, shape (n + 1,)
        Worth of reaching the goal in exactly 0, 1, ... n strokes; more than n are worth ``utility[n]``, and so is
        never reaching it. Need not fall.
    tiebreak : array of float, shape (C,), optional
        Expected strokes of each choice, to choose among equals; worked out when not given.
    prune : bool, optional
        As in ``within_budget``.

    Raises
    ------
    InputError
        If the utility is empty, not flat, or not finite.
    """
    worth = np.asarray(utility, dtype=np.float64)
    if worth.ndim != 1 or len(worth) == 0 or not np.all(np.isfinite(worth)):
        raise InputError.one(
            "best_utility", "utility", f"shape {worth.shape}", "a flat array of finite numbers"
        )
    reward = worth[::-1] - worth[-1]
    scale = float(np.abs(reward).max()) or 1.0  # ties are judged on the scale of a chance
    found = best_layers(graph, reward / scale, tiebreak, prune=prune)
    return UtilitySolution(
        found.value[::-1] * scale + worth[-1],
        found.choice[::-1],
        found.status,
        found.residual * scale,
        found.swept,
    )
