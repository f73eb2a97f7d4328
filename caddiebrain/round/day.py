"""The flight of a player's shots in the air of the day."""

from caddiebrain.flight import Conditions, FlightTable, flight_table
from caddiebrain.player.model import Player

__all__ = ["day_flight"]


def day_flight(player: Player, conditions: Conditions) -> FlightTable:
    """Fly every pattern of a player in the air of the day."""
    shots = player.patterns
    return flight_table(
        [p.carry_yd for p in shots],
        [p.apex_yd for p in shots],
        [p.descent_deg for p in shots],
        [p.curve_yd for p in shots],
        conditions,
    )
