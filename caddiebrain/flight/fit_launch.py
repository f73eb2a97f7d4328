"""The launch that gives a player's own shot: speed, angle, spin and tilt from carry, apex, descent and curve.

Carry is met exactly in reference air. Apex and descent, which a player knows only roughly and which may
contradict each other, are met as nearly as a likely spin allows (an apex outside 0.04 to 0.7 of the carry
counts as the nearer of the two): the launch minimises

    ((apex - a) / 0.02 a)^2 + ((descent - d) / 6 deg)^2 + (ln(spin / usual spin) / 0.35)^2

subject to the carry, by Levenberg-Marquardt on all shots at once. The weights and the usual spin by carry are
common practice, no source.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from caddiebrain.errors import InputError, SolveError
from caddiebrain.flight.trajectory import Flight, Launch, fly

__all__ = ["METRES_PER_YARD", "OwnFlight", "find_launch"]

Floats = NDArray[np.float64]

METRES_PER_YARD = 0.9144
CARRY_TOLERANCE_YD = 1e-7
MOST_STEPS = 12
COARSE_STEP_S = 0.4  # enough to choose a launch by; the carry is then met at the usual step
LOWEST_APEX, HIGHEST_APEX = 0.04, 0.7  # of the carry: flatter and steeper than any club sends a ball
_LOWEST = np.array([np.log(5.0), 4.0, np.log(300.0), -50.0])
_HIGHEST = np.array([np.log(140.0), 70.0, np.log(12_000.0), 50.0])
_LONGEST_STEP = np.array([0.3, 6.0, 0.5, 15.0])
_NUDGE = np.array([1e-3, 5e-2, 2e-2, 5e-2])  # of ln speed, angle, ln spin, tilt for the slopes


@dataclass(frozen=True)
class OwnFlight:
    """A fitted launch and what it flies in reference air; yards and degrees, arrays of shape (n,).

    Parameters
    ----------
    launch : Launch
    carry_yd : ndarray
        Ball to landing, straight across the ground; equals the carry asked for.
    apex_yd, apex_share : ndarray
        Height of the apex and the share of the carry at which it is.
    descent_deg : ndarray
    curve_yd : ndarray
        Sideways move from the line of launch; less than asked for where no spin axis could do it.
    turn_deg : ndarray
        Angle from the line of launch to the line from ball to landing, clockwise.
    """

    launch: Launch
    carry_yd: Floats
    apex_yd: Floats
    apex_share: Floats
    descent_deg: Floats
    curve_yd: Floats
    turn_deg: Floats


def find_launch(
    carry_yd: ArrayLike, apex_yd: ArrayLike, descent_deg: ArrayLike, curve_yd: ArrayLike = 0.0
) -> OwnFlight:
    """Find the launch of every shot.

    Parameters
    ----------
    carry_yd : array_like of shape (n,)
        Carry in reference air, yards.
    apex_yd : array_like
        Height of the apex, yards.
    descent_deg : array_like
        Angle of descent, degrees.
    curve_yd : array_like
        Sideways move from the line of launch, yards, right positive.

    Returns
    -------
    OwnFlight

    Raises
    ------
    InputError
        If a carry, an apex or an angle of descent is not above 0.
    SolveError
        If no launch gives the carry.
    """
    asked = np.stack(np.broadcast_arrays(*map(np.atleast_1d, (carry_yd, apex_yd, descent_deg, curve_yd))))
    asked = asked.astype(float)
    if not (np.all(np.isfinite(asked)) and np.all(asked[:3] > 0.0)):
        found = f"least {', '.join(f'{least:g}' for least in asked[:3].min(axis=1))}"
        raise InputError.one("find_launch", "carry_yd, apex_yd, descent_deg", found, "finite numbers above 0")
    asked[1] = np.clip(asked[1], LOWEST_APEX * asked[0], HIGHEST_APEX * asked[0])
    return _meet_carry(_nearest(_first_guess(asked), asked), asked)


def _nearest(guess: Floats, asked: Floats) -> Floats:
    """Levenberg-Marquardt on every shot at once, each with its own damping; returns (n, 4)."""
    damping = np.full(guess.shape[0], 1e-3)
    residual, slopes = _residuals_and_slopes(guess, asked)
    for _ in range(MOST_STEPS):
        normal = np.einsum("nki,nkj->nij", slopes, slopes)
        diagonal = np.einsum("nii->ni", normal) + 1e-9
        damped = normal + (damping[:, None] * diagonal)[:, :, None] * np.eye(4)
        step = -np.linalg.solve(damped, np.einsum("nki,nk->ni", slopes, residual)[..., None])[..., 0]
        moved = np.clip(guess + np.clip(step, -_LONGEST_STEP, _LONGEST_STEP), _LOWEST, _HIGHEST)
        if np.all(np.abs(moved - guess) < 0.01 * _LONGEST_STEP):
            break
        new_residual, new_slopes = _residuals_and_slopes(moved, asked)
        better = np.sum(new_residual**2, axis=1) < np.sum(residual**2, axis=1)
        guess = np.where(better[:, None], moved, guess)
        residual = np.where(better[:, None], new_residual, residual)
        slopes = np.where(better[:, None, None], new_slopes, slopes)
        damping = np.where(better, 0.2 * damping, 10.0 * damping + 1e-2)
    return guess


def _first_guess(asked: Floats) -> Floats:
    """Rough launch (n, 4): ln speed, angle, ln spin, tilt."""
    carry, apex, _, curve = asked
    angle = np.degrees(np.arctan(1.9 * apex / carry))
    speed = 8.0 + 0.26 * carry
    tilt = np.degrees(np.arctan(1.2 * curve / carry))
    guess = np.stack([np.log(speed), angle, np.log(_usual_spin(carry, apex)), tilt], axis=1)
    return np.asarray(np.clip(guess, _LOWEST, _HIGHEST))


def _usual_spin(carry_yd: Floats, apex_yd: Floats) -> Floats:
    """Backspin in rpm that usually goes with a carry: 2,700 at 250 yd, 8,000 at 100 yd; less on low shots."""
    spin = np.clip(11_500.0 - 35.0 * carry_yd, 2_200.0, 8_500.0)
    low = np.clip(apex_yd / np.minimum(28.0, 0.28 * carry_yd), 0.3, 1.0)
    return np.asarray(spin * low**0.7)


def _launch(guess: Floats) -> Launch:
    return Launch(np.exp(guess[:, 0]), guess[:, 1].copy(), np.exp(guess[:, 2]), guess[:, 3].copy())


def _residuals(guess: Floats, asked: Floats) -> Floats:
    """Weighted misses (n, 5): carry, apex, descent, spin, curve."""
    carry, apex, descent, curve = asked
    flight = fly(_launch(guess), step_s=COARSE_STEP_S)
    flown = np.hypot(flight.forward_m, flight.right_m) / METRES_PER_YARD
    return np.stack(
        [
            (flown / carry - 1.0) / 0.002,
            (flight.apex_m / METRES_PER_YARD / apex - 1.0) / 0.02,
            (flight.descent_deg - descent) / 6.0,
            (guess[:, 2] - np.log(_usual_spin(carry, apex))) / 0.35,
            (flight.right_m / METRES_PER_YARD - curve) / 0.2,
        ],
        axis=1,
    )


def _residuals_and_slopes(guess: Floats, asked: Floats) -> tuple[Floats, Floats]:
    """Residuals (n, 5) and their slopes (n, 5, 4), all from one flight of five launches a shot."""
    size = guess.shape[0]
    nudged = np.concatenate([guess, *(guess + _NUDGE * unit for unit in np.eye(4))])
    values = _residuals(nudged, np.tile(asked, 5)).reshape(5, size, 5)
    slopes = (values[1:] - values[0]) / _NUDGE[:, None, None]
    return values[0], np.moveaxis(slopes, 0, 2)


def _meet_carry(guess: Floats, asked: Floats) -> OwnFlight:
    """Change the speed alone until the carry is exact: bracketed secant steps, all shots at once."""
    target = asked[0]
    speed = guess[:, 0].copy()
    low, high = np.full_like(speed, np.log(2.0)), np.full_like(speed, np.log(200.0))
    elasticity = np.full_like(speed, 1.4)  # of carry to speed; kept up to date below
    last_speed, last_carry = speed, target
    for turn in range(60):
        launch = _launch(np.column_stack([speed, guess[:, 1:]]))
        flight = fly(launch)
        carry = np.hypot(flight.forward_m, flight.right_m) / METRES_PER_YARD
        if np.all(np.abs(carry - target) < CARRY_TOLERANCE_YD):
            return _own(launch, flight, target)
        low, high = np.where(carry < target, speed, low), np.where(carry > target, speed, high)
        moved = speed - last_speed
        if turn:
            seen = np.log(carry / last_carry) / np.where(moved == 0.0, 1.0, moved)
            elasticity = np.where(moved == 0.0, elasticity, np.clip(seen, 0.4, 3.0))
        last_speed, last_carry = speed, carry
        speed = speed + np.log(target / carry) / elasticity
        speed = np.where((speed > low) & (speed < high), speed, 0.5 * (low + high))
    worst = int(np.argmax(np.abs(carry - target)))
    raise SolveError(
        f"no launch found for a carry of {asked[0, worst]:g} yd with apex {asked[1, worst]:g} yd, descent "
        f"{asked[2, worst]:g} degrees and curve {asked[3, worst]:g} yd; check the shot pattern"
    )


def _own(launch: Launch, flight: Flight, carry_yd: Floats) -> OwnFlight:
    turn = np.arctan2(flight.right_m, flight.forward_m)
    return OwnFlight(
        launch=launch,
        carry_yd=carry_yd.copy(),
        apex_yd=flight.apex_m / METRES_PER_YARD,
        apex_share=flight.apex_forward_m / flight.forward_m,
        descent_deg=flight.descent_deg,
        curve_yd=flight.right_m / METRES_PER_YARD,
        turn_deg=np.degrees(turn),
    )
