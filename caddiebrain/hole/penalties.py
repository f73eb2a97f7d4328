"""What the Rules do to balls that are played one by one: where they crossed, and the relief a plan chooses."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.course import relief
from caddiebrain.hole.compile import HoleCompiler
from caddiebrain.hole.ground import CODE, PENALTY, Ground
from caddiebrain.hole.trouble import Drops, drops_of
from caddiebrain.terms import Lie

__all__ = ["Wet", "best_relief", "crossing"]

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
    """Find exactly where balls last crossed into the ground they lie on.

    Parameters
    ----------
    walk : ndarray of bool (n,)
        Balls that crossed an edge; a lost ball's place is where it was last seen.
    """
    place = np.stack([balls.x, balls.y], axis=1)
    start = np.stack([balls.from_x, balls.from_y], axis=1)
    out = balls.lie == CODE[Lie.OUT]
    wet, over = np.flatnonzero(walk & np.isin(balls.lie, PENALTY)), np.flatnonzero(walk & out)
    if wet.size:
        place[wet] = relief.crossing(start[wet], place[wet], ground.edges.penalty)
    if over.size:
        place[over] = relief.crossing(start[over], place[over], ground.edges.out)
    return place[:, 0], place[:, 1]


def best_relief(
    compiler: HoleCompiler,
    place: tuple[Floats, Floats, NDArray[np.int64]],
    back: Floats,
    worth: Callable[[Drops], Floats],
) -> Drops:
    """Choose the relief of its crossing point for each ball that stroke and distance does not serve as well.

    Parameters
    ----------
    place : tuple of ndarray (n,)
        x, y and the lie that costs.
    back : ndarray (n,)
        Worth of going back, larger is better.
    worth : callable
        Worth of drops (drops,), of which ``place`` counts the balls.

    Returns
    -------
    Drops
        At most one for each ball.
    """
    x, y, lie = place
    drops = drops_of(compiler.ground, compiler.places, x, y, lie.astype(np.uint8))
    value = worth(drops)
    order = np.lexsort([-value, drops.place])
    best = order[np.diff(drops.place[order], prepend=-1) != 0]
    return drops.take(best[value[best] > back[drops.place[best]]])
