r"""Which rules to carry, as an integer program.

A rule is an instruction for an area: some lies, from one distance to another. With g(r) the strokes a round that
rule r saves over the default (visits times what the instruction saves there, summed over its area), pick at most N
rules whose areas do not overlap, so that a golfer never finds two that contradict each other:

.. math:: \max \sum_r g_r z_r \quad \text{s.t.} \quad \sum_{r \ni c} z_r \le 1 \;\; \forall c, \quad
          \sum_r z_r \le N, \quad z_r \in \{0, 1\}.

Within an area the best single instruction is known beforehand, so an area is one variable. Areas that save no more
with another cell than without it are left out, for the smaller one says the same.
Source: Vemuganti R.R. (1998), Applications of set covering, set packing and set partitioning models, in *Handbook of
Combinatorial Optimization* 1:573-746.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pulp
from numpy.typing import NDArray

from caddiebrain.insight.carry_cells import Area
from caddiebrain.solve.highs import ProgramRun, run_program

__all__ = ["PickedRule", "pick_rules"]

_NOTHING = 1e-6
"""Strokes a round; rules that save less are left out."""
_EARLIER = 1e-7
"""Strokes by which a rule that covers less is preferred, among equals."""


@dataclass(frozen=True)
class PickedRule:
    """An area and the instruction for it, by their numbers, and the strokes it saves to first order."""

    area: int
    play: int
    saves: float


def pick_rules(
    areas: Sequence[Area],
    gains: NDArray[np.float64],
    count: int,
    refused: Collection[tuple[int, int]] = (),
    *,
    time_limit: float = 30.0,
    gap: float = 1e-6,
) -> tuple[tuple[PickedRule, ...], ProgramRun]:
    """Pick the rules that save most.

    Parameters
    ----------
    areas : sequence of Area
    gains : array (plays, cells)
        Strokes a round an instruction saves in a cell; minus infinity where a rule may not say it.
    count : int
        Most rules.
    refused : collection of (int, int)
        Rules, as areas and plays, that are not to be picked.
    time_limit, gap : float
        Seconds, and relative gap at which the program may end.
    """
    candidates = _candidates(areas, gains, refused)
    problem: Any = pulp.LpProblem("rules", pulp.LpMinimize)
    carried = [problem.add_variable(f"z{i}", 0, 1, cat="Integer") for i in range(len(candidates))]
    problem += pulp.lpSum(carried) <= count, "count"
    covering: dict[int, list[Any]] = {}
    for rule, z in zip(candidates, carried, strict=True):
        for cell in areas[rule.area].cells:
            covering.setdefault(cell, []).append(z)
    for cell, rules in covering.items():
        if len(rules) > 1:
            problem += pulp.lpSum(rules) <= 1, f"one{cell}"
    worth = [rule.saves - _EARLIER * len(areas[rule.area].cells) for rule in candidates]
    problem.setObjective(pulp.lpSum(-w * z for w, z in zip(worth, carried, strict=True)))
    run = run_program(problem, time_limit=time_limit, gap=gap)
    return tuple(r for r, z in zip(candidates, carried, strict=True) if (z.value() or 0.0) > 0.5), run


def _candidates(
    areas: Sequence[Area], gains: NDArray[np.float64], refused: Collection[tuple[int, int]]
) -> list[PickedRule]:
    """The best instruction for every area in which each end earns its place."""
    found = []
    for i, area in enumerate(areas):
        cells = list(area.cells)
        total = gains[:, cells].sum(axis=1)
        play = int(np.argmax(total))
        if not total[play] > _NOTHING or (i, play) in refused:
            continue
        ends = _ends(area)
        if all(gains[play, end].sum() > _NOTHING for end in ends):
            found.append(PickedRule(i, play, float(total[play])))
    return found


def _ends(area: Area) -> list[list[int]]:
    """Cells of the nearest and the furthest band, and of each lie: parts that could be left out."""
    cells = np.array(area.cells).reshape(len(area.situations), -1)
    parts = [cells[:, 0], cells[:, -1], *cells]
    return [part.tolist() for part in parts]
