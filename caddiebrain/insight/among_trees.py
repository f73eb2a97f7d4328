"""Whether a ball that is said to lie among trees does so on the map."""

import numpy as np

from caddiebrain.hole.ground import CODE
from caddiebrain.insight.spots import Spot, lie_on_map
from caddiebrain.terms import Lie

__all__ = ["trees_note"]

_STEP_YD = 1.0


def trees_note(spot: Spot) -> str:
    """Say that no trees stand where a ball is said to lie among them, and where the nearest do; else empty.

    Such a ball gets its own club and swing from the lie, but nothing stands in its way.
    """
    ground = spot.hole.compiler.ground
    if spot.lie is not Lie.TREES or lie_on_map(ground, spot.x, spot.y) is Lie.TREES:
        return ""
    found = f"hole {spot.hole.number}: the map has no trees at {spot.x:z.0f},{spot.y:z.0f}, so none stand in the way"
    nearest = _nearest_trees(spot)
    if nearest is None:
        return f"{found}; it has none {spot.to_pin:.0f} yards from the pin"
    return f"{found}; the nearest as far from the pin: --at {nearest[0]:z.0f},{nearest[1]:z.0f}"


def _nearest_trees(spot: Spot) -> tuple[float, float] | None:
    """The nearest place among trees as far from the pin as a spot, in whole yards."""
    ground, (px, py) = spot.hole.compiler.ground, spot.hole.hole.pin
    turn = np.arange(-np.pi, np.pi, _STEP_YD / max(spot.to_pin, _STEP_YD))
    x, y = np.rint(px + spot.to_pin * np.sin(turn)), np.rint(py + spot.to_pin * np.cos(turn))
    on_map = ground.frame.holds(x, y)
    x, y = x[on_map], y[on_map]
    wooded = ground.lie_at(x, y) == CODE[Lie.TREES]
    if not wooded.any():
        return None
    x, y = x[wooded], y[wooded]
    best = int(np.argmin(np.hypot(x - spot.x, y - spot.y)))
    return float(x[best]), float(y[best])
