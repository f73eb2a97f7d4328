"""What every map format is turned into first: features with tags and a shape in longitude and latitude."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray

from caddiebrain.course.findings import Findings
from caddiebrain.course.tags import Kind, Tags, is_area, kind_of

__all__ = ["CLOSED", "CourseMap", "Feature", "Wanted", "closed_to_area", "is_areal", "sound_areas", "told"]

CLOSED = "an outline that ends where it began; a ditch or stream has waterway=*"
CROSSINGS_MOST = 20
REPAIR_SHARE = 0.05
"""A crossing ring is mended when that moves its area by no more than this share."""


@dataclass(frozen=True)
class Feature:
    """One thing on a map.

    Parameters
    ----------
    where : str
        For messages: the map's own identity and what it is.
    tags : mapping of str to str
        As on the map.
    kind : Kind
        The part it plays.
    shape : shapely geometry
        Longitude and latitude, degrees.
    heights : ndarray of shape (n, 3) or None
        Longitude, latitude and metres of those positions that carry a height.
    """

    where: str
    tags: Tags
    kind: Kind
    shape: shapely.Geometry
    heights: "NDArray[np.float64] | None" = None


@dataclass(frozen=True)
class CourseMap:
    """Everything of use that a file holds.

    Parameters
    ----------
    own : bool
        True for a course file of ours, which is held to its promises; False for a map as people draw it.
    name : str
        Of the course; may be empty.
    features : tuple of Feature
        In the file's order.
    tees : str
        Name of the tee set in play; empty when the file does not say.
    """

    source: str
    own: bool
    features: tuple[Feature, ...]
    name: str = ""
    tees: str = ""
    local_rule_e5: bool = False
    unused: dict[str, int] = field(default_factory=dict)
    """How many features of each other sort were passed over."""

    def of(self, *kinds: Kind) -> Iterator[Feature]:
        """Give the features of these kinds."""
        return (feature for feature in self.features if feature.kind in kinds)


@dataclass(frozen=True)
class Wanted:
    """How a map is to be read.

    Parameters
    ----------
    tees, course : str, optional
        Names of the tee set in play and, where the file holds several, of the golf course.
    partial : bool
        Leave out holes and features with faults, as notes, instead of refusing the file.
    out_beyond_outline : bool
        Take the outline of the course for its boundary.
    """

    tees: str | None = None
    course: str | None = None
    partial: bool = False
    out_beyond_outline: bool = False


def told(identity: str, tags: Tags) -> str:
    """Name a feature so that its author finds it."""
    says = [f"{key}={tags[key]}"[:60] for key in ("golf", "natural", "landuse", "waterway") if key in tags][
        :1
    ]
    says += [f"{key} {tags[key]}"[:60] for key in ("ref", "name") if tags.get(key)]
    return f"{identity} ({', '.join(says)})" if says else identity


def closed_to_area(line: shapely.LineString, tags: Tags) -> shapely.Geometry:
    """Turn a closed line into an area where its tags stand for ground, as several exporters do not."""
    if is_area(kind_of(tags)) and line.is_closed and len(line.coords) >= 4:
        return shapely.Polygon(line.coords)
    return line


def is_areal(shape: shapely.Geometry) -> bool:
    """Say whether a shape is an area."""
    return shape.geom_type in ("Polygon", "MultiPolygon")


def sound_areas(features: Sequence[Feature], own: bool, findings: Findings) -> list[Feature]:
    """Keep all but areas whose rings cross themselves.

    A course file of ours must be right; on a map a small slip (a spike, a twist that hardly changes the
    area) is mended and noted, and a larger one is a fault.
    """
    sound = np.asarray(shapely.is_valid([feature.shape for feature in features]), dtype=bool)
    kept = []
    for feature, fine in zip(features, sound, strict=True):
        if fine or not is_areal(feature.shape):
            kept.append(feature)
            continue
        mended = None if own else _mended(feature.shape)
        if mended is None:
            reason = shapely.is_valid_reason(feature.shape)
            findings.fault(feature.where, _crossing(reason), "rings that do not cross or touch themselves")
        else:
            findings.note(f"{feature.where}: its outline crosses itself; mended")
            kept.append(Feature(feature.where, feature.tags, feature.kind, mended, feature.heights))
    return kept


def _mended(shape: shapely.Geometry) -> shapely.Geometry | None:
    """Mend a polygon; None where it crosses itself a lot or the mended one is another shape."""
    if _crossings(shape) > CROSSINGS_MOST:
        return None
    mended = shapely.make_valid(shape)
    parts = [part for part in shapely.get_parts(mended) if is_areal(part)]
    area = sum(part.area for part in parts)
    if not area or abs(area - shape.area) > REPAIR_SHARE * area:
        return None
    flat = [polygon for part in parts for polygon in shapely.get_parts(part)]
    return flat[0] if len(flat) == 1 else shapely.MultiPolygon(flat)


def _crossings(shape: shapely.Geometry) -> int:
    """Count where rings cross themselves, giving up beyond what will be mended.

    Mending takes minutes where hundreds of steps cross one another at random.
    """
    found = 0
    for polygon in shapely.get_parts(shape):
        for ring in (polygon.exterior, *polygon.interiors):
            corners = shapely.get_coordinates(ring)
            steps = shapely.linestrings(np.stack([corners[:-1], corners[1:]], axis=1))
            tree = shapely.STRtree(steps)
            for first in range(0, len(steps), 100):
                # Every crossing is seen from both of its steps.
                found += int(tree.query(steps[first : first + 100], predicate="crosses").shape[1])
                if found > 2 * CROSSINGS_MOST:
                    return found // 2
    return found // 2


def _crossing(reason: str) -> str:
    kind, _, place = reason.partition("[")
    return f"{kind.lower()} at lon lat {place.rstrip(']')}" if place else kind.lower()
