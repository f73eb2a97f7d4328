"""Where a miss of the green costs least: what is around it, by the plan's own values."""

from dataclasses import dataclass

import numpy as np

from caddiebrain.hole.ground import CODE, PENALTY
from caddiebrain.hole.places import NO_SPOT, putt_distances
from caddiebrain.insight.carry_ways import green_of
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.terms import Lie

__all__ = ["Miss", "miss_side"]

_OFF_GREEN_YD = np.array([4.0, 8.0, 12.0])
_ALONG_YD = np.array([-8.0, 0.0, 8.0])
_FROM_YD = 150.0
"""A ball out of bounds is replayed from about here; stroke and distance is counted so."""
_SIDES = {"short": (0.0, -1.0), "long": (0.0, 1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0)}


@dataclass(frozen=True)
class Miss:
    """The cheapest and the dearest side of a green, and the strokes between them."""

    best: str
    worst: str
    saves: float


def miss_side(hole: HolePlan) -> Miss:
    """Compare the sides of a green 4 to 12 yards off its edge.

    A ball in a penalty area is counted as one stroke more than the nearest place one may play from; one out of
    bounds as one stroke more than the middle of the hole at 150 yards.
    """
    green = green_of(hole.hole)
    costs = {}
    for name, (across, forward) in _SIDES.items():
        away = across * green.right + forward * green.along
        aside = forward * green.right + across * green.along
        start = green.middle + green.edge(away) * away
        at = [start + off * away + shift * aside for off in _OFF_GREEN_YD for shift in _ALONG_YD]
        costs[name] = float(np.mean([_cost(hole, float(x), float(y)) for x, y in at]))
    best, worst = min(costs, key=costs.__getitem__), max(costs, key=costs.__getitem__)
    return Miss(best, worst, costs[worst] - costs[best])


def _cost(hole: HolePlan, x: float, y: float) -> float:
    """Expected strokes from a position, trouble counted."""
    compiler = hole.compiler
    ground, places, number = compiler.ground, compiler.places, compiler.numbering
    value = hole.solved.expected.value
    cell = ground.frame.index(np.array([x]), np.array([y]))[0]
    lie = int(ground.lie[cell])
    if lie == CODE[Lie.OUT]:
        back = np.array(hole.hole.pin) - min(_FROM_YD, hole.length_yd) * green_of(hole.hole).along
        return 1.0 + _at_spot(hole, _nearest(hole, float(back[0]), float(back[1])))
    if lie in PENALTY:
        return 1.0 + _at_spot(hole, _nearest(hole, x, y))
    if lie == CODE[Lie.GREEN]:
        feet = 3.0 * float(ground.from_pin(np.array([x]), np.array([y]))[0])
        return float(np.interp(feet, putt_distances(), value[number.putt : number.node]))
    spot = int(places.spot_of_cell[cell])
    return _at_spot(hole, spot if spot != NO_SPOT else _nearest(hole, x, y))


def _nearest(hole: HolePlan, x: float, y: float) -> int:
    places = hole.compiler.places
    return int(np.argmin(np.hypot(places.spot_x - x, places.spot_y - y)))


def _at_spot(hole: HolePlan, spot: int) -> float:
    places, number = hole.compiler.places, hole.compiler.numbering
    nodes = hole.solved.expected.value[number.node + places.spot_node[spot]]
    return float(nodes @ places.spot_weight[spot])
