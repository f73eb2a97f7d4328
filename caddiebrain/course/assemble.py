"""A map's features to a course: every hole in its own yards, with the ground that matters to it."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from caddiebrain.course.boundaries import Outline, boundaries_of, out_of_bounds, outline_of, tell_of_none
from caddiebrain.course.card import choose_tee, compare_length, par_of, stroke_indexes
from caddiebrain.course.clip import clip_area
from caddiebrain.course.drafts import HOLES_MOST, Draft, bound_holes, choose_course, number_holes
from caddiebrain.course.features import CourseMap, Feature, Wanted
from caddiebrain.course.findings import Findings
from caddiebrain.course.geometry import Frame, areal, play_line
from caddiebrain.course.ground import Ground, clear_of_trees, read_ground, tell_of_no_area, tell_of_untold
from caddiebrain.course.match import Spot, find_green, find_pins, one_line_each, share_tees, turn_lines
from caddiebrain.course.model import Area, Course, Hole
from caddiebrain.course.projection import METRES_PER_YARD, TangentPlane
from caddiebrain.course.site import Site, lay_out
from caddiebrain.course.tags import Kind, length_yd, truth
from caddiebrain.terms import Lie

__all__ = ["build_course"]

SHORTEST_YD, LONGEST_YD = 30.0, 1200.0
"""Holes outside this are slips of the pen."""
MARKS_MOST = 1_000
"""Most hole lines, greens, tees and pins, each, on one course."""
REACH_YD = 120.0
"""Ground within this distance of a hole's line belongs to the hole."""
CLIP_YD = 200.0
"""Ground much farther from the line than this is cut off."""
INTERSECT_POSITIONS = 2_000
"""Areas with more corners than this are cut by the quick way."""
TEE_RADIUS_YD = 4.0
"""Size of a teeing area that the map shows only as a point."""


@dataclass(frozen=True)
class _Laid:
    """A draft with its green, tees and pin found, still on the course's plane."""

    draft: Draft
    green: Feature
    tee: Spot
    pin: Spot
    tees: tuple[Spot, ...]
    pins: tuple[Spot, ...]
    line: NDArray[np.float64]


def build_course(course_map: CourseMap, wanted: Wanted, findings: Findings) -> Course:
    """Assemble a course.

    Parameters
    ----------
    course_map : CourseMap
        Features of a file.
    wanted : Wanted
    findings : Findings
        Faults and notes so far; takes more.

    Raises
    ------
    CourseError
        With every fault found.
    """
    name, lines = choose_course(course_map, wanted.course, findings)
    _note_unused(course_map, findings)
    site = lay_out(course_map, lines, findings)
    numbered = number_holes(site.lines, course_map.own, findings)
    drafts = [
        Draft(n, f, shapely.get_coordinates(shapely.remove_repeated_points(f.shape)), place)
        for n, place, f in numbered
    ]
    laid = _lay_holes(drafts, site, course_map, wanted.tees, findings)
    _check_gaps(laid, findings)
    if not laid:
        findings.check()
        raise findings.stop("golf=hole", "no complete hole", "at least one hole with a line and a green")
    holes = _finish(laid, site, course_map, wanted.out_beyond_outline, findings)
    findings.check(partial=wanted.partial and bool(holes))
    title = name or course_map.name
    return Course(title, tuple(holes), source=course_map.source, notes=findings.notes)


def _note_unused(course_map: CourseMap, findings: Findings) -> None:
    unused = dict(course_map.unused)
    for feature in course_map.of(Kind.PRACTICE, Kind.CLUBHOUSE):
        unused[feature.kind.value] = unused.get(feature.kind.value, 0) + 1
    if unused:
        counts = ", ".join(f"{count} {sort[:30]}" for sort, count in sorted(unused.items())[:20])
        findings.note(f"not used, as they do not change how the ball lies: {counts}")


def _lay_holes(
    drafts: list[Draft], site: Site, course_map: CourseMap, wanted: str | None, findings: Findings
) -> list[_Laid]:
    if not drafts:
        return []
    own = course_map.own
    greens, tee_features, pins = (
        list(site.areas(Kind.GREEN)),
        list(site.of(Kind.TEE)),
        list(site.of(Kind.PIN)),
    )
    for what, things in (("hole lines", drafts), ("greens", greens), ("tees", tee_features), ("pins", pins)):
        if len(things) > MARKS_MOST:
            raise findings.stop("the map", f"{len(things):,} {what}", f"at most {MARKS_MOST:,} on one course")
    drafts = one_line_each(turn_lines(drafts, greens, tee_features, own, findings), greens, own, findings)
    if not drafts:
        return []
    spots = share_tees(drafts, tee_features, own)
    tees = (wanted or course_map.tees).strip().lower()
    if tees and not any(spot.name == tees for row in spots.values() for spot in row):
        have = sorted({spot.name for row in spots.values() for spot in row})
        raise findings.stop("the tees", repr(tees), "one of: " + (", ".join(have) or "none is on this map"))
    laid = []
    for draft in drafts:
        green = find_green(draft, greens, own, findings)
        if green is not None:
            flags = find_pins(draft, green, pins, drafts, own)
            laid.append(_lay(draft, green, spots[draft.number], flags, tees, own, findings))
    _note_spare_greens(greens, laid, findings)
    return laid


def _note_spare_greens(greens: Sequence[Feature], laid: Sequence[_Laid], findings: Findings) -> None:
    used = {id(row.green) for row in laid}
    for green in greens:
        if id(green) not in used and bound_holes(green) is None:
            findings.note(f"{green.where}: a green without a hole; left out")


def _lay(
    draft: Draft,
    green: Feature,
    tees: list[Spot],
    pins: list[Spot],
    wanted: str,
    own: bool,
    findings: Findings,
) -> _Laid:
    pin = _pin_in_play(draft, green, pins, own)
    if len(pins) > 1 and not own:
        names = ", ".join(spot.name for spot in pins)
        findings.note(f"{draft.label}: {len(pins)} pins ({names}); played to {pin.name!r}")
    pins = pins or [pin]
    start = (float(draft.line[0, 0]), float(draft.line[0, 1]))
    if not tees:
        tees = [Spot("tee", start, draft.feature)]
        if not own:
            findings.note(f"{draft.label}: no tee on the map; played from the start of its line")
    elif (
        own
        and not wanted
        and not any(spot.feature.shape.distance(shapely.Point(start)) < 10.0 for spot in tees)
    ):
        tees = [Spot("drawn", start, draft.feature), *tees]
    routes = {spot.name: play_line(draft.line, spot.xy, pin.xy) for spot in tees}
    lengths = {name: float(np.hypot(*np.diff(line, axis=0).T).sum()) for name, line in routes.items()}
    name = choose_tee(draft, tees, lengths, wanted, own, findings)
    tee = next(spot for spot in tees if spot.name == name)
    if own and not wanted and _starts_on(tee, start):
        tee = replace(tee, xy=start)
        tees = [tee if spot.name == name else spot for spot in tees]
    line = play_line(draft.line, tee.xy, pin.xy)
    return _Laid(draft, green, tee, pin, tuple(tees), tuple(pins), line)


def _starts_on(tee: Spot, start: tuple[float, float]) -> bool:
    """Whether a line's start is a finer word on where the tee is than the tee's own middle."""
    return bool(tee.feature.shape.distance(shapely.Point(start)) <= 1.0)


def _pin_in_play(draft: Draft, green: Feature, pins: list[Spot], own: bool) -> Spot:
    """The pin nearest to the line's end, else (in our files) that end if on the green, else its middle."""
    end = (float(draft.line[-1, 0]), float(draft.line[-1, 1]))
    if own and green.shape.distance(shapely.Point(end)) == 0.0:
        near = [spot for spot in pins if np.hypot(spot.xy[0] - end[0], spot.xy[1] - end[1]) < 1.0]
        return near[0] if near else Spot("middle" if not pins else "drawn", end, green)
    if pins:
        return pins[0]
    centre = green.shape.centroid
    on = centre if green.shape.contains(centre) else green.shape.representative_point()
    return Spot("middle", (on.x, on.y), green)


def _check_gaps(laid: list[_Laid], findings: Findings) -> None:
    """A hole missing between others is a fault: the round would silently be shorter."""
    have = {row.draft.number for row in laid}
    told = "\n".join(fault.where for fault in findings.faults)
    for number in range(min(have, default=1), max(have, default=0) + 1):
        if number not in have and not re.search(rf"\b(ref|hole) {number}\b", told):
            findings.fault(f"hole {number}", "no line with this number", "every hole from first to last")
    if 5 < len(have) < HOLES_MOST and len(have) != 9:
        findings.note(f"{len(have)} holes; most courses have 9 or 18")


def _finish(
    laid: list[_Laid], site: Site, course_map: CourseMap, out_beyond_outline: bool, findings: Findings
) -> list[Hole]:
    own = course_map.own
    ground = _all_ground(site, laid, own, findings)
    lengths = {row.draft.number: float(np.hypot(*np.diff(row.line, axis=0).T).sum()) for row in laid}
    pars = {
        row.draft.number: par_of(row.draft, row.tee.name, lengths[row.draft.number], own, findings)
        for row in laid
    }
    indexes = stroke_indexes([row.draft for row in laid], pars, lengths, own, findings)
    beside = _ground_by_hole(ground, laid)
    lines = [shapely.LineString(row.line) for row in laid]
    boundaries = boundaries_of(site, own, findings)
    outline = outline_of(site, lines, out_beyond_outline, findings)
    heights = _spot_heights(site)
    holes = []
    for row, line, mine in zip(laid, lines, beside, strict=True):
        number = row.draft.number
        if not SHORTEST_YD <= lengths[number] <= LONGEST_YD:
            expected = f"{SHORTEST_YD:.0f} to {LONGEST_YD:.0f} yards"
            findings.fault(row.draft.feature.where, f"a hole of {lengths[number]:,.0f} yards", expected)
            continue
        compare_length(row.draft, lengths[number], findings)
        areas = clear_of_trees([ground[i] for i in mine], [_seen_from(row, ground[i]) for i in mine])
        areas += out_of_bounds(boundaries, number, line, REACH_YD)
        areas += outline.beyond(line, REACH_YD) if outline else []
        if not any(a.lie is Lie.TEE and a.shape.distance(shapely.Point(row.tee.xy)) < 0.5 for a in areas):
            areas.append(Area(Lie.TEE, shapely.Point(row.tee.xy).buffer(TEE_RADIUS_YD, quad_segs=4)))
        e5 = truth(row.draft.feature.tags.get("local_rule_e5", "")) or course_map.local_rule_e5
        hole = _hole(row, pars[number], indexes[number], areas, heights, site.plane, e5)
        if _inside(outline, row, line, findings) and _in_bounds(hole, row, findings):
            holes.append(hole)
    tell_of_untold([ground[i] for i in sorted(set().union(*beside))], findings)
    if not own and not any(area.lie is Lie.OUT for hole in holes for area in hole.areas):
        tell_of_none(site, lines, findings)
    return holes


def _all_ground(site: Site, laid: Sequence[_Laid], own: bool, findings: Findings) -> list[Ground]:
    """All ground but greens without a hole."""
    used = {id(row.green) for row in laid}
    tell_of_no_area(site.of(Kind.GROUND, Kind.GREEN, Kind.OUT), own, findings)
    lines = site.of(Kind.TREE, Kind.TREE_ROW, Kind.STREAM, Kind.COAST)
    areas = (
        feature
        for feature in site.areas(Kind.GROUND, Kind.TEE, Kind.GREEN)
        if feature.kind is not Kind.GREEN or id(feature) in used or bound_holes(feature) is not None
    )
    return read_ground([*areas, *lines], findings)


def _ground_by_hole(ground: Sequence[Ground], laid: Sequence[_Laid]) -> list[list[int]]:
    """Indices of the ground of every hole: what names it, and what names none and lies within reach."""
    lines = np.array([shapely.LineString(row.line) for row in laid], dtype=object)
    shapes = np.array([piece.area.shape for piece in ground], dtype=object)
    beside: list[set[int]] = [set() for _ in laid]
    if len(shapes):
        for hole, piece in shapely.STRtree(shapes).query(lines, predicate="dwithin", distance=REACH_YD).T:
            if ground[piece].holes is None:
                beside[hole].add(int(piece))
    for index, piece in enumerate(ground):
        if piece.holes is not None:
            for row, mine in zip(laid, beside, strict=True):
                if row.draft.number in piece.holes:
                    mine.add(index)
    return [sorted(mine) for mine in beside]


def _seen_from(row: _Laid, piece: Ground) -> Area:
    """The lie of a piece of ground on this hole.

    A putting green that is not this hole's must be left (Rule 13.1f) and a tee that is not in play is cut
    grass: both play as fairway. Ground that names its holes is taken at its word.
    """
    area = piece.area
    if piece.holes is not None:
        return area
    other_green = area.lie is Lie.GREEN and piece.feature is not row.green
    other_tee = area.lie is Lie.TEE and area.shape.distance(shapely.Point(row.tee.xy)) > 0.5
    if other_green or other_tee:
        area = replace(area, lie=Lie.FAIRWAY)
    return replace(area, shape=_trimmed(area.shape, row.line))


def _trimmed(
    shape: shapely.Polygon | shapely.MultiPolygon, line: NDArray[np.float64]
) -> shapely.Polygon | shapely.MultiPolygon:
    """Cut an area that reaches far down to the neighbourhood of a line."""
    west, south = line.min(axis=0) - CLIP_YD
    east, north = line.max(axis=0) + CLIP_YD
    bounds = shape.bounds
    over = max(west - bounds[0], south - bounds[1], bounds[2] - east, bounds[3] - north)
    if over <= CLIP_YD:
        return shape
    if shapely.get_num_coordinates(shape) <= INTERSECT_POSITIONS:
        return areal(shape.intersection(shapely.box(west, south, east, north))) or shape
    cut = clip_area(shape, (west, south, east, north))
    return cut if cut is not None and cut.is_valid else shape


def _spot_heights(site: Site) -> list[tuple[frozenset[int] | None, NDArray[np.float64]]]:
    """Spot heights (n, 3) in yards of the course's plane, with the holes they name."""
    found = []
    for feature in (*site.lines, *site.features):
        spots = feature.heights
        if spots is not None:
            flat = site.plane.to_yards(spots[:, :2])
            found.append((bound_holes(feature), np.column_stack([flat, spots[:, 2] / METRES_PER_YARD])))
        ele = length_yd(feature.tags.get("ele", "").removeprefix("-"))
        if ele is not None and spots is None:
            sign = -1.0 if feature.tags["ele"].startswith("-") else 1.0
            flat = shapely.get_coordinates(feature.shape)
            flat = flat[:: max(1, len(flat) // 16)]
            found.append((bound_holes(feature), np.column_stack([flat, np.full(len(flat), sign * ele)])))
    return found


def _hole(
    row: _Laid,
    par: int,
    stroke_index: int,
    areas: Sequence[Area],
    heights: Sequence[tuple[frozenset[int] | None, NDArray[np.float64]]],
    plane: TangentPlane,
    e5: bool,
) -> Hole:
    frame = Frame.between(row.tee.xy, row.pin.xy)
    turned = shapely.transform(np.array([area.shape for area in areas], dtype=object), frame.to_local)
    own_plane = TangentPlane.through(*plane.to_lonlat([row.tee.xy, row.pin.xy]))
    return Hole(
        number=row.draft.number,
        par=par,
        stroke_index=stroke_index,
        line=frame.to_local(row.line),
        areas=tuple(replace(area, shape=shape) for area, shape in zip(areas, turned, strict=True)),
        bearing_deg=own_plane.bearing_deg,
        origin_lonlat=(own_plane.lon, own_plane.lat),
        name=row.draft.feature.tags.get("name", ""),
        tees=_named_spots(row.tees, frame),
        pins=_named_spots(row.pins, frame),
        heights=_heights_near(row, heights, frame),
        local_rule_e5=e5,
    )


def _named_spots(spots: Sequence[Spot], frame: Frame) -> dict[str, tuple[float, float]]:
    flat = frame.to_local([spot.xy for spot in spots])
    return {spot.name: (float(x), float(y)) for spot, (x, y) in zip(spots, flat, strict=True)}


def _heights_near(
    row: _Laid, heights: Sequence[tuple[frozenset[int] | None, NDArray[np.float64]]], frame: Frame
) -> "NDArray[np.float64] | None":
    line = shapely.LineString(row.line)
    near = []
    for holes, spots in heights:
        if holes is not None:
            if row.draft.number in holes:
                near.append(spots)
            continue
        near.append(spots[shapely.distance(shapely.points(spots[:, :2]), line) <= CLIP_YD])
    found = np.vstack(near) if near else np.empty((0, 3))
    if not len(found):
        return None
    return np.column_stack([frame.to_local(found[:, :2]), found[:, 2]])


def _in_bounds(hole: Hole, row: _Laid, findings: Findings) -> bool:
    for what, spot in (("tee", hole.tee), ("pin", hole.pin)):
        if any(a.lie is Lie.OUT and a.shape.contains(shapely.Point(spot)) for a in hole.areas):
            findings.fault(row.draft.feature.where, f"its {what} out of bounds", f"a {what} on the course")
            return False
    return True


def _inside(outline: Outline | None, row: _Laid, line: shapely.LineString, findings: Findings) -> bool:
    """Whether a hole lies inside the outline that is its boundary."""
    tees = [spot.feature.shape for spot in row.tees if spot.feature is not row.draft.feature]
    parts = [("line", line), *(("tee", tee) for tee in tees), ("green", row.green.shape)]
    return outline is None or outline.holds(row.draft.feature.where, parts, findings)
