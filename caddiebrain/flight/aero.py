"""Drag and lift of a spinning golf ball.

The tables are Bearman P.W. and Harvey J.K. (1976), *Aeronautical Quarterly* 27:112-122, figures 7 and 8
(hexagonal dimples), as digitised for a numerical-methods course: 2,000 to 6,000 rpm, 13.7 to 88.1 m/s.
Between the figures a monotone cubic (no overshoot) runs along speed, then along spin.

Outside the table the coefficients hang, as wind-tunnel work finds, on the spin parameter ``S = omega r / v``:
faster spin and slower balls take the figure of the same S at the edge of the table; below 2,000 rpm the drag
stays and the lift falls in proportion to the spin. That extension is ours, no source.

Smits A.J. and Smith D.R. (1994), *Science and Golf II*, give formulas (from memory) used as a second opinion.
"""

from functools import lru_cache
from importlib.resources import files

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import PchipInterpolator

__all__ = ["BALL_MASS_KG", "BALL_RADIUS_M", "coefficients", "published_table", "smits_smith"]

BALL_MASS_KG = 0.04592624  # 1.620 oz avoirdupois, the most the Equipment Rules allow
BALL_RADIUS_M = 0.021336  # half of 1.680 in, the least diameter they allow

Floats = NDArray[np.float64]

SPIN_STEP = 100.0
SPEED_STEP = 0.1  # every published speed is a node
SPINS: Floats = np.linspace(0.0, 14_000.0, 141)
SPEEDS: Floats = np.linspace(SPEED_STEP, 100.0, 1000)


@lru_cache(maxsize=1)
def published_table() -> tuple[Floats, Floats, Floats, Floats]:
    """Return the printed figures.

    Returns
    -------
    spin_rpm : ndarray of shape (21,)
    speed_m_s : ndarray of shape (10,)
    drag, lift : ndarray of shape (21, 10)
    """
    text = files("caddiebrain.flight").joinpath("bearman_harvey_1976.csv").read_text(encoding="ascii")
    rows = np.array([[float(cell) for cell in line.split(",")] for line in text.split()[1:]])
    spin, speed = np.unique(rows[:, 0]), np.unique(rows[:, 1])
    shape = (spin.size, speed.size)
    return spin, speed, rows[:, 2].reshape(shape), rows[:, 3].reshape(shape)


def _between(values: Floats, spin: Floats, speed: Floats) -> Floats:
    """Monotone cubic through the printed figures on a grid of spins and speeds inside the table."""
    table_spin, table_speed, _, _ = published_table()
    along_speed = PchipInterpolator(table_speed, values, axis=1)(speed)
    return np.asarray(PchipInterpolator(table_spin, along_speed, axis=0)(spin))


@lru_cache(maxsize=1)
def _fine_table() -> Floats:
    """Drag and lift on the fine grid, rows in order of spin, then speed: shape (spins * speeds, 2)."""
    table_spin, table_speed, drag, lift = published_table()
    inner_spin = np.arange(table_spin[0], table_spin[-1] + 0.5 * SPIN_STEP, SPIN_STEP, dtype=np.float64)
    first, last = np.searchsorted(SPEEDS, table_speed[[0, -1]] - 0.5 * SPEED_STEP)
    inner_speed = SPEEDS[first : last + 1].copy()
    spin, speed = np.meshgrid(SPINS, SPEEDS, indexing="ij")
    up = np.maximum(1.0, table_speed[0] / speed)
    spin_at, speed_at = spin * up, speed * up
    down = np.minimum(1.0, table_spin[-1] / np.maximum(spin_at, 1.0))
    row = np.clip((spin_at * down - inner_spin[0]) / SPIN_STEP, 0.0, inner_spin.size - 1.000001)
    col = np.clip((speed_at * down - inner_speed[0]) / SPEED_STEP, 0.0, inner_speed.size - 1.000001)
    fine = [_lookup(_between(v, inner_spin, inner_speed), row, col) for v in (drag, lift)]
    fine[1] *= np.minimum(1.0, spin_at / table_spin[0])
    return np.stack(fine, axis=-1).reshape(-1, 2)


def _lookup(grid: Floats, row: Floats, col: Floats) -> Floats:
    """Bilinear look-up at fractional rows and columns."""
    i, j = row.astype(np.intp), col.astype(np.intp)
    f, g = row - i, col - j
    top = grid[i, j] * (1.0 - g) + grid[i, j + 1] * g
    bottom = grid[i + 1, j] * (1.0 - g) + grid[i + 1, j + 1] * g
    return np.asarray(top * (1.0 - f) + bottom * f)


def coefficients(spin_rpm: ArrayLike, speed_m_s: ArrayLike) -> tuple[Floats, Floats]:
    """Drag and lift coefficients.

    Parameters
    ----------
    spin_rpm : array_like
        Revolutions per minute, 0 to 14,000 (beyond: as at the end).
    speed_m_s : array_like
        Speed through the air in metres per second, 0.1 to 100 (beyond: as at the end).

    Returns
    -------
    drag, lift : ndarray
        Of the broadcast shape, for the cross-section of the ball.
    """
    table = _fine_table()
    row = np.minimum(np.maximum(spin_rpm, 0.0) / SPIN_STEP, SPINS.size - 1.000001)
    col = np.minimum(np.maximum(speed_m_s, SPEED_STEP) / SPEED_STEP - 1.0, SPEEDS.size - 1.000001)
    i, j = row.astype(np.intp), col.astype(np.intp)
    f, g = (row - i)[..., None], (col - j)[..., None]
    at = i * SPEEDS.size + j
    here, below = table.take(at, axis=0), table.take(at + SPEEDS.size, axis=0)
    here = here + g * (table.take(at + 1, axis=0) - here)
    below = below + g * (table.take(at + SPEEDS.size + 1, axis=0) - below)
    both = here + f * (below - here)
    return both[..., 0], both[..., 1]


def smits_smith(spin_rpm: ArrayLike, speed_m_s: ArrayLike) -> tuple[Floats, Floats]:
    """Drag and lift by the formulas of Smits and Smith (1994), from memory.

    Meant for Reynolds numbers of 70,000 to 210,000 and spin parameters of 0.08 to 0.2.

    Parameters
    ----------
    spin_rpm, speed_m_s : array_like
        Spin in revolutions per minute, speed through the air in metres per second.

    Returns
    -------
    drag, lift : ndarray
    """
    speed = np.asarray(speed_m_s, dtype=float)
    omega = np.asarray(spin_rpm, dtype=float) * (2.0 * np.pi / 60.0)
    spin_parameter = omega * BALL_RADIUS_M / speed
    reynolds = speed * 2.0 * BALL_RADIUS_M / 1.51e-5  # kinematic viscosity of air at 20 C, m2/s
    drag = 0.24 + 0.18 * spin_parameter + 0.06 * np.sin(np.pi * (reynolds - 90_000.0) / 200_000.0)
    return np.asarray(drag), np.asarray(0.54 * spin_parameter**0.4)
