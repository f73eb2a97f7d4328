"""Ball flight: what wind, air, height and ground do to a player's own shots. Knows nothing of decisions."""

from caddiebrain.flight.air import air_density, pressure_at, wind_profile
from caddiebrain.flight.bounce import ROLLOUT_BY_LIE, rollout_yd
from caddiebrain.flight.conditions import Conditions
from caddiebrain.flight.effects import FlightTable, flight_table
from caddiebrain.flight.fit_launch import OwnFlight, find_launch
from caddiebrain.flight.green import green_deceleration, level_green_speed
from caddiebrain.flight.profile import curve_profile, drift_profile, height_profile, shares_above
from caddiebrain.flight.trajectory import Flight, Launch, fly

__all__ = [
    "ROLLOUT_BY_LIE",
    "Conditions",
    "Flight",
    "FlightTable",
    "Launch",
    "OwnFlight",
    "air_density",
    "curve_profile",
    "drift_profile",
    "find_launch",
    "flight_table",
    "fly",
    "green_deceleration",
    "height_profile",
    "level_green_speed",
    "pressure_at",
    "rollout_yd",
    "shares_above",
    "wind_profile",
]
