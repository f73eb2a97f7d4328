"""What wind and air do to every stock shot, for every direction the wind can blow across it.

**Calibration.** The 1976 tables overstate what wind and thin air do to a carry, against the press figures
golfers go by. Three figures are fitted to those reports: the wind over a course is ``SHELTER`` = 0.85 of the
forecast's over open ground, and every change along the line of play (carry, apex, descent) is ``ALONG_SHARE``
= 0.8 of the integrated one; the drift is as integrated. A head wind of 10 mph costs 1.3 to 1.5 times what a
tail wind gives by the same reports. Integrated, that is 1.27 for a long drive and 2 and more for the low flights
of short hitters: what a tail wind gives is brought between the two, the order of shots kept (``HEAD_TO_TAIL``).
``docs/flight.md`` shows each figure beside the published one.

**Low shots.** On a low, spinning flight the lift a head wind adds outweighs the drag in these tables, so that
it would cost nothing and a tail wind would hurt. Golfers see it otherwise: a head wind costs at least
``LEAST_HEAD`` and a tail wind gives at least ``LEAST_TAIL`` of the carry per mph along the line, well under
half of what stock shots feel (common practice, no source).

**Doubt.** The wind of a single shot differs from the mean by the gust (its whole standard deviation along the
wind, 0.75 of it across: Counihan 1975, *Atmospheric Environment* 9:871-905, from memory) and by the error of
the estimate (the same in both directions). The spread this adds comes from the slopes of carry and drift in
those two directions.
"""

from dataclasses import dataclass, fields, replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from caddiebrain.errors import Fault, InputError
from caddiebrain.flight.conditions import Conditions
from caddiebrain.flight.fit_launch import METRES_PER_YARD, OwnFlight, find_launch
from caddiebrain.flight.trajectory import fly

__all__ = ["ALONG_SHARE", "SHELTER", "FlightTable", "flight_table"]

Floats = NDArray[np.float64]

SHELTER = 0.85
ALONG_SHARE = 0.8
HEAD_TO_TAIL, HEAD_TO_TAIL_BAND, AT_MPH = 1.4, 0.1, 10.0  # what a head wind costs to what a tail wind gives
LEAST_HEAD, LEAST_TAIL = 0.002, 0.0015
GUST_ACROSS = 0.75
METRES_PER_SECOND = 0.44704  # in one mile per hour
NUDGE_MPH = 1.0
STEEPEST_DEG, FLATTEST_DEG = 85.0, 3.0
EARLIEST_APEX, LATEST_APEX = 0.3, 0.9
LEAST_CARRY = 0.05  # of its own: a gale would blow the steepest shots back over the player's head


@dataclass(frozen=True)
class FlightTable:
    """Flights of stock shots in the conditions of the day; arrays of shape (shots, bins).

    Bin k stands for a wind that blows toward ``angle_deg[k]``, clockwise from the line of the shot: 0 is a
    tail wind, 90 blows to the right, 180 is a head wind. The line of a shot runs from the ball to where it
    would land in reference air.

    Parameters
    ----------
    angle_deg : ndarray of shape (bins,)
        0, 360 / bins, ...
    carry_yd : ndarray
        Mean carry along the line.
    drift_yd : ndarray
        Where it lands beside that line, right positive; the shot's own curve is not in it.
    descent_deg, apex_yd, apex_share : ndarray
        Angle of descent, height of the apex, and the share of the carry at which the apex is.
    yards_per_height : ndarray
        Yards of carry lost per yard the landing lies above the ball (gained when below):
        ``carry = carry_yd - yards_per_height * rise_yd``.
    carry_wind_sd, drift_wind_sd : ndarray
        Standard deviations in yards that gusts and not knowing the wind add.
    wind_from_deg : float
        Compass bearing the wind comes from.
    """

    angle_deg: Floats
    carry_yd: Floats
    drift_yd: Floats
    descent_deg: Floats
    apex_yd: Floats
    apex_share: Floats
    yards_per_height: Floats
    carry_wind_sd: Floats
    drift_wind_sd: Floats
    wind_from_deg: float = 0.0

    def some(self, shots: slice) -> "FlightTable":
        """Return the flights of some of the shots."""
        arrays = {f.name: getattr(self, f.name) for f in fields(self)}
        return replace(self, **{name: a[shots] for name, a in arrays.items() if np.ndim(a) == 2})

    def at(self, values: Floats, bearing_deg: ArrayLike) -> Floats:
        """Values for shots along compass bearings, linear between the bins.

        Parameters
        ----------
        values : ndarray of shape (shots, bins)
            One of the arrays of the table.
        bearing_deg : array_like of shape (lines,)
            Compass bearings of the lines, degrees clockwise from north.

        Returns
        -------
        ndarray of shape (shots, lines)
        """
        bins = self.angle_deg.size
        toward = (self.wind_from_deg + 180.0 - np.atleast_1d(np.asarray(bearing_deg, dtype=float))) % 360.0
        place = toward * (bins / 360.0)
        low = np.floor(place).astype(np.intp) % bins
        share = place - np.floor(place)
        return np.asarray(values[:, low] * (1.0 - share) + values[:, (low + 1) % bins] * share)


def flight_table(
    carry_yd: ArrayLike,
    apex_yd: ArrayLike,
    descent_deg: ArrayLike,
    curve_yd: ArrayLike,
    conditions: Conditions,
    bins: int = 24,
) -> FlightTable:
    """Work out the flight of every stock shot in the conditions of the day.

    Parameters
    ----------
    carry_yd, apex_yd, descent_deg, curve_yd : array_like of shape (shots,)
        The shots in reference air: yards, yards, degrees, yards to the right from the line of launch.
    conditions : Conditions
    bins : int
        Number of wind directions, at least 4.

    Returns
    -------
    FlightTable
        In reference conditions exactly the shots as given.

    Raises
    ------
    InputError
        If a shot is no shot; every fault is named.
    SolveError
        If no launch gives a carry.
    """
    shots = _checked(carry_yd, apex_yd, descent_deg, curve_yd, bins)
    own = _own_flights(tuple(map(tuple, shots.tolist())))
    angle = np.linspace(0.0, 360.0, bins, endpoint=False)
    if conditions.reference:
        return _table(shots, own, angle, conditions, np.zeros((5, 1, 1)), np.zeros((2, 1, 1)))
    mean, nudged = _winds(angle, conditions)
    changes = _changes(own, np.concatenate([mean, nudged]), conditions.density)
    means, rest = changes[:, :, : len(mean)], changes[:, :, len(mean) :]
    doubt = np.zeros((2, 1, 1))
    if len(nudged):
        along, across = rest[:2, :, :bins], rest[:2, :, bins:]
        doubt = _doubt((along - means[:2]) / NUDGE_MPH, (across - means[:2]) / NUDGE_MPH, conditions)
    return _table(shots, own, angle, conditions, means, doubt)


def _checked(carry: ArrayLike, apex: ArrayLike, descent: ArrayLike, curve: ArrayLike, bins: int) -> Floats:
    """Shots as an array (4, shots), or every fault in them."""
    rows = np.broadcast_arrays(*map(np.atleast_1d, (carry, apex, descent, curve)))
    shots = np.stack(rows).astype(np.float64)
    faults = [] if bins >= 4 else [Fault("bins", str(bins), "4 or more")]
    names = ("carry_yd", "apex_yd", "descent_deg", "curve_yd")
    least, most = (5.0, 0.2, 1.0, -120.0), (450.0, 120.0, 89.0, 120.0)
    for name, row, low, high in zip(names, shots, least, most, strict=True):
        wrong = np.flatnonzero(~((row >= low) & (row <= high)))
        faults += [Fault(f"{name}[{i}]", f"{row[i]:g}", f"{low:g} to {high:g}") for i in wrong]
    if faults:
        raise InputError("flight_table", faults)
    return shots


@lru_cache(maxsize=64)
def _own_flights(shots: tuple[tuple[float, ...], ...]) -> OwnFlight:
    """Fitted launches; a player's are the same for all holes of a plan."""
    return find_launch(*(np.array(row) for row in shots))


def _winds(angle_deg: Floats, conditions: Conditions) -> tuple[Floats, Floats]:
    """Winds (winds, 2) to the right and forward in mph: the mean ones, and those nudged to measure the doubt.

    Without wind one mean serves all bins; without gusts and doubt nothing is nudged. Else the nudged are
    first all bins with the wind stronger, then all bins with it turned clockwise.
    """
    toward = np.radians(angle_deg)
    along = np.column_stack([np.sin(toward), np.cos(toward)])
    across = np.column_stack([np.cos(toward), -np.sin(toward)])
    mean = conditions.wind_mph * along
    sure = conditions.gust_mph == conditions.wind_uncertainty_mph == 0.0
    nudged = (
        np.empty((0, 2)) if sure else np.concatenate([mean + NUDGE_MPH * along, mean + NUDGE_MPH * across])
    )
    return (mean[:1] if conditions.wind_mph == 0.0 else mean), nudged


def _changes(own: OwnFlight, winds_mph: Floats, density: float) -> Floats:
    """What winds and air change, (5, shots, winds): carry, drift, descent, apex (relative), apex share."""
    strongest = max(1.0, float(np.hypot(*winds_mph.T).max()))
    plain = np.array([[-1.0, 0.0], [0.0, 0.0], [1.0, 0.0], [0.0, -1.0], [0.0, 1.0]])
    flown = _flown(own, np.concatenate([winds_mph, strongest * plain]), density)
    before = np.stack(
        [own.carry_yd, np.zeros_like(own.carry_yd), own.descent_deg, own.apex_yd, own.apex_share]
    )
    changes = flown - before[:, :, None]
    changes[3] /= own.apex_yd[:, None]
    changes[[0, 2, 3, 4]] *= ALONG_SHARE
    felt = _felt(changes[0], own.carry_yd[:, None], winds_mph, strongest)
    return np.concatenate([felt[None], changes[1:, :, : len(winds_mph)]])


def _flown(own: OwnFlight, winds_mph: Floats, density: float) -> Floats:
    """Carry, drift, descent, apex and apex share, (5, shots, winds), as integrated."""
    shots, winds = own.carry_yd.size, len(winds_mph)
    turn = np.repeat(np.radians(own.turn_deg), winds)
    right, forward = np.tile(winds_mph * (SHELTER * METRES_PER_SECOND), (shots, 1)).T
    flight = fly(
        own.launch.repeat(winds),
        density=density,
        wind_right_m_s=right * np.cos(turn) + forward * np.sin(turn),
        wind_forward_m_s=forward * np.cos(turn) - right * np.sin(turn),
    )
    landed_right, landed_forward = flight.right_m / METRES_PER_YARD, flight.forward_m / METRES_PER_YARD
    carry = landed_forward * np.cos(turn) + landed_right * np.sin(turn)
    drift = landed_right * np.cos(turn) - landed_forward * np.sin(turn)
    apex, apex_share = flight.apex_m / METRES_PER_YARD, flight.apex_forward_m / flight.forward_m
    return np.stack([carry, drift, flight.descent_deg, apex, apex_share]).reshape(5, shots, winds)


def _felt(change: Floats, carry: Floats, winds_mph: Floats, strongest: float) -> Floats:
    """Change of carry (shots, winds) with tail winds in the known ratio and no wind doing less than it must.

    The last columns of ``change`` are the strongest wind straight from the right, none, and from the left: the
    parabola through them is what the cross part of a wind does, the rest is what is felt along the line. Then
    come the strongest head and tail wind.
    """
    right, forward = winds_mph.T
    from_right, none, from_left, head, tail = (change[:, [i]] for i in range(-5, 0))
    bend = (from_right + from_left - 2.0 * none) / (2.0 * strongest**2)
    cross = none + (from_left - from_right) / (2.0 * strongest) * right + bend * right**2
    along = change[:, : len(winds_mph)] - cross
    against = np.minimum(along, LEAST_HEAD * forward * carry)
    favour = _favour(none - head, tail - none, strongest, LEAST_HEAD * AT_MPH * carry)
    share = np.maximum(forward, 0.0) / AT_MPH
    behind = np.maximum(along + favour * share * np.minimum(share, 1.0), LEAST_TAIL * forward * carry)
    return np.asarray(cross + np.where(forward < 0.0, against, behind))


def _favour(loss: Floats, gain: Floats, strongest: float, least: Floats) -> Floats:
    """Return the yards that a tail wind of ``AT_MPH`` gives more than integrated, (shots, 1).

    From the yards that the strongest head wind costs and the strongest tail wind gives, a parabola through none, and
    the ``least`` that a head wind of ``AT_MPH`` costs.
    """
    share = AT_MPH / strongest
    odd, even = (loss + gain) / 2.0 * share, (loss - gain) / 2.0 * share**2
    costs, gives = np.maximum(odd + even, least), odd - even
    ratio = costs / np.maximum(gives, 0.1 * costs)
    wanted = HEAD_TO_TAIL + HEAD_TO_TAIL_BAND * np.tanh((ratio - HEAD_TO_TAIL) / HEAD_TO_TAIL_BAND)
    return np.asarray(costs / wanted - gives)


def _doubt(per_mph_along: Floats, per_mph_across: Floats, conditions: Conditions) -> Floats:
    """Standard deviations of carry and drift (2, shots, bins) from their slopes along and across the wind."""
    along = conditions.gust_mph**2 + conditions.wind_uncertainty_mph**2
    across = (GUST_ACROSS * conditions.gust_mph) ** 2 + conditions.wind_uncertainty_mph**2
    return np.asarray(np.sqrt(per_mph_along**2 * along + per_mph_across**2 * across))


def _table(
    shots: Floats, own: OwnFlight, angle: Floats, conditions: Conditions, changes: Floats, doubt: Floats
) -> FlightTable:
    """Add changes (5, shots or 1, bins or 1) and doubt (2, ...) to the shots as given (4, shots)."""
    shape = (shots.shape[1], angle.size)
    carry, apex, descent, _ = shots[:, :, None]
    values = (
        np.maximum(carry + changes[0], LEAST_CARRY * carry),
        changes[1],
        np.clip(descent + changes[2], np.minimum(descent, FLATTEST_DEG), np.maximum(descent, STEEPEST_DEG)),
        apex * (1.0 + changes[3]),
        np.clip(own.apex_share[:, None] + changes[4], EARLIEST_APEX, LATEST_APEX),
        *doubt,
    )
    carry, drift, descent, apex, apex_share, carry_sd, drift_sd = (
        np.ascontiguousarray(np.broadcast_to(v, shape)) for v in values
    )
    return FlightTable(
        angle_deg=angle,
        carry_yd=carry,
        drift_yd=drift,
        descent_deg=descent,
        apex_yd=apex,
        apex_share=apex_share,
        yards_per_height=1.0 / np.tan(np.radians(descent)),
        carry_wind_sd=carry_sd,
        drift_wind_sd=drift_sd,
        wind_from_deg=conditions.wind_from_deg,
    )
