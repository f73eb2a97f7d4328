"""What the Rules do to balls that are played one by one: where they crossed, and the relief a plan chooses."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.compile import HoleCompiler
from caddiebrain.hole.ground import CODE, PENALTY, Ground
from caddiebrain.hole.trouble import Relief, relief_at
from caddiebrain.terms import Lie

__all__ = ["Wet", "best_relief", "crossing"]

_WALK_YD = 0.5
_BLOCK_YD = 1.0
"""Crossing points within such a square have the same relief."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Wet:
    """Balls in trouble: where they are, where they were played from, and the lie that costs; all (n,)."""

    x: Floats
    y: Floats
    from_x: Floats
    from_y: Floats
    lie: NDArray[np.int64]


def crossing(ground: Ground, balls: Wet, walk: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """Walk balls back toward where they were played until they are out of trouble.

    Parameters
    ----------
    walk : ndarray of bool (n,)
        Balls to walk; a lost ball's place is where it was last seen.
    """
    x, y = balls.x.copy(), balls.y.copy()
    costly = [*PENALTY, CODE[Lie.OUT]] if ground.hole.local_rule_e5 else [*PENALTY]
    dx, dy = balls.from_x - x, balls.from_y - y
    far = np.maximum(np.hypot(dx, dy), 1e-9)
    left = np.where(walk, far - _WALK_YD, 0.0)
    inside = np.flatnonzero(left > 0.0)
    # A walk that reaches the player has nowhere else to go.
    while inside.size:
        x[inside] += dx[inside] / far[inside] * _WALK_YD
        y[inside] += dy[inside] / far[inside] * _WALK_YD
        left[inside] -= _WALK_YD
        still = np.isin(ground.lie_at(x[inside], y[inside]), costly) & (left[inside] > 0.0)
        inside = inside[still]
    return x, y


def best_relief(
    compiler: HoleCompiler,
    place: tuple[Floats, Floats, NDArray[np.int64]],
    back: Floats,
    worth: Callable[[NDArray[np.int64], Relief], Floats],
) -> list[Relief | None]:
    """Choose for each ball the relief of its crossing point, or None for stroke and distance.

    Parameters
    ----------
    place : tuple of ndarray (n,)
        x, y and the lie that costs.
    back : ndarray (n,)
        Worth of going back, larger is better.
    worth : callable
        ``worth(balls, relief)`` is the worth of a relief to some of the balls.
    """
    x, y, lie = place
    block = np.stack([np.floor(x / _BLOCK_YD), np.floor(y / _BLOCK_YD), lie], axis=1)
    _, which = np.unique(block, axis=0, return_inverse=True)
    which = which.ravel()
    best, chosen = back.copy(), np.full(len(x), -1)
    found: list[Relief] = []
    for k in range(int(which.max()) + 1):
        there = np.flatnonzero(which == k)
        first = there[0]
        for relief in relief_at(
            compiler.ground, compiler.places, float(x[first]), float(y[first]), int(lie[first])
        ):
            value = worth(there, relief)
            better = there[value > best[there]]
            best[there] = np.maximum(best[there], value)
            chosen[better] = len(found)
            found.append(relief)
    return [None if i < 0 else found[i] for i in chosen]
