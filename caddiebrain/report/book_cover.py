"""The pages of a book that are about the round: cover, card, and what holds for every hole."""

from collections.abc import Iterable
from html import escape

from caddiebrain.insight.book_records import BookRecord, CardLine, Cover
from caddiebrain.report.book_parts import element, short_aim, table, to_par
from caddiebrain.report.hole_drawing import ground_swatch
from caddiebrain.report.words import tenths_in_hundred
from caddiebrain.terms import Lie

__all__ = ["card_page", "cover_page", "last_page", "rules_page"]

_CAUTIONS = (
    "Never play until the group ahead is out of range of your longest shot.",
    "For lightning, stop at once and leave the course.",
    "Local rules, the markings on the ground and the committee decide. If a stake is not where the map has it, "
    "believe the stake.",
    "This book was made before the round, so it may be carried (Rule 4.3a). The page on a screen works out choices "
    "from where the ball lies: asking it, or any other device, for a club or a line during a round is a breach of "
    "Rule 4.3a.",
    "Greens are drawn at 1:480 or smaller, on pages of at most 4.25 by 7 inches (Rule 4.3a, clarification 1).",
    "The handicap rules say which scores to post.",
    "How to swing is for a licensed coach, what hurts for a doctor.",
)


_CARRY = (
    "Made before the round, these pages may be carried. On a screen they answer questions; in competition such "
    "a device may not be asked during the round (Rule 4.3a)."
)


def cover_page(cover: Cover) -> str:
    """Lay out the cover: the target, its chance, and the distribution of the round."""
    title = element("h1", escape(cover.course or "The round"), id="cover-head")
    about = f"Par {cover.par} · {cover.length_yd:.0f} yards"
    head = element("p", escape(f"For {cover.player}"), class_="player")
    chance = element(
        "p",
        element("span", tenths_in_hundred(cover.chance), class_="big"),
        f" rounds in 100 at <b>{cover.target} or better</b>",
        class_="chance",
    )
    facts = element(
        "dl",
        *_fact("With every hole played for its average", f"{tenths_in_hundred(cover.chance_plain)} in 100"),
        *_fact("What playing for the score adds", f"{tenths_in_hundred(cover.gain)} in 100"),
        *_fact("Average score", f"{cover.expected_score:.1f}"),
        *_fact("Two rounds in three", f"{cover.usual_low} to {cover.usual_high}"),
    )
    return element(
        "section",
        title,
        element("p", about, class_="about"),
        head,
        chance,
        _distribution(cover),
        facts,
        element("p", escape(_day(cover)), class_="note"),
        element("p", _aims(cover), class_="note"),
        _thin(cover),
        element("p", _CARRY, class_="carry"),
        id="cover",
        class_="page cover",
        aria_labelledby="cover-head",
    )


def _fact(name: str, value: str) -> tuple[str, str]:
    return element("dt", escape(name)), element("dd", escape(value))


def _day(cover: Cover) -> str:
    wind = (
        "Still air"
        if cover.wind_mph == 0
        else f"Wind {cover.wind_mph:.0f} mph from {cover.wind_from_deg:.0f}°"
    )
    day = f"{wind}, {cover.temperature_c:.0f} °C, {cover.altitude_m:.0f} m above the sea"
    chosen = [f"{what} {name}" for what, name in (("tees", cover.tees), ("pin", cover.pin)) if name]
    return "; ".join([day, *chosen]) + "."


def _aims(cover: Cover) -> str:
    """Say what every aim holds already."""
    held = "your own bias" if cover.wind_mph == 0 else "the wind and for your own bias"
    return f"Aims of full shots allow for {held}: do not allow for {'it' if cover.wind_mph == 0 else 'them'} again."


def _thin(cover: Cover) -> str:
    if not cover.few_shots:
        return ""
    shots = ", ".join(f"{label} ({count:.0f})" for label, count in cover.few_shots.items())
    return element("p", escape(f"On few recorded shots: {shots}."), class_="note")


def _distribution(cover: Cover) -> str:
    """Draw how often each total comes, the target marked."""
    first, last = cover.bars[0].total, cover.bars[-1].total
    label = (
        f"How often each total comes, from {first} to {last}. "
        f"{cover.target} or better: {tenths_in_hundred(cover.chance)} in 100. "
        f"Two rounds in three lie from {cover.usual_low} to {cover.usual_high}."
    )
    columns = "".join(
        f'<g transform="translate({bar.x:g} 0)">'
        f'<rect class="{"within" if bar.within else "over"}" x="-4.2" width="8.4" height="{bar.tall:.1f}"/>'
        f'<path class="plain" d="M-5 {bar.plain_tall:.1f}H5"/></g>'
        for bar in cover.bars
    )
    ticks = "".join(f'<text x="{bar.x:g}" y="140">{bar.total}</text>' for bar in cover.bars if bar.tick)
    return (
        f'<figure class="spread"><svg viewBox="0 -2 {cover.wide:g} 144" role="img" aria-label="{escape(label)}">'
        f'<g transform="translate(0 130) scale(1 -1.3)">{columns}</g>'
        f'<path class="edge" d="M{cover.target_x:g} 0V130"/><path class="floor" d="M0 130H{cover.wide:g}"/>'
        f"{ticks}</svg>"
        f"<figcaption>Rounds by total. Dark: {cover.target} or better. Thin line: every hole played for its "
        "average.</figcaption></figure>"
    )


def card_page(card: Iterable[CardLine], target: int) -> str:
    """Lay out the round on one page, with room for a score."""
    rows = [
        (
            f"{line.number}",
            f"{line.par}",
            f"{line.length_yd:.0f}",
            element("b", escape(line.label)) + " " + escape(short_aim(line.aim_words)),
            "–" if line.pace is None else to_par(line.pace),
            "",
        )
        for line in card
    ]
    note = (
        f"Pace: the most you may be over par on that tee while {target} stays as likely as it was on the first. "
        "The last column is for your score."
    )
    return element(
        "section",
        element("h2", "The round on a page", id="card-head", tabindex="-1"),
        table("", ("", "par", "yards", "off the tee", "pace", "score"), rows, "card"),
        element("p", note, class_="note"),
        id="card",
        class_="page card-page",
        aria_labelledby="card-head",
    )


_KEY = (
    (Lie.FAIRWAY, "fairway"),
    (Lie.ROUGH, "rough"),
    (Lie.THICK, "thick rough"),
    (Lie.TREES, "woods"),
    (Lie.SAND, "bunker"),
    (Lie.YELLOW, "yellow penalty area"),
    (Lie.RED, "red penalty area"),
    (Lie.OUT, "out of bounds"),
)


def rules_page(book: BookRecord) -> tuple[str, ...]:
    """Lay out the rules to carry; no page where there are none."""
    if not book.rules:
        return ()
    page = element(
        "section",
        element("h2", "Rules to carry", id="rules-head", tabindex="-1"),
        _list("ol", book.rules),
        element("h3", "Otherwise"),
        _list("ul", book.otherwise),
        element("p", escape(book.rules_cost), class_="note"),
        id="rules",
        class_="page last rules-page",
        aria_labelledby="rules-head",
    )
    return (page,)


def _list(tag: str, lines: Iterable[str]) -> str:
    return element(tag, *(element("li", escape(line)) for line in lines))


def last_page() -> str:
    """Lay out what holds for every hole: how to read the drawings, and cautions."""
    return element(
        "section",
        element("h2", "For every hole", id="last-head", tabindex="-1"),
        element("section", element("h3", "Reading the maps"), _key(), element("p", _HOW), class_="key"),
        element("section", element("h3", "Cautions"), _list("ul", _CAUTIONS), class_="cautions"),
        id="last",
        class_="page last",
        aria_labelledby="last-head",
    )


_HOW = (
    "Maps run from the tee at the bottom to the pin at the top; dotted arcs are yards to the pin. A dot is one of 89 "
    "balls struck as you strike them, mishits among them, where it stops; trees stop some of them short. The ring "
    "holds two solid shots in three. A dashed ring is the tee shot that another standing asks for. Letters are the "
    "numbers beside the map. Wide says on which side of the aim a wide ball costs less, and what the wide third of "
    "your shots on each side costs against the average one. A shot stops near where the middle one of your solid "
    "balls does, on the ground it meets. Aims are from the middle of the fairway and lies are fairway, unless "
    "the page says otherwise."
)


def _key() -> str:
    """Draw a swatch of every kind of ground."""
    swatches = "".join(element("li", ground_swatch(lie), escape(name)) for lie, name in _KEY)
    return element("ul", swatches, class_="swatches")
