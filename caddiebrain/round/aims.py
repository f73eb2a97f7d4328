"""Where choices are aimed, in words a golfer uses: off the centre of the fairway, the line of play or the pin."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.ground import CODE, LIES, Ground
from caddiebrain.terms import Lie

__all__ = ["Aim", "aim_point", "aim_points"]

_ACROSS = np.arange(-60.0, 60.5, 0.5)
"""Where a fairway is looked for, yards to the right of the line of play."""
_NEAR = np.flatnonzero(np.abs(_ACROSS) <= 25.0)
"""Where it must begin, to be the one whose centre is meant."""
_FAR = np.flatnonzero(np.abs(_ACROSS) > 25.0)
"""Where it may go on; looked at last, for most end before."""
_MOWN = np.isin(np.arange(len(LIES)), [CODE[Lie.FAIRWAY], CODE[Lie.GREEN]])
_AT_ONCE = 128
"""Aims whose fairway is looked for together, so that the ground looked at stays near at hand."""


@dataclass(frozen=True)
class Aim:
    """Where a shot is aimed.

    Parameters
    ----------
    heading_deg : float
        Degrees clockwise from the straight line tee to pin.
    xy : tuple of float
        The point aimed at, yards in the hole's axes: where the shot would stop if it went straight.
    distance_yd : float
        From the ball to that point.
    offset_yd : float
        How far that point lies to the right of ``reference`` (left negative).
    reference : str
        ``"centre"`` (of the fairway), ``"line"`` (of play) or ``"pin"``.
    """

    heading_deg: float
    xy: tuple[float, float]
    distance_yd: float
    offset_yd: float
    reference: str

    @property
    def words(self) -> str:
        """Say the aim: "10 yards left of centre, at 228"."""
        name = {"centre": "centre", "line": "the line of play", "pin": "the pin"}[self.reference]
        yards = round(abs(self.offset_yd))
        if self.reference == "pin":
            if yards == 0:
                return "at the pin"
            return f"{yards} yard{'s' * (yards != 1)} {'right' if self.offset_yd > 0 else 'left'} of the pin"
        at = f", at {self.distance_yd:.0f}"
        if yards == 0:
            return ("down the centre" if self.reference == "centre" else "along the line of play") + at
        return f"{yards} yard{'s' * (yards != 1)} {'right' if self.offset_yd > 0 else 'left'} of {name}{at}"


def aim_point(ground: Ground, x: float, y: float, heading: float, distance: float, at_pin: bool) -> Aim:
    """Say where a heading points; see `aim_points`."""
    from_x, from_y, way, far = (np.array([v]) for v in (x, y, heading, distance))
    return aim_points(ground, from_x, from_y, way, far, np.array([at_pin]))[0]


def aim_points(
    ground: Ground,
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    heading: NDArray[np.float64],
    distance: NDArray[np.float64],
    at_pin: NDArray[np.bool_],
) -> list[Aim]:
    """Say where headings point, against the fairway's centre, the line of play or the pin.

    Parameters
    ----------
    x, y, heading : ndarray (n,)
        Yards, and radians clockwise from the y axis.
    distance : ndarray (n,)
        How far the shot goes, rollout included, yards.
    at_pin : ndarray of bool (n,)
        Whether the shot is meant for the green.
    """
    end = np.stack([x + distance * np.sin(heading), y + distance * np.cos(heading)], axis=1)
    px, py = ground.hole.pin
    aside = np.hypot(px - x, py - y) * np.sin(heading - np.arctan2(px - x, py - y))
    point, right = _nearest_on_line(ground.hole.line, end)
    away = (end - point) * right
    offset = away[:, 0] + away[:, 1]
    centre = np.full(len(x), np.nan)
    centre[~at_pin] = _fairway_centres(ground, point[~at_pin], right[~at_pin])
    on_line = np.isnan(centre)
    off = np.where(at_pin, aside, np.where(on_line, offset, offset - centre))
    reference = np.where(at_pin, "pin", np.where(on_line, "line", "centre"))
    columns = np.rad2deg(heading), end[:, 0], end[:, 1], distance, off, reference
    rows = zip(*(column.tolist() for column in columns), strict=True)
    return [Aim(way, (to_x, to_y), far, side, name) for way, to_x, to_y, far, side, name in rows]


def _nearest_on_line(
    line: NDArray[np.float64], points: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Nearest points (n, 2) of the line of play, and the unit vectors (n, 2) to the right of it there."""
    (ax, ay), (dx, dy) = line[:-1].T, np.diff(line, axis=0).T
    x, y = points[:, :1], points[:, 1:]
    along = ((x - ax) * dx + (y - ay) * dy) / np.maximum(dx**2 + dy**2, 1e-12)
    share = np.clip(along, 0.0, 1.0)
    foot_x, foot_y = ax + share * dx, ay + share * dy
    nearest = np.argmin((foot_x - x) ** 2 + (foot_y - y) ** 2, axis=1)
    row, length = np.arange(len(points)), np.maximum(np.hypot(dx, dy), 1e-9)
    right = np.stack([dy / length, -dx / length], axis=1)
    return np.stack([foot_x[row, nearest], foot_y[row, nearest]], axis=1), right[nearest]


def _fairway_centres(
    ground: Ground, point: NDArray[np.float64], right: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Offsets (n,) of the fairway's middle from the line of play; NaN where none lies within 25 yards."""
    centre = np.full(len(point), np.nan)
    for low in range(0, len(point), _AT_ONCE):
        part = slice(low, low + _AT_ONCE)
        mown = _mown(ground, point[part], right[part], _ACROSS[_NEAR])
        centre[part], ends = _centres(mown, _ACROSS[_NEAR])
        on = np.flatnonzero(~ends)
        if on.size:
            every = np.empty((len(on), len(_ACROSS)), dtype=bool)
            every[:, _NEAR] = mown[on]
            every[:, _FAR] = _mown(ground, point[low + on], right[low + on], _ACROSS[_FAR])
            centre[low + on], _ = _centres(every, _ACROSS)
    return centre


def _mown(
    ground: Ground, point: NDArray[np.float64], right: NDArray[np.float64], across: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Whether there is fairway or green at some yards to the right of points of the line, (points, yards)."""
    return _MOWN.take(
        ground.lie_at(point[:, :1] + across * right[:, :1], point[:, 1:] + across * right[:, 1:])
    )


def _centres(
    mown: NDArray[np.bool_], across: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Middles of the fairways nearest to the line as far as they are seen, and whether they are seen to end."""
    n, width = mown.shape
    framed = np.zeros((n, width + 2), dtype=bool)  # bare on both sides, so that every fairway ends
    framed[:, 1:-1] = mown
    first = np.arange(n) * (width + 2)
    line = first + 1 + width // 2
    fairway = np.concatenate([[-framed.size], np.flatnonzero(framed), [2 * framed.size]])
    at = np.searchsorted(fairway, line)
    before, after = fairway[at - 1], fairway[at]
    start = np.where(line - before <= after - line, before, after)
    there = np.abs(start - line) <= len(_NEAR) // 2
    bare = np.flatnonzero(~framed)
    at = np.searchsorted(bare, np.where(there, start, line))
    left, end = bare[at - 1] - first, bare[at] - first
    ends = ~there | ((left > 0) & (end <= width))
    middle = (across[np.where(there, left, 0)] + across[np.where(there, end - 2, 0)]) / 2
    return np.where(there, middle, np.nan), ends
