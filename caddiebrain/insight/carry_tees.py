r"""The tee line of a card by the standing: at most one other tee shot a hole, and from which standing on.

With f_h,o the score on hole h after tee shot o and the card's play, and k strokes left,

.. math:: W_h(k) = \sum_c f_{h, o(k)}(c) \, W_{h+1}(k - c), \qquad W_{19}(k) = 1 \; (k \ge 0).

Going from the last hole to the first, the other tee shot and its threshold are those that gain most over the
standings that come up, weighed by how often they do. The chance is that of the choices so made, exactly.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.insight.carry_hole import CardHole, HoleSetting, Played

__all__ = ["TeeSwitch", "chance_of", "tee_pmfs", "tee_switches"]

Floats = NDArray[np.float64]

_NEAR = 0.6
"""Tee shots this many strokes dearer than the first are not looked at."""
_MOST = 5
_WORTH_SAYING = 3e-4
"""Another tee shot is named when it adds so much to the chance of the target."""
_COMES_UP = 2e-3
"""Standings that come up less often are told apart from their neighbours by nobody."""


@dataclass(frozen=True)
class TeeSwitch:
    """Another tee shot (row among the tee choices) with so many strokes left or fewer, or with more."""

    tee: int
    least: int | None
    most: int | None

    def holds(self, left: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Whether it is played with numbers of strokes left."""
        holds = np.ones(len(left), dtype=bool)
        if self.least is not None:
            holds &= left >= self.least
        if self.most is not None:
            holds &= left <= self.most
        return holds


def tee_pmfs(hole: CardHole, played: Played, setting: HoleSetting) -> dict[int, Floats]:
    """Scores after the tee shots worth looking at, the card's own first."""
    strokes = hole.choice_strokes(played)[hole.tee_choices]
    kind = hole.tee_table.kind.astype(np.int64) * 4096 + hole.tee_table.index
    order = [int(t) for t in np.argsort(strokes, kind="stable") if strokes[t] <= played.expected + _NEAR]
    first: dict[int, int] = {int(kind[setting.tee]): setting.tee}
    for tee in order:
        first.setdefault(int(kind[tee]), tee)
    return {tee: hole.pmf(played, tee) for tee in list(first.values())[:_MOST]}


def tee_switches(
    pmfs: Sequence[dict[int, Floats]], target: int
) -> tuple[list[TeeSwitch | None], float, float]:
    """Choose the switches of every hole.

    Returns
    -------
    list of TeeSwitch or None
    float
        Chance of the target with them.
    float
        Chance of the target with the first tee shots alone.
    """
    coming = _coming(pmfs, target)
    value = np.ones(target + 1)
    plain = np.ones(target + 1)
    switches: list[TeeSwitch | None] = []
    for scores, mass in zip(reversed(pmfs), reversed(coming), strict=True):
        after = {tee: _after(pmf, value) for tee, pmf in scores.items()}
        base = next(iter(after))
        switch = _switch(after, base, mass)
        plain = _after(scores[base], plain)
        value = after[base]
        if switch is not None:
            value = np.where(switch.holds(np.arange(target + 1)), after[switch.tee], value)
        switches.append(switch)
    return switches[::-1], float(value[target]), float(plain[target])


def chance_of(pmfs: Sequence[dict[int, Floats]], switches: Sequence[TeeSwitch | None], target: int) -> float:
    """Return the chance of the target with given switches."""
    value = np.ones(target + 1)
    for scores, switch in zip(reversed(pmfs), reversed(switches), strict=True):
        base = _after(next(iter(scores.values())), value)
        if switch is not None:
            holds = switch.holds(np.arange(target + 1))
            base = np.where(holds, _after(scores[switch.tee], value), base)
        value = base
    return float(value[target])


def _after(pmf: Floats, value: Floats) -> Floats:
    """Mean worth of a hole's scores, by strokes left before it."""
    worth: Floats = np.convolve(pmf, value)[: len(value)]
    return worth


def _coming(pmfs: Sequence[dict[int, Floats]], target: int) -> list[Floats]:
    """How often each number of strokes left comes up on each tee, with the first tee shots."""
    mass = np.zeros(target + 1)
    mass[target] = 1.0
    found = []
    for scores in pmfs:
        found.append(mass)
        pmf = next(iter(scores.values()))
        mass = np.convolve(mass[::-1], pmf)[: target + 1][::-1]
    return found


def _switch(after: dict[int, Floats], base: int, mass: Floats) -> TeeSwitch | None:
    """The other tee shot and threshold that gain most."""
    met = np.flatnonzero(mass >= _COMES_UP)
    if met.size == 0:
        return None
    best, found = _WORTH_SAYING, None
    for tee, worth in after.items():
        gain = (mass * (worth - after[base]))[met]
        worse, better = np.cumsum(gain), np.cumsum(gain[::-1])
        i, j = int(np.argmax(worse)), int(np.argmax(better))
        if worse[i] > best:
            best, found = float(worse[i]), TeeSwitch(tee, None, int(met[i]))
        if better[j] > best:
            best, found = float(better[j]), TeeSwitch(tee, int(met[len(met) - 1 - j]), None)
    return found
