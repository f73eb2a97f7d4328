"""The look-up of a hole on a screen: its form, and the numbers its script reads."""

import json
from collections.abc import Iterable
from html import escape

from caddiebrain.insight.book_records import BookHole, BookRecord, SpotLookup
from caddiebrain.report.book_parts import element

__all__ = ["data_of", "lookup_form"]

_WARNING = (
    "For planning at home and for lessons. During a round in competition Rule 4.3a forbids this look-up on any "
    "device; carry the printed pages."
)
_GROUPS = (("On the tee", "tee"), ("Where balls come to rest", ""), ("On the green", "green"))
_STROKES = 8


def lookup_form(page: BookHole) -> str:
    """Write the form; the script fills in standings, answers and the map."""
    n = page.number
    spots = "".join(
        element("optgroup", *_options(page.spots, kind), label=heading) for heading, kind in _GROUPS
    )
    strokes = "".join(element("option", f"{i}", value=f"{i}") for i in range(_STROKES))
    fields = "".join(
        element("label", element("span", said), element("select", inside, id=f"{name}-{n}", data_field=name))
        for name, said, inside in (
            ("standing", "Standing on this tee", ""),
            ("spot", "The ball lies", spots),
            ("strokes", "Strokes played here", strokes),
        )
    )
    return element(
        "aside",
        element("h3", "Try a score and a spot", id=f"try-{n}"),
        element("p", escape(_WARNING), class_="warning"),
        element("form", fields, class_="fields"),
        element("p", "Pick from the lists, or tap the map; a ring marks the spot looked up.", class_="hint"),
        element("div", "", class_="answer", aria_live="polite", data_part="answer"),
        element("div", "", class_="choices", data_part="choices"),
        class_="lookup",
        aria_labelledby=f"try-{n}",
        hidden="hidden",
    )


def _options(spots: Iterable[SpotLookup], kind: str) -> list[str]:
    return [
        element("option", escape(spot.words), value=f"{i}")
        for i, spot in enumerate(spots)
        if (spot.lie if spot.lie in ("tee", "green") else "") == kind
    ]


def data_of(book: BookRecord) -> str:
    """Write what the script reads, as JSON that no text of a course can break out of."""
    content = {
        "target": book.cover.target,
        "holes": {f"{hole.number}": _hole(hole) for hole in book.holes},
    }
    text = json.dumps(content, separators=(",", ":"), ensure_ascii=True, allow_nan=False)
    return text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e")


def _hole(hole: BookHole) -> dict[str, object]:
    return {
        "left": hole.level_left,
        "par": hole.par,
        "grain": round(hole.map.grain, 2),
        "spots": [_spot(spot) for spot in hole.spots],
    }


def _spot(spot: SpotLookup) -> dict[str, object]:
    return {
        "at": [spot.x, spot.y],
        "words": spot.words,
        "lie": spot.lie,
        "strokes": spot.strokes,
        "least": spot.least_left,
        "best": spot.best,
        "choices": [
            [c.label, c.club, c.aim, c.aim_xy, round(c.carry_yd), round(c.expected, 4), c.lost, c.oval]
            for c in spot.choices
        ],
    }
