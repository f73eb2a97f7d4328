"""A hole's ground made ready to draw: cut to a frame, one lie on every spot, in the axes of a page.

Page axes: yards, x to the right, y *down*, as pictures have it. Report code only writes down what stands here.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely import LineString, MultiPolygon, Polygon
from shapely.geometry.polygon import orient

from caddiebrain.course.lies import PRECEDENCE
from caddiebrain.course.model import Hole, Point
from caddiebrain.errors import InputError
from caddiebrain.terms import Lie

__all__ = [
    "FINEST_YARDS_PER_INCH",
    "Arc",
    "Patch",
    "Picture",
    "Texture",
    "picture_of_green",
    "picture_of_ground",
    "picture_of_hole",
]

FINEST_YARDS_PER_INCH = 5.0 / (3.0 / 8.0)
"""Rule 4.3a, clarification 1 (2023): a green is drawn no larger than 3/8 inch to 5 yards to be carried."""

_SLIVER = 0.5
_SEAM = 1.5
_MARGIN = 10.0
_ROOM_FOR_NAME = 12.0
_ROUND = shapely.get_coordinates(shapely.Point(0.0, 0.0).buffer(1.0))[:-1]
"""A circle of radius 1, (n, 2)."""


@dataclass(frozen=True)
class Texture:
    """Small marks that tell one kind of ground from another without colour.

    Parameters
    ----------
    step : tuple of float
        Distance between marks across and down; every other row is set half a step aside.
    strokes : tuple of tuple of Point
        The lines of one mark around its middle; a line of one point is a dot.

    Both are yards for a grain of 1, and grow with the grain.
    """

    step: tuple[float, float]
    strokes: tuple[tuple[Point, ...], ...]


@dataclass(frozen=True)
class Patch:
    """One piece of ground with one lie; patches of a picture do not overlap.

    Parameters
    ----------
    lie : Lie
        Its lie.
    shape : Polygon
        Page axes; the exterior runs counter-clockwise as the eye sees it.
    label_at : tuple of float
        A spot inside it, well inside where the picture writes its name (penalty areas).
    """

    lie: Lie
    shape: Polygon
    label_at: Point
    texture: tuple[NDArray[np.float64], ...] = ()
    """Lines of its marks, each (marks, points, 2)."""


@dataclass(frozen=True)
class Arc:
    """All spots in the frame that lie ``distance_yd`` from the pin."""

    distance_yd: float
    lines: tuple[NDArray[np.float64], ...]
    label_at: Point


@dataclass(frozen=True)
class Picture:
    """What is in the frame.

    Parameters
    ----------
    left, top, width, height : float
        The frame in page axes, yards.
    patches : tuple of Patch
        Ground other than plain rough, in order of precedence, the lowest first.
    line : ndarray of shape (n, 2)
        The line of play.
    tees, pins : mapping of str to Point
        Those in the frame.
    arcs : tuple of Arc
        Distances to the pin, nearest first.
    turn : ndarray of shape (2, 2)
        Turns hole yards to page axes.
    """

    left: float
    top: float
    width: float
    height: float
    patches: tuple[Patch, ...]
    line: NDArray[np.float64]
    tees: Mapping[str, Point] = field(default_factory=dict)
    pins: Mapping[str, Point] = field(default_factory=dict)
    arcs: tuple[Arc, ...] = ()
    turn: NDArray[np.float64] = field(default_factory=lambda: np.diag([1.0, -1.0]))

    def place(self, xy: ArrayLike) -> NDArray[np.float64]:
        """Turn spots of the hole into page axes.

        Parameters
        ----------
        xy : array_like of shape (n, 2)
            Hole yards.

        Returns
        -------
        ndarray of shape (n, 2)
            Page axes, yards.
        """
        turned: NDArray[np.float64] = np.asarray(xy, dtype=np.float64).reshape(-1, 2) @ self.turn.T
        return turned

    def oval(self, at: Point, along_yd: float, across_yd: float, heading_deg: float) -> NDArray[np.float64]:
        """Lay an ellipse over the hole.

        Parameters
        ----------
        at : tuple of float
            Its middle, hole yards.
        along_yd, across_yd : float
            Half axes, along the heading and across it.
        heading_deg : float
            Degrees clockwise from the y axis of the hole.

        Returns
        -------
        ndarray of shape (n, 2)
            Spots on its edge in page axes, yards.
        """
        heading = np.deg2rad(heading_deg)
        ahead = np.array([np.sin(heading), np.cos(heading)])
        aside = np.array([ahead[1], -ahead[0]])
        return self.place(_ROUND @ np.stack([across_yd * aside, along_yd * ahead]) + np.asarray(at))

    def size(self, yards_per_unit: float) -> tuple[float, float]:
        """Return width and height on paper for a scale in yards to the inch, the pixel or any other unit."""
        return self.width / yards_per_unit, self.height / yards_per_unit

    def count(self, lie: Lie) -> int:
        """Return how many separate pieces of ground with this lie the picture shows."""
        return sum(patch.lie is lie for patch in self.patches)


def picture_of_hole(
    hole: Hole,
    *,
    margin_yd: float = 55.0,
    beyond_yd: float = 30.0,
    distances: Sequence[float] = (),
    textures: Mapping[Lie, Texture] | None = None,
    grain: float = 1.0,
) -> Picture:
    """Frame a whole hole, tee at the bottom and pin at the top.

    Parameters
    ----------
    hole : Hole
        What to draw.
    margin_yd : float
        Ground shown to the left and to the right of the line of play, yards.
    beyond_yd : float
        Ground shown past the pin and behind the tee, yards.
    distances : sequence of float
        Distances to the pin that get an arc, yards; those beyond the hole's length get none.
    textures : mapping of Lie to Texture, optional
        Marks for kinds of ground.
    grain : float
        How much larger than usual the marks are.

    Returns
    -------
    Picture
        In page axes.
    """
    turn = np.diag([1.0, -1.0])
    line = hole.line @ turn.T
    around = np.array([margin_yd, beyond_yd])
    left, top = line.min(axis=0) - around
    right, bottom = line.max(axis=0) + around
    within = [distance for distance in distances if distance < hole.length_yd]
    return _picture(hole, turn, (left, top, right, bottom), within, (textures or {}, grain))


def picture_of_green(
    hole: Hole,
    *,
    margin_yd: float | tuple[float, float] = 12.0,
    distances: Sequence[float] = (),
    textures: Mapping[Lie, Texture] | None = None,
    grain: float = 1.0,
) -> Picture:
    """Frame the green that holds the pin, the last stretch of the line of play running up the page.

    Parameters
    ----------
    hole : Hole
        What to draw.
    margin_yd : float or tuple of float
        Ground shown around the green, yards; or to the sides, and above and below.
    distances : sequence of float
        Distances to the pin that get an arc, yards.
    textures, grain
        See `picture_of_hole`.

    Returns
    -------
    Picture
        In page axes.

    Raises
    ------
    InputError
        If no green is on the map.
    """
    greens = [part for area in hole.areas if area.lie is Lie.GREEN for part in _parts(area.shape)]
    if not greens:
        raise InputError.one(f"hole {hole.number}", "green", "none", "an area whose lie is green")
    pin = shapely.Point(hole.pin)
    green = min(greens, key=pin.distance)
    along = np.subtract(hole.line[-1], hole.line[-2])
    east, north = along / np.hypot(*along)
    turn = np.array([[north, -east], [-east, -north]])
    placed = shapely.get_coordinates(green) @ turn.T
    left, top = placed.min(axis=0) - np.asarray(margin_yd)
    right, bottom = placed.max(axis=0) + np.asarray(margin_yd)
    return _picture(hole, turn, (left, top, right, bottom), distances, (textures or {}, grain))


def picture_of_ground(
    lie: Lie, width_yd: float, height_yd: float, textures: Mapping[Lie, Texture]
) -> Picture:
    """Frame a piece of one kind of ground, for a key to a drawing."""
    frame = shapely.box(0.0, 0.0, width_yd, height_yd)
    inset = frame.buffer(-0.5, join_style="mitre")
    patches = () if lie is Lie.ROUGH else (_patch(lie, inset, frame, textures.get(lie), 1.0),)
    return Picture(0.0, 0.0, width_yd, height_yd, patches, np.zeros((0, 2)))


def _picture(
    hole: Hole,
    turn: NDArray[np.float64],
    frame: tuple[float, float, float, float],
    distances: Sequence[float],
    look: tuple[Mapping[Lie, Texture], float],
) -> Picture:
    left, top, right, bottom = (float(edge) for edge in frame)
    box = shapely.box(left, top, right, bottom)

    def spots(named: Mapping[str, Point]) -> dict[str, Point]:
        placed = {name: turn @ np.asarray(spot) for name, spot in named.items()}
        return {k: (float(x), float(y)) for k, (x, y) in placed.items() if box.covers(shapely.Point(x, y))}

    pin = turn @ np.asarray(hole.pin)
    return Picture(
        left=left,
        top=top,
        width=right - left,
        height=bottom - top,
        patches=tuple(_patches(hole, turn, box, look)),
        line=hole.line @ turn.T,
        tees=spots(dict(hole.tees) or {"tee": hole.tee}),
        pins=spots(dict(hole.pins) or {"pin": hole.pin}),
        arcs=tuple(arc for d in sorted(distances) for arc in _arcs(pin, d, box)),
        turn=turn,
    )


def _patches(
    hole: Hole, turn: NDArray[np.float64], frame: Polygon, look: tuple[Mapping[Lie, Texture], float]
) -> list[Patch]:
    """Give every spot the lie that holds there, then list the pieces, the lowest in precedence first."""
    box = frame.buffer(_MARGIN, join_style="mitre")
    taken: Polygon | MultiPolygon = Polygon()
    found: list[Patch] = []
    for lie in PRECEDENCE:
        mapped = np.array([area.shape for area in hole.areas if area.lie is lie], dtype=object)
        if not len(mapped):
            continue
        turned = shapely.transform(mapped, lambda xy: xy @ turn.T)
        shapes = turned[shapely.intersects(turned, box)]
        if not len(shapes):
            continue
        ground = shapely.union_all(shapely.intersection(shapes, box))
        if lie is Lie.TREES:
            ground = ground.buffer(_SEAM, quad_segs=4).buffer(
                -_SEAM, quad_segs=4
            )  # a wood mapped in pieces is one wood
        ground = ground.intersection(box)
        if lie is not Lie.ROUGH:
            found += [
                _patch(lie, part, frame, look[0].get(lie), look[1])
                for part in _parts(ground.difference(taken))
                if part.area > _SLIVER
            ]
        taken = taken.union(ground)
    return found[::-1]


def _patch(lie: Lie, shape: Polygon, frame: Polygon, texture: Texture | None, grain: float) -> Patch:
    x, y = shapely.get_coordinates(_label_spot(lie, shape, frame))[0]
    marks = () if texture is None else _marks(shape.intersection(frame), texture, grain)
    # y runs down the page, so what the eye sees as counter-clockwise has the other sign.
    return Patch(lie, orient(shape, -1.0), (float(x), float(y)), marks)


def _label_spot(lie: Lie, shape: Polygon, frame: Polygon) -> shapely.Geometry:
    """Where the name of a piece of ground stands; of water, in the widest part that is clear of the frame."""
    if lie in (Lie.YELLOW, Lie.RED):
        seen = shape.intersection(frame.buffer(-_ROOM_FOR_NAME, join_style="mitre"))
        if seen.area > _SLIVER:
            return shapely.maximum_inscribed_circle(seen, tolerance=1.0)
    return shape.representative_point()


def _marks(shape: shapely.Geometry, texture: Texture, grain: float) -> tuple[NDArray[np.float64], ...]:
    """Lay marks on the spots of a staggered lattice, the same over the whole page, that lie in the shape."""
    if shape.is_empty:
        return ()
    across, down = (step * grain for step in texture.step)
    left, top, right, bottom = shape.bounds
    rows = np.arange(np.floor(top / down), np.ceil(bottom / down) + 1)
    columns = np.arange(np.floor(left / across) - 1, np.ceil(right / across) + 1)
    x = (columns + 0.5 * (rows[:, None] % 2)) * across
    y = np.broadcast_to(rows[:, None] * down, x.shape)
    shapely.prepare(shape)
    inside = shapely.contains_xy(shape, x.ravel(), y.ravel())
    at = np.stack([x.ravel()[inside], y.ravel()[inside]], axis=1)
    return tuple(at[:, None] + grain * np.asarray(stroke, dtype=float) for stroke in texture.strokes)


def _parts(shape: shapely.Geometry) -> list[Polygon]:
    return [part for part in shapely.get_parts(shape) if isinstance(part, Polygon) and not part.is_empty]


def _arcs(pin: NDArray[np.float64], distance: float, box: Polygon) -> list[Arc]:
    ring = shapely.Point(pin).buffer(distance, quad_segs=32).exterior
    inside = shapely.line_merge(ring.intersection(box))
    lines = [shapely.get_coordinates(p) for p in shapely.get_parts(inside) if isinstance(p, LineString)]
    if not lines:
        return []
    spots = np.vstack(lines)
    x, y = spots[np.argmax(spots[:, 0])]
    return [Arc(float(distance), tuple(lines), (float(x), float(y)))]
