r"""What a small change of the player does to the score and to the chance of the target, without solving again.

By the envelope theorem a change that is small enough leaves the best choices alone, so

.. math:: \frac{dV}{d\theta} = \sum_{s, a} x(s, a) \sum_{s', c} \frac{dp(s', c \mid s, a)}{d\theta} \, (c + V(s')),
          \qquad \frac{dW}{d\theta} = \sum_{s, k} m(s, k) \sum_{s', c} \frac{dp}{d\theta} \, W(s', k - c),

x the visits under the lowest expected score, m those by strokes left under the policy for the target. dp/dtheta is
half the difference between the choice's outcomes compiled for a better player and for one as much worse, over the
change. Both sides are needed: aims were chosen for the points that stand for this player's shots, and fit those of
any other player a little less well.
Source: Cao X.-R. (2007), *Stochastic Learning and Optimization*, chapter 2 (performance difference formula);
Milgrom P., Segal I. (2002), Envelope theorems for arbitrary choice sets, *Econometrica* 70(2):583-601.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from caddiebrain import solve
from caddiebrain.hole.green import PACES_FT, putt_rows
from caddiebrain.insight.contrasts import Contrasts
from caddiebrain.insight.row_worth import RowWorth, spent
from caddiebrain.player.model import PuttingSkill
from caddiebrain.round.hole_plan import HolePlan

__all__ = ["HoleVisits", "hole_margins", "hole_visits"]

Floats = NDArray[np.float64]

_SELDOM = 1e-5
"""Rows of choices, and numbers of strokes left, met less often than this are left out."""
_DUST = 1e-10
"""Visits of a place with one number of strokes left that are not followed further."""


@dataclass(frozen=True)
class HoleVisits:
    """How often choices of a hole are made.

    Attributes
    ----------
    rows : array of int64, shape (R,)
        Rows of the plan's table that are made at all.
    strokes, chance : arrays, shape (R,) and (R, K)
        Visits under the lowest expected score; visits with each number of strokes left under the target policy.
    putts : arrays of the same for putts, shape (P * paces,) and (P * paces, K)
    cup : array of float64, shape (K,)
        Mass in the cup by strokes left.
    least : int
        Strokes left that column 0 stands for.
    """

    rows: NDArray[np.int64]
    strokes: Floats
    chance: Floats
    putt_strokes: Floats
    putt_chance: Floats
    cup: Floats
    least: int


def hole_visits(hole: HolePlan, least: int, mass: Floats) -> HoleVisits:
    """Play a hole with mass on its tee by strokes left, ``least``, ``least + 1``, ..."""
    model, chances = hole.solved.model, hole.chances
    graph, first = model.graph, model.first_choice
    expected, policy = (np.maximum(c, 0) for c in (hole.solved.expected.choice, chances.choice))
    start = np.zeros(len(policy))
    at = least + np.arange(len(mass)) - chances.least
    inside = (at >= 0) & (at < len(start))
    start[at[inside]] = mass[inside]
    flow = solve.budget_visits(graph, policy, model.tee, start, seldom=_DUST).visits
    once = solve.expected_visits(graph, expected, model.tee)
    # Putts and then the table come first among the choices, as their states do.
    acting = slice(model.numbering.putt, model.numbering.spot)
    size = first + len(model.table)
    plain = _by_choice(expected[None, acting], once[None, acting], size)[:, 0]
    chance = _by_choice(policy[:, acting], flow[:, acting], size)
    used = first + np.flatnonzero((plain[first:] > _SELDOM) | (chance[first:].sum(axis=1) > _SELDOM))
    pace = _paces(hole)
    putts = np.zeros((model.numbering.putts * len(PACES_FT), 1 + len(policy)))
    putts[pace] = np.column_stack([plain, chance])[:first]
    cup = flow[:, graph.goal]
    return HoleVisits(used - first, plain[used], chance[used], putts[:, 0], putts[:, 1:], cup, chances.least)


def _by_choice(policy: NDArray[np.integer], visits: Floats, size: int) -> Floats:
    """Visits by choice, (size, K), of policies and visits by state, (K, states)."""
    found = np.zeros((size, len(policy)))
    for k in np.flatnonzero(visits.any(axis=1)):
        here = np.flatnonzero(visits[k])
        found[policy[k, here], k] = visits[k, here]
    return found


def _paces(hole: HolePlan) -> NDArray[np.int64]:
    """Which putt and pace each choice of a putt is (putt * paces + pace)."""
    number, graph = hole.compiler.numbering, hole.solved.model.graph
    first = hole.solved.model.first_choice
    span = slice(0, int(graph.outcome_start[first]))
    starts = graph.outcome_start[: first + 1]
    kept = csr_array(
        (graph.outcome_prob[span], graph.outcome_state[span], starts), shape=(first, number.node)
    )
    every = _putt_rows(hole.compiler.player.putting).reshape(number.putts, len(PACES_FT), -1)
    putt = graph.choice_state[:first] - number.putt
    # A plan keeps the putts it uses and not their paces: told by their chances.
    off = np.abs(every[putt] - kept.toarray()[:, None]).sum(axis=2)
    pace: NDArray[np.int64] = putt * len(PACES_FT) + np.argmin(off, axis=1)
    return pace


def hole_margins(hole: HolePlan, visits: HoleVisits, contrasts: Sequence[Contrasts], skills: int) -> Floats:
    """Return what better players gain on a hole, to first order.

    Parameters
    ----------
    hole : HolePlan
    visits : HoleVisits
        From `hole_visits`.
    contrasts : sequence of Contrasts
        Players better, and as much worse; their shots and putting belong to skills 0 to ``skills - 1``.
    skills : int

    Returns
    -------
    ndarray of shape (skills, 2)
        Half the change from worse to better: of the expected score, and of the chance of the target.
    """
    compiler = hole.compiler
    live = np.flatnonzero(visits.chance.sum(axis=0) + visits.putt_chance.sum(axis=0) > _SELDOM)
    kept = spent(hole.solved.expected.value[: compiler.numbering.spot], hole.chances.value)
    kept = kept[:, :, np.concatenate([[0], 1 + live])]
    table = hole.solved.model.table.take(visits.rows)
    lie, now = compiler.places.lie[table.node], kept[0, compiler.numbering.node + table.node]
    weight = np.column_stack([visits.strokes, visits.chance[:, live]])
    worth = RowWorth(compiler, kept)
    scene = worth.scene()
    owned = [
        (pair.up.skill_of(table), part) for pair in contrasts for part in pair.of(compiler, scene, table, lie)
    ]
    found = worth.of(scene, [(part.size, part.blocks) for _, part in owned])
    gain = np.zeros((skills, 2))
    for (owner, part), value in zip(owned, found, strict=True):
        step = weight[part.rows] * part.steps(value, now)
        np.add.at(gain, owner[part.rows], np.column_stack([-step[:, 0], step[:, 1:].sum(axis=1)]))
    for pair in contrasts:
        for number in pair.up.putting:
            gain[number] += _putting(pair.down.putting[number], pair.up.putting[number], visits, kept, live)
    return gain


def _putting(
    worse: PuttingSkill, better: PuttingSkill, visits: HoleVisits, kept: Floats, live: NDArray[np.int64]
) -> Floats:
    """Gain by better putting."""
    step = 0.5 * (_putt_rows(better) - _putt_rows(worse))
    worth = step @ kept[1, : step.shape[1]]  # the cup and every putt come first
    return np.array([-visits.putt_strokes @ worth[:, 0], (visits.putt_chance[:, live] * worth[:, 1:]).sum()])


def _putt_rows(putting: PuttingSkill) -> Floats:
    """Chances of the cup and of each next putt, shape (putts * paces, 1 + putts)."""
    table = putt_rows(putting)
    rows = np.concatenate([table.holed[..., None], table.leave], axis=-1)
    rows = rows.reshape(-1, rows.shape[-1])
    return np.asarray(rows / rows.sum(axis=1, keepdims=True))
