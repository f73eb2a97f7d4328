"""The look of the pictures: quiet ground, two inks that every eye tells apart, and a shape of mark for each.

Ground has the tones of the book. What is drawn on it is told apart by shape and by lightness too, so a copy in black
and white says the same.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from caddiebrain.terms import Lie

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["FAINT", "GROUND", "INK", "MARKS", "PALE", "ROUGH", "Mark", "Tone", "bare", "new_axes"]

INK = "#1c1f19"
FAINT = "#8a9079"
PALE = "#c6ccb6"
ROUGH = "#dfe3d0"


@dataclass(frozen=True)
class Tone:
    """Fill and edge of a kind of ground, a texture and its ink, and the dashes of the edge."""

    fill: str
    edge: str = "#2b2f26"
    width: float = 0.6
    texture: str = ""
    ink: str = ""
    dashes: str | tuple[int, tuple[int, ...]] = "solid"


GROUND: dict[Lie, Tone] = {
    Lie.FAIRWAY: Tone("#f4f6ea", "#6a7358"),
    Lie.TIGHT: Tone("#e9eddb", "#6a7358", dashes="dashed"),
    Lie.TEE: Tone("#ffffff"),
    Lie.GREEN: Tone("#ffffff", width=1.2),
    Lie.SAND: Tone("#efe5c4", width=0.8, texture="......", ink="#8d7a42"),
    Lie.THICK: Tone("#c8cfb2", "#78805f", texture="||||", ink="#78805f", dashes="dotted"),
    Lie.TREES: Tone("#aebb9c", "#55634a", width=0.7, texture="oo", ink="#8d9c7b"),
    Lie.YELLOW: Tone("#cfdde4", width=1.0, texture="---", ink="#a3b8c4"),
    Lie.RED: Tone("#cfdde4", width=1.0, texture="---", ink="#a3b8c4", dashes="dashdot"),
    Lie.OUT: Tone("#eeeae6", "#1c1f19", width=1.4, texture="xx", ink="#c9c3bb", dashes=(0, (4, 3))),
}
"""Ground other than plain rough."""


@dataclass(frozen=True)
class Mark:
    """How the balls of one choice are drawn."""

    ink: str
    marker: str
    filled: bool
    dashes: str


MARKS = (Mark("#1f4468", "o", True, "solid"), Mark("#b5530f", "D", False, "dashed"))
"""First and second choice."""


def new_axes(width: float, height: float) -> "Axes":
    """Return the axes of a new figure, sizes in inches.

    Raises
    ------
    ImportError
        If matplotlib is not installed.
    """
    try:
        from matplotlib import pyplot
    except ImportError:
        raise ImportError("pictures need matplotlib: pip install 'caddiebrain[plots]'") from None
    axes: Axes = pyplot.subplots(figsize=(width, height), layout="constrained")[1]
    return axes


def bare(ax: "Axes") -> None:
    """Leave of the frame what is read: the foot and the numbers."""
    for side in ("top", "right", "left"):
        ax.spines[side].set_visible(False)
    ax.spines["bottom"].set_color(FAINT)
    ax.tick_params(length=0, colors=INK, labelsize=9)
