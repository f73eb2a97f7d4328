"""The player: shot patterns, lies, short game and putting; levels, records and fits. Knows no course.

Modules are opened when a name of theirs is first used: whoever plans a round needs few of them.
"""

from typing import TYPE_CHECKING

from caddiebrain.opening import opener

if TYPE_CHECKING:
    from caddiebrain.player.files import load_player, player_from_document, player_schema, save_player
    from caddiebrain.player.fit import fit_player, update_player
    from caddiebrain.player.level import Level
    from caddiebrain.player.model import (
        LieEffect,
        Player,
        Posterior,
        PuttingSkill,
        Ramp,
        ShortShot,
        ShotPattern,
    )
    from caddiebrain.player.putting import Leave, holing_chance, leave_distribution
    from caddiebrain.player.records import Records, load_records
    from caddiebrain.player.reference_levels import tour_like
    from caddiebrain.player.summary import ClubRow, Interval

__all__ = [
    "ClubRow",
    "Interval",
    "Leave",
    "Level",
    "LieEffect",
    "Player",
    "Posterior",
    "PuttingSkill",
    "Ramp",
    "Records",
    "ShortShot",
    "ShotPattern",
    "fit_player",
    "holing_chance",
    "leave_distribution",
    "load_player",
    "load_records",
    "player_from_document",
    "player_schema",
    "save_player",
    "tour_like",
    "update_player",
]

_MODULES = {
    "files": (
        "load_player",
        "player_from_document",
        "player_schema",
        "save_player",
    ),
    "fit": (
        "fit_player",
        "update_player",
    ),
    "level": ("Level",),
    "model": (
        "LieEffect",
        "Player",
        "Posterior",
        "PuttingSkill",
        "Ramp",
        "ShortShot",
        "ShotPattern",
    ),
    "putting": (
        "Leave",
        "holing_chance",
        "leave_distribution",
    ),
    "records": (
        "Records",
        "load_records",
    ),
    "reference_levels": ("tour_like",),
    "summary": (
        "ClubRow",
        "Interval",
    ),
}

__getattr__ = opener(__name__, _MODULES)
