"""Features to ground: lies, woods with their heights, single trees, streams."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import shapely

from caddiebrain.course.drafts import bound_holes
from caddiebrain.course.features import CLOSED, Feature, is_areal
from caddiebrain.course.findings import Findings
from caddiebrain.course.geometry import areal, right_side
from caddiebrain.course.model import Area
from caddiebrain.course.projection import METRES_PER_YARD
from caddiebrain.course.tags import Kind, length_yd, lie_of
from caddiebrain.terms import Lie

__all__ = [
    "DEFAULT_HEIGHT_YD",
    "Ground",
    "clear_of_trees",
    "read_ground",
    "tell_of_no_area",
    "tell_of_untold",
]

DEFAULT_HEIGHT_YD = 15.0
"""Woods and trees of untold height (common practice, no source)."""
DEFAULT_LOST = {Lie.TREES: 0.08, Lie.THICK: 0.05}
"""Chance that a ball at rest there is lost, where the map does not say (common practice, no source)."""
CROWN_YD = 4.0
"""Radius of a single tree's crown."""
ROW_YD = 4.0
STREAM_YD = 1.5
"""Half the width of a stream that has no ``width``."""
COAST_DEPTH_YD = 150.0
"""How far the water beyond a coastline is drawn."""

_YARDS_IN = {"_m": 1.0 / METRES_PER_YARD, "_ft": 1.0 / 3.0, "_yd": 1.0}


@dataclass(frozen=True)
class Ground:
    """An area in yards of the course's plane, before it is known whose hole it lies on.

    Parameters
    ----------
    area : Area
        With the lie its tags give it.
    feature : Feature
        Where it came from.
    holes : frozenset of int or None
        The holes that the feature names; None where it names none and its place decides.
    """

    area: Area
    feature: Feature
    holes: frozenset[int] | None = None


def read_ground(features: Iterable[Feature], findings: Findings) -> list[Ground]:
    """Turn features into ground; boundary lines, whose side depends on the hole, are not among them."""
    ground = []
    for feature in features:
        shape = _shape_of(feature)
        if shape is None:
            continue
        try:
            lie = Lie.TREES if feature.kind in (Kind.TREE, Kind.TREE_ROW) else lie_of(feature.tags)
        except ValueError:
            words = ", ".join(lie.value for lie in Lie)
            findings.fault(f"{feature.where}: lie", repr(feature.tags["lie"])[:40], f"one of {words}")
            continue
        ground.append(Ground(_area(lie, shape, feature, findings), feature, bound_holes(feature)))
    return ground


def tell_of_no_area(features: Iterable[Feature], own: bool, findings: Findings) -> None:
    """Ground needs an outline: a point, or a line that does not close, does not say where it is."""
    for feature in features:
        point = feature.shape.geom_type in ("Point", "MultiPoint")
        if is_areal(feature.shape) or (feature.kind is Kind.OUT and not point):
            continue
        found = "a point" if point else "an outline that is not closed"
        if own or ("golf" in feature.tags and not point):
            findings.fault(feature.where, found, CLOSED)
        else:
            findings.note(f"{feature.where}: {found}, so not known how far it reaches; left out")


def tell_of_untold(ground: Iterable[Ground], findings: Findings) -> None:
    """Note, once for the course, what is taken for granted of water and trees whose tags do not say."""
    for piece in ground:
        tags, lie = piece.feature.tags, piece.area.lie
        if lie is Lie.YELLOW and "lie" not in tags and "golf" not in tags:
            findings.note("water without a colour taken for yellow penalty areas")
        if lie is Lie.TREES and not _says_height(piece.feature):
            findings.note(f"trees without a height taken for {DEFAULT_HEIGHT_YD:.0f} yards tall")


def _says_height(feature: Feature) -> bool:
    ours = any(f"height{suffix}" in feature.tags for suffix in _YARDS_IN)
    return ours or _tagged_length(feature, "height") is not None


def clear_of_trees(ground: Sequence[Ground], areas: Sequence[Area]) -> list[Area]:
    """Take single trees and rows of them out of mown ground: unlike a wood, each is known to stand there."""
    single = [piece.area.shape for piece in ground if piece.feature.kind in (Kind.TREE, Kind.TREE_ROW)]
    crowns, left = shapely.STRtree(single), []
    for area in areas:
        mown = area.lie in (Lie.FAIRWAY, Lie.TIGHT)
        over = crowns.query(area.shape, predicate="intersects") if mown else ()
        if len(over):
            shape = areal(area.shape.difference(shapely.union_all(crowns.geometries[over])))
            left += [replace(area, shape=shape)] if shape is not None else []
        else:
            left.append(area)
    return left


def _shape_of(feature: Feature) -> shapely.Polygon | shapely.MultiPolygon | None:
    tags, shape = feature.tags, feature.shape
    if feature.kind is Kind.TREE:
        crown = length_yd(tags.get("diameter_crown", ""))
        return areal(shape.buffer(crown / 2 if crown else CROWN_YD, quad_segs=4))
    if feature.kind is Kind.TREE_ROW:
        return areal(shape.buffer(ROW_YD, quad_segs=2))
    if feature.kind is Kind.STREAM:
        width = length_yd(tags.get("width", ""))
        return areal(shape.buffer(width / 2 if width else STREAM_YD, quad_segs=2))
    if feature.kind is Kind.COAST:
        return right_side(shape, COAST_DEPTH_YD)
    return areal(shape)


def _area(
    lie: Lie, shape: shapely.Polygon | shapely.MultiPolygon, feature: Feature, findings: Findings
) -> Area:
    lost = DEFAULT_LOST.get(lie, 0.0) if feature.kind is not Kind.TREE else 0.0
    area = Area(lie, shape, name=feature.tags.get("name", ""), lost=_lost(feature, lost, findings))
    if lie is not Lie.TREES:
        return area
    return replace(
        area,
        height_yd=_own_length(feature, "height", DEFAULT_HEIGHT_YD, findings),
        canopy_base_yd=_own_length(feature, "canopy_base", area.canopy_base_yd, findings),
        canopy_gap_yd=_own_length(feature, "canopy_gap", area.canopy_gap_yd, findings),
        trunk_gap_yd=_own_length(feature, "trunk_gap", area.trunk_gap_yd, findings),
    )


def _lost(feature: Feature, default: float, findings: Findings) -> float:
    text = feature.tags.get("lost")
    if text is None:
        return default
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0.0 <= value <= 1.0:
        findings.fault(f"{feature.where}: lost", repr(text)[:40], "a chance from 0 to 1")
        return default
    return value


def _own_length(feature: Feature, name: str, default: float, findings: Findings) -> float:
    """Read a length with its unit in the key (``height_m``, ``_ft``, ``_yd``), else the map's ``height``."""
    for suffix, yards in _YARDS_IN.items():
        text = feature.tags.get(name + suffix)
        if text is None:
            continue
        try:
            value = float(text)
        except ValueError:
            value = -1.0
        if 0.0 < value * yards <= 150.0:
            return value * yards
        findings.fault(f"{feature.where}: {name}{suffix}", repr(text)[:40], "a length up to 150 yards")
        return default
    tagged = _tagged_length(feature, name)
    return default if tagged is None else tagged


def _tagged_length(feature: Feature, name: str) -> float | None:
    tagged = length_yd(feature.tags.get(name, ""))
    return tagged if tagged and tagged <= 150.0 else None
