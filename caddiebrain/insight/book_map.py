"""Measures of a hole for its page: what lies how far away, the wind on it, the green, and the scale of its map."""

from collections.abc import Sequence
from string import ascii_lowercase
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon

from caddiebrain.course.model import Hole
from caddiebrain.flight import Conditions
from caddiebrain.insight.book_records import Distance, GreenSize, MapScale, WindOnHole
from caddiebrain.insight.records_compare import Ellipse
from caddiebrain.terms import Lie

__all__ = ["distances_of", "green_of", "map_scale", "tag_of", "wind_on"]

Floats = NDArray[np.float64]

_MAP_IN = (1.72, 5.92)
"""Width and height of the map on a page of 4.25 x 7 inches."""
_LETTER_IN = 0.088
"""Height of the map's words on paper: 6.3 points."""
_WORD_UNITS = 5.0
"""Height of a drawing's words in its own units."""
_BEYOND_YD = 22.0
_LEAST_MARGIN_YD = 24.0
_SCALES = (16.0, 20.0, 25.0, 30.0, 40.0)
"""Yards to the inch that a green is drawn at: 1:576 and smaller; Rule 4.3a allows no larger than 1:480."""
_GREEN_IN = (1.93, 1.8)
_GREEN_MARGIN_YD = 7.0
_CORRIDOR_YD = 42.0
_NEAREST_YD = 60.0
_GREENSIDE_YD = 28.0
_FURTHEST_FROM_PIN_YD = 260.0
_JOINED_YD = 6.0
_MOST = 4
_GAP_YD = 2.5
_BAR_YD = 10.0
_TOLD = (Lie.SAND, Lie.YELLOW, Lie.RED)


def map_scale(hole: Hole) -> MapScale:
    """Scale at which a whole hole fills the map of its page."""
    low, high = hole.line.min(axis=0), hole.line.max(axis=0)
    wide, tall = (high - low).tolist()
    scale = max((tall + 2 * _BEYOND_YD) / _MAP_IN[1], (wide + 2 * _LEAST_MARGIN_YD) / _MAP_IN[0])
    return MapScale(
        margin_yd=(scale * _MAP_IN[0] - wide) / 2,
        beyond_yd=_BEYOND_YD,
        yards_per_inch=scale,
        scale=round(36 * scale),
        grain=_LETTER_IN * scale / _WORD_UNITS,
    )


def tag_of(
    oval: Ellipse, name: str, hole: Hole, scale: MapScale, letters: Sequence[Distance]
) -> tuple[tuple[float, float], Literal["start", "middle", "end"]]:
    """Where the name of a shot stands: beside its oval and clear of letters, above it where no side has room."""
    x, y = oval.centre
    turn = np.deg2rad(oval.turn_deg)
    half = float(np.hypot(oval.long_yd * np.sin(turn), oval.short_yd * np.cos(turn))) + 2.0
    word = _WORD_UNITS * scale.grain
    needed = 0.66 * word * len(name)
    left = x - half - (float(hole.line[:, 0].min()) - scale.margin_yd) - needed
    right = float(hole.line[:, 0].max()) + scale.margin_yd - x - half - needed
    if max(left, right) < 0.0:
        tall = float(np.hypot(oval.long_yd * np.cos(turn), oval.short_yd * np.sin(turn)))
        return (x, y + tall + 0.8 * word), "middle"
    on_left = left > right
    beside = [d.at[1] for d in letters if (d.at[0] < x) == on_left and abs(d.at[1] - y) < 1.5 * word]
    if beside:
        y = beside[0] + (1.5 * word if y >= beside[0] else -1.5 * word)
    return ((x - half, y), "end") if on_left else ((x + half, y), "start")


def wind_on(hole: Hole, day: Conditions) -> WindOnHole | None:
    """The forecast's wind as it blows on a hole; None in still air."""
    if day.wind_mph == 0.0:
        return None
    toward = float(day.wind_toward_deg(hole.bearing_deg))
    off = abs((toward + 180.0) % 360.0 - 180.0)
    along: Literal["head", "tail", "cross"] = "tail" if off < 60.0 else "head" if off > 120.0 else "cross"
    straight = min(off, 180.0 - off) < 20.0
    side: Literal["left", "right", ""] = "" if straight else "left" if 0.0 < toward < 180.0 else "right"
    return WindOnHole(mph=day.wind_mph, toward_deg=toward, along=along, from_side=side)


def distances_of(hole: Hole, longest_yd: float) -> tuple[Distance, ...]:
    """Sand and penalty areas along the way, the nearest to the tee first.

    What a tee shot can reach is told from the tee, what lies beyond by its distance to the pin; what lies about the
    green is left to the drawing of the green.

    Parameters
    ----------
    longest_yd : float
        How far the player's longest tee shot goes, rollout included.
    """
    line = LineString(hole.line)
    corridor = line.buffer(_CORRIDOR_YD, cap_style="flat")
    found = []
    for lie in _TOLD:
        for part in _joined(hole, lie, corridor):
            item = _distance(hole, lie, part, line, longest_yd)
            if item is not None:
                found.append((part.distance(line), item))
    found.sort(key=lambda pair: pair[0])
    items = sorted(
        (item for _, item in found[:_MOST]), key=lambda d: (d.of_pin, d.start_yd * (1 - 2 * d.of_pin))
    )
    return tuple(
        item.model_copy(update={"mark": letter}) for item, letter in zip(items, ascii_lowercase, strict=False)
    )


def _joined(hole: Hole, lie: Lie, corridor: Polygon) -> list[Polygon]:
    """Pieces of ground of one lie in the corridor, near ones taken together."""
    shapes = [area.shape for area in hole.areas if area.lie is lie and area.shape.intersects(corridor)]
    if not shapes:
        return []
    near = shapely.union_all(shapes).intersection(corridor).buffer(_JOINED_YD, quad_segs=4)
    return [p for p in shapely.get_parts(near.buffer(-_JOINED_YD, quad_segs=4)) if p.area > 4.0]


def _distance(hole: Hole, lie: Lie, part: Polygon, line: LineString, longest_yd: float) -> Distance | None:
    edge = shapely.get_coordinates(shapely.segmentize(part.exterior, 2.0))
    from_tee = np.hypot(*(edge - hole.tee).T)
    to_pin = np.hypot(*(edge - hole.pin).T)
    near_tee = from_tee.min() >= _NEAREST_YD and from_tee.min() <= longest_yd + 20.0
    if to_pin.min() < _GREENSIDE_YD and not part.intersects(line):
        return None
    if not near_tee and (from_tee.min() < _NEAREST_YD or to_pin.min() > _FURTHEST_FROM_PIN_YD):
        return None
    start, end = (from_tee.min(), from_tee.max()) if near_tee else (to_pin.max(), to_pin.min())
    side = _side(line, part)
    left, low, right, high = part.bounds
    x, y = shapely.get_coordinates(part.representative_point())[0].tolist()
    beside: dict[str, tuple[float, Literal["start", "middle", "end"]]] = {
        "left": (left - _GAP_YD, "end"),
        "right": (right + _GAP_YD, "start"),
    }
    x, anchor = beside.get(side, (x, "middle"))
    y = (low + high) / 2 if side in beside else y
    if lie is not Lie.SAND:  # its name stands inside
        x, y, anchor = (left + right) / 2, high + _GAP_YD, "middle"
    return Distance(
        mark="",
        lie=str(lie),
        side=side,
        start_yd=float(start),
        end_yd=float(end),
        of_pin=not near_tee,
        at=(float(x), float(y)),
        anchor=anchor,
    )


def _side(line: LineString, part: Polygon) -> Literal["left", "right", "across"]:
    if part.intersects(line):
        return "across"
    foot = line.interpolate(line.project(part.centroid))
    ahead = line.interpolate(min(line.length, line.project(part.centroid) + 5.0))
    behind = line.interpolate(max(0.0, line.project(part.centroid) - 5.0))
    way = (ahead.x - behind.x, ahead.y - behind.y)
    dx, dy = part.centroid.x - foot.x, part.centroid.y - foot.y
    return "right" if dx * way[1] - dy * way[0] > 0.0 else "left"


def green_of(hole: Hole) -> GreenSize | None:
    """Measures of the green that holds the pin, seen from the last stretch of the line; None without a green."""
    greens = [
        part
        for area in hole.areas
        if area.lie is Lie.GREEN
        for part in shapely.get_parts(area.shape)
        if isinstance(part, Polygon)
    ]
    if not greens:
        return None
    pin = Point(hole.pin)
    green = min(greens, key=pin.distance)
    way = hole.line[-1] - hole.line[-2]
    ahead = way / max(float(np.hypot(*way)), 1e-9)
    right = np.array([ahead[1], -ahead[0]])
    edge = shapely.get_coordinates(green.exterior) - np.asarray(hole.pin)
    along, across = edge @ ahead, edge @ right
    depth, width = float(np.ptp(along)), float(np.ptp(across))
    needed = max((width + 2 * _GREEN_MARGIN_YD) / _GREEN_IN[0], (depth + 2 * _GREEN_MARGIN_YD) / _GREEN_IN[1])
    scale = next((s for s in _SCALES if s >= needed), max(needed, _SCALES[-1]))
    reach = [_reach(green, hole.pin, way) for way in (-ahead, ahead, -right, right)]
    at = [hole.pin + r * way for r, way in zip(reach, (-ahead, ahead, -right, right), strict=True)]
    foot = hole.pin + ahead * (along.min() - 0.6 * _GREEN_MARGIN_YD) + right * across.min()
    return GreenSize(
        depth_yd=depth,
        width_yd=width,
        front_yd=reach[0],
        back_yd=reach[1],
        left_yd=reach[2],
        right_yd=reach[3],
        yards_per_inch=scale,
        scale=round(36 * scale),
        margin_yd=((_GREEN_IN[0] * scale - width) / 2, _GREEN_MARGIN_YD),
        edges=(_point(at[0]), _point(at[1]), _point(at[2]), _point(at[3])),
        bar=(_point(foot), _point(foot + _BAR_YD * right)),
        bar_words=_point(foot + (_BAR_YD + 1.0) * right),
    )


def _point(at: Floats) -> tuple[float, float]:
    return float(at[0]), float(at[1])


def _reach(green: Polygon, pin: tuple[float, float], way: Floats) -> float:
    """Yards from the pin to the edge of the green one way; 0 where the pin stands off it."""
    ray = LineString([pin, tuple(np.asarray(pin) + 100.0 * way)])
    inside = shapely.get_parts(green.intersection(ray))
    first = min(inside, key=lambda part: part.distance(Point(pin)), default=None)
    return 0.0 if first is None or first.distance(Point(pin)) > 0.1 else float(first.length)
