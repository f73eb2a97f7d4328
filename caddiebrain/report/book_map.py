"""The drawings of a hole's page: the map with its shots, and the green."""

from caddiebrain.course.model import Hole
from caddiebrain.insight.book_records import BookHole, TeeShot
from caddiebrain.report.hole_drawing import Dots, Ellipse, Mark, Path, Words, draw_green, draw_hole

__all__ = ["green_drawing", "hole_map"]

_GREEN_GRAIN = 0.45


def hole_map(page: BookHole, hole: Hole) -> str:
    """Draw a hole with its tee shot at real size and the letters of its distances."""
    marks: list[Mark] = [Dots(page.tee.dots, css="balls")]
    if page.other is not None:
        marks += _shot(page.other, "other")
    marks += _shot(page.tee, "usual")
    marks += [Words(item.at, item.mark, css="letter", anchor=item.anchor) for item in page.distances]
    marks += [_tag(shot, kind) for shot, kind in ((page.tee, "usual"), (page.other, "other")) if shot]
    return draw_hole(
        hole,
        marks=marks,
        line=False,
        margin_yd=page.map.margin_yd,
        beyond_yd=page.map.beyond_yd,
        grain=page.map.grain,
        prefix=f"m{page.number}-",
    )


def _shot(shot: TeeShot, kind: str) -> list[Mark]:
    oval = shot.oval
    return [
        Path([shot.ball, shot.aim_xy], css=f"aim {kind}"),
        Ellipse(oval.centre, oval.long_yd, oval.short_yd, oval.turn_deg, css=f"oval under {kind}"),
        Ellipse(oval.centre, oval.long_yd, oval.short_yd, oval.turn_deg, css=f"oval {kind}"),
    ]


def _tag(shot: TeeShot, kind: str) -> Mark:
    return Words(shot.tag_at, shot.label, css=f"tag {kind}", anchor=shot.tag_anchor)


def green_drawing(page: BookHole, hole: Hole) -> str:
    """Draw the green at its printed scale; nothing where the map has none."""
    if page.green is None:
        return ""
    front, back, left, right = page.green.edges
    marks: list[Mark] = [
        Path([front, back], css="cross"),
        Path([left, right], css="cross"),
        Path(page.green.bar, css="scale-bar"),
        Words(page.green.bar_words, f"10 yards (1:{page.green.scale})", css="measure", anchor="start"),
    ]
    return draw_green(
        hole,
        yards_per_inch=page.green.yards_per_inch,
        marks=marks,
        margin_yd=page.green.margin_yd,
        grain=_GREEN_GRAIN,
        prefix=f"g{page.number}-",
    )
