"""What a course by numbers must fulfil beyond the type of every field, told in the file's own figures."""

from collections.abc import Iterator, Sequence

from caddiebrain.course.numbers_form import Around, CourseForm, Feature, GreenForm, HoleForm, Stretch
from caddiebrain.errors import Fault

__all__ = ["check_form"]

PAST_GREEN = 100.0
"""Features may reach this far past the middle of the green."""
LEGS_SLACK = 1.0


def check_form(form: CourseForm) -> list[Fault]:
    """Return every fault of a course whose fields are all of the right type."""
    faults = list(_repeats(form))
    for index, hole in enumerate(form.holes):
        faults += _hole(hole, f"holes[{index}]")
    if form.lonlat is not None and not (abs(form.lonlat[0]) <= 180.0 and abs(form.lonlat[1]) <= 90.0):
        faults.append(Fault("lonlat", _list(form.lonlat), "a longitude, then a latitude, in degrees"))
    return faults


def _repeats(form: CourseForm) -> Iterator[Fault]:
    for field in ("number", "stroke_index"):
        seen: dict[int, int] = {}
        for index, hole in enumerate(form.holes):
            value = getattr(hole, field)
            if value in seen:
                found = f"{value}, which holes[{seen[value]}] has too"
                yield Fault(f"holes[{index}].{field}", found, "a number of its own for every hole")
            seen.setdefault(value, index)


def _hole(hole: HoleForm, where: str) -> Iterator[Fault]:
    yield from _legs(hole, where)
    yield from _tees(hole, where)
    if not hole.fairway and hole.par > 3:
        yield Fault(f"{where}.fairway", "nothing", "its width at one distance at least")
    before = 0.0
    for index, stretch in enumerate(hole.fairway):
        yield from _stretch(stretch, f"{where}.fairway[{index}]", before, hole.length)
        before = stretch.ends[1] if stretch.ends else before
    ends = [stretch.ends for stretch in hole.fairway if stretch.ends]
    if len(ends) == len(hole.fairway) > 0 and not ends[0][0] < ends[-1][1]:
        yield Fault(
            f"{where}.fairway", f"only the distance {ends[0][0]:g}", "where it begins and where it ends"
        )
    for index, feature in enumerate(hole.features):
        yield from _feature(feature, f"{where}.features[{index}]", hole)
    yield from _green(hole.green, f"{where}.green")


def _legs(hole: HoleForm, where: str) -> Iterator[Fault]:
    if not hole.legs:
        return
    total = sum(leg.length for leg in hole.legs)
    if abs(total - hole.length) > LEGS_SLACK:
        expected = f"{hole.length:g}, the hole's length"
        yield Fault(f"{where}.legs", f"lengths that add up to {total:g}", expected)
    if hole.legs[0].turn_deg != 0.0:
        expected = "0: a hole's direction is its bearing_deg, turns come later"
        yield Fault(f"{where}.legs[0].turn_deg", f"{hole.legs[0].turn_deg:g}", expected)
    if hole.climb is not None and any(leg.climb for leg in hole.legs):
        yield Fault(f"{where}.climb", f"{hole.climb:g} besides climbs of the legs", "one or the other")


def _tees(hole: HoleForm, where: str) -> Iterator[Fault]:
    for name, ahead in hole.tees.items():
        if ahead >= hole.length - 40.0:
            expected = f"at most {hole.length - 40.0:g}, short of the green"
            yield Fault(f"{where}.tees.{name}", f"{ahead:g}", expected)
    names = [name.strip().lower() for name in hole.tees]
    if len(set(names)) < len(names) or "" in names:
        yield Fault(f"{where}.tees", _list(hole.tees), "a different name for every tee set")
    if hole.tees and min(hole.tees.values()) > 0.0:
        found = f"no tee set at 0 (nearest: {min(hole.tees.values()):g})"
        yield Fault(f"{where}.tees", found, "one at 0, the longest, from which distances count")


def _stretch(stretch: Stretch, where: str, before: float, length: float) -> Iterator[Fault]:
    if stretch.ends is None:
        given = {"at": stretch.at, "from": stretch.start, "to": stretch.to}
        found = " and ".join(name for name, value in given.items() if value is not None) or "no distance"
        yield Fault(where, found, "either at, or from and to")
        return
    start, end = stretch.ends
    first = "at" if stretch.at is not None else "from"
    if start > end:
        yield Fault(f"{where}.from", f"{start:g}", f"less than its to, {end:g}")
    if start < before:
        yield Fault(
            f"{where}.{first}", f"{start:g}", f"at least {before:g}, where the stretch before it ends"
        )
    if end > length:
        last = "at" if first == "at" else "to"
        yield Fault(f"{where}.{last}", f"{end:g}", f"at most {length:g}, the hole's length")


def _feature(feature: Feature, where: str, hole: HoleForm) -> Iterator[Fault]:
    if feature.start >= feature.to:
        yield Fault(f"{where}.from", f"{feature.start:g}", f"less than its to, {feature.to:g}")
    if feature.start > hole.length + PAST_GREEN:
        expected = f"at most {hole.length + PAST_GREEN:g}, {PAST_GREEN:g} past the middle of the green"
        yield Fault(f"{where}.from", f"{feature.start:g}", expected)
    if feature.width is None and feature.kind != "out":
        yield Fault(f"{where}.width", "nothing", f"how wide the {feature.kind} is, left to right")
    if feature.side in ("left", "right"):
        if feature.offset is None:
            expected = "the clear ground between it and the edge of the fairway, or the line"
            yield Fault(f"{where}.offset", "nothing", expected)
        if feature.offset_from == "fairway" and not hole.fairway:
            yield Fault(f"{where}.offset_from", "fairway on a hole without one", "line")
    elif feature.offset_from == "fairway":
        yield Fault(f"{where}.offset_from", "fairway", f"line: what lies {feature.side} has its middle there")
    yield from _trees_only(feature, where)


def _trees_only(thing: Feature | Around, where: str) -> Iterator[Fault]:
    if thing.height is not None and thing.kind != "trees":
        yield Fault(f"{where}.height", f"{thing.height:g} on {thing.kind}", "height for trees alone")


def _green(green: GreenForm, where: str) -> Iterator[Fault]:
    for field in ("depth", "width"):
        value = getattr(green, field)
        if not 6.0 <= value <= 100.0:
            yield Fault(f"{where}.{field}", f"{value:g}", "6 to 100")
    for index, thing in enumerate(green.around):
        place = f"{where}.around[{index}]"
        if (thing.at is None) == (thing.clock is None):
            found = "nothing" if thing.at is None else f"{thing.at} and clock {thing.clock:g}"
            yield Fault(f"{place}.at", found, "a side of the green, or an hour in clock")
        most = 2.0 * (green.depth + green.width)
        if thing.length > most:
            yield Fault(f"{place}.length", f"{thing.length:g}", f"at most {most:g}, once around the green")
        yield from _trees_only(thing, place)
    for name, pin in green.pins.items():
        if (pin.left is None) == (pin.right is None):
            found = "neither" if pin.left is None else "both"
            yield Fault(f"{where}.pins.{name}", f"{found} left and right", "one of left and right")


def _list(values: Sequence[float] | dict[str, float] | tuple[float, float]) -> str:
    return ", ".join(str(value) for value in values)
