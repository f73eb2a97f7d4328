"""The player: shot patterns, lies, short game and putting; levels, records and fits. Knows no course."""

from caddiebrain.player.files import load_player, player_schema, save_player
from caddiebrain.player.level import Level
from caddiebrain.player.model import LieEffect, Player, PuttingSkill, Ramp, ShortShot, ShotPattern
from caddiebrain.player.putting import Leave, holing_chance, leave_distribution
from caddiebrain.player.reference_levels import tour_like

__all__ = [
    "Leave",
    "Level",
    "LieEffect",
    "Player",
    "PuttingSkill",
    "Ramp",
    "ShortShot",
    "ShotPattern",
    "holing_chance",
    "leave_distribution",
    "load_player",
    "player_schema",
    "save_player",
    "tour_like",
]
