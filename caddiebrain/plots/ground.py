"""The ground of a hole on axes: true to scale, tee at the bottom, yards of the hole's own axes."""

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from caddiebrain.course import Hole
from caddiebrain.course.picture import Arc, Patch, Picture, picture_of_hole
from caddiebrain.plots.look import FAINT, GROUND, INK, ROUGH, new_axes
from caddiebrain.terms import Lie

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["Frame", "ground"]

Frame = tuple[float, float, float, float]
"""Left, right, bottom, top; yards."""

_RINGS_YD = tuple(range(50, 650, 50))
_BEYOND_YD = 30.0
_TALLEST_IN = 9.0
_WIDTH_IN = 3.0
_WIDEST_IN = 6.0
_ROOM_FOR_TITLE_IN = 0.8
_ROOM_FOR_WORDS_IN = 0.9
_PAGE = np.array([1.0, -1.0])
"""Pictures have y down the page."""


def ground(
    hole: Hole,
    *,
    ax: "Axes | None" = None,
    frame: Frame | None = None,
    margin_yd: float = 55.0,
    rings: bool = True,
    **kwargs: Any,
) -> "Axes":
    """Draw a hole's ground to scale, tee at the bottom and pin at the top.

    Parameters
    ----------
    hole : Hole
    ax : matplotlib Axes, optional
        Where to draw; by default a new figure.
    frame : tuple of float, optional
        Part of the hole to show: left, right, bottom, top, in yards of the hole's axes; by default all of it.
    margin_yd : float
        Ground shown left and right of the line of play, yards.
    rings : bool
        Arcs every 50 yards from the pin.
    **kwargs
        For every piece of ground, a `matplotlib.patches.PathPatch`.

    Returns
    -------
    matplotlib Axes

    Raises
    ------
    ImportError
        If matplotlib is not installed.
    """
    aside, beyond = _around(hole, frame, margin_yd)
    picture = picture_of_hole(hole, margin_yd=aside, beyond_yd=beyond, distances=_RINGS_YD if rings else ())
    left, right, bottom, top = frame or _whole(picture)
    if ax is None:
        ax = new_axes(*_size(right - left, top - bottom))
    ax.set_aspect("equal", anchor="W")
    ax.set(xlim=(left, right), ylim=(bottom, top), xticks=[], yticks=[])
    ax.set_facecolor(ROUGH)
    for spine in ax.spines.values():
        spine.set_color(FAINT)
    for patch in picture.patches:
        _piece(ax, patch, kwargs)
    for arc in picture.arcs:
        _ring(ax, arc, (left, right, bottom, top))
    ax.plot(*hole.line.T, color=INK, lw=0.7, ls=(0, (6, 4)), zorder=2.5, label="_line of play")
    _furniture(ax, hole)
    return ax


def _around(hole: Hole, frame: Frame | None, margin_yd: float) -> tuple[float, float]:
    """Ground to look at beside the line of play and beyond its ends, yards."""
    if frame is None:
        return margin_yd, _BEYOND_YD
    left, right, bottom, top = frame
    (west, south), (east, north) = hole.line.min(axis=0), hole.line.max(axis=0)
    return max(margin_yd, west - left, right - east), max(_BEYOND_YD, south - bottom, top - north)


def _whole(picture: Picture) -> Frame:
    return picture.left, picture.left + picture.width, -picture.top - picture.height, -picture.top


def _size(across: float, along: float) -> tuple[float, float]:
    """Inches for a piece of ground in yards."""
    height = min(_TALLEST_IN, _WIDEST_IN * along / across)
    return max(_WIDTH_IN, height * across / along) + _ROOM_FOR_WORDS_IN, height + _ROOM_FOR_TITLE_IN


def _piece(ax: "Axes", patch: Patch, kwargs: dict[str, Any]) -> None:
    from matplotlib.patches import PathPatch

    tone, path = GROUND[patch.lie], _path(patch.shape)
    look: dict[str, Any] = {
        "facecolor": tone.fill,
        "edgecolor": tone.edge,
        "linewidth": tone.width,
        "linestyle": tone.dashes,
        "zorder": 1,
        "label": f"_{patch.lie}",
    }
    ax.add_patch(PathPatch(path, **(look | kwargs)))
    if tone.texture:
        ax.add_patch(
            PathPatch(path, facecolor="none", edgecolor=tone.ink, linewidth=0, hatch=tone.texture, zorder=1.1)
        )
    if patch.lie in (Lie.YELLOW, Lie.RED):
        x, y = np.asarray(patch.label_at) * _PAGE
        ax.text(x, y, str(patch.lie), ha="center", va="center", fontsize=7, color=INK, zorder=2, clip_on=True)


def _path(shape: Polygon) -> Any:
    """Return a shapely polygon in page axes as a matplotlib path in the hole's."""
    from matplotlib.path import Path

    rings = [shapely.get_coordinates(ring) * _PAGE for ring in (shape.exterior, *shape.interiors)]
    return Path.make_compound_path(*(Path(ring, closed=True) for ring in rings))


def _ring(ax: "Axes", arc: Arc, frame: Frame) -> None:
    for line in arc.lines:
        ax.plot(
            *(line * _PAGE).T, color=INK, lw=0.5, ls=(0, (1, 3)), zorder=1.6, label=f"_{arc.distance_yd:g}"
        )
    spots: NDArray[np.float64] = np.vstack(arc.lines) * _PAGE
    left, right, bottom, top = frame
    inside = (spots[:, 0] > left) & (spots[:, 0] < right) & (spots[:, 1] > bottom) & (spots[:, 1] < top)
    if inside.any():
        x, y = spots[inside][np.argmax(spots[inside, 0])]
        ax.text(
            x, y, f"{arc.distance_yd:.0f} ", ha="right", va="bottom", fontsize=7, color=INK, zorder=2,
            clip_on=True,
        )  # fmt: skip


def _furniture(ax: "Axes", hole: Hole) -> None:
    """Draw the pegs of the tee and the flag."""
    x, y = hole.pin
    ax.plot([x, x], [y, y + 9], color=INK, lw=1.0, zorder=4, label="_pole")
    ax.fill([x, x + 6, x], [y + 9, y + 7, y + 5], color=INK, lw=0, zorder=4, label="_flag")
    ax.plot([hole.tee[0]], [hole.tee[1]], marker="s", ms=3.5, color=INK, zorder=4, label="_tee")
