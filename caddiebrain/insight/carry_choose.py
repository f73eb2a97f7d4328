"""Choosing a card: lines for the holes and rules for everywhere, improved in turns and valued exactly.

Savings are linear only for small changes, so every set of rules the program proposes is valued exactly on all holes
and kept only if it costs less than the one before. A card with one rule more starts from the one before it: more
rules never cost more.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, TypeVar

import numpy as np
from numpy.typing import NDArray

from caddiebrain.insight.carry_catalogue import LAYUPS_YD, allowed
from caddiebrain.insight.carry_cells import CELLS, Area, areas
from caddiebrain.insight.carry_hole import CardHole, HoleSetting, Played
from caddiebrain.insight.records_carry import Play, Side
from caddiebrain.solve.records import Status

if TYPE_CHECKING:
    from caddiebrain.insight.carry_program import PickedRule

__all__ = ["Card", "CardMaker"]

Floats = NDArray[np.float64]
Result = TypeVar("Result")

_WORTH_SAYING = 0.003
"""A layup number or a side of the green is named when it saves so many strokes on the hole."""
_WORTH_A_RULE = 0.005
"""Rules end when the next saves fewer strokes a round."""
_PROPOSALS = 8
"""Sets of rules the program may propose for a card of one size."""
_ANEW = (3, 8)
"""With so many rules the lines of the holes are chosen anew; with others the tee shots only."""


@dataclass(frozen=True)
class Card:
    """Rules as (area, play) numbers, settings of the holes, and their exact values."""

    rules: tuple[tuple[int, int], ...]
    settings: tuple[HoleSetting, ...]
    expected: tuple[float, ...]

    @property
    def total(self) -> float:
        """Strokes a round."""
        return float(sum(self.expected))


@dataclass(frozen=True)
class CardMaker:
    """Makes cards for some holes.

    Parameters
    ----------
    holes : sequence of CardHole
    plays : tuple of Play
        What rules may say.
    """

    holes: Sequence[CardHole]
    plays: tuple[Play, ...]
    areas: tuple[Area, ...] = field(default_factory=areas)
    _latest: dict[Card, Floats] = field(default_factory=dict, init=False, repr=False, compare=False)

    @cached_property
    def _allowed(self) -> NDArray[np.bool_]:
        return allowed(self.plays)

    def make(self, count: int) -> tuple[list[Card], Status]:
        """Return the best card found with 0, 1, ... rules, and how the programs ended."""
        card = self.lines(self._first(), anew=True)
        cards, status = [card], Status.PROVEN
        for n in range(1, count + 1):
            better, ended = self._with_rules(card, n)
            better = self.lines(better, anew=n in _ANEW)
            status = status if ended is Status.PROVEN else ended
            if len(better.rules) < n or card.total - better.total < _WORTH_A_RULE:
                break
            card = better
            cards.append(card)
        return cards, status

    def of_cells(self, rules: tuple[tuple[int, int], ...]) -> dict[int, Play]:
        """What rules say, by cell."""
        return {cell: self.plays[play] for area, play in rules for cell in self.areas[area].cells}

    def each(self, ask: Callable[[int], Result]) -> list[Result]:
        """Ask for every hole, by its place in the list."""
        return [ask(i) for i in range(len(self.holes))]

    def played(self, card: Card) -> list[Played]:
        """Play every hole by a card."""
        rules = self.of_cells(card.rules)
        return self.each(lambda i: self.holes[i].play(rules, card.settings[i]))

    def valued(self, rules: tuple[tuple[int, int], ...], settings: tuple[HoleSetting, ...]) -> Card:
        """Value rules and settings exactly."""
        cells = self.of_cells(rules)
        found = self.each(lambda i: self.holes[i].play(cells, settings[i]).expected)
        return Card(rules, settings, tuple(found))

    def _first(self) -> Card:
        return self.valued((), tuple(HoleSetting(0) for _ in self.holes))

    # -- lines of the holes -------------------------------------------------------------------------------

    def lines(self, card: Card, anew: bool) -> Card:
        """Choose the tee shot of every hole, and anew its side of the green and layup number; never dearer."""
        cells = self.of_cells(card.rules)
        choose = self._line if anew else self._tee
        found = self.each(lambda i: choose(i, cells, card.settings[i]))
        return Card(card.rules, tuple(s for s, _ in found), tuple(v for _, v in found))

    def _tee(self, i: int, cells: dict[int, Play], setting: HoleSetting) -> tuple[HoleSetting, float]:
        return self._teed(self.holes[i], cells, setting)

    def _line(self, i: int, cells: dict[int, Play], setting: HoleSetting) -> tuple[HoleSetting, float]:
        hole = self.holes[i]
        now = self._teed(hole, cells, setting)
        if hole.out_of_reach.any() and hole.plan.par > 3:
            for layup in (None, *LAYUPS_YD):
                least = 0.0 if layup is None else _WORTH_SAYING
                now = self._if_better(hole, cells, now, replace(now[0], layup=layup), least)
        for side in Side:
            least = 0.0 if side is Side.MIDDLE else _WORTH_SAYING
            now = self._if_better(hole, cells, now, replace(now[0], side=side), least)
        return now

    def _if_better(
        self,
        hole: CardHole,
        cells: dict[int, Play],
        now: tuple[HoleSetting, float],
        other: HoleSetting,
        least: float,
    ) -> tuple[HoleSetting, float]:
        """Take the other setting if it saves more than so many strokes."""
        if other == now[0]:
            return now
        changed = self._teed(hole, cells, other)
        return changed if now[1] - changed[1] > least else now

    @staticmethod
    def _teed(hole: CardHole, cells: dict[int, Play], setting: HoleSetting) -> tuple[HoleSetting, float]:
        """The best tee shot with the rest as it is; a ball that must be replayed is played the same way."""
        played = hole.play(cells, setting)
        tee = int(np.argmin(hole.choice_strokes(played)[hole.tee_choices]))
        if tee == setting.tee:
            return setting, played.expected
        other = replace(setting, tee=tee)
        cost = hole.play(cells, other).expected
        return (other, cost) if cost < played.expected else (setting, played.expected)

    # -- rules --------------------------------------------------------------------------------------------

    def _with_rules(self, card: Card, count: int) -> tuple[Card, Status]:
        """The best card found with at most so many rules, from a card with fewer."""
        from caddiebrain.insight.carry_program import pick_rules  # PuLP is slow to import

        best, status = card, Status.PROVEN
        refused: set[tuple[int, int]] = set()
        for _ in range(_PROPOSALS):
            picked, run = pick_rules(self.areas, self.gains(best), count, refused)
            status = status if run.status is Status.PROVEN else run.status
            rules = tuple(sorted((r.area, r.play) for r in picked))
            other = self.valued(rules, best.settings)
            if other.total < best.total - 1e-9:
                best = other
                continue
            one_more, useless = self._one_more(best, picked, count)
            if one_more.total < best.total or not useless:
                return one_more, status
            refused |= useless
        return best, status

    def _one_more(
        self, card: Card, picked: "tuple[PickedRule, ...]", count: int
    ) -> tuple[Card, set[tuple[int, int]]]:
        """The card with the best of the proposed rules that fits beside its own; and those that save nothing there."""
        if len(card.rules) >= count:
            return card, set()
        held = set(self.of_cells(card.rules))
        best, useless = card, set()
        for rule in picked:
            if held.isdisjoint(self.areas[rule.area].cells):
                added = rule.area, rule.play
                other = self.valued(tuple(sorted((*card.rules, added))), card.settings)
                best = min(best, other, key=lambda c: c.total)
                if other.total >= card.total:
                    useless.add(added)
        return best, useless

    def gains(self, card: Card) -> Floats:
        """Strokes a round each instruction saves over the default in each cell, to first order, (plays, cells)."""
        if card not in self._latest:  # a card that is not bettered is asked about again, with one rule more
            cells = self.of_cells(card.rules)
            total = np.sum(self.each(lambda i: self._gains(i, cells, card.settings[i])), axis=0)
            self._latest.clear()
            self._latest[card] = np.where(self._allowed, total, -np.inf)
        return self._latest[card]

    def _gains(self, i: int, cells: dict[int, Play], setting: HoleSetting) -> Floats:
        hole = self.holes[i]
        played = hole.play(cells, setting)
        visits, strokes = hole.visits(played), hole.choice_strokes(played)
        usual = hole.by_default(setting)
        ruled = hole.cell >= 0
        if setting.layup is not None:
            ruled &= ~hole.out_of_reach
        at = np.flatnonzero(ruled & (visits > 0.0))
        found = np.zeros((len(self.plays), CELLS))
        for p, play in enumerate(self.plays):
            said = hole.says(play, setting.side)[at]
            saved = strokes[usual[at]] - strokes[np.where(said >= 0, said, usual[at])]
            found[p] = np.bincount(hole.cell[at], visits[at] * saved, CELLS)
        return found

    def savings(self, card: Card) -> list[tuple[float, float]]:
        """For each rule: how often a round it is used, and what the card would cost more without it."""
        played = self.played(card)
        visits = [hole.visits(one) for hole, one in zip(self.holes, played, strict=True)]
        found = []
        for rule in card.rules:
            without = self.valued(tuple(r for r in card.rules if r != rule), card.settings)
            cells, times = list(self.areas[rule[0]].cells), 0.0
            for hole, seen, setting in zip(self.holes, visits, card.settings, strict=True):
                here = np.isin(hole.cell, cells)
                if setting.layup is not None:
                    here &= ~hole.out_of_reach
                here &= hole.says(self.plays[rule[1]], setting.side) >= 0
                times += float(seen[here].sum())
            found.append((times, without.total - card.total))
        return found
