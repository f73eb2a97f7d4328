"""A hole made different in one way: a wider fairway, another pin, another wind, a tighter club."""

import numpy as np
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon
from shapely import Point as ShapelyPoint
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring, unary_union

from caddiebrain.course.model import Area, Hole
from caddiebrain.flight import Conditions
from caddiebrain.player.model import Player
from caddiebrain.terms import Lie

__all__ = ["pin_moved", "room_for_pin", "with_fairway", "with_spread", "with_wind"]

_EDGE_YD = 4.0
"""Pins are kept this far from the green's edge (common practice, no source)."""
_ACROSS_YD = 200.0


def with_fairway(hole: Hole, wider_yd: float) -> Hole:
    """Return the hole with its fairway mown wider, half on either side; narrower where negative.

    Rough and trees give way; sand, penalty areas, out of bounds and the green stay. It grows no longer.
    """
    line = LineString(hole.line)
    areas = [
        Area(
            area.lie,
            _stretched(area.shape, line, wider_yd / 2.0),
            area.name,
        )
        if area.lie is Lie.FAIRWAY
        else area
        for area in hole.areas
    ]
    return _with(hole, areas=tuple(a for a in areas if not a.shape.is_empty))


def _stretched(shape: BaseGeometry, line: LineString, side_yd: float) -> Polygon | MultiPolygon:
    """A shape moved out by so much on either side of the line, its ends left where they are."""
    corners = _corners(shape)
    along = [line.project(ShapelyPoint(p)) for p in corners]
    strip = substring(line, min(along), max(along)).buffer(_ACROSS_YD, cap_style="flat", join_style="mitre")
    if side_yd >= 0.0:
        return _polygons(unary_union([shape, shape.buffer(side_yd).intersection(strip)]))
    ends = shape.buffer(-side_yd).difference(strip)
    return _polygons(unary_union([shape, ends]).buffer(side_yd).intersection(shape))


def _corners(shape: BaseGeometry) -> list[tuple[float, float]]:
    """Corners of the outlines of a shape."""
    parts = shape.geoms if isinstance(shape, MultiPolygon) else [shape]
    return [(float(x), float(y)) for part in parts for x, y, *_ in part.exterior.coords]


def _polygons(shape: BaseGeometry) -> Polygon | MultiPolygon:
    if isinstance(shape, Polygon | MultiPolygon):
        return shape
    return MultiPolygon([g for g in getattr(shape, "geoms", []) if isinstance(g, Polygon)])


def room_for_pin(hole: Hole, way: tuple[float, float]) -> float:
    """How far the pin can move along a unit vector before it is too near the green's edge, yards."""
    green = unary_union([a.shape for a in hole.areas if a.lie is Lie.GREEN]).buffer(-_EDGE_YD)
    steps = np.arange(1.0, 60.0)
    px, py = hole.pin
    inside = [green.contains(ShapelyPoint(px + s * way[0], py + s * way[1])) for s in steps]
    return float(steps[inside.index(False) - 1]) if inside[0] else 0.0


def pin_moved(hole: Hole, way: tuple[float, float], yards: float) -> Hole:
    """Return the hole with its pin moved; its axes stay."""
    line: NDArray[np.float64] = hole.line.copy()
    line[-1] += np.array(way) * yards
    return _with(hole, line=line)


def _with(hole: Hole, **changes: object) -> Hole:
    fields = {name: getattr(hole, name) for name in hole.__dataclass_fields__}
    return Hole(**(fields | changes))


def with_wind(day: Conditions, toward_deg: float, mph: float) -> Conditions:
    """Return the day with a wind added to its own, blowing toward a compass bearing."""
    own = np.deg2rad(day.wind_from_deg + 180.0)
    more = np.deg2rad(toward_deg)
    east = day.wind_mph * np.sin(own) + mph * np.sin(more)
    north = day.wind_mph * np.cos(own) + mph * np.cos(more)
    speed = float(np.hypot(east, north))
    source = float(np.rad2deg(np.arctan2(east, north)) + 180.0) % 360.0
    return Conditions.model_validate(
        day.model_dump() | {"wind_mph": min(50.0, speed), "wind_from_deg": source if speed > 0 else 0.0}
    )


def with_spread(player: Player, pattern: int, factor: float) -> Player:
    """Return the player with one pattern's spreads, in direction and length, scaled; mishits stay as often."""
    old = player.patterns[pattern]
    new = old.model_copy(
        update={
            name: getattr(old, name) * factor
            for name in ("line_sd_deg", "carry_sd", "mishit_line_sd_deg", "mishit_carry_sd")
        }
    )
    patterns = (*player.patterns[:pattern], new, *player.patterns[pattern + 1 :])
    return player.model_copy(update={"patterns": patterns, "posterior": None})
