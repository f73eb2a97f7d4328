"""What is out of bounds: ground, lines and rings drawn as such and, where it is asked for, beyond the outline."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely

from caddiebrain.course.drafts import bound_holes
from caddiebrain.course.features import Feature, is_areal
from caddiebrain.course.findings import Findings
from caddiebrain.course.geometry import areal, far_side, side_strip
from caddiebrain.course.model import Area
from caddiebrain.course.site import Site
from caddiebrain.course.tags import Kind, truth
from caddiebrain.terms import Lie

__all__ = ["Boundary", "Outline", "boundaries_of", "out_of_bounds", "outline_of", "tell_of_none"]

CORNERS_MOST = 3_000
"""Most corners of all that is out of bounds."""
DEPTH_YD = 150.0
"""How far the ground beyond a boundary line is drawn."""
SLACK_YD = 1.0
"""What is this far beyond the outline is still on the course: outlines are seldom drawn finer."""
PROPERTY = "out_beyond_outline"
"""Of an outline, in a course file; the reader's option has the same name."""
_EXPECTED = "a closed outline leisure=golf_course around the holes, or golf=out_of_bounds drawn"


@dataclass(frozen=True)
class Boundary:
    """Something that marks ground out of bounds.

    An area is out inside; on a map, a closed ring that holds a hole is the course's boundary, out outside.
    Beyond an open line the ground is out on the side away from the line of play.

    Parameters
    ----------
    feature : Feature
        Of kind out of bounds.
    own : bool
        Whether it stands in a course file of ours.
    """

    feature: Feature
    own: bool

    @cached_property
    def strip(self) -> shapely.Polygon | shapely.MultiPolygon:
        """The ground along the boundary, to both sides."""
        return side_strip(self._edge, DEPTH_YD)

    @property
    def _edge(self) -> shapely.LineString:
        shape = self.feature.shape
        return shape if isinstance(shape, shapely.LineString) else shapely.LineString(shape.exterior.coords)

    def beyond(self, line: shapely.LineString) -> shapely.Polygon | shapely.MultiPolygon | None:
        """Return the ground out of bounds as seen from a line of play."""
        shape = self.feature.shape
        around = not self.own and isinstance(shape, shapely.Polygon) and _holds(shape, line)
        if isinstance(shape, shapely.LineString) or around:
            return far_side(self._edge, self.strip, line)
        return areal(shape)


@dataclass(frozen=True)
class Outline:
    """The outline of a course, out of bounds beyond it and in what is cut out of it.

    Parameters
    ----------
    feature : Feature
        Of kind course, an area.
    """

    feature: Feature

    @cached_property
    def _outside(self) -> shapely.Polygon | shapely.MultiPolygon | None:
        shape = self.feature.shape
        wide = shape.buffer(DEPTH_YD, join_style="mitre", mitre_limit=2.0)
        return areal(wide.difference(shape))

    def beyond(self, line: shapely.LineString, reach: float) -> list[Area]:
        """Return the ground out of bounds for a line of play no farther than so many yards from the outline."""
        if self._outside is None or self.feature.shape.boundary.distance(line) > reach:
            return []
        return [Area(Lie.OUT, self._outside)]

    def holds(self, where: str, parts: Iterable[tuple[str, shapely.Geometry]], findings: Findings) -> bool:
        """Whether a hole's parts, each with its name, are all inside; what is not is a fault."""
        inside = self.feature.shape.buffer(SLACK_YD)
        beyond = dict.fromkeys(name for name, shape in parts if not inside.covers(shape))
        if beyond:
            found = f"its {' and '.join(beyond)} not inside the outline of the course, {self.feature.where}"
            expected = "an outline around its line, tees and green, or golf=out_of_bounds drawn instead"
            findings.fault(where, found, expected)
        return not beyond


def boundaries_of(site: Site, own: bool, findings: Findings) -> list[Boundary]:
    """Out of bounds as drawn, thinned to within 0.2 yards: which side of it a hole lies on is slow to work out."""
    return [Boundary(feature, own) for feature in _thinned(site.of(Kind.OUT), findings)]


def outline_of(
    site: Site, lines: Sequence[shapely.LineString], wanted: bool, findings: Findings
) -> Outline | None:
    """Find the outline of the course if it is to be its boundary.

    Parameters
    ----------
    site : Site
    lines : sequence of LineString
        Lines of play of the course's holes. Of several outlines that hold as much of them the smallest counts.
    wanted : bool
        Whether it is asked for; if not, the outline's own property says.
    findings : Findings
        Takes a note if it is used, and a fault if there is none to use.

    Returns
    -------
    Outline or None
    """
    outlines = list(site.areas(Kind.COURSE))
    feature = _around(outlines, lines)
    for outline in site.of(Kind.COURSE):
        said = outline.tags.get(PROPERTY)
        if said is not None and truth(said) is None:
            findings.fault(f"{outline.where}: {PROPERTY}", repr(said)[:40], "yes or no")
    asking = list(site.of(Kind.COURSE)) if feature is None else [feature]
    if not (wanted or any(truth(outline.tags.get(PROPERTY, "")) for outline in asking)):
        return None
    if feature is None:
        still_open = [outline for outline in asking if not is_areal(outline.shape)]
        where, found = "the outline of the course", "none around the holes"
        if still_open:
            where, found = still_open[0].where, "an outline that is not closed"
        findings.fault(where, found, _EXPECTED)
        return None
    findings.note(f"out of bounds beyond the outline of the course, {feature.where}")
    return Outline(_thinned([feature], findings)[0])


def out_of_bounds(
    boundaries: Iterable[Boundary], number: int, line: shapely.LineString, reach: float
) -> list[Area]:
    """Return the ground out of bounds beside one hole.

    Parameters
    ----------
    boundaries : iterable of Boundary
        Of the whole course.
    number : int
        Of the hole.
    line : LineString
        The hole's line of play.
    reach : float
        Boundaries farther than this from the line, in yards, are left out.
    """
    areas = []
    for boundary in boundaries:
        holes = bound_holes(boundary.feature)
        away = boundary.feature.shape.distance(line) > reach
        if number not in holes if holes is not None else away:
            continue
        outside = boundary.beyond(line)
        if outside is not None:
            areas.append(Area(Lie.OUT, outside, name=boundary.feature.tags.get("name", "")))
    return areas


def tell_of_none(site: Site, lines: Sequence[shapely.LineString], findings: Findings) -> None:
    """Note that nothing is out of bounds, and what there is to do about it."""
    there = _around(list(site.areas(Kind.COURSE)), lines) is not None
    ask = "; --out-beyond-outline makes the outline of the course the boundary" if there else ""
    findings.note(f"no out of bounds on the map; nothing is played as out{ask}")


def _thinned(features: Iterable[Feature], findings: Findings) -> list[Feature]:
    thin = [replace(feature, shape=shapely.simplify(feature.shape, 0.2)) for feature in features]
    corners = sum(int(shapely.get_num_coordinates(feature.shape)) for feature in thin)
    if corners > CORNERS_MOST:
        found = f"{corners:,} corners of boundaries"
        raise findings.stop("golf=out_of_bounds", found, f"at most {CORNERS_MOST:,} on one course")
    return thin


def _around(outlines: Sequence[Feature], lines: Sequence[shapely.LineString]) -> Feature | None:
    """The outline that holds most of the lines of play, of equals the smallest; None where none holds half a line."""
    if not outlines:
        return None
    shapes = np.array([outline.shape for outline in outlines], dtype=object)
    held = np.array([shapely.length(shapely.intersection(shapes, line)) for line in lines])
    if not (held > 0.5 * shapely.length(np.array(lines))[:, None]).any():
        return None
    inside = held.sum(axis=0)
    most = inside >= 0.99 * inside.max()
    return outlines[int(np.where(most, shapely.area(shapes), np.inf).argmin())]


def _holds(shape: shapely.Geometry, line: shapely.LineString) -> bool:
    return bool(line.intersection(shape).length > line.length / 2)
