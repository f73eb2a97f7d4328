"""What wind, air and slope do to short shots and punches.

A short shot is the choice of where the ball is to stop, and the player allows for the wind and the slope as they are
known: by how far and by where he sends it. What is left is felt: a ball sent farther strays more, one that is mishit is
blown less far than was allowed for, one that comes down where the ground is higher or lower than at the spot meant
carries less far or farther, and gusts and not knowing the wind widen the spread. No ball can be sent farther than the
longest shot there is.

How these shots fly is not on record, only how much of their length they fly: the more, the steeper they come down
(``DESCENT``); their apex is a parabola's. Wind and air change such flights as they change full ones
(`caddiebrain.flight`).
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caddiebrain.flight import Conditions, flight_table
from caddiebrain.hole.ground import Ground
from caddiebrain.hole.short_swings import LEAST_CARRIED, Allowance, ShortNumbers
from caddiebrain.player.model import ShortShot

__all__ = ["ShortAir", "allowance"]

Floats = NDArray[np.float64]

DESCENT = (15.0, 40.0)
"""Angle of descent of a shot that does not fly, and how much steeper one is that does not roll, degrees (common
practice, no source)."""
LOW_DESCENT = 14.0
"""The same of a punch."""
CARRIES = np.array([5.0, 10.0, 20.0, 40.0, 70.0, 110.0])
DESCENTS = np.array([LOW_DESCENT, 27.0, 40.0, 55.0])
_ROUNDS = 4


@dataclass(frozen=True)
class ShortAir:
    """What the air of the day does to short flights, as shares of their carry.

    Attributes
    ----------
    shares : ndarray (4, descents, carries, bins)
        Carry lost, drift to the right, and the standard deviations of both; bins as in `FlightTable`.
    wind_to_deg : float
        Compass bearing the wind blows toward.
    """

    shares: Floats
    wind_to_deg: float

    @classmethod
    def of(cls, conditions: Conditions) -> "ShortAir | None":
        """Work out the air of a day; None where shots fly as they do in reference air."""
        if conditions.reference:
            return None
        descent, carry = np.broadcast_arrays(DESCENTS[:, None], CARRIES)
        apex = carry * np.tan(np.radians(descent)) / 4.0
        flown = flight_table(carry.ravel(), apex.ravel(), descent.ravel(), 0.0, conditions)
        own = carry.ravel()[:, None]
        found = (own - flown.carry_yd, flown.drift_yd, flown.carry_wind_sd, flown.drift_wind_sd)
        shares = np.stack([f / own for f in found]).reshape(4, len(DESCENTS), len(CARRIES), -1)
        return cls(shares, (conditions.wind_from_deg + 180.0) % 360.0)

    def at(self, carry: Floats, descent: Floats, bearing_deg: Floats) -> tuple[Floats, Floats]:
        """Return the shares of shots (rows,), linear between those worked out, and how they grow a yard: (4, rows).

        Parameters
        ----------
        carry, descent : ndarray (rows,)
            In reference air, yards and degrees.
        bearing_deg : ndarray (rows,)
            Compass bearings of their lines.
        """
        bins = self.shares.shape[-1]
        wind = np.rint((self.wind_to_deg - bearing_deg) * (bins / 360.0)).astype(np.int64) % bins
        i = np.clip(np.searchsorted(CARRIES, carry, side="right") - 1, 0, len(CARRIES) - 2)
        j = np.clip(np.searchsorted(DESCENTS, descent, side="right") - 1, 0, len(DESCENTS) - 2)
        up = np.clip((descent - DESCENTS[j]) / (DESCENTS[j + 1] - DESCENTS[j]), 0.0, 1.0)
        near, far = (
            self.shares[:, j, i + k, wind] * (1.0 - up) + self.shares[:, j + 1, i + k, wind] * up
            for k in (0, 1)
        )
        wide = CARRIES[i + 1] - CARRIES[i]
        on = np.clip((carry - CARRIES[i]) / wide, 0.0, 1.0)
        grows = np.where((carry > CARRIES[0]) & (carry < CARRIES[-1]), (far - near) / wide, 0.0)
        return near * (1.0 - on) + far * on, grows


def allowance(
    ground: Ground,
    air: ShortAir | None,
    at: tuple[NDArray[Any], NDArray[Any], NDArray[Any], NDArray[Any]],
    shot: ShortShot | ShortNumbers,
    low: bool,
) -> Allowance | None:
    """Work out what shots allow for, and what they feel of it all the same; None on the level in reference air.

    Parameters
    ----------
    at : tuple of ndarray (rows,)
        Where the balls lie, x and y in yards; the heading of the line to where they are to stop, radians clockwise
        from the y axis; how far that is.
    """
    if air is None and ground.height is None:
        return None
    x, y, heading, distance = (np.asarray(a, dtype=np.float64) for a in at)
    share = np.broadcast_to(np.ravel(shot.carry_share), distance.shape)
    longest = np.broadcast_to(np.ravel(shot.longest_yd), distance.shape) * share
    descent = np.full(len(x), LOW_DESCENT) if low else DESCENT[0] + DESCENT[1] * share
    wanted = distance * share
    rise, steep = np.zeros((2, len(x)))
    level: Floats | None = None
    if ground.height is not None and not low:  # a low ball lands sooner on rising ground, and runs on
        level = ground.height_at(x + wanted * np.sin(heading), y + wanted * np.cos(heading)).astype(
            np.float64
        )
        steep = 1.0 / np.tan(np.radians(descent))
        rise = np.clip((level - ground.height_at(x, y)) * steep, -0.5 * wanted, 0.5 * wanted)
    carry = np.minimum(wanted + rise, longest)
    shares = grows = np.zeros((4, len(x)))
    if air is not None:
        bearing = ground.hole.bearing_deg + np.rad2deg(heading)
        for _ in range(_ROUNDS):
            shares, grows = air.at(carry, descent, bearing)
            carry = np.minimum((wanted + rise) / np.maximum(1.0 - shares[0], LEAST_CARRIED), longest)
    columns = (carry / share, share, rise, *shares, grows[0], grows[1])
    length, share, rise, loss, drift, loss_sd, drift_sd, more_loss, more_drift = (c[:, None] for c in columns)
    return Allowance(length, share, rise, loss, drift, loss_sd, drift_sd, more_loss, more_drift, level, steep)
