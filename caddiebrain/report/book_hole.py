"""One hole's pages of a book: what to hit, where to aim, which side to miss, what the score asks."""

from collections.abc import Iterable
from html import escape

from caddiebrain.course.model import Hole
from caddiebrain.insight.book_records import BookHole, Distance, MissSide, NextShot, SwitchLine, WindOnHole
from caddiebrain.report.book_map import green_drawing, hole_map
from caddiebrain.report.book_parts import (
    aim_line,
    arrow,
    block,
    column,
    element,
    score_name,
    short_aim,
    table,
    to_par,
)
from caddiebrain.report.words import in_hundred, lie_words, standing_words

__all__ = ["hole_page", "wind_words"]


def hole_page(page: BookHole, hole: Hole, target: int, lookup: str) -> str:
    """Lay out one hole.

    Parameters
    ----------
    page : BookHole
    hole : Hole
        Its geometry.
    target : int
    lookup : str
        Markup of the look-up, which paper does not show.
    """
    facts = element(
        "div",
        _hit(page),
        _miss(page.miss),
        _standing(page, target),
        _distances(page.distances),
        _after(page.after),
        _scores(page),
        _green(page, hole),
        class_="facts",
    )
    drawing = element("div", hole_map(page, hole), class_="map")
    return element(
        "article",
        _head(page),
        drawing,
        lookup,
        facts,
        id=f"hole-{page.number}",
        class_="page hole",
        aria_labelledby=f"head-{page.number}",
        data_hole=f"{page.number}",
    )


def _head(page: BookHole) -> str:
    name = element("span", escape(page.name), class_="name") if page.name else ""
    title = element(
        "h2",
        element("span", f"{page.number}", class_="number"),
        name,
        id=f"head-{page.number}",
        tabindex="-1",
    )
    about = f"Par {page.par} · {page.length_yd:.0f} yards · index {page.stroke_index}"
    signs = [_wind(page.wind)] if page.wind else []
    signs.append(element("span", arrow(page.north_deg, "North", "north"), "N", class_="sign"))
    return element("header", title, element("p", about, class_="about"), element("p", *signs, class_="signs"))


def _wind(wind: WindOnHole) -> str:
    said = wind_words(wind)
    return element("span", arrow(wind.toward_deg, f"Wind: {said}", "wind"), escape(said), class_="sign")


def wind_words(wind: WindOnHole) -> str:
    """Say how the wind blows on a hole.

    Examples
    --------
    >>> wind_words(WindOnHole(mph=12, toward_deg=150, along="head", from_side="left"))
    '12 mph, into, from the left'
    >>> wind_words(WindOnHole(mph=8, toward_deg=5, along="tail", from_side=""))
    '8 mph, helping'
    """
    along = {"head": "into", "tail": "helping", "cross": "across"}[wind.along]
    side = f", from the {wind.from_side}" if wind.from_side else ""
    return f"{wind.mph:.0f} mph, {along}{side}"


def _hit(page: BookHole) -> str:
    tee = page.tee
    lines = [
        element("p", escape(tee.label), class_="club"),
        element("p", f"Aim <b>{escape(aim_line(tee.aim_words))}</b>.", class_="aim-words"),
    ]
    if page.par > 3:
        lines.append(
            element(
                "p",
                f"Carries <b>{tee.carry_yd:.0f}</b>, stops near {tee.total_yd:.0f}.<br>Leaves "
                f"<b>{tee.leaves_yd:.0f}</b> ({tee.leaves_low:.0f} to {tee.leaves_high:.0f}).",
            )
        )
    else:
        lines.append(
            element(
                "p", f"Carries <b>{tee.carry_yd:.0f}</b>; pin at <b>{page.length_yd:.0f}</b>{_edges(page)}."
            )
        )
    return block("Hit", *lines, kind="hit")


def _edges(page: BookHole) -> str:
    if page.green is None:
        return ""
    return f", front {page.green.front_yd:.0f} short of it, back {page.green.back_yd:.0f} past"


def _miss(miss: MissSide | None) -> str:
    if miss is None:
        return ""
    left, right = _cost(miss.left), _cost(miss.right)
    if miss.better == "left":
        said = f"Better <b>left</b> of this aim ({left}) than right ({right})."
    elif miss.better == "right":
        said = f"Better <b>right</b> of this aim ({right}) than left ({left})."
    else:
        said = f"Left of this aim ({left}) and right ({right}) are much alike."
    there = {"out of bounds": "Out of bounds is", "woods": "Woods are", "": ""}[miss.there]
    also = f" {there} {miss.better}." if there else ""
    return block("Wide", element("p", said + also), kind="miss")


def _cost(strokes: float) -> str:
    """Say what something costs with a sign, and a minus that is one."""
    said = f"{strokes:+.2f}"
    return "0.00" if said in ("-0.00", "+0.00") else said.replace("-", "\N{MINUS SIGN}")


def _standing(page: BookHole, target: int) -> str:
    """Say what the score asks on the tee."""
    pace = ""
    if page.pace is not None and not page.first:
        pace = element("p", f"On pace at {standing_words(page.pace)} or better.", class_="pace")
    if page.first or len(page.switches) == 1:
        only = _at_level(page.switches) if page.first else page.switches[0]
        return block(f"For {target}", element("p", _one_choice(page, only)), pace, kind="standing")
    rows = [
        (
            element("span", _when(s), data_from=_end(s.from_standing), data_to=_end(s.to_standing)),
            element("b", escape(s.label)) + f" {escape(short_aim(s.aim_words))}",
        )
        for s in page.switches
    ]
    return block(f"For {target}, if you stand", table("", (), rows, "switches"), pace, kind="standing")


def _one_choice(page: BookHole, only: SwitchLine) -> str:
    """Say what serves the target where the score makes no difference."""
    when = "" if page.first else ", whatever your score"
    if only.label != page.tee.label:
        return f"<b>{escape(only.label)}</b>, {escape(aim_line(only.aim_words))}{when}."
    if only.aim_words == page.tee.aim_words:
        return f"The same{when}."
    return f"The same club, {escape(aim_line(only.aim_words))}{when}."


def _at_level(switches: Iterable[SwitchLine]) -> SwitchLine:
    """Switch that holds at level par: the one line of a first tee."""
    for line in switches:
        if line.to_standing is None or line.to_standing >= 0:
            return line
    return line


def _end(standing: int | None) -> str:
    return "" if standing is None else f"{standing}"


def _when(switch: SwitchLine) -> str:
    """Say at which standings a choice holds, as short as a narrow column asks."""
    first, last = switch.from_standing, switch.to_standing
    if first is None:
        return "any score" if last is None else f"{to_par(last)} or better"
    if last is None:
        return f"{to_par(first)} or worse"
    return to_par(first) if first == last else f"{to_par(first)} to {to_par(last)}"


def _distances(items: Iterable[Distance]) -> str:
    rows = [
        (
            element("span", item.mark, class_="mark"),
            escape(_what(item)),
            f"{item.start_yd:.0f}–{item.end_yd:.0f}" + (" to pin" if item.of_pin else ""),
        )
        for item in items
    ]
    if not rows:
        return ""
    note = element("p", "Yards from the tee: reach it, carry it.", class_="note")
    return block("Numbers", table("", (), rows, "numbers"), note, kind="numbers")


def _what(item: Distance) -> str:
    name = {"sand": "bunker", "yellow": "yellow area", "red": "red area"}[item.lie]
    return f"{name} {item.side}"


def _after(shots: Iterable[NextShot]) -> str:
    rows = [
        (
            f"{shot.to_pin_yd:.0f}",
            element("b", escape(shot.label))
            + f" {escape(short_aim(shot.aim_words))}{_leaves(shot)}{_lie(shot)}",
        )
        for shot in shots
    ]
    if not rows:
        return ""
    return block("Then, from", table("", (), rows, "after"), kind="next")


def _lie(shot: NextShot) -> str:
    """Say a lie that is not fairway."""
    if shot.lie == "fairway" and not shot.side:
        return ""
    lie = "bunker" if shot.lie == "sand" else lie_words(shot.lie)
    return element("i", f" ({lie} {shot.side})" if shot.side else f" ({lie})")


def _leaves(shot: NextShot) -> str:
    return f", leaves {shot.leaves_yd:.0f}" if shot.leaves_yd > 5.0 else ""


def _scores(page: BookHole) -> str:
    columns = [
        element(
            "li",
            element("b", in_hundred(score.chance)),
            column(
                score.chance,
                f"{score.tall:.0f}%",
                score_name(score.over_par, score.or_better, score.or_worse),
            ),
            element("span", score_name(score.over_par, score.or_better, score.or_worse)),
        )
        for score in page.scores
    ]
    mean = element("span", f"average {page.expected_score:.2f}", class_="mean")
    return element(
        "section",
        element("h3", "Scores in 100", mean),
        element("ol", *columns, class_="columns"),
        class_="block scores",
    )


def _green(page: BookHole, hole: Hole) -> str:
    if page.green is None:
        return ""
    green = page.green
    said = f"{green.depth_yd:.0f} by {green.width_yd:.0f}. Pin {green.front_yd:.0f} on, {green.left_yd:.0f} from left."
    miss = f" <b>{escape(page.green_miss.capitalize())}.</b>" if page.green_miss else ""
    return element(
        "figure",
        green_drawing(page, hole),
        element("figcaption", said, miss),
        class_="green",
    )
