"""Lines below losses, by which bounds are carried from one layer to the next; compiled (see ``screen``)."""

import numpy as np

from caddiebrain.solve.compiled import DOWN, UP, Floats, Singles, compiled

__all__ = ["LINES", "carry", "tangents"]

LINES, SAG = 16, 0.001
"""Most lines, a multiple of four; and how far points lie below a chord, in proportion, to be touched by one more."""
STEEPEST, TINY = 1e30, 1e-40
"""Steeper lines are not drawn; and more than numbers below 1e-38 are off by: single precision ends there."""
PIECE = 2048
"""Bounds raised together: they stay in the nearest cache."""


@compiled
def tangents(
    held: Floats, true: Floats, ceiling: float, slip: float, room: Floats, slopes: Singles, levels: Singles
) -> int:
    """Fill in slopes and levels of lines below some points, and return how many lines there are.

    A point is a state: across, what it loses on the ceiling by the values held; upwards, by the true ones.
    The first line is the steepest below all points that are ``slip`` higher, from the origin, but no steeper than one;
    the others touch points from below, ever closer to them. None falls: what is known across is a bound from below.
    ``room`` has shape (2, N).
    """
    farthest, least = 0, 1.0
    for i in range(len(held)):
        room[0, i], room[1, i] = max(ceiling - held[i], 0.0), max(ceiling - true[i], 0.0)
        if room[0, i] > 0.0:
            least = min(least, (room[1, i] + slip) / room[0, i])
        if room[0, i] > room[0, farthest]:
            farthest = i
    slopes[0], levels[0] = least * DOWN, slip * UP + 2.0 * TINY
    ends = np.zeros((2 * len(slopes), 4))  # of the chords to look below: across and height of both
    ends[0, 2:] = room[:, farthest]
    count, chords, next_one = 1, 1, 0
    while next_one < chords and count < len(slopes):
        left, low, right, high = ends[next_one]
        next_one += 1
        slope = (high - low) / (right - left) if right > left else 0.0
        if not 0.0 < slope < STEEPEST:
            continue
        most, at = _farthest_below(room, slope)
        slopes[count], levels[count] = slope * DOWN, most * UP + TINY * (1.0 + slope)
        count += 1
        if most - (slope * left - low) > SAG * room[1, at] and left < room[0, at] < right:
            ends[chords], ends[chords + 1] = ends[next_one - 1], ends[next_one - 1]
            ends[chords, 2:], ends[chords + 1, :2] = room[:, at], room[:, at]
            chords += 2
    return count


@compiled
def _farthest_below(points: Floats, slope: float) -> tuple[float, int]:
    """Return how far points are below a line through the origin at most, at least 0, and which is farthest."""
    most, at = 0.0, 0
    for i in range(points.shape[1]):
        below = slope * points[0, i] - points[1, i]
        if below > most:
            most, at = below, i
    return most, at


@compiled
def carry(held: Singles, slopes: Singles, levels: Singles, count: int, bound: Singles) -> None:
    """Raise bounds to the highest of some lines over the losses held; lines after ``count`` are overwritten."""
    slopes[count:], levels[count:] = slopes[0], levels[0]
    for first in range(0, len(held), PIECE):  # pieces stay in the cache
        given, raised = held[first : first + PIECE], bound[first : first + PIECE]
        for k in range(0, count, 4):
            _raise(given, slopes[k : k + 4], levels[k : k + 4], raised)


@compiled
def _raise(held: Singles, slopes: Singles, levels: Singles, bound: Singles) -> None:
    """Raise bounds to four lines over the losses held."""
    a, b, c, d = slopes[0], slopes[1], slopes[2], slopes[3]
    e, f, g, h = levels[0], levels[1], levels[2], levels[3]
    for i in range(len(held)):
        x = held[i]
        bound[i] = max(bound[i], max(max(a * x - e, b * x - f), max(c * x - g, d * x - h)))
