r"""Fewest strokes against the chance of a total of ``limit`` or more: one attitude at a time, exactly.

With t strokes taken and a price of ``price`` strokes on a total of at least n,

.. math:: W_t(s) = \min_a \sum p(s', c \mid s, a) \, (a_E c + W_{t+c}(s')), \quad W_t(\text{goal}) = 0,
          \quad W_{t \ge n}(s) = a_E V(s) + a_P,

V the fewest expected strokes: once the total is n or more the price is paid and nothing but the score is left to
play for. The layers t = n - 1, ... 0 are finite, so one pass is exact. The policy found is then valued twice, in
strokes and in the chance.
Source: Altman E. (1999), *Constrained Markov Decision Processes*, chapter 3 (the Lagrangian of a constrained
process is a process without constraint).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.graph import StateGraph
from caddiebrain.solve.block import Block
from caddiebrain.solve.contract import Contraction
from caddiebrain.solve.expected import fewest_strokes
from caddiebrain.solve.layout import blocks

__all__ = ["Layered", "PricedPolicy", "unfold"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class PricedPolicy:
    """The best policy at one price.

    Attributes
    ----------
    choice : array of int64, shape (n + 1, S)
        Row t: with t strokes taken; row n: with n or more. -1 at the goal.
    strokes, chance : array of float64, shape (n, S)
        Expected strokes still to play, and the chance of a total of n or more, with t strokes taken.
    """

    choice: NDArray[np.int64]
    strokes: Floats
    chance: Floats

    def at(self, state: int) -> tuple[float, float]:
        """Return expected strokes and chance from a state with no stroke taken."""
        return float(self.strokes[0, state]), float(self.chance[0, state])


class Layered:
    """A graph unrolled over the strokes taken, up to a limit.

    Parameters
    ----------
    graph : StateGraph
    limit : int
        Totals of ``limit`` strokes or more are priced, at least 1.
    """

    def __init__(self, graph: StateGraph, limit: int) -> None:
        self.graph, self.limit = graph, limit
        self.over = fewest_strokes(graph)
        most = int(graph.outcome_strokes.max(initial=0))
        self.window = most + 1
        # Rows of the tables below run from many strokes taken to few: j strokes lead j rows back.
        columns = (most - graph.outcome_strokes.astype(np.int64)) * graph.n_states + graph.outcome_state
        self._parts = blocks(graph, columns, self.window * graph.n_states)

    def best(self, strokes: float, chance: float) -> PricedPolicy:
        """Return the policy with the least ``strokes * expected strokes + chance * chance of the limit``."""
        graph, pad = self.graph, self.window - 1
        shape = (pad + self.limit, graph.n_states)  # row 0: limit + pad - 1 taken; the last: none
        mean, risk = np.zeros(shape), np.zeros(shape)
        mean[:pad], risk[:pad] = self.over.value, 1.0
        choice = np.full((self.limit + 1, graph.n_states), -1, dtype=np.int64)
        choice[self.limit] = self.over.choice
        for taken in range(self.limit - 1, -1, -1):
            row = pad + self.limit - 1 - taken
            for part in self._parts:
                seen = slice(row - pad, row + 1)
                worth = strokes * mean[seen].reshape(-1) + chance * risk[seen].reshape(-1)
                total = part.matrix @ worth + strokes * graph.mean_strokes[part.choices]
                chosen = _first_least(part, total)
                picked, made = part.matrix[chosen], part.choices[chosen]
                choice[taken, part.states] = made
                mean[row, part.states] = picked @ mean[seen].reshape(-1) + graph.mean_strokes[made]
                risk[row, part.states] = picked @ risk[seen].reshape(-1)
        return PricedPolicy(choice, mean[pad:][::-1], risk[pad:][::-1])

    def value(self, choice: NDArray[np.int64]) -> PricedPolicy:
        """Value a policy, shape (n + 1, S); its last row counts for nothing, the fewest strokes are played then."""
        graph, pad = self.graph, self.window - 1
        shape = (pad + self.limit, graph.n_states)
        mean, risk = np.zeros(shape), np.zeros(shape)
        mean[:pad], risk[:pad] = self.over.value, 1.0
        for taken in range(self.limit - 1, -1, -1):
            row = pad + self.limit - 1 - taken
            seen = slice(row - pad, row + 1)
            for part in self._parts:
                made = choice[taken, part.states]
                picked = part.matrix[part.starts + made - part.choices[part.starts]]
                mean[row, part.states] = picked @ mean[seen].reshape(-1) + graph.mean_strokes[made]
                risk[row, part.states] = picked @ risk[seen].reshape(-1)
        return PricedPolicy(choice, mean[pad:][::-1], risk[pad:][::-1])

    def near(self, policy: PricedPolicy, price: float, margin: float) -> NDArray[np.bool_]:
        """Return which choices are within a margin of the best at a price, shape (n, C); strokes cost one."""
        graph, pad = self.graph, self.window - 1
        worth = np.vstack(
            [policy.strokes + price * policy.chance, np.tile(self.over.value + price, (pad, 1))]
        )
        near = np.zeros((self.limit, graph.n_choices), dtype=bool)
        for taken in range(self.limit):
            seen = worth[taken : taken + self.window][::-1].reshape(-1)
            for part in self._parts:
                total = part.matrix @ seen + graph.mean_strokes[part.choices]
                best = np.repeat(np.minimum.reduceat(total, part.starts), _lengths(part))
                near[taken, part.choices] = total <= best + margin
        return near


def _lengths(part: Block) -> NDArray[np.int64]:
    return np.diff(np.append(part.starts, len(part.choices)))


def _first_least(part: Block, total: Floats) -> NDArray[np.int64]:
    """Return each state's first row with the least total."""
    least = np.repeat(np.minimum.reduceat(total, part.starts), _lengths(part))
    hit = np.flatnonzero(total <= least)
    owner = np.searchsorted(part.starts, hit, side="right") - 1
    return hit[np.flatnonzero(np.diff(owner, prepend=-1))]


def unfold(small: Contraction, choice: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return a policy of a contracted graph, shape (rows, S'), as one of the whole graph, shape (rows, S)."""
    whole = np.tile(small.first_choice, (len(choice), 1))
    whole[:, small.states] = np.where(choice >= 0, small.choices[choice], -1)
    return whole
