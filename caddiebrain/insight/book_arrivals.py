"""Where balls come to rest under a plan, gathered into the few places of a hole that are worth a line in a book.

The plan's own graph is followed stroke by stroke: from the tee under every tee choice that some standing asks for,
then under the lowest expected score. Balls that come to rest in one lie, one 20-yard band of distance to the pin and on
one side of the line are one place, which one node of the plan near their middle stands for.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.ground import CODE, LIES
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.solve.layout import rows_of
from caddiebrain.solve.passage import Picked
from caddiebrain.terms import Lie

__all__ = ["CLOSE_YD", "Place", "arrivals", "places_of", "tee_mixture"]

_STROKES = 4
"""Strokes that are followed."""
_BAND_YD = 20.0
CLOSE_YD = 36.0
"""Nearer the pin than this, places are told apart by the side of the green, not by distance."""
_SELDOM = 0.004
"""Places where a ball comes to rest less often than this are left out, fairway apart."""
_IGNORED = 1e-5
_PLAIN_SHARE = 0.6
"""Share of the rounds followed that play the usual tee choice; the others of the switches share the rest."""
_MOST = 44
"""Most places of a hole."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Place:
    """A kind of place on a hole, and the node of the plan that stands for it.

    Parameters
    ----------
    node : int
        Node of the compiled hole; what the plan says of the place is what it says of this node.
    x, y : float
        Yards.
    lie : Lie
    to_pin_yd : float
    side : str
        "left", "right", "short", "long", or "" where there is no telling.
    by_stroke : tuple of float
        Chance that the ball comes to rest here with its first, second, ... stroke.
    """

    node: int
    x: float
    y: float
    lie: Lie
    to_pin_yd: float
    side: str
    by_stroke: tuple[float, ...]

    @property
    def share(self) -> float:
        """Times a round that a ball comes to rest here."""
        return float(sum(self.by_stroke))

    @property
    def strokes(self) -> int:
        """Strokes played when a ball comes to rest here most often."""
        return 1 + int(np.argmax(self.by_stroke))


def arrivals(hole: HolePlan, strokes: int = _STROKES) -> Floats:
    """Chance (strokes, nodes) that the ball comes to rest about each node with its first, second, ... stroke.

    Penalty strokes are not counted: a ball dropped under penalty comes to rest where it is dropped.
    """
    model, graph = hole.solved.model, hole.solved.model.graph
    number, places = model.numbering, model.compiler.places
    choice, share = tee_mixture(hole)
    found, mix = np.zeros((strokes, number.nodes)), places.to_nodes()
    policy, rows = hole.solved.expected.choice, rows_of(graph, graph.outcome_state, graph.n_states)
    for stroke in range(strokes):
        mass = Picked(rows, len(choice)).times(share, choice)
        for _ in range(3):  # a penalty area leads to a place, a place to its relief
            trouble = number.trouble + np.flatnonzero(mass[number.trouble :] > _IGNORED)
            if not len(trouble):
                break
            held = mass[trouble]
            mass[trouble] = 0.0
            mass += Picked(rows, len(trouble)).times(held, policy[trouble])
        found[stroke] = mass[number.spot : number.bin] @ mix
        nodes = mass[number.node : number.spot] + found[stroke]
        live = np.flatnonzero(nodes > _IGNORED)
        if not len(live):
            break
        choice, share = policy[number.node + live], nodes[live]
    return found


def tee_mixture(hole: HolePlan) -> tuple[NDArray[np.int64], Floats]:
    """Choices of the graph played from the tee, and their shares."""
    model, chances = hole.solved.model, hole.chances
    first = int(model.graph.choice_start[model.tee])
    usual = int(np.argmin(hole.solved.choice_strokes[first : first + chances.tee.shape[1]]))
    best = chances.tee.max(axis=1)
    live = (best > 0.01) & (best < 0.99)
    others = np.unique(np.append(np.argmax(chances.tee[live], axis=1), usual))
    share = np.full(len(others), (1.0 - _PLAIN_SHARE) / len(others))
    share[others == usual] += _PLAIN_SHARE
    return first + others.astype(np.int64), share


def places_of(hole: HolePlan) -> tuple[Place, ...]:
    """Places of a hole where balls come to rest, the furthest from the pin first; the tee is not among them."""
    grid = hole.compiler.places
    found = arrivals(hole)
    mass = found.sum(axis=0)
    mass[0] = 0.0
    to_pin = hole.compiler.ground.from_pin(grid.x, grid.y)
    mown = grid.lie == CODE[Lie.FAIRWAY]
    offset = _offsets(hole)
    # Fairway is shown where hardly a ball comes to rest too: a golfer who is there wants to know.
    middle = mown & (to_pin > CLOSE_YD) & (grid.y > 100.0) & (np.abs(offset) < 12.0)
    weight = mass + np.where(middle, 1e-7, 0.0)
    side = _sides(hole, offset)
    band = np.where(to_pin < CLOSE_YD, 0, np.rint(to_pin / _BAND_YD)).astype(np.int64)
    key = (band * len(LIES) + grid.lie) * 8 + np.where(mown & (band > 0), 0, side)
    at = np.flatnonzero(weight > 0.0)
    keys, group = np.unique(key[at], return_inverse=True)
    total = np.bincount(group, mass[at], len(keys))
    fairway = np.bincount(group, middle[at], len(keys)) > 0
    worth = np.flatnonzero((total >= _SELDOM) | fairway)
    worth = worth[np.argsort(-total[worth], kind="stable")][:_MOST]
    # A node may stand beyond the edge of its lie, and the middle of a ring of rough on the green.
    stray = np.where(hole.compiler.ground.lie_at(grid.x, grid.y) == grid.lie, 0.0, 15.0)
    chosen = [_place(hole, at[group == g], found, (weight, stray), int(keys[g])) for g in worth]
    return tuple(sorted(chosen, key=lambda p: (-p.to_pin_yd, p.x)))


_SIDE_NAMES = ("", "left", "right", "short", "long")


def _place(
    hole: HolePlan, nodes: NDArray[np.int64], found: Floats, marked: tuple[Floats, Floats], key: int
) -> Place:
    """Make a place of some nodes; all have a weight, and yards by which they are put back as its middle."""
    grid, (weight, stray) = hole.compiler.places, marked
    share = weight[nodes] / weight[nodes].sum()
    x, y = float(share @ grid.x[nodes]), float(share @ grid.y[nodes])
    off = np.hypot(grid.x[nodes] - x, grid.y[nodes] - y) + stray[nodes]
    node = int(nodes[np.argmin(off)])
    at_x, at_y = float(grid.x[node]), float(grid.y[node])
    px, py = hole.hole.pin
    return Place(
        node,
        at_x,
        at_y,
        LIES[grid.lie[node]],
        float(np.hypot(px - at_x, py - at_y)),
        _SIDE_NAMES[key % 8],
        tuple(found[:, nodes].sum(axis=1).tolist()),
    )


def _offsets(hole: HolePlan) -> Floats:
    """How far each node lies to the right of the nearest leg of the line of play, yards (nodes,)."""
    grid, line = hole.compiler.places, hole.hole.line
    nearest = np.full(len(grid.x), np.inf)
    offset = np.zeros(len(grid.x))
    for start, step in zip(line[:-1], np.diff(line, axis=0), strict=True):
        length = max(float(np.hypot(*step)), 1e-9)
        dx, dy = grid.x - start[0], grid.y - start[1]
        along = np.clip((dx * step[0] + dy * step[1]) / length, 0.0, length)
        away = np.hypot(dx - along * step[0] / length, dy - along * step[1] / length)
        closer = away < nearest
        nearest = np.where(closer, away, nearest)
        offset = np.where(closer, (dx * step[1] - dy * step[0]) / length, offset)
    return offset


def _sides(hole: HolePlan, offset: Floats) -> NDArray[np.int64]:
    """Index into ``_SIDE_NAMES`` of every node."""
    grid = hole.compiler.places
    side = np.where(offset < 0.0, 1, 2)
    px, py = hole.hole.pin
    way = hole.hole.line[-1] - hole.hole.line[-2]
    way = way / max(float(np.hypot(*way)), 1e-9)
    dx, dy = grid.x - px, grid.y - py
    ahead, across = dx * way[0] + dy * way[1], dx * way[1] - dy * way[0]
    round_green = np.where(
        np.abs(ahead) > np.abs(across), np.where(ahead < 0.0, 3, 4), np.where(across < 0.0, 1, 2)
    )
    return np.where(np.hypot(dx, dy) < CLOSE_YD, round_green, side)
