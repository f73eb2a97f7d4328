"""The flight of a spinning ball: equations of motion integrated for many shots at once.

Axes in metres: x right, y forward along the launch, z up. With ``u`` the velocity through the air, ``k`` =
density * area / (2 mass) and ``a`` the unit spin axis, which keeps its direction in space,

    dv/dt = -k C_D |u| u + k C_L |u| (a x u) - g z,        d(spin)/dt = -2e-5 |u| spin / r.

The decay of spin is Smits and Smith (1994), from memory. A classical Runge-Kutta step of fixed length carries
every shot; apex and landing lie on the cubic through the states on either side.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from caddiebrain.errors import SolveError
from caddiebrain.flight.aero import BALL_MASS_KG, BALL_RADIUS_M, coefficients
from caddiebrain.flight.air import REFERENCE_DENSITY, wind_profile

__all__ = ["GRAVITY", "STEP_S", "Flight", "Launch", "fly", "path"]

GRAVITY = 9.80665
STEP_S = 0.2
LONGEST_S = 40.0
SPIN_DECAY = 2e-5

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Launch:
    """How balls leave the club, arrays of shape (n,).

    Parameters
    ----------
    speed_m_s, angle_deg, spin_rpm : ndarray
        Ball speed, angle above the horizontal, backspin.
    tilt_deg : ndarray
        Tilt of the spin axis about the line of launch; positive curves to the right.
    """

    speed_m_s: Floats
    angle_deg: Floats
    spin_rpm: Floats
    tilt_deg: Floats

    @classmethod
    def of(
        cls, speed_m_s: ArrayLike, angle_deg: ArrayLike, spin_rpm: ArrayLike, tilt_deg: ArrayLike = 0.0
    ) -> "Launch":
        """Make a launch from anything that broadcasts to one dimension."""
        parts = np.broadcast_arrays(*(np.atleast_1d(p) for p in (speed_m_s, angle_deg, spin_rpm, tilt_deg)))
        return cls(*(np.ascontiguousarray(p, dtype=float) for p in parts))

    def repeat(self, times: int) -> "Launch":
        """Each shot ``times`` times in a row."""
        parts = (self.speed_m_s, self.angle_deg, self.spin_rpm, self.tilt_deg)
        return Launch(*(np.repeat(p, times) for p in parts))

    def start(self) -> tuple[Floats, Floats]:
        """State (7, n) at the club (place, velocity, spin in rpm) and the spin axis (3, n)."""
        angle, tilt = np.radians(self.angle_deg), np.radians(self.tilt_deg)
        zero = np.zeros_like(angle)
        velocity = self.speed_m_s * np.stack([zero, np.cos(angle), np.sin(angle)])
        axis = np.stack([np.cos(tilt), np.sin(tilt) * np.sin(angle), -np.sin(tilt) * np.cos(angle)])
        return np.concatenate([np.zeros((3, angle.size)), velocity, self.spin_rpm[None]]), axis


@dataclass(frozen=True)
class Flight:
    """Where and how balls land, arrays of shape (n,), metres, seconds, degrees.

    A ball that never gets up to the landing height is NaN throughout.
    """

    forward_m: Floats
    right_m: Floats
    apex_m: Floats
    apex_forward_m: Floats
    time_s: Floats
    descent_deg: Floats
    speed_m_s: Floats


@dataclass(frozen=True)
class _Air:
    """Density factor k in 1/m, wind at 10 m in m/s to the right and forward, spin axes (3, n)."""

    k: Floats
    right: Floats
    forward: Floats
    axis: Floats
    windy: bool

    def rates(self, state: Floats) -> Floats:
        """Time derivative of the state (7, n)."""
        through = state[3:6]
        if self.windy:
            share = wind_profile(state[2])
            through = through - np.stack([share * self.right, share * self.forward, np.zeros_like(share)])
        speed = np.sqrt(np.einsum("in,in->n", through, through))
        drag, lift = coefficients(state[6], speed)
        pull = self.k * speed
        out = np.empty_like(state)
        out[:3] = state[3:6]
        out[3:6] = (pull * lift) * _cross(self.axis, through) - (pull * drag) * through
        out[5] -= GRAVITY
        out[6] = (-SPIN_DECAY / BALL_RADIUS_M) * speed * state[6]
        return out


def _cross(a: Floats, b: Floats) -> Floats:
    """Cross product along the first axis, cheaper than the general routine."""
    out = np.empty_like(b)
    out[0] = a[1] * b[2] - a[2] * b[1]
    out[1] = a[2] * b[0] - a[0] * b[2]
    out[2] = a[0] * b[1] - a[1] * b[0]
    return out


def _air(launch: Launch, density: ArrayLike, right: ArrayLike, forward: ArrayLike, axis: Floats) -> _Air:
    size = launch.speed_m_s.size
    area = np.pi * BALL_RADIUS_M**2
    spread = [np.broadcast_to(np.asarray(p, dtype=float), (size,)) for p in (density, right, forward)]
    return _Air(
        k=spread[0] * (area / (2.0 * BALL_MASS_KG)),
        right=spread[1],
        forward=spread[2],
        axis=axis,
        windy=bool(np.any(spread[1]) or np.any(spread[2])),
    )


def path(
    launch: Launch,
    *,
    density: ArrayLike = REFERENCE_DENSITY,
    wind_right_m_s: ArrayLike = 0.0,
    wind_forward_m_s: ArrayLike = 0.0,
    landing_height_m: ArrayLike = 0.0,
    step_s: float = STEP_S,
) -> Floats:
    """States of every shot step by step until all are down.

    Parameters
    ----------
    launch : Launch
        n shots.
    density : array_like
        Air density, kg/m3; 0 for a vacuum.
    wind_right_m_s, wind_forward_m_s : array_like
        Where the wind at 10 m blows toward.
    landing_height_m : array_like
        Height of the landing above the ball.
    step_s : float
        Length of a step in seconds.

    Returns
    -------
    ndarray of shape (steps + 1, 7, n)
        Place (x right, y forward, z up) in m, velocity in m/s, spin in rpm.

    Raises
    ------
    SolveError
        If a ball is still in the air after 40 seconds.
    """
    state, axis = launch.start()
    air = _air(launch, density, wind_right_m_s, wind_forward_m_s, axis)
    floor = np.asarray(landing_height_m, dtype=float)
    states = [state]
    for _ in range(int(np.ceil(LONGEST_S / step_s))):
        one = air.rates(state)
        two = air.rates(state + (0.5 * step_s) * one)
        three = air.rates(state + (0.5 * step_s) * two)
        four = air.rates(state + step_s * three)
        state = state + (step_s / 6.0) * (one + 2.0 * (two + three) + four)
        states.append(state)
        if not np.any((state[2] > floor) | (state[5] > 0.0)):
            return np.stack(states)
    raise SolveError(f"a ball is still in the air after {LONGEST_S:g} s; check speed, spin and wind")


def fly(
    launch: Launch,
    *,
    density: ArrayLike = REFERENCE_DENSITY,
    wind_right_m_s: ArrayLike = 0.0,
    wind_forward_m_s: ArrayLike = 0.0,
    landing_height_m: ArrayLike = 0.0,
    step_s: float = STEP_S,
) -> Flight:
    """Fly every shot to its landing; arguments as in `path`.

    Returns
    -------
    Flight
    """
    states = path(
        launch,
        density=density,
        wind_right_m_s=wind_right_m_s,
        wind_forward_m_s=wind_forward_m_s,
        landing_height_m=landing_height_m,
        step_s=step_s,
    )
    floor = np.asarray(landing_height_m, dtype=float)
    falling = states[1:, 5] <= 0.0
    top = falling.argmax(axis=0)
    at_top = _hermite(states, top, _root(states, top, 5, 0.0, step_s), step_s)
    down = (falling & (states[1:, 2] <= floor)).argmax(axis=0)
    when = _root(states, down, 2, floor, step_s)
    end = _hermite(states, down, when, step_s)
    end[:, at_top[2] < floor] = np.nan
    level = np.hypot(end[3], end[4])
    return Flight(
        forward_m=end[1],
        right_m=end[0],
        apex_m=at_top[2],
        apex_forward_m=at_top[1],
        time_s=(down + when) * step_s + 0.0 * end[0],
        descent_deg=np.degrees(np.arctan2(-end[5], level)),
        speed_m_s=np.hypot(level, end[5]),
    )


def _ends(states: Floats, at: NDArray[np.intp]) -> tuple[Floats, Floats]:
    """States of every shot before and after its step ``at``: (7, n) each."""
    shot = np.arange(at.size)
    return states[at, :, shot].T, states[at + 1, :, shot].T


def _root(states: Floats, at: NDArray[np.intp], row: int, level: Floats | float, step_s: float) -> Floats:
    """Share of step ``at`` at which a component of the state falls to a level: height or vertical speed."""
    before, after = _ends(states, at)
    low, high = np.zeros(at.size), np.ones(at.size)
    if row == 5:  # vertical speed is all but linear over a step
        return np.asarray(np.clip((before[5] - level) / np.maximum(before[5] - after[5], 1e-12), 0.0, 1.0))
    for _ in range(40):
        middle = 0.5 * (low + high)
        above = _cubic(before[row], after[row], before[row + 3], after[row + 3], middle, step_s) > level
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    return 0.5 * (low + high)


def _cubic(p0: Floats, p1: Floats, v0: Floats, v1: Floats, share: Floats, step_s: float) -> Floats:
    """Cubic Hermite value at a share of the step."""
    s = share
    return np.asarray(
        (1.0 + 2.0 * s) * (1.0 - s) ** 2 * p0
        + s * (1.0 - s) ** 2 * step_s * v0
        + s * s * (3.0 - 2.0 * s) * p1
        + s * s * (s - 1.0) * step_s * v1
    )


def _hermite(states: Floats, at: NDArray[np.intp], share: Floats, step_s: float) -> Floats:
    """State (7, n) at a share of step ``at``: cubic places, linear velocities and spin."""
    before, after = _ends(states, at)
    out = before + share * (after - before)
    out[:3] = _cubic(before[:3], after[:3], before[3:6], after[3:6], share, step_s)
    return out
