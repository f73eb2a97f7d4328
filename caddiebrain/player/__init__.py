"""The player: shot patterns, lies, short game and putting; levels, records and fits. Knows no course."""

from caddiebrain.player.files import load_player, player_from_document, player_schema, save_player
from caddiebrain.player.fit import fit_player, update_player
from caddiebrain.player.level import Level
from caddiebrain.player.model import LieEffect, Player, Posterior, PuttingSkill, Ramp, ShortShot, ShotPattern
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
