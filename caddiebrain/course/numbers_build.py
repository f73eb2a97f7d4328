"""One hole by numbers, in yards, to the geometry of a hole from a map."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from caddiebrain.course.geometry import areal
from caddiebrain.course.ground import DEFAULT_HEIGHT_YD, DEFAULT_LOST
from caddiebrain.course.model import Area, Hole, Point
from caddiebrain.course.numbers_form import Around, Feature, HoleForm, PinForm
from caddiebrain.course.numbers_geometry import LOOKS, Edge, Look, Strip, Width, beside, blob, spread
from caddiebrain.errors import Fault
from caddiebrain.terms import Lie

__all__ = ["Built", "build_hole"]

Shape: TypeAlias = "Polygon | MultiPolygon"

OUT_WIDTH_YD = 150.0
"""How far ground out of bounds is drawn where its width is not given."""
TEE_YD = (11.0, 8.0)
_HOURS = {
    "back": 0.0,
    "back right": 1.5,
    "right": 3.0,
    "front right": 4.5,
    "front": 6.0,
    "front left": 7.5,
    "left": 9.0,
    "back left": 10.5,
}
_LIES = {
    "bunker": Lie.SAND,
    "yellow": Lie.YELLOW,
    "red": Lie.RED,
    "trees": Lie.TREES,
    "thick": Lie.THICK,
    "tight": Lie.TIGHT,
    "out": Lie.OUT,
}
_NEVER_ON_A_TEE = (Lie.OUT, Lie.SAND, Lie.YELLOW, Lie.RED, Lie.TREES)


@dataclass(frozen=True)
class Built:
    """A hole, what was assumed for it, and what is wrong with its geometry."""

    hole: Hole
    notes: tuple[str, ...]
    faults: tuple[Fault, ...]


@dataclass(frozen=True)
class _Site:
    """What the parts of a hole are placed by: the strip along its line, its fairway, its green."""

    form: HoleForm
    strip: Strip
    width: Width | None
    fairway: Shape
    green: Polygon
    tees: Shape

    @property
    def kept(self) -> Shape:
        """Ground that a feature beside the fairway leaves free, however sharp the dogleg."""
        return _areal(shapely.union_all([self.fairway, self.green, self.tees]))

    def phase(self, index: int) -> float:
        """Return a different unevenness for every shape of every hole."""
        return 1.7 * self.form.number + 2.4 * index


def build_hole(
    form: HoleForm, where: str, *, local_rule_e5: bool, lonlat: tuple[float, float], unit_yd: float = 1.0
) -> Built:
    """Draw a hole.

    Parameters
    ----------
    form : HoleForm
        In yards, without faults of form.
    where : str
        Its place in the file, for messages.
    local_rule_e5 : bool
        Whether the committee has adopted that local rule.
    lonlat : tuple of float
        The tee's longitude and latitude.
    unit_yd : float
        Yards in one unit of the file, whose figures faults repeat.
    """
    corners, bearing = _corners(form)
    site = _site(form, Strip(corners))
    placed = [(f"{where}.features[{i}]", *_feature(f, site, i)) for i, f in enumerate(form.features)]
    placed += [
        (f"{where}.green.around[{i}]", *_around(a, site, i + 50)) for i, a in enumerate(form.green.around)
    ]
    faults = list(_in_the_way(placed, site, corners[-1]))
    if site.green.intersects(site.tees):
        expected = "a green clear of the tees; look at length, legs and tees"
        faults.append(Fault(f"{where}.green", "a green that reaches a tee", expected))
    islands = [area.shape for _, area, cuts in placed if cuts]
    pins, pin_faults = _pins(site, f"{where}.green.pins", unit_yd)
    areas = [Area(Lie.TEE, part) for part in shapely.get_parts(site.tees)]
    fairway = areal(site.fairway.difference(shapely.union_all(islands)))
    areas += [Area(Lie.FAIRWAY, fairway)] if fairway is not None else []
    areas += [Area(Lie.GREEN, site.green)]
    areas += [area for _, area, _ in placed if not area.shape.is_empty]
    tees = {name.strip().lower(): _spot(site.strip.at([ahead])) for name, ahead in form.tees.items()}
    hole = Hole(
        number=form.number,
        par=form.par,
        stroke_index=form.stroke_index,
        line=corners,
        areas=tuple(areas),
        bearing_deg=bearing,
        origin_lonlat=lonlat,
        name=form.name,
        tees=tees,
        pins=pins,
        heights=_heights(form, site.strip),
        local_rule_e5=local_rule_e5,
    )
    return Built(hole, tuple(_notes(form)), tuple(faults + pin_faults))


def _corners(form: HoleForm) -> tuple[NDArray[np.float64], float]:
    """Return the line of play in the hole's axes, and the compass bearing of the y axis."""
    if not form.legs:
        return np.array([[0.0, 0.0], [0.0, form.length]]), form.bearing_deg % 360.0
    share = form.length / sum(leg.length for leg in form.legs)
    heading = np.radians(np.cumsum([leg.turn_deg for leg in form.legs]))
    steps = share * np.array([leg.length for leg in form.legs])
    path = np.vstack([[0.0, 0.0], np.cumsum(steps * [np.sin(heading), np.cos(heading)], axis=1).T])
    turn = float(np.arctan2(path[-1, 0], path[-1, 1]))
    turned = path @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    turned[-1, 0] = 0.0
    return turned, (form.bearing_deg + float(np.degrees(turn))) % 360.0


def _site(form: HoleForm, strip: Strip) -> _Site:
    width = _width(form)
    green = blob(
        strip.corners[-1],
        _turned(_way_in(strip), form.green.turn_deg),
        form.green.depth,
        form.green.width,
        1.7 * form.number,
    )
    tees = shapely.union_all([_tee(strip, ahead) for ahead in {0.0, *form.tees.values()}])
    fairway = width.shape(strip) if width is not None else Polygon()
    return _Site(form, strip, width, fairway, green, _areal(tees))


def _width(form: HoleForm) -> Width | None:
    rows = [
        (s, stretch.offset, stretch.width)
        for stretch in form.fairway
        if stretch.ends
        for s in dict.fromkeys(stretch.ends)
    ]
    # Where one stretch begins as another ends, the change needs a little room.
    apart = [row for i, row in enumerate(rows) if i == 0 or row[0] > rows[i - 1][0]]
    if not apart:
        return None
    s, middle, width = np.array(apart, dtype=np.float64).T
    return Width(s, middle, width)


def _tee(strip: Strip, ahead: float) -> Polygon:
    length, width = TEE_YD
    s = ahead + length * np.array([-0.6, 0.4, 0.4, -0.6])
    corners = strip.at([ahead] * 4) + _offsets(
        strip, ahead, s - ahead, width * np.array([-0.5, -0.5, 0.5, 0.5])
    )
    return Polygon(corners)


def _offsets(
    strip: Strip, s: float, along: NDArray[np.float64], across: NDArray[np.float64]
) -> NDArray[np.float64]:
    ex, ey = strip.ahead(s)[0]
    return np.column_stack([along * ex + across * ey, along * ey - across * ex])


def _way_in(strip: Strip) -> NDArray[np.float64]:
    step = strip.corners[-1] - strip.corners[-2]
    unit: NDArray[np.float64] = step / np.hypot(*step)
    return unit


def _turned(vector: NDArray[np.float64], degrees: float) -> NDArray[np.float64]:
    """Turn a vector to the right."""
    a = np.radians(degrees)
    return np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]]) @ vector


def _lie(kind: str, side: str) -> Lie:
    if kind == "water":
        return Lie.RED if side in ("left", "right") else Lie.YELLOW
    return _LIES[kind]


def _area(thing: Feature | Around, lie: Lie, shape: Shape) -> Area:
    lost = DEFAULT_LOST.get(lie, 0.0) if thing.lost is None else thing.lost
    height = (thing.height or DEFAULT_HEIGHT_YD) if lie is Lie.TREES else 0.0
    return Area(lie, shape, name=thing.name, height_yd=height, lost=lost)


def _look(kind: str) -> Look:
    return LOOKS.get(kind, LOOKS["water"])


def _feature(feature: Feature, site: _Site, index: int) -> tuple[Area, bool]:
    """Return the area, and whether the fairway has a gap where it lies."""
    lie = _lie(feature.kind, feature.side)
    wide = OUT_WIDTH_YD if feature.width is None else feature.width
    near, width = _near(feature, site, wide)
    along = (feature.start, feature.to)
    shape = beside(site.strip, _look(feature.kind), along, near, width, site.phase(index))
    beside_fairway = feature.side in ("left", "right") and feature.offset_from != "line" and site.width
    if beside_fairway and (feature.offset or 0.0) >= 0.0:
        shape = _areal(shape.difference(site.kept))
    cuts = feature.side in ("across", "centre") and lie in (Lie.TREES, Lie.THICK)
    return _area(feature, lie, shape), cuts


def _near(feature: Feature, site: _Site, wide: float) -> tuple[Edge, float]:
    """Return the near side of a feature, and its width with its sign."""
    offset = feature.offset or 0.0
    if feature.side in ("across", "centre"):
        return spread(offset, wide)
    sign = 1.0 if feature.side == "right" else -1.0
    if site.width is None or feature.offset_from == "line":
        return (lambda s: np.full_like(s, sign * offset)), sign * wide
    edge = site.width.edge(sign)
    return (lambda s: edge(s) + sign * offset), sign * wide


def _around(thing: Around, site: _Site, index: int) -> tuple[Area, bool]:
    """Curve something along the green's edge."""
    hour = thing.clock if thing.clock is not None else _HOURS[thing.at or "front"]
    ring = site.green.buffer(thing.gap).exterior if thing.gap > 0.0 else site.green.exterior
    centre = np.asarray(site.strip.corners[-1])
    ray = shapely.LineString([centre, centre + 300.0 * _turned(_way_in(site.strip), 30.0 * hour)])
    middle = ring.project(shapely.Point(shapely.get_coordinates(ray.intersection(ring))[0]))
    length = min(thing.length, 0.9 * ring.length)
    s = np.linspace(middle - 0.5 * length, middle + 0.5 * length, 25) % ring.length
    edge = Strip(shapely.get_coordinates(shapely.line_interpolate_point(ring, s)), fillet_yd=0.0)
    outward = -1.0 if ring.is_ccw else 1.0
    near, width = (lambda d: np.zeros_like(d)), -outward * thing.width
    lie = _lie(thing.kind, "left")
    shape = beside(edge, _look(thing.kind), (0.0, edge.length), near, width, site.phase(index))
    return _area(thing, lie, _areal(shape.difference(site.green))), False


def _in_the_way(
    placed: list[tuple[str, Area, bool]], site: _Site, middle: NDArray[np.float64]
) -> Iterator[Fault]:
    """Nobody tees off in a pond, and no pin stands in a bunker."""
    pin = shapely.Point(middle)
    for where, area, _ in placed:
        if area.lie in _NEVER_ON_A_TEE and area.shape.intersects(site.tees):
            yield Fault(where, f"{area.lie} on a tee", "ground that leaves the tees free")
        if area.lie in (Lie.OUT, Lie.SAND) and area.shape.intersects(pin):
            yield Fault(where, f"{area.lie} in the middle of the green", "ground that leaves it free")
        if area.shape.is_empty:
            yield Fault(where, "nothing left of it beside fairway, green and tees", "ground of its own")


def _pins(site: _Site, where: str, unit_yd: float) -> tuple[dict[str, Point], list[Fault]]:
    pins: dict[str, Point] = {"middle": _spot(site.strip.corners[-1:])}
    faults = []
    for name, pin in site.form.green.pins.items():
        spot = _pin(pin, site)
        if spot is None:
            depth, width = site.form.green.depth / unit_yd, site.form.green.width / unit_yd
            green = f"{depth:.6g} deep and {width:.6g} wide"
            faults.append(Fault(f"{where}.{name}", "a place off the green", f"one on it; it is {green}"))
        else:
            pins[name.strip().lower()] = spot
    return pins, faults


def _pin(pin: PinForm, site: _Site) -> Point | None:
    """Return the place that is so far on from the front and in from an edge; None when off the green."""
    ahead = _way_in(site.strip)
    right = _turned(ahead, 90.0)
    outline = shapely.get_coordinates(site.green)
    depth = float((outline @ ahead).min()) + pin.front
    start = depth * ahead + (float((outline @ right).min()) - 1.0) * right
    across = shapely.LineString([start, start + 300.0 * right]).intersection(site.green)
    if across.is_empty:
        return None
    reach = np.sort(shapely.get_coordinates(across) @ right)
    in_from = reach[0] + pin.left if pin.left is not None else reach[-1] - (pin.right or 0.0)
    spot = depth * ahead + in_from * right
    return _spot(spot[np.newaxis]) if site.green.contains(shapely.Point(spot)) else None


def _heights(form: HoleForm, strip: Strip) -> NDArray[np.float64] | None:
    """Spot heights along the line and to both sides of it, level from side to side."""
    climbs = [leg.climb for leg in form.legs] or [0.0]
    if form.climb is not None:
        turns, rises = np.array([0.0, strip.length]), np.array([0.0, form.climb])
    else:
        turns, rises = strip.turns, np.concatenate([[0.0], np.cumsum(climbs)])
    if not rises.any():
        return None
    s = np.append(np.arange(-30.0, strip.length, 30.0), [strip.length, strip.length + 40.0])
    rows = [np.column_stack([strip.at(s, d), np.interp(s, turns, rises)]) for d in (-60.0, 0.0, 60.0)]
    return np.vstack(rows)


def _notes(form: HoleForm) -> Iterator[str]:
    things: list[Feature | Around] = [*form.features, *form.green.around]
    sides = [thing.side for thing in form.features] + ["left"] * len(form.green.around)
    for thing, side in zip(things, sides, strict=True):
        if thing.kind == "water":
            yield f"hole {form.number}: water {side} taken for a {_lie('water', side)} penalty area"
        if thing.kind == "trees" and thing.height is None:
            yield f"hole {form.number}: trees without a height taken for {DEFAULT_HEIGHT_YD:.0f} yards tall"


def _spot(xy: NDArray[np.float64]) -> Point:
    (x, y) = xy[0]
    return float(x), float(y)


def _areal(shape: shapely.Geometry) -> Shape:
    found: Shape | None = areal(shape)
    return found if found is not None else Polygon()
