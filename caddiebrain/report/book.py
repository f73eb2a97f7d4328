"""A plan as one self-contained page: a book to print and carry, and on a screen a look-up for home and lessons."""

import os
from base64 import b64encode
from hashlib import sha256
from html import escape
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

from caddiebrain.course.model import Course
from caddiebrain.errors import InputError
from caddiebrain.insight.book import book_of
from caddiebrain.insight.book_records import BookHole, BookRecord
from caddiebrain.report.book_cover import card_page, cover_page, last_page, rules_page
from caddiebrain.report.book_hole import hole_page
from caddiebrain.report.book_lookup import data_of, lookup_form
from caddiebrain.report.book_parts import element

if TYPE_CHECKING:
    from caddiebrain.insight.records_carry import CarryCard
    from caddiebrain.round.plan import RoundPlan

__all__ = ["book_html", "book_page", "check_writable", "write_book"]


def book_html(plan: "RoundPlan", card: "CarryCard | None" = None) -> str:
    """Return a plan as a book: one HTML page that needs nothing else.

    Parameters
    ----------
    plan : RoundPlan
    card : CarryCard, optional
        As `caddiebrain.carry_card` makes it: its rules get a page of their own.

    Returns
    -------
    str
        Pages of 4.25 x 7 inches when printed; greens at 1:480 or smaller (Rule 4.3a, clarification 1).
    """
    return book_page(book_of(plan, card), plan.course)


def write_book(plan: "RoundPlan", path: "str | os.PathLike[str]", card: "CarryCard | None" = None) -> None:
    """Write a plan as a book, whole or not at all.

    Parameters
    ----------
    plan : RoundPlan
    path : path
        File to write; one that is there is replaced.
    card : CarryCard, optional
        As `caddiebrain.carry_card` makes it: its rules get a page of their own.

    Raises
    ------
    InputError
        If there is no such directory, or it may not be written to.
    """
    target = check_writable(path)
    draft = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        draft.write_text(book_html(plan, card), encoding="utf-8", newline="\n")
        draft.replace(target)
    except OSError as error:
        raise InputError.one(str(target), "book", error.strerror or str(error), "a place to write") from None
    finally:
        draft.unlink(missing_ok=True)


def check_writable(path: "str | os.PathLike[str]") -> Path:
    """Refuse a path that no book can be written to, before any work is done.

    Raises
    ------
    InputError
        If it is a directory, or in none that is there and may be written to.
    """
    target = Path(path)
    if target.is_dir():
        raise InputError.one(str(target), "book", "a directory", "a file name such as round.html")
    if not target.parent.is_dir():
        raise InputError.one(str(target), "book", f"no directory {target.parent}", "one that is there")
    if not os.access(target.parent, os.W_OK | os.X_OK):
        raise InputError.one(str(target), "book", f"{target.parent} is read-only", "a directory to write to")
    return target


def book_page(book: BookRecord, course: Course) -> str:
    """Put a book's pages together.

    Parameters
    ----------
    book : BookRecord
    course : Course
        Geometry of its holes.
    """
    script = _packaged("book.js")
    digest = b64encode(sha256(script.encode()).digest()).decode()
    policy = f"default-src 'none'; style-src 'unsafe-inline'; script-src 'sha256-{digest}'; img-src data:"
    title = f"{book.cover.course or 'Round'}: {book.cover.target} or better"

    def sheet(page: BookHole) -> str:
        return hole_page(page, course.hole(page.number), book.cover.target, lookup_form(page))

    sheets = tuple(sheet(page) for page in book.holes)
    pages = [
        cover_page(book.cover),
        card_page(book.card, book.cover.target),
        *rules_page(book),
        *sheets,
        last_page(),
    ]
    head = "".join(
        [
            '<meta charset="utf-8">',
            f'<meta http-equiv="Content-Security-Policy" content="{policy}">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            element("title", escape(title)),
            f"<style>{_packaged('book.css')}</style>",
        ]
    )
    body = "".join(
        [
            '<a class="skip" href="#hole-' + f'{book.holes[0].number}">Skip to the first hole</a>',
            _contents(book),
            element("main", *pages),
            f'<script type="application/json" id="book-data">{data_of(book)}</script>',
            f"<script>{script}</script>",
        ]
    )
    return f'<!doctype html>\n<html lang="en"><head>{head}</head><body>{body}</body></html>\n'


def _contents(book: BookRecord) -> str:
    """Links to every page."""
    links = [("cover", "Cover"), ("card", "Card"), *([("rules", "Rules")] if book.rules else [])]
    links += [(f"hole-{page.number}", f"{page.number}") for page in book.holes]
    links += [("last", "Cautions")]
    items = "".join(
        element("li", element("a", escape(said), href=f"#{target}", aria_label=_spoken(said)))
        for target, said in links
    )
    return element("nav", element("ul", items), aria_label="Pages")


def _spoken(said: str) -> str:
    return f"Hole {said}" if said.isdigit() else said


def _packaged(name: str) -> str:
    """Text of a file that ships beside this module."""
    return files("caddiebrain.report").joinpath(name).read_text(encoding="utf-8")
