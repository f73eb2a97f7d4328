"""Small pieces of a book's pages: elements, headings, bars and arrows."""

from collections.abc import Iterable, Mapping
from html import escape

from caddiebrain.report.words import chance_words, score_words

__all__ = ["aim_line", "arrow", "block", "column", "element", "score_name", "short_aim", "table", "to_par"]


def element(tag: str, *inside: str, **attributes: str | None) -> str:
    """Write an element; its contents are markup already, attribute values are escaped; None leaves one out.

    Examples
    --------
    >>> element("p", "a &lt; b", class_="note", title='say "so"', lang=None)
    '<p class="note" title="say &quot;so&quot;">a &lt; b</p>'
    """
    written = "".join(
        f' {name.rstrip("_").replace("_", "-")}="{escape(value)}"'
        for name, value in attributes.items()
        if value is not None
    )
    return f"<{tag}{written}>{''.join(inside)}</{tag}>"


def block(heading: str, *inside: str, kind: str) -> str:
    """Write a titled block of a page."""
    return element("section", element("h3", escape(heading)), *inside, class_=f"block {kind}")


def table(caption: str, headings: Iterable[str], rows: Iterable[Iterable[str]], kind: str) -> str:
    """Write a table; cells are markup already, the first of each row heads it."""
    head = "".join(element("th", escape(text), scope="col") for text in headings)
    body = "".join(
        element("tr", element("th", first, scope="row"), *(element("td", cell) for cell in rest))
        for first, *rest in rows
    )
    parts = [element("caption", escape(caption))] if caption else []
    if head:
        parts.append(element("thead", element("tr", head)))
    return element("table", *parts, element("tbody", body), class_=kind)


def arrow(turn_deg: float, title: str, kind: str) -> str:
    """Draw an arrow that points up the page, turned clockwise."""
    head = '<path d="M0 -9L4.5 -1.5H1.3V9H-1.3V-1.5H-4.5Z"/>'
    return (
        f'<svg class="{kind}" viewBox="-10 -10 20 20" role="img" aria-label="{escape(title)}">'
        f'<g transform="rotate({turn_deg:.0f})">{head}</g></svg>'
    )


def score_name(over_par: int, or_better: bool, or_worse: bool) -> str:
    """Name a score on a hole in one word, or all from there on.

    Examples
    --------
    >>> score_name(-1, True, False), score_name(0, False, False), score_name(3, False, True)
    ('birdie +', 'par', 'worse')
    >>> score_name(2, False, False)
    'double'
    """
    if or_worse:
        return "worse"
    name = score_words(over_par).removesuffix(" bogey")
    return f"{name} +" if or_better else name


_SHORTER: Mapping[str, str] = {
    " yards ": " ",
    " yard ": " ",
    " of centre": "",
    "down the centre": "centre",
    "along the line of play": "along line",
    "the line of play": "line",
    "of the pin": "of pin",
}


def short_aim(aim_words: str) -> str:
    """Shorten an aim for a narrow column: no distance, and what is not said is the middle of the fairway.

    Examples
    --------
    >>> short_aim("10 yards left of centre, at 228"), short_aim("1 yard left of the pin")
    ('10 left', '1 left of pin')
    >>> short_aim("down the centre, at 190"), short_aim("2 yards right of the line of play, at 190")
    ('centre', '2 right of line')
    """
    said = aim_line(aim_words)
    for long, short in _SHORTER.items():
        said = said.replace(long, short)
    return said


def aim_line(aim_words: str) -> str:
    """Say only where to aim, without the distance.

    Examples
    --------
    >>> aim_line("10 yards left of centre, at 228"), aim_line("at the pin")
    ('10 yards left of centre', 'at the pin')
    """
    return aim_words.partition(", at ")[0]


def to_par(standing: int) -> str:
    """Write a standing against par.

    Examples
    --------
    >>> to_par(3), to_par(0), to_par(-2)
    ('+3', 'level', '−2')
    """
    return "level" if standing == 0 else f"{standing:+d}".replace("-", "\N{MINUS SIGN}")


def column(chance: float, share: str, said: str) -> str:
    """Draw an upright bar as tall as ``share``, a percentage, of its frame."""
    return (
        f'<svg class="column" role="img" aria-label="{escape(said)}: {escape(chance_words(chance))}">'
        f'<g class="up"><rect width="100%" height="{share}"/></g></svg>'
    )
