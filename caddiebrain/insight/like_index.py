"""Which handicap index a fitted player's shots are like, where it is far from the one the fit began with.

Both golfers play three plain holes, a par 3, a par 4 and a par 5 in lengths of the level's drive, and the three stand
for a round of eighteen.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from shapely import Point, box

from caddiebrain.course import Setup
from caddiebrain.course.model import Area, Hole
from caddiebrain.flight import Conditions
from caddiebrain.hole import GridSpec, HoleCompiler, player_today
from caddiebrain.player import Level
from caddiebrain.player.model import Player
from caddiebrain.round.day import day_flight
from caddiebrain.round.prepare import prepare
from caddiebrain.terms import Lie

__all__ = ["LikeIndex", "like_index"]

FAR = 4.0
"""Strokes a round; nearer than this an index is as good a guess as the records."""
_ROUND = ((3, 0.8, 4), (4, 2.0, 10), (5, 2.5, 4))
"""Par, length in the level's carries with the driver, and how many of eighteen holes are like it."""
_GRID = GridSpec(lattice=20.0, sparse_lattice=30.0, near_lattice=10.0, points=(55, 13), tee_points=(144, 34))
"""Coarse: its error is that of both golfers and leaves their difference alone."""
_LOWEST, _HIGHEST = -4.0, 54.0


@dataclass(frozen=True)
class LikeIndex:
    """An index that a player's shots are like, and the one to hold it against.

    Parameters
    ----------
    index : float
        To about two strokes.
    given : float
    from_cards : bool
        Whether the scores on record came to ``given``.
    """

    index: float
    given: float
    from_cards: bool

    @property
    def sentence(self) -> str:
        """What to tell the player."""
        like, given = _words(round(self.index)), _words(self.given)
        beside = f"the scores come to {given}" if self.from_cards else f"{given} was given"
        doubt = "bad" if self.index < self.given else "good"
        return f"these shots play like an index of about {like}; {beside}: were the {doubt} ones written down, too?"


def like_index(player: Player, sex: Literal["men", "women"] = "men") -> LikeIndex | None:
    """Tell which index a fitted player's shots are like; None where it is near the one the fit began with.

    What records do not tell of, the player has from the level, so the index told leans towards the one given.

    Parameters
    ----------
    player : Player
        From `caddiebrain.player.fit_player`. Without records, or without an index, there is nothing to tell.
    sex : {"men", "women"}
        Whose levels to hold the player against.
    """
    given, fit = player.handicap_index, player.posterior
    if given is None or fit is None or not fit.records or not _LOWEST <= given <= _HIGHEST:
        return None
    level = Level(handicap_index=given, sex=sex).player()
    holes = _holes(max(p.carry_yd for p in level.patterns))
    usual = _round(level, holes)
    gap = _round(player, holes) - usual
    # A first guess: a stroke a round for each stroke of the index.
    other = float(np.clip(given + gap, _LOWEST, _HIGHEST))
    if abs(gap) < FAR or other == given:
        return None
    stroke = (_round(Level(handicap_index=other, sex=sex).player(), holes) - usual) / (other - given)
    index = float(np.clip(given + gap / stroke, _LOWEST, _HIGHEST))
    return LikeIndex(index, given, fit.level_from_cards)


def _holes(drive_yd: float) -> tuple[Hole, ...]:
    """Flat and straight holes: a fairway of 32 yards, rough beside it, a round green of 14 yards' radius."""
    holes = []
    for par, drives, _ in _ROUND:
        length = drives * drive_yd
        areas = (
            Area(Lie.GREEN, Point(0.0, length).buffer(14.0)),
            Area(Lie.FAIRWAY, box(-16.0, 0.45 * length, 16.0, length - 12.0)),
        )
        holes.append(Hole(par, par, par, np.array([[0.0, 0.0], [0.0, length]]), areas))
    return tuple(holes)


def _round(player: Player, holes: tuple[Hole, ...]) -> float:
    """Strokes a round, playing for the average on a still day."""
    today, day = player_today(player, Setup()), Conditions()
    flight = day_flight(today, day)
    strokes = 0.0
    for hole, (_, _, count) in zip(holes, _ROUND, strict=True):
        ready = prepare(HoleCompiler(hole, today, flight, day, _GRID))
        strokes += count * float(ready.expected.value[ready.model.tee])
    return strokes


def _words(index: float) -> str:
    return f"+{-index:g}" if index < 0 else f"{index:g}"
