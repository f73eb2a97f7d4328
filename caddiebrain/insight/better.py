"""Better players compiled together: skills that concern different swings share one pass over a hole's choices."""

import copy
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from caddiebrain.flight import Conditions
from caddiebrain.hole import ChoiceTable, HoleCompiler, Kind
from caddiebrain.hole.arsenal import Arsenal, arsenal_of
from caddiebrain.hole.green import PACES_FT
from caddiebrain.hole.ground import LIES
from caddiebrain.hole.short_swings import punch_of, short_swings
from caddiebrain.insight.skills import Skill
from caddiebrain.player.model import Player, PuttingSkill
from caddiebrain.round.day import day_flight

__all__ = ["Pass", "passes_of", "with_arsenal"]

Shot = tuple[Kind, int]
"""Kind and index, as in a `ChoiceTable`."""


@dataclass(frozen=True)
class Pass:
    """A changed arsenal in which every changed shot belongs to one skill.

    Attributes
    ----------
    arsenal : Arsenal
    owner : mapping of Shot to int
        Number of the skill of each changed shot.
    putting : mapping of int to PuttingSkill
        Changed putting, by number of the skill.
    """

    arsenal: Arsenal
    owner: Mapping[Shot, int]
    putting: Mapping[int, PuttingSkill]

    def skill_of(self, table: ChoiceTable) -> NDArray[np.int64]:
        """Number of the skill of each row (n,); -1 where nothing is changed."""
        found = np.full(len(table), -1, dtype=np.int64)
        for (kind, index), number in self.owner.items():
            found[(table.kind == kind) & (table.index == index)] = number
        return found


def with_arsenal(compiler: HoleCompiler, arsenal: Arsenal) -> HoleCompiler:
    """Return the compiler of the same hole for another arsenal; what is known of the ground is shared."""
    other = copy.copy(compiler)
    other.arsenal = arsenal
    return other


def passes_of(
    compiler: HoleCompiler, skills: Sequence[Skill], share: Sequence[float], day: Conditions, firmness: float
) -> tuple[Pass, ...]:
    """Make the player of a compiler better at every skill by its share, in as few passes as keep skills apart.

    A skill changes the swings whose own numbers it changes, and no other: what a lie does to a club is taken from
    the bag as it is, although it is interpolated between the shortest club and the longest.
    """
    player = compiler.player
    better = [skill.better(player, by) for skill, by in zip(skills, share, strict=True)]
    groups = _groups([_touched(player, other) for other in better], [skill.length for skill in skills])
    return tuple(
        _pass(compiler, {n: (skills[n], share[n], better[n]) for n in group}, day, firmness)
        for group in groups
    )


def _groups(touched: Sequence[set[Shot]], alone: Sequence[bool]) -> list[list[int]]:
    """Put numbers together that touch different shots; those that change how far shots fly stay alone."""
    groups: list[list[int]] = []
    taken: list[set[Shot]] = []
    for number, shots in enumerate(touched):
        free = (i for i, group in enumerate(groups) if not alone[group[0]] and not taken[i] & shots)
        at = len(groups) if alone[number] else next(free, len(groups))
        if at == len(groups):
            groups.append([])
            taken.append(set())
        groups[at].append(number)
        taken[at] |= shots
    return groups


def _touched(player: Player, other: Player) -> set[Shot]:
    """Shots whose numbers differ between two versions of a player."""
    found = {(Kind.FULL, i) for i, p in enumerate(player.patterns) if other.patterns[i] != p}
    found |= {(Kind.SHORT, i) for i, s in enumerate(player.short_game) if other.short_game[i] != s}
    if punch_of(other) != punch_of(player):
        found.add((Kind.PUNCH, punch_of(player).index))
    if other.putting != player.putting:
        found |= {(Kind.PUTT, i) for i in range(len(PACES_FT))}
    return found


def _pass(
    compiler: HoleCompiler,
    group: Mapping[int, tuple[Skill, float, Player]],
    day: Conditions,
    firmness: float,
) -> Pass:
    player, now = compiler.player, compiler.arsenal
    everything = player
    for skill, by, _ in group.values():
        everything = skill.better(everything, by)
    owner = {shot: n for n, (*_, other) in group.items() for shot in _touched(player, other)}
    full = dict(now.full)
    if any(kind is Kind.FULL for kind, _ in owner):
        new = arsenal_of(everything, day_flight(everything, day), day, firmness)
        for code, swings in now.full.items():
            others = {s.index: s for s in new.full[code]}
            full[code] = tuple(others.get(s.index, s) if (Kind.FULL, s.index) in owner else s for s in swings)
    short = {code: tuple(short_swings(everything, LIES[code])) for code in now.short}
    putting = {n: other.putting for n, (*_, other) in group.items() if other.putting != player.putting}
    putter = replace(now.putter, skill=everything.putting)
    arsenal = Arsenal(full, short, punch_of(everything), putter, now.wind_to_deg, now.air)
    return Pass(arsenal, owner, putting)
