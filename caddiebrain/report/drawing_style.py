"""The look of a drawn hole: tones and textures that stay apart in black and white and for every eye.

Line widths and words are yards of ground times the drawing's grain (``--grain`` in its style), so that a drawing for a
small page can have them larger. Each lie has its own texture:
sand is stippled, water has waves, woods a scalloped edge, out of bounds a cross hatch behind white stakes,
thick rough tufts. A penalty area also bears its Rules' colour as a word.
"""

from caddiebrain.terms import Lie

__all__ = ["LEGEND", "OUTLINES", "TEXTURES", "definitions", "style"]

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

TEXTURES: dict[Lie, str] = {
    Lie.SAND: '<circle cx=".6" cy=".6" r=".24"/><circle cx="2.1" cy="1.5" r=".24"/>'
    '<circle cx=".9" cy="2.5" r=".24"/>',
    Lie.YELLOW: '<path d="M0 1.6q1.75 -1.8 3.5 0t3.5 0"/>',
    Lie.RED: '<path d="M0 1.6q1.75 -1.8 3.5 0t3.5 0"/>',
    Lie.TREES: '<circle cx="1.8" cy="1.8" r="1"/><circle cx="5.6" cy="4.6" r="1.3"/>',
    Lie.OUT: '<path d="M0 0L6 6M6 0L0 6"/>',
    Lie.THICK: '<path d="M1 3l.5 -1.9M1.9 3v-2.1M2.8 3l-.5 -1.9"/>',
    Lie.TIGHT: '<path d="M0 1.5h3"/>',
}
"""One tile per lie that has a texture."""

_TILES: dict[Lie, tuple[str, str]] = {
    Lie.SAND: ("3", "3"),
    Lie.YELLOW: ("7", "4"),
    Lie.RED: ("7", "4"),
    Lie.TREES: ("7.5", "6.8"),
    Lie.OUT: ("6", "6"),
    Lie.THICK: ("5", "4.4"),
    Lie.TIGHT: ("3", "3"),
}

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
.{p}tile{{fill:none;stroke:#2b2f26;stroke-width:.3}}
.{p}tile-sand{{fill:#6d5c2d;stroke:none}}
.{p}tile-trees{{fill:none;stroke:#55634a;stroke-width:.3}}
.{p}tile-out{{stroke:#8b8379}}
.{p}tile-tight{{stroke:#b4bba0}}
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


def definitions(prefix: str, grain: float = 1.0) -> str:
    """Return the texture tiles, every id beginning with ``prefix``, enlarged ``grain`` times."""
    tiles = []
    for lie, body in TEXTURES.items():
        width, height = _TILES[lie]
        size = f'width="{width}" height="{height}" patternUnits="userSpaceOnUse"'
        head = f'<pattern id="{prefix}{lie}" {size} patternTransform="scale({grain:.3g})">'
        tiles.append(f'{head}<g class="{prefix}tile {prefix}tile-{lie}">{body}</g></pattern>')
    return "<defs>" + "".join(tiles) + "</defs>"
