"""Everything a rule of a card may say, and where it makes sense to say it."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.green import PACES_FT
from caddiebrain.hole.off_green import ORDINARY
from caddiebrain.insight.carry_cells import CELLS, areas
from caddiebrain.insight.records_carry import Play, PlayKind, Situation
from caddiebrain.player.model import Player
from caddiebrain.terms import Lie

__all__ = ["LAYUPS_YD", "allowed", "plays_for"]

LAYUPS_YD = (60.0, 70.0, 80.0, 90.0, 100.0, 110.0, 120.0, 135.0, 150.0)
"""Numbers a layup may leave."""
_PAST_YD = (-2.0, 0.0, 2.0, 4.0)
_OFF_GREEN_PACES = (0, ORDINARY)
_CLUBS = 8
_GRASS = {Situation.FAIRWAY, Situation.ROUGH, Situation.THICK}
_WOOD = {Situation.TREES, Situation.BLOCKED}
_COSTLY = {Situation.RED, Situation.YELLOW, Situation.OUT}
_FULL_YD = 75.0
_SHORT_YD = 75.0
_PUTT_YD = 50.0

_WHERE: Mapping[PlayKind, tuple[set[Situation], float, float]] = {
    PlayKind.MIDDLE: (_GRASS | _WOOD | {Situation.SAND}, 0.0, np.inf),
    PlayKind.PIN: (_GRASS | {Situation.SAND}, 0.0, np.inf),
    PlayKind.MORE: (_GRASS | {Situation.SAND}, _FULL_YD, np.inf),
    PlayKind.LESS: (_GRASS | {Situation.SAND}, _FULL_YD, np.inf),
    PlayKind.AT_MOST: (_GRASS | {Situation.SAND}, _FULL_YD, np.inf),
    PlayKind.LEAVE: (_GRASS | {Situation.SAND}, 140.0, np.inf),
    PlayKind.SHOT: (_GRASS | {Situation.SAND}, 0.0, _SHORT_YD),
    PlayKind.PUTT: ({Situation.FAIRWAY}, 0.0, _PUTT_YD),
    PlayKind.PUNCH_OUT: (_WOOD, 0.0, np.inf),
    PlayKind.PUNCH_ON: (_WOOD, 0.0, np.inf),
    PlayKind.UNPLAYABLE: ({Situation.TREES, Situation.THICK}, 0.0, np.inf),
    PlayKind.PACE: ({Situation.GREEN}, 0.0, np.inf),
    PlayKind.NEAREST: (_COSTLY, 0.0, np.inf),
    PlayKind.ON_FAIRWAY: (_COSTLY, 0.0, np.inf),
    PlayKind.AGAIN: (_COSTLY, 0.0, np.inf),
}


def plays_for(player: Player) -> tuple[Play, ...]:
    """Everything a rule may say to a player."""
    special = (PlayKind.AT_MOST, PlayKind.LEAVE, PlayKind.SHOT, PlayKind.PUTT, PlayKind.PACE)
    shots = tuple(dict.fromkeys(s.name for s in player.short_game if s.lie is not Lie.TREES))
    return (
        *(Play(kind=kind) for kind in PlayKind if kind not in special),
        *(Play(kind=PlayKind.AT_MOST, club=club) for club in player.clubs[1 : 1 + _CLUBS]),
        *(Play(kind=PlayKind.LEAVE, value=yards) for yards in LAYUPS_YD),
        *(Play(kind=PlayKind.SHOT, club=name, value=yards) for name in shots for yards in _PAST_YD),
        *(Play(kind=PlayKind.PUTT, value=float(PACES_FT[pace])) for pace in _OFF_GREEN_PACES),
        *(Play(kind=PlayKind.PACE, value=float(pace)) for pace in PACES_FT),
    )


def allowed(plays: tuple[Play, ...]) -> NDArray[np.bool_]:
    """Whether a rule may say each instruction in each cell, (plays, cells)."""
    found = np.zeros((len(plays), CELLS), dtype=bool)
    single = [a for a in areas() if len(a.situations) == 1 and len(a.cells) == 1]
    for i, play in enumerate(plays):
        situations, low, high = _WHERE[play.kind]
        cells = [
            a.cells[0]
            for a in single
            if a.situations[0] in situations and a.at_least >= low and (a.below or np.inf) <= high
        ]
        found[i, cells] = True
    return found
