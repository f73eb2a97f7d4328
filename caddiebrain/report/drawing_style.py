"""The look of a drawn hole: tones and textures that stay apart in black and white and for every eye.

Line widths and words are yards of ground times the drawing's grain (``--grain`` in its style), so that a drawing for a
small page can have them larger. Each lie has its own texture:
sand is stippled, water has waves, woods a scalloped edge, out of bounds a cross hatch behind white stakes,
thick rough tufts. A penalty area also bears its Rules' colour as a word.
"""

from caddiebrain.course.picture import Texture
from caddiebrain.terms import Lie

__all__ = ["LEGEND", "OUTLINES", "TEXTURES", "style"]

LEGEND: dict[Lie, str] = {
    Lie.TEE: "tee",
    Lie.FAIRWAY: "fairway",
    Lie.TIGHT: "closely mown ground",
    Lie.THICK: "thick rough",
    Lie.SAND: "bunker",
    Lie.TREES: "woods",
    Lie.GREEN: "green",
    Lie.YELLOW: "yellow penalty area",
    Lie.RED: "red penalty area",
    Lie.OUT: "out of bounds",
}
"""What the alternative text calls each kind of ground."""

_WAVE = ((-2.4, 0.0), (-1.8, -0.7), (-1.2, -0.7), (0.0, 0.7), (0.6, 0.7), (1.2, 0.0))
_BLADES = (((-0.9, 0.8), (-0.4, -1.0)), ((0.0, 0.8), (0.0, -1.2)), ((0.9, 0.8), (0.4, -1.0)))

TEXTURES: dict[Lie, Texture] = {
    Lie.SAND: Texture((2.2, 1.6), (((0.0, 0.0),),)),
    Lie.YELLOW: Texture((7.0, 3.4), (_WAVE,)),
    Lie.RED: Texture((7.0, 3.4), (_WAVE,)),
    Lie.TREES: Texture((6.4, 4.6), (((0.0, 0.0),),)),
    Lie.OUT: Texture((8.0, 5.0), (((-1.1, -1.1), (1.1, 1.1)), ((-1.1, 1.1), (1.1, -1.1)))),
    Lie.THICK: Texture((4.6, 3.2), _BLADES),
    Lie.TIGHT: Texture((3.6, 2.4), (((-0.8, 0.0), (0.8, 0.0)),)),
}
"""Marks of the kinds of ground that have a texture."""

OUTLINES: dict[Lie, str] = {
    Lie.YELLOW: "shore",
    Lie.RED: "shore lateral",
    Lie.TREES: "crown",
    Lie.OUT: "fence",
}
"""Extra classes of the edge."""

_RULES = """
.{p}drawing{{--k:var(--grain,1)}}
.{p}rough{{fill:#dfe3d0}}
.{p}ground{{stroke:#2b2f26;stroke-width:calc(.35px*var(--k));stroke-linejoin:round;fill-rule:evenodd}}
.{p}fairway{{fill:#f7f9ee;stroke:#6a7358}}
.{p}tight{{fill:#e9eddb;stroke:#6a7358;stroke-dasharray:1.2 .8}}
.{p}tee{{fill:#fff}}
.{p}green{{fill:#fff;stroke-width:calc(.8px*var(--k))}}
.{p}sand{{fill:#efe5c4;stroke-width:calc(.5px*var(--k))}}
.{p}thick{{fill:#c8cfb2;stroke:#78805f;stroke-dasharray:.8 1}}
.{p}trees{{fill:#aebb9c;stroke-width:calc(.45px*var(--k))}}
.{p}yellow,.{p}red{{fill:#cfdde4;stroke-width:calc(.7px*var(--k))}}
.{p}red{{stroke-dasharray:2.6 .9 .5 .9}}
.{p}out{{fill:#eeeae6;stroke:none}}
.{p}texture{{fill:none;stroke:#2b2f26;stroke-width:calc(.3px*var(--k))}}
.{p}texture{{stroke-linecap:round;stroke-linejoin:round}}
.{p}of-sand{{stroke:#6d5c2d;stroke-width:calc(.55px*var(--k))}}
.{p}of-trees{{stroke:#8c9c7a;stroke-width:calc(2.1px*var(--k))}}
.{p}of-yellow,.{p}of-red{{stroke:#3f5a68;stroke-width:calc(.4px*var(--k))}}
.{p}of-out{{stroke:#8b8379}}
.{p}of-tight{{stroke:#9aa284}}
.{p}post{{fill:none;stroke:#1c1f19;stroke-width:calc(1.5px*var(--k))}}
.{p}stake{{fill:none;stroke:#fff;stroke-width:calc(.9px*var(--k));stroke-dasharray:3 3}}
.{p}arc{{fill:none;stroke:#2b2f26;stroke-width:calc(.25px*var(--k));stroke-dasharray:.6 1.4}}
.{p}line{{fill:none;stroke:#2b2f26;stroke-width:calc(.35px*var(--k));stroke-dasharray:4 2.4}}
.{p}peg{{fill:#1c1f19;width:calc(1.6px*var(--k));height:calc(1.6px*var(--k))}}
.{p}peg{{transform:translate(calc(-.8px*var(--k)),calc(-.8px*var(--k)))}}
.{p}cup{{fill:#1c1f19;r:calc(.6px*var(--k))}}
.{p}mast{{transform:scale(var(--k))}}
.{p}pole{{stroke:#1c1f19;stroke-width:.5}}
.{p}flag{{fill:#1c1f19}}
.{p}word{{font-family:Georgia,"Times New Roman",serif;font-size:calc(5px*var(--k));fill:#1c1f19}}
.{p}word{{stroke:#f4f6ea;stroke-width:calc(.9px*var(--k));stroke-linejoin:round;paint-order:stroke}}
.{p}mark{{fill:none;stroke:#1c1f19;stroke-width:calc(.6px*var(--k))}}
.{p}dots{{fill:none;stroke:#1c1f19;stroke-width:calc(1px*var(--k));stroke-linecap:round}}
.{p}dot{{fill:#1c1f19;stroke:#fff;stroke-width:calc(.4px*var(--k))}}
"""


def style(prefix: str) -> str:
    """Return the style sheet, every class beginning with ``prefix``."""
    return "<style>" + _RULES.format(p=prefix).strip() + "</style>"
