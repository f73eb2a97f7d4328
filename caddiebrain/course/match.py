"""Which green, tees and pins belong to which hole line, and which way the line runs."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.ops import substring

from caddiebrain.course.drafts import Draft, bound_holes
from caddiebrain.course.features import Feature
from caddiebrain.course.findings import Findings
from caddiebrain.course.tags import whole_numbers

__all__ = ["Spot", "find_green", "find_pins", "one_line_each", "share_tees", "turn_lines"]

ON_GREEN_YD = 25.0
"""A line that ends this close to a green ends at it."""
STOPS_SHORT_YD = 120.0
"""A line that stops short is carried straight on this far to look for its green."""
STRAY_YD = 60.0
"""A green off the end of the line, in no particular direction, may be this far from it."""
TURNED_MARGIN_YD = 25.0
"""How much better a line must fit tees and greens the other way round to be turned."""
TEE_ASIDE_YD = 40.0
TEE_BEHIND_YD = 150.0
TEE_AHEAD_SHARE = 0.45
FAR_YD = 100.0
INSIDE_YD = -30.0
"""Lying on a green or tee weighs as much as being 30 yards nearer to it."""


@dataclass(frozen=True)
class Spot:
    """A named place on a hole: a tee or a pin, in yards of the course's plane."""

    name: str
    xy: tuple[float, float]
    feature: Feature


def turn_lines(
    drafts: Sequence[Draft], greens: Sequence[Feature], tees: Sequence[Feature], own: bool, findings: Findings
) -> list[Draft]:
    """Turn lines drawn from green to tee round; in a course file of ours they are faults."""
    ends = np.array([[draft.line[0], draft.line[-1]] for draft in drafts])
    to_green, to_tee = _nearness(ends, greens), _nearness(ends, tees)
    forward = to_tee[:, 0] + to_green[:, 1]
    backward = to_tee[:, 1] + to_green[:, 0]
    turned = []
    for draft, wrong in zip(drafts, backward + TURNED_MARGIN_YD < forward, strict=True):
        if wrong and own:
            found = "a line that begins at a green and ends away from it: it looks reversed"
            findings.fault(draft.feature.where, found, "a line drawn from tee to pin")
            continue
        if wrong:
            findings.note(f"{draft.label}: its line was drawn from green to tee; turned round")
        turned.append(replace(draft, line=draft.line[::-1].copy()) if wrong else draft)
    return turned


def _nearness(ends: NDArray[np.float64], features: Sequence[Feature]) -> NDArray[np.float64]:
    """Distance (n, 2) from both ends of every line to the nearest feature; a bonus for lying on it."""
    if not features:
        return np.full(ends.shape[:2], FAR_YD)
    shapes = np.array([feature.shape for feature in features], dtype=object)
    nearest = shapely.distance(shapely.points(ends)[..., np.newaxis], shapes).min(axis=-1)
    return np.where(nearest == 0.0, INSIDE_YD, np.minimum(nearest, FAR_YD))


def one_line_each(
    drafts: Sequence[Draft], greens: Sequence[Feature], own: bool, findings: Findings
) -> list[Draft]:
    """Keep one line for every hole number; two that cannot be told apart are a fault."""
    by_number: dict[int, list[Draft]] = {}
    for draft in drafts:
        by_number.setdefault(draft.number, []).append(draft)
    kept = []
    for number, rows in sorted(by_number.items()):
        if len(rows) > 1 and not own:
            rows = _one_of(rows, greens, findings)
        if len(rows) > 1:
            others = " and ".join(row.feature.where for row in rows[:4])
            findings.fault(
                f"hole {number}",
                f"ref {number} on {others}",
                "one line for every hole, or the name of one course",
            )
            continue
        kept.append(rows[0])
    return kept


def _one_of(rows: list[Draft], greens: Sequence[Feature], findings: Findings) -> list[Draft]:
    first = rows[0]
    ends = np.array([[row.line[0], row.line[-1]] for row in rows])
    either_way = np.minimum(
        np.abs(ends - ends[0]).max(axis=(1, 2)), np.abs(ends[:, ::-1] - ends[0]).max(axis=(1, 2))
    )
    if (either_way < 30.0).all():
        findings.note(f"{first.label}: drawn {len(rows)} times; the first is used")
        return [first]
    shapes = np.array([green.shape for green in greens], dtype=object)
    to_green = shapely.distance(shapely.points(ends)[..., np.newaxis], shapes).min(axis=(1, 2))
    fit = [row for row, far in zip(rows, to_green, strict=True) if far <= ON_GREEN_YD]
    if len(fit) == 1:
        others = ", ".join(row.feature.where for row in rows if row is not fit[0])
        findings.note(f"{first.label}: its number is also on {others}, which has no green; left out")
        return fit
    return rows


def find_green(draft: Draft, greens: Sequence[Feature], own: bool, findings: Findings) -> Feature | None:
    """Find the green a line leads to; None, with a fault, where there is none.

    The nearest green to the line's end counts, then (on maps) the first one straight ahead of a line that
    stops short, then one that lies off its end.
    """
    end = shapely.Point(draft.line[-1])
    ranked = sorted(((green.shape.distance(end), index) for index, green in enumerate(greens)))
    for away, index in ranked:
        if draft.number in _named(greens[index], own) and (own or away < 200.0):
            return greens[index]
    free = [(away, index) for away, index in ranked if not own or bound_holes(greens[index]) is None]
    if free and free[0][0] <= ON_GREEN_YD:
        return greens[free[0][1]]
    ahead = None if own else _straight_ahead(draft, greens)
    if ahead is not None:
        findings.note(f"{draft.label}: its line stops {ahead.shape.distance(end):.0f} yd short of the green")
        return ahead
    if not own and free and free[0][0] <= STRAY_YD:
        findings.note(
            f"{draft.label}: its line ends {free[0][0]:.0f} yd from the nearest green, taken as its own"
        )
        return greens[free[0][1]]
    nearest = f"; the nearest is {free[0][0]:.0f} yd away" if free else ""
    found = f"no green at the end of the line{nearest}"
    findings.fault(draft.feature.where, found, f"an area golf=green within {ON_GREEN_YD:.0f} yd of it")
    return None


def _named(feature: Feature, own: bool) -> frozenset[int]:
    """Holes that a green, tee or pin names itself: our ``hole``, or a map's ``ref``."""
    named = bound_holes(feature)
    if named is not None:
        return named
    return frozenset() if own else frozenset(whole_numbers(feature.tags.get("ref", "")))


def _straight_ahead(draft: Draft, greens: Sequence[Feature]) -> Feature | None:
    last = draft.line[-1] - draft.line[-2]
    tip = draft.line[-1] + STOPS_SHORT_YD * last / np.hypot(*last)
    path = shapely.LineString([draft.line[-1], tip]).buffer(10.0)
    hit = [green for green in greens if green.shape.intersects(path)]
    end = shapely.Point(draft.line[-1])
    return min(hit, key=lambda green: green.shape.distance(end)) if hit else None


def share_tees(drafts: Sequence[Draft], tees: Sequence[Feature], own: bool) -> dict[int, list[Spot]]:
    """Give every tee to the hole whose first part it lies beside; drafts on one line share theirs.

    Returns
    -------
    dict
        Tees by hole number, longest first. A tee area around a marked tee is that tee's ground, not another.
    """
    zones = np.array([_tee_zone(draft) for draft in drafts], dtype=object)
    starts = shapely.points(np.array([draft.line[0] for draft in drafts]))
    found: dict[int, list[Spot]] = {draft.number: [] for draft in drafts}
    for tee in tees:
        point = _middle(tee.shape)
        named = _named(tee, own) & found.keys()
        away = shapely.distance(zones, point)
        score = away + 0.1 * shapely.distance(starts, point)
        close = (away <= TEE_ASIDE_YD) & (score <= score.min() + 1.0)
        near = {draft.number for draft, here in zip(drafts, close, strict=True) if here}
        for number in sorted(named or (near if bound_holes(tee) is None else ())):
            found[number] += [Spot(name, (point.x, point.y), tee) for name in _tee_names(tee)]
    return {draft.number: _in_order(found[draft.number], draft) for draft in drafts}


def _tee_zone(draft: Draft) -> shapely.LineString:
    """The line's first part, carried back behind its start for tees farther back."""
    first = draft.line[0] - draft.line[1]
    back = draft.line[0] + TEE_BEHIND_YD * first / np.hypot(*first)
    line = shapely.LineString(draft.line)
    ahead = substring(line, 0.0, TEE_AHEAD_SHARE, normalized=True)
    return shapely.LineString([back, *ahead.coords])


def _tee_names(tee: Feature) -> list[str]:
    for key in ("tee", "colour", "color"):
        names = [name.strip().lower() for name in tee.tags.get(key, "").split(";") if name.strip()]
        if names and names not in (["yes"], ["no"]):
            return list(dict.fromkeys(names))
    # "Red" or "Red tees", but not "7th tee", which names the hole.
    named = re.fullmatch(r"([^\d]{1,30}?)(?:\s+tees?)?", tee.tags.get("name", "").strip().lower())
    return [named.group(1) if named and named.group(1) not in ("tee", "tees") else ""]


def _in_order(spots: list[Spot], draft: Draft) -> list[Spot]:
    """Order tees longest first, drop areas that hold a marked tee, and give every tee a name of its own."""
    marked = [spot for spot in spots if isinstance(spot.feature.shape, shapely.Point)]
    spots = [
        spot
        for spot in spots
        if spot in marked
        or not any(
            spot.feature.shape.distance(other.feature.shape) < 1.0 and spot.name in ("", other.name)
            for other in marked
        )
    ]
    green = draft.line[-1]
    spots.sort(key=lambda spot: -float(np.hypot(*(np.asarray(spot.xy) - green))))
    used: dict[str, int] = {}
    named = []
    for place, spot in enumerate(spots, start=1):
        name = spot.name or f"tee {place}"
        used[name] = used.get(name, 0) + 1
        named.append(replace(spot, name=name if used[name] == 1 else f"{name} {used[name]}"))
    return named


def find_pins(
    draft: Draft, green: Feature, pins: Sequence[Feature], drafts: Sequence[Draft], own: bool
) -> list[Spot]:
    """Find the pins on a hole's green, the nearest to the line's end first.

    On a green that two holes share, a pin belongs to the hole it names, else to the one whose line ends nearer.
    """
    ends = shapely.points(np.array([other.line[-1] for other in drafts]))
    mine = next(index for index, other in enumerate(drafts) if other is draft)
    spots = []
    for pin in pins:
        point = _middle(pin.shape)
        away = shapely.distance(ends, point)
        on_green = green.shape.distance(point) <= 5.0
        named = _named(pin, own) & {other.number for other in drafts}
        if bound_holes(pin) is not None:
            fits = draft.number in named
        elif named:
            fits = on_green and draft.number in named
        else:
            fits = on_green and away[mine] <= away.min() + 1.0
        if fits:
            name = pin.tags.get("pin_name", "").strip().lower()
            spots.append((float(shapely.distance(ends[mine], point)), name, (point.x, point.y), pin))
    spots.sort(key=lambda row: row[0])
    used: set[str] = set()
    named_spots = []
    for place, (_, name, xy, pin) in enumerate(spots, start=1):
        label = name if name and name not in used else f"pin {place}"
        used.add(label)
        named_spots.append(Spot(label, xy, pin))
    return named_spots


def _middle(shape: shapely.Geometry) -> shapely.Point:
    """The middle of an area if that lies on it, else a spot that does."""
    centre = shape.centroid
    return centre if shape.geom_type == "Point" or shape.contains(centre) else shape.representative_point()
