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

from caddiebrain import solve
from caddiebrain.hole.green import PACES_FT, putt_rows
from caddiebrain.insight.better import Pass, with_arsenal
from caddiebrain.insight.row_worth import RowWorth, spent
from caddiebrain.player.model import PuttingSkill
from caddiebrain.round.hole_plan import HolePlan

__all__ = ["HoleVisits", "hole_margins", "hole_visits"]

Floats = NDArray[np.float64]

_SELDOM = 1e-5
"""Rows of choices visited less often than this are left out."""


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
    small = solve.contract(model.graph, [model.tee])
    graph, tee = small.graph, small.state(model.tee)
    new = np.full(model.graph.n_choices, -1)
    new[small.choices] = np.arange(len(small.choices))
    expected = new[hole.solved.expected.choice[small.states]]
    once = solve.expected_visits(graph, np.where(expected >= 0, expected, 0), tee)
    top = chances.least + len(chances.value) - 1
    k = np.arange(chances.least, top + 1)
    start = np.zeros(len(k))
    inside = (least + np.arange(len(mass)) >= chances.least) & (least + np.arange(len(mass)) <= top)
    start[least + np.flatnonzero(inside) - chances.least] = mass[inside]
    policy = new[chances.choice[:, small.states]]
    flow = solve.budget_visits(graph, np.where(policy >= 0, policy, 0), tee, start)
    by_choice = np.zeros((graph.n_choices, len(k)))
    for row in np.flatnonzero(flow.visits.any(axis=1)):
        here = np.flatnonzero(flow.visits[row])
        here = here[here != graph.goal]
        by_choice[policy[row, here], row] = flow.visits[row, here]
    plain = np.zeros(graph.n_choices)
    acting = np.flatnonzero(expected >= 0)
    plain[expected[acting]] = once[acting]
    in_table = small.choices - model.first_choice
    table = np.flatnonzero((in_table >= 0) & (in_table < len(model.table)))
    used = table[(plain[table] > _SELDOM) | (by_choice[table].sum(axis=1) > _SELDOM)]
    putts, pace = _putts(hole, small)
    size = hole.compiler.numbering.putts * len(PACES_FT)
    putt_plain, putt_chance = np.zeros(size), np.zeros((size, len(k)))
    putt_plain[pace], putt_chance[pace] = plain[putts], by_choice[putts]
    return HoleVisits(
        in_table[used],
        plain[used],
        by_choice[used],
        putt_plain,
        putt_chance,
        flow.visits[:, graph.goal],
        chances.least,
    )


def _putts(hole: HolePlan, small: solve.Contraction) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Choices of a contracted graph that are putts, and which putt and pace each is (putt * paces + pace)."""
    number, graph = hole.compiler.numbering, small.graph
    states = np.flatnonzero((small.states >= number.putt) & (small.states < number.node))
    order = np.concatenate([[small.state(number.cup)], states])
    every = _putt_rows(hole.compiler.player.putting).reshape(number.putts, len(PACES_FT), -1)
    choices, which = [], []
    for s in states:
        putt = int(small.states[s]) - number.putt
        for choice in range(int(graph.choice_start[s]), int(graph.choice_start[s + 1])):
            span = slice(int(graph.outcome_start[choice]), int(graph.outcome_start[choice + 1]))
            row = np.bincount(graph.outcome_state[span], graph.outcome_prob[span], graph.n_states)
            # A plan keeps the putts it uses and not their paces: told by their chances.
            off = np.abs(every[putt] - row[order]).sum(axis=1)
            choices.append(choice)
            which.append(putt * len(PACES_FT) + int(np.argmin(off)))
    return np.array(choices, dtype=np.int64), np.array(which, dtype=np.int64)


def hole_margins(
    hole: HolePlan, visits: HoleVisits, sides: Sequence[tuple[Pass, Pass]], skills: int
) -> Floats:
    """Return what better players gain on a hole, to first order.

    Parameters
    ----------
    hole : HolePlan
    visits : HoleVisits
        From `hole_visits`.
    sides : sequence of (Pass, Pass)
        Players better, and as much worse; their shots and putting belong to skills 0 to ``skills - 1``.
    skills : int

    Returns
    -------
    ndarray of shape (skills, 2)
        Half the change from worse to better: of the expected score, and of the chance of the target.
    """
    compiler = hole.compiler
    live = np.flatnonzero(visits.chance.any(axis=0) | visits.putt_chance.any(axis=0))
    kept = spent(hole.solved.expected.value[: compiler.numbering.spot], hole.chances.value)
    kept = kept[:, :, np.concatenate([[0], 1 + live])]
    table = hole.solved.model.table.take(visits.rows)
    weight = np.column_stack([visits.strokes, visits.chance[:, live]])
    owner = [up.skill_of(table) for up, _ in sides]
    changed = [np.flatnonzero(skill >= 0) for skill in owner]
    asked = [
        (with_arsenal(compiler, one.arsenal), table.take(rows))
        for pair, rows in zip(sides, changed, strict=True)
        for one in pair
    ]
    worth = RowWorth(compiler, kept).of(asked)
    gain = np.zeros((skills, 2))
    for i, (up, down) in enumerate(sides):
        step = 0.5 * weight[changed[i]] * (worth[2 * i] - worth[2 * i + 1])
        np.add.at(gain, owner[i][changed[i]], np.column_stack([-step[:, 0], step[:, 1:].sum(axis=1)]))
        for number in up.putting:
            gain[number] += _putting(down.putting[number], up.putting[number], visits, kept, live)
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
