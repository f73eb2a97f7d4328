"""What a golfer can practise: each skill as the numbers of the player's model that get better with it."""

# What `room` leans on: errors fall with practice toward a floor, the less the nearer they are. Newell A.,
# Rosenbloom P.S. (1981), Mechanisms of skill acquisition and the law of practice, in *Cognitive Skills and their
# Acquisition* (memory).

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from caddiebrain.player.model import Player, ShortShot, ShotPattern
from caddiebrain.player.patterns import Record
from caddiebrain.terms import Lie

__all__ = ["BANDS_YD", "Skill", "room", "skills_of"]

BANDS_YD = (0.0, 110.0, 140.0, 170.0, 400.0)
"""Full shots other than the driver's are told apart by carry between these."""

_SHORT_GAME = {
    Lie.TIGHT: "short game from tight lies",
    Lie.FAIRWAY: "short game from the fairway",
    Lie.ROUGH: "short game from the rough",
    Lie.THICK: "short game from thick rough",
    Lie.SAND: "bunker play",
    Lie.TREES: "recovery from the trees",
}


@dataclass(frozen=True)
class Skill:
    """One thing to practise.

    Parameters
    ----------
    name : str
    effect : str
        What one per cent of improvement is: "tighter", "longer", "rarer".
    better : callable
        Takes a player and a share (0.1 for a tenth) and returns the player so much better.
    length : bool
        Whether it changes how far shots fly.
    """

    name: str
    effect: str
    better: Callable[[Player, float], Player]
    length: bool = False

    def words(self, share: float) -> str:
        """Say an improvement: "10 % tighter"."""
        return f"{100 * share:.2g} % {self.effect}"


def skills_of(player: Player) -> tuple[Skill, ...]:
    """List what this player can practise.

    The driver is the club called so, else the longest.
    """
    driver = "driver" if "driver" in player.clubs else player.clubs[0]
    return tuple(_skills(player, driver))


def _skills(player: Player, driver: str) -> Iterator[Skill]:
    yield Skill("driver: direction", "straighter", _patterns(lambda p: p.club == driver, "line_sd_deg"))
    yield Skill("driver: length", "longer", _longer(driver), length=True)
    yield Skill("mishits of full shots", "rarer", _patterns(lambda p: True, "mishit"))
    for low, high in pairwise(BANDS_YD):
        if any(low <= p.carry_yd < high for p in player.patterns if p.club != driver):
            inside = _band(driver, low, high)
            yield Skill(_band_name(low, high), "tighter", _patterns(inside, "line_sd_deg", "carry_sd"))
    for lie in dict.fromkeys(shot.lie for shot in player.short_game):
        yield Skill(_SHORT_GAME.get(lie, f"short game from {lie}"), "tighter", _short(lie))
    yield Skill("lag putting (pace)", "tighter", _putting("pace_sd"))
    yield Skill("short putts (aim)", "tighter", _putting("aim_sd_deg"))


def _band(driver: str, low: float, high: float) -> Callable[[ShotPattern], bool]:
    return lambda p: p.club != driver and low <= p.carry_yd < high


def _band_name(low: float, high: float) -> str:
    if low <= BANDS_YD[0]:
        return f"full shots under {high:.0f} yards"
    more = high >= BANDS_YD[-1]
    return f"full shots of {low:.0f} " + ("yards and more" if more else f"to {high:.0f} yards")


def _patterns(which: Callable[[ShotPattern], bool], *names: str) -> Callable[[Player, float], Player]:
    """Shrink some numbers of some full shots."""

    def better(player: Player, share: float) -> Player:
        patterns = tuple(
            p.model_copy(update={n: getattr(p, n) * (1.0 - share) for n in names}) if which(p) else p
            for p in player.patterns
        )
        return player.model_copy(update={"patterns": patterns, "posterior": None})

    return better


def _longer(driver: str) -> Callable[[Player, float], Player]:
    def better(player: Player, share: float) -> Player:
        patterns = tuple(
            p.model_copy(update={"carry_yd": p.carry_yd * (1.0 + share)}) if p.club == driver else p
            for p in player.patterns
        )
        return player.model_copy(update={"patterns": patterns, "posterior": None})

    return better


_SHORT = ("depth_sd", "depth_sd_floor_yd", "line_sd_deg", "line_sd_floor_yd", "mishit")


def _short(lie: Lie) -> Callable[[Player, float], Player]:
    """Shrink every spread and the mishits of the short shots from a lie."""

    def one(shot: ShortShot, share: float) -> ShortShot:
        if shot.lie is not lie:
            return shot
        return shot.model_copy(update={n: getattr(shot, n) * (1.0 - share) for n in _SHORT})

    def better(player: Player, share: float) -> Player:
        shots = tuple(one(shot, share) for shot in player.short_game)
        return player.model_copy(update={"short_game": shots, "posterior": None})

    return better


def _putting(name: str) -> Callable[[Player, float], Player]:
    def better(player: Player, share: float) -> Player:
        putting = player.putting.model_copy(update={name: getattr(player.putting, name) * (1.0 - share)})
        return player.model_copy(update={"putting": putting, "posterior": None})

    return better


def room(player: Player, skill: Skill, best: Player) -> float:
    """Return how much of a skill's errors separates a player from a better one: 0 to 1, averaged over its numbers.

    Full shots are compared by carry, short shots by lie and name.
    """
    other = skill.better(player, 0.5)
    pairs = [*_full_pairs(player, other, best), *_short_pairs(player, other, best)]
    pairs += [
        (getattr(player.putting, n), getattr(best.putting, n))
        for n in _changed(player.putting, other.putting)
    ]
    return float(np.mean([min(max(1.0 - good / own, 0.0), 1.0) if own > 0.0 else 0.0 for own, good in pairs]))


def _changed(one: Record, other: Record) -> list[str]:
    return [name for name in type(one).model_fields if getattr(one, name) != getattr(other, name)]


def _full_pairs(player: Player, other: Player, best: Player) -> Iterator[tuple[float, float]]:
    ordered = sorted(best.patterns, key=lambda p: p.carry_yd)
    carry = [p.carry_yd for p in ordered]
    for own, changed in zip(player.patterns, other.patterns, strict=True):
        for name in _changed(own, changed):
            yield (
                getattr(own, name),
                float(np.interp(own.carry_yd, carry, [getattr(p, name) for p in ordered])),
            )


def _short_pairs(player: Player, other: Player, best: Player) -> Iterator[tuple[float, float]]:
    for own, changed in zip(player.short_game, other.short_game, strict=True):
        twins = [s for s in best.short_game if s.lie is own.lie and s.name == own.name]
        twins = twins or [s for s in best.short_game if s.lie is own.lie] or list(best.short_game)
        for name in _changed(own, changed):
            yield getattr(own, name), float(np.mean([getattr(s, name) for s in twins]))
