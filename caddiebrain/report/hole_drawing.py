"""A hole, or its green, as an SVG picture to scale. Draws what it is given; measures nothing."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape
from itertools import repeat
from typing import Any

import shapely
from shapely import Polygon

from caddiebrain.course.model import Hole, Point
from caddiebrain.course.picture import (
    FINEST_YARDS_PER_INCH,
    Arc,
    Patch,
    Picture,
    picture_of_green,
    picture_of_ground,
    picture_of_hole,
)
from caddiebrain.errors import InputError
from caddiebrain.report.drawing_style import LEGEND, OUTLINES, TEXTURES, style
from caddiebrain.terms import Lie

__all__ = ["Dots", "Ellipse", "Mark", "Path", "Spot", "Words", "draw_green", "draw_hole", "ground_swatch"]

_RINGS_YD = (50.0, 100.0, 150.0, 200.0, 250.0, 300.0, 350.0, 400.0, 450.0, 500.0)
_SCALLOP_YD = 5.0
_ROOM_FOR_A_WORD = 150.0


@dataclass(frozen=True)
class Spot:
    """A dot.

    Parameters
    ----------
    at : tuple of float
        Hole yards.
    css : str
        Class names of yours, besides the drawing's own.
    radius_yd : float
        Its size on the ground.
    """

    at: Point
    css: str = ""
    radius_yd: float = 1.8


@dataclass(frozen=True)
class Ellipse:
    """An ellipse such as a landing area: half axes in yards, ``heading_deg`` clockwise from the y axis."""

    at: Point
    along_yd: float
    across_yd: float
    heading_deg: float = 0.0
    css: str = ""


@dataclass(frozen=True)
class Path:
    """A line through spots in hole yards, or an area when ``closed``."""

    points: Sequence[Point]
    css: str = ""
    closed: bool = False


@dataclass(frozen=True)
class Words:
    """Words at a spot in hole yards; ``anchor`` is start, middle or end."""

    at: Point
    text: str
    css: str = ""
    anchor: str = "middle"


@dataclass(frozen=True)
class Dots:
    """Many small dots in hole yards."""

    points: Sequence[Point]
    css: str = ""


Mark = Spot | Ellipse | Path | Words | Dots
"""What a caller may add to a drawing."""


def draw_hole(
    hole: Hole,
    *,
    width: float = 360.0,
    marks: Iterable[Mark] = (),
    rings: bool = True,
    line: bool = True,
    margin_yd: float = 55.0,
    beyond_yd: float = 30.0,
    grain: float = 1.0,
    prefix: str = "",
) -> str:
    """Draw a hole to scale, tee at the bottom and pin at the top.

    Parameters
    ----------
    hole : Hole
        What to draw.
    width : float
        Width of the picture in pixels; its height follows.
    marks : iterable of Mark
        Drawn on top, in this order.
    rings : bool
        Arcs every 50 yards from the pin.
    line : bool
        The line of play, dashed.
    margin_yd : float
        Ground shown left and right of the line of play, yards.
    beyond_yd : float
        Ground shown past the pin and behind the tee, yards.
    grain : float
        Enlarges line widths and words; 1 suits a picture of about 3 pixels to the yard.
    prefix : str
        Goes before every class and id, so that pictures can share a page; "hole7-" unless given.

    Returns
    -------
    str
        An ``<svg>`` element with a title and a description for readers who do not see it.

    Raises
    ------
    InputError
        If the width is not a positive number.
    """
    _positive("width", width)
    _positive("grain", grain)
    picture = picture_of_hole(
        hole,
        margin_yd=margin_yd,
        beyond_yd=beyond_yd,
        distances=_RINGS_YD if rings else (),
        textures=TEXTURES,
        grain=grain,
    )
    prefix = prefix or f"hole{hole.number}-"
    body = _ground(picture, prefix) + _arcs(picture.arcs, prefix)
    if line:
        body.append(f'<path class="{prefix}line" d="{_run(picture.line)}"/>')
    body += _furniture(hole, picture, prefix) + _marks(marks, picture, prefix)
    pixels = picture.size(picture.size(width)[0])
    title = f"Hole {hole.number}" + (f", {hole.name}" if hole.name else "")
    what = f"Par {hole.par}, {hole.length_yd:.0f} yards. Tee at the bottom, pin at the top."
    return _svg(picture, prefix, (title, f"{what} {_inventory(picture)}"), (pixels, "px"), grain, body)


def draw_green(
    hole: Hole,
    *,
    yards_per_inch: float = FINEST_YARDS_PER_INCH,
    marks: Iterable[Mark] = (),
    margin_yd: float | tuple[float, float] = 12.0,
    grain: float = 1.0,
    prefix: str = "",
) -> str:
    """Draw the green in play to scale, the approach coming from the bottom.

    Parameters
    ----------
    hole : Hole
        What to draw.
    yards_per_inch : float
        The scale; Rule 4.3a (clarification 1) allows no larger picture of a green than 3/8 inch to 5 yards,
        which is 40/3 yards to the inch.
    marks : iterable of Mark
        Drawn on top, in this order.
    margin_yd : float or tuple of float
        Ground shown around the green, yards; or to the sides, and above and below.
    grain : float
        Enlarges line widths and words.
    prefix : str
        Goes before every class and id; "green7-" unless given.

    Returns
    -------
    str
        An ``<svg>`` element whose width and height are in inches.

    Raises
    ------
    InputError
        If the map has no green there, or the scale is larger than the Rules allow to be carried.
    """
    _positive("yards_per_inch", yards_per_inch)
    if yards_per_inch < FINEST_YARDS_PER_INCH:
        least = f"{FINEST_YARDS_PER_INCH:.2f} or more (Rule 4.3a: 3/8 inch to 5 yards or smaller)"
        raise InputError.one("draw_green", "yards_per_inch", f"{yards_per_inch:g}", least)
    picture = picture_of_green(hole, margin_yd=margin_yd, textures=TEXTURES, grain=grain)
    prefix = prefix or f"green{hole.number}-"
    body = [*_ground(picture, prefix), *_furniture(hole, picture, prefix), *_marks(marks, picture, prefix)]
    title = f"Green of hole {hole.number}" + (f", {hole.name}" if hole.name else "")
    what = "The approach comes from the bottom."
    inches = picture.size(yards_per_inch)
    return _svg(picture, prefix, (title, f"{what} {_inventory(picture)}"), (inches, "in"), grain, body)


def ground_swatch(lie: Lie) -> str:
    """Draw a small piece of one kind of ground, for a key; other words name it."""
    prefix = f"key-{lie}-"
    picture = picture_of_ground(lie, 24.0, 12.0, TEXTURES)
    inside = "".join(_ground(picture, prefix, named=False))
    return (
        f'<svg class="{prefix}drawing swatch" viewBox="0 0 24 12" width="24px" height="12px" aria-hidden="true">'
        f'{style(prefix)}<rect class="{prefix}rough" width="24" height="12"/>{inside}</svg>'
    )


def _positive(name: str, value: float) -> None:
    if not 0.0 < value < float("inf"):
        raise InputError.one("drawing", name, f"{value:g}", "a positive number")


def _svg(
    picture: Picture,
    prefix: str,
    words: tuple[str, str],
    sized: tuple[tuple[float, float], str],
    grain: float,
    body: list[str],
) -> str:
    size, unit = sized
    title, description = (escape(text) for text in words)
    frame = (picture.left, picture.top, picture.width, picture.height)
    box = " ".join(f"{side:.1f}" for side in frame)
    place = " ".join(f'{n}="{v:.1f}"' for n, v in zip(("x", "y", "width", "height"), frame, strict=True))
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" class="{prefix}drawing" viewBox="{box}" '
            f'style="--grain:{grain:.3g}" '
            f'width="{size[0]:.4g}{unit}" height="{size[1]:.4g}{unit}" '
            f'aria-labelledby="{prefix}title {prefix}desc">',
            f'<title id="{prefix}title">{title}</title>',
            f'<desc id="{prefix}desc">{description}</desc>',
            style(prefix),
            f'<clipPath id="{prefix}frame"><rect {place}/></clipPath>',
            f'<g clip-path="url(#{prefix}frame)">',
            f'<rect class="{prefix}rough" {place}/>',
            *body,
            "</g>",
            "</svg>",
        ]
    )


def _inventory(picture: Picture) -> str:
    """Say which kinds of ground are in the frame."""
    counts = [(LEGEND[lie], picture.count(lie)) for lie in LEGEND if picture.count(lie)]
    return (
        "In the picture: " + ", ".join(f"{name} ({count})" for name, count in counts) + "; the rest is rough."
    )


def _ground(picture: Picture, prefix: str, named: bool = True) -> list[str]:
    return [piece for patch in picture.patches for piece in _patch(patch, prefix)] + [
        f'<text class="{prefix}word" x="{x:.1f}" y="{y:.1f}" '
        f'text-anchor="middle" dominant-baseline="middle">{patch.lie}</text>'
        for patch in picture.patches
        if named and patch.lie in (Lie.YELLOW, Lie.RED) and patch.shape.area > _ROOM_FOR_A_WORD
        for x, y in [patch.label_at]
    ]


def _patch(patch: Patch, prefix: str) -> list[str]:
    shape = _scalloped(patch.shape) if patch.lie is Lie.TREES else _outline(patch.shape)
    extra = "".join(f" {prefix}{name}" for name in OUTLINES.get(patch.lie, "").split())
    drawn = [f'<path class="{prefix}ground {prefix}{patch.lie}{extra}" d="{shape}"/>']
    runs = "".join(_short_runs(lines) for lines in patch.texture)
    if runs:
        drawn.append(f'<path class="{prefix}texture {prefix}of-{patch.lie}" d="{runs}"/>')
    if patch.lie is Lie.OUT:
        drawn += [f'<path class="{prefix}{name}" d="{shape}"/>' for name in ("post", "stake")]
    return drawn


def _written(pieces: Iterable[str], spots: Any) -> str:
    """Write a spot (n, 2) into every piece; all in one step, for a page has tens of thousands."""
    return "".join(pieces).format(*spots.ravel().tolist())


def _run(spots: Any) -> str:
    """Write a line through spots (n, 2)."""
    return _written(("M{:.1f} {:.1f}", *repeat("L{:.1f} {:.1f}", len(spots[1:]))), spots)


def _short_runs(lines: Any) -> str:
    """Write the lines of a texture (lines, spots, 2); one spot is a dot."""
    on = "".join(repeat("L{:.1f} {:.1f}", len(range(1, lines.shape[1])))) or "h0"
    return _written(repeat("M{:.1f} {:.1f}" + on, len(lines)), lines)


def _outline(shape: Polygon) -> str:
    rings = (shape.exterior, *shape.interiors)
    return "".join(_run(shapely.get_coordinates(ring)[:-1]) + "Z" for ring in rings)


def _scalloped(shape: Polygon) -> str:
    """Draw an edge of half circles that bulge outward, as crowns seen from above."""
    drawn = []
    for ring in (shape.exterior, *shape.interiors):
        spots = shapely.get_coordinates(shapely.segmentize(ring.simplify(2.0), _SCALLOP_YD))
        bulges = repeat("A2.6 2.6 0 0 0 {:.1f} {:.1f}", len(spots[1:]))
        drawn.append(_written(("M{:.1f} {:.1f}", *bulges), spots) + "Z")
    return "".join(drawn)


def _arcs(arcs: Iterable[Arc], prefix: str) -> list[str]:
    drawn = []
    for arc in arcs:
        x, y = arc.label_at
        drawn += [f'<path class="{prefix}arc" d="{_run(run)}"/>' for run in arc.lines]
        drawn.append(
            f'<text class="{prefix}word" x="{x:.1f}" y="{y:.1f}" dx="-1" '
            f'text-anchor="end">{arc.distance_yd:.0f}</text>'
        )
    return drawn


def _furniture(hole: Hole, picture: Picture, prefix: str) -> list[str]:
    """Draw the pegs of every tee, the cups of every pin, and the flag in the pin in play."""
    drawn = [
        f'<rect class="{prefix}peg" x="{x:.1f}" y="{y:.1f}" width="1.6" height="1.6">'
        f"<title>{escape(name)}</title></rect>"
        for name, (x, y) in picture.tees.items()
    ]
    drawn += [
        f'<circle class="{prefix}cup" cx="{x:.1f}" cy="{y:.1f}" r=".6"><title>{escape(name)}</title></circle>'
        for name, (x, y) in picture.pins.items()
    ]
    for x, y in picture.place([hole.pin]):
        drawn.append(
            f'<g transform="translate({x:.1f} {y:.1f})"><g class="{prefix}mast">'
            f'<path class="{prefix}pole" d="M0 0V-8"/>'
            f'<path class="{prefix}flag" d="M0 -8L5 -6.4L0 -4.8Z"/></g></g>'
        )
    return drawn


def _marks(marks: Iterable[Mark], picture: Picture, prefix: str) -> list[str]:
    return [_mark(mark, picture, prefix) for mark in marks]


def _mark(mark: Mark, picture: Picture, prefix: str) -> str:
    css = escape(mark.css)
    match mark:
        case Path():
            run = _run(picture.place(mark.points)) + ("Z" if mark.closed else "")
            return f'<path class="{prefix}mark {css}" d="{run}"/>'
        case Dots():
            run = _short_runs(picture.place(mark.points)[:, None])
            return f'<path class="{prefix}dots {css}" d="{run}"/>'
        case Ellipse():
            run = _run(picture.oval(mark.at, mark.along_yd, mark.across_yd, mark.heading_deg))
            return f'<path class="{prefix}mark {css}" d="{run}Z"/>'
    ((x, y),) = picture.place([mark.at])
    if isinstance(mark, Spot):
        return f'<circle class="{prefix}dot {css}" cx="{x:.1f}" cy="{y:.1f}" r="{mark.radius_yd:g}"/>'
    return (
        f'<text class="{prefix}word {css}" x="{x:.1f}" y="{y:.1f}" '
        f'text-anchor="{escape(mark.anchor)}">{escape(mark.text)}</text>'
    )
