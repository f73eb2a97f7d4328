"""From the club to where the ball comes to rest: flight, landing, rollout, and what stops it on the way.

All functions work on rows (one choice at one position each) by points (the spread of the shot), single precision:
a raster cell is a yard, float32 holds a hole to a tenth of a millimetre.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.caught import caught_on_the_way
from caddiebrain.hole.ground import Ground

__all__ = ["Landing", "fly", "roll_out"]

Array = NDArray[np.float32]


@dataclass(frozen=True)
class Landing:
    """Where balls first touch the ground: position, offsets from the ball and cell, each (rows, points)."""

    x: Array
    y: Array
    dx: Array
    dy: Array
    length: Array
    cell: NDArray[np.int32]


def fly(
    ground: Ground,
    x: Array,
    y: Array,
    heading: Array,
    along: Array,
    across: Array,
    length: Array,
    yards_per_height: NDArray[np.float64] | None = None,
    level: NDArray[np.float64] | None = None,
) -> Landing:
    """Carry balls from (x, y) along ``heading``.

    Parameters
    ----------
    x, y, heading : ndarray (rows,)
        Yards and radians clockwise from the y axis.
    along, across, length : ndarray (points,) or (rows, points)
        Landing offsets in the frame of the aimed line and how far off that is, yards.
    yards_per_height : ndarray (rows,) or (1,), optional
        Carry lost for each yard the landing lies above ``level``.
    level : ndarray (rows,), optional
        By default the height of the ball.
    """
    s, c = np.sin(heading)[:, None], np.cos(heading)[:, None]
    dx = along * s + across * c
    dy = along * c - across * s
    at_x, at_y = x[:, None] + dx, y[:, None] + dy
    cell = ground.frame.index(at_x, at_y)
    if ground.height is not None and yards_per_height is not None:
        rise = ground.height[cell] - (ground.height_at(x, y) if level is None else level)[:, None]
        lost = rise * yards_per_height[:, None] / length
        stretch: Array = np.clip(1.0 - lost, 0.5, 1.5).astype(np.float32)
        dx, dy, length = dx * stretch, dy * stretch, length * stretch
        at_x, at_y = x[:, None] + dx, y[:, None] + dy
        cell = ground.frame.index(at_x, at_y)
    return Landing(at_x, at_y, dx, dy, length, cell)


def roll_out(
    ground: Ground,
    x: Array,
    y: Array,
    landing: Landing,
    roll: Array,
    turn: NDArray[np.float64] | None = None,
) -> tuple[Array, Array, NDArray[np.int32]]:
    """Roll balls on from where they landed until they stop, or until sand or a penalty area catches them.

    Parameters
    ----------
    roll : ndarray (rows, points)
        Yards of rollout.
    turn : ndarray (rows,), optional
        How far to the right of straight on the ball rolls, radians.

    Returns
    -------
    x, y : ndarray (rows, points)
        Where the balls come to rest; caught ones in the middle of the cell that catches them.
    cell : ndarray of int32 (rows, points)
    """
    if ground.height is not None:
        roll = roll * _slope_factor(ground, x, y, landing)
    share = roll / landing.length
    step_x, step_y = landing.dx, landing.dy
    if turn is not None:
        c, s = (v.astype(np.float32)[:, None] for v in (np.cos(turn), np.sin(turn)))
        step_x, step_y = landing.dx * c + landing.dy * s, landing.dy * c - landing.dx * s
    end_x, end_y = step_x * share, step_y * share
    end_x += landing.x
    end_y += landing.y
    cell = ground.frame.index(end_x, end_y)
    start, end = (landing.x, landing.y, landing.cell), (end_x, end_y, cell)
    ball, caught = caught_on_the_way(ground, start, end, roll)
    cell.ravel()[ball] = caught
    end_x.ravel()[ball], end_y.ravel()[ball] = ground.frame.middle(caught)
    return end_x, end_y, cell


def _slope_factor(ground: Ground, x: Array, y: Array, landing: Landing) -> Array:
    """How much longer a ball rolls downhill and shorter uphill: slope times the ratio of gravity to turf drag.

    A ball slowed by a deceleration f g rolls a share f / (f + slope) of its level distance; f about 0.25 on
    fairway (common practice, no source).
    """
    ahead = 1.0 + 6.0 / landing.length
    there = ground.height_at(x[:, None] + landing.dx * ahead, y[:, None] + landing.dy * ahead)
    slope = (there - ground.height_at(x[:, None] + landing.dx, y[:, None] + landing.dy)) / np.float32(6.0)
    factor: Array = (0.25 / np.clip(0.25 + slope, 0.1, 0.6)).astype(np.float32)
    return factor
