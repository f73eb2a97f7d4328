"""Reasons and reviews for a terminal, from finished records; what is not in the record is not said."""

from typing import TYPE_CHECKING

from rich.console import Console, Group, RenderableType
from rich.table import Table
from rich.text import Text

from caddiebrain.report.words import (
    CAUTIONS,
    aim_in_short,
    in_hundred,
    lie_words,
    place_words,
    signed,
    standing_words,
    tenths_in_hundred,
)

if TYPE_CHECKING:
    from caddiebrain.insight.records_breakeven import BreakEvens
    from caddiebrain.insight.records_compare import Comparison, ResultPart, Side
    from caddiebrain.insight.records_press import Press, PressOption, PressStep
    from caddiebrain.insight.records_review import RoundReview

__all__ = ["as_text", "break_evens_page", "compare_page", "press_page", "review_page"]

_MOST_OPTIONS = 6
_WORTH_NAMING = 0.05


def as_text(page: RenderableType, width: int = 96) -> str:
    """Turn a page into plain text.

    Parameters
    ----------
    page : renderable
        What one of the functions below returns.
    width : int
        Columns.
    """
    console = Console(width=width, color_system=None, highlight=False, legacy_windows=False)
    with console.capture() as captured:
        console.print(page)
    return "\n".join(line.rstrip() for line in captured.get().splitlines())


def _table(*columns: str) -> Table:
    """A plain table: the first column and those that end in ``...`` to the left, the others to the right."""
    table = Table(box=None, pad_edge=False, padding=(0, 1, 0, 0), collapse_padding=True, header_style="bold")
    for i, heading in enumerate(columns):
        left = i == 0 or heading.endswith("...")
        table.add_column(
            heading.removesuffix("..."),
            justify="left" if left else "right",
            no_wrap=not heading.endswith("..."),
        )
    return table


def _cautions() -> Text:
    return Text("\n".join(CAUTIONS), style="dim")


def compare_page(record: "Comparison") -> RenderableType:
    """Lay out why one choice beats another: the sentence, the verdict, the table of parts.

    Parameters
    ----------
    record : Comparison
    """
    table = _table(
        "ends in", "1st", "then", "2nd", "then", "how often", "how good", "in all", f"for {record.target}"
    )
    for part in record.parts:
        table.add_row(*_part_cells(part))
    table.add_row(
        "all",
        "100",
        "",
        "100",
        "",
        "",
        "",
        signed(record.strokes_difference, "+.2f"),
        signed(record.target_difference, "+.1%"),
    )
    sides = [_side(name, side) for name, side in (("1st", record.first), ("2nd", record.second))]
    head = place_words(record.hole, record.to_pin_yd, record.lie, record.strokes_on_hole, record.standing)
    legend = (
        "1st, 2nd: times in 100. then: strokes still to come. The rest is 1st minus 2nd: strokes gained where "
        f"negative; for {record.target}: chance gained where positive."
    )
    return Group(
        Text(record.sentence, style="bold"),
        Text(record.verdict),
        Text(),
        Text(head),
        *sides,
        Text(),
        table,
        Text(legend, style="dim"),
        Text(),
        _cautions(),
    )


def _side(name: str, side: "Side") -> Text:
    return Text(f"{name}: {side.label}, {side.aim_words}; {side.expected:.2f} strokes to hole out")


def _part_cells(part: "ResultPart") -> tuple[str, ...]:
    return (
        lie_words(part.result),
        in_hundred(part.chance_first),
        "" if part.strokes_first is None else f"{part.strokes_first:.2f}",
        in_hundred(part.chance_second),
        "" if part.strokes_second is None else f"{part.strokes_second:.2f}",
        signed(part.strokes_how_often, "+.2f"),
        signed(part.strokes_how_good, "+.2f"),
        signed(part.strokes, "+.2f"),
        signed(part.target, "+.1%"),
    )


def break_evens_page(record: "BreakEvens") -> RenderableType:
    """Lay out what would have to be true for the other choice.

    Parameters
    ----------
    record : BreakEvens
    """
    tips = [Text(a.words) for a in record.answers if a.change is not None]
    stays = [
        Text(a.words, style="dim")
        for a in record.answers
        if a.change is None and a.lead_at_bound < a.lead_today
    ]
    standings = [
        Text(f"{_range(r.from_standing, r.to_standing)}: the {r.label}, {_by_at_most(r.gain_most)}")
        for r in record.by_standing
    ]
    return Group(
        Text(record.sentence, style="bold"),
        *((Text(), *tips, *stays) if tips or stays else ()),
        Text(),
        Text("For the target, by the standing before this hole", style="bold"),
        *standings,
    )


def _by_at_most(gain: float) -> str:
    """Say how much one choice is ahead; a lead that rounds to nothing is no lead of 0.0%."""
    return "by less than 0.1%" if gain < 0.0005 else f"by up to {gain:.1%}"


def _range(first: int | None, last: int | None) -> str:
    if first is None and last is None:
        return "at every standing"
    if first is None:
        return f"{standing_words(last or 0)} or better"
    if last is None:
        return f"{standing_words(first)} or worse"
    return standing_words(first) if first == last else f"{standing_words(first)} to {standing_words(last)}"


def press_page(record: "Press") -> RenderableType:
    """Lay out whether to protect or to press, and where that changes.

    Parameters
    ----------
    record : Press
    """
    head = place_words(record.hole, record.to_pin_yd, record.lie, record.strokes_on_hole, record.standing)
    left = record.strokes_left if record.strokes_left > 0 else "none"
    options = _table("choice", "aim...", "", "score", f"for {record.target}", "and then, by where it ends...")
    for option in record.options[:_MOST_OPTIONS]:
        options.add_row(*_option_cells(option))
    steps = _table("standing", "in hand", "choice...", "", f"for {record.target}", "gains")
    for step in record.by_standing:
        steps.add_row(*_step_cells(step))
    return Group(
        Text(record.sentence, style="bold"),
        Text(f"{record.count[0].upper()}{record.count[1:]}."),
        Text(),
        Text(f"{head}: {_in_hand(record.strokes_in_hand)} in hand"),
        Text(
            f"({left} left for {record.target}, {record.expected_to_finish:.1f} expected; "
            f"{tenths_in_hundred(record.target_now)} rounds in 100 make it)"
        ),
        Text(),
        options,
        Text(),
        Text("By the standing before this hole", style="bold"),
        steps,
        Text(_LEGEND, style="dim"),
        Text(),
        _cautions(),
    )


_LEGEND = (
    "in hand: strokes left under the target minus strokes expected, best to worst of these standings. gains: "
    "chance gained at most over the choice that scores lowest."
)


def _in_hand(strokes: float) -> str:
    return f"{strokes:+.1f} strokes"


def _option_cells(option: "PressOption") -> tuple[str, ...]:
    return (
        option.label,
        aim_in_short(option.aim_words),
        option.stance,
        f"{option.expected:.2f}",
        tenths_in_hundred(option.target),
        ", ".join(
            f"{lie_words(r.result)} {in_hundred(r.chance)}: {tenths_in_hundred(r.target)}"
            for r in option.results
            if r.chance >= _WORTH_NAMING
        ),
    )


def _step_cells(step: "PressStep") -> tuple[str, ...]:
    return (
        _range(step.from_standing, step.to_standing),
        f"{step.in_hand_most:+.1f}"
        if step.in_hand_most == step.in_hand_least
        else f"{step.in_hand_most:+.1f} to {step.in_hand_least:+.1f}",
        step.label,
        step.stance,
        f"{tenths_in_hundred(step.target_most)} to {tenths_in_hundred(step.target_least)}",
        f"{step.gain_most:.1%}",
    )


def review_page(record: "RoundReview", strokes: bool = False) -> RenderableType:
    """Lay out a review: the sentence, three things to take home, parts of the game, holes, dearest choices.

    Parameters
    ----------
    record : RoundReview
    strokes : bool
        List every stroke, not only the choices that gave something away.
    """
    three = [Text(f"{i}. {words}") for i, words in enumerate(record.takeaways, start=1)]
    return Group(
        Text(record.sentence, style="bold"),
        Text(),
        *three,
        Text(),
        _parts(record),
        Text(_gained_legend(record), style="dim"),
        Text(),
        _holes(record),
        Text(),
        Text("Every stroke" if strokes else "Choices that gave something away", style="bold"),
        _shots(record, strokes),
    )


def _gained_legend(record: "RoundReview") -> str:
    legend = (
        "gained: strokes better than your own average; luck: what chance alone does, one way or the other."
    )
    if record.reference is None:
        return legend
    return f"{legend} reference: {record.reference}, who expects {record.reference_expected or 0.0:.1f} here."


def _parts(record: "RoundReview") -> Table:
    against = () if record.reference is None else ("on reference",)
    table = _table("part of the game", "strokes", "gained", "choices", "strokes cost", "luck", *against)
    for part in record.parts:
        more = () if record.reference is None else (f"{part.gained_on_reference or 0.0:+.1f}",)
        table.add_row(
            part.part,
            f"{part.strokes}",
            f"{part.gained:+.1f}",
            f"{part.decision:.1f}",
            f"{part.execution:+.1f}",
            f"{part.luck:.1f}",
            *more,
        )
    return table


def _holes(record: "RoundReview") -> Table:
    table = _table("hole", "par", "score", "expected", "choices", "strokes")
    for hole in record.holes:
        table.add_row(
            f"{hole.number}",
            f"{hole.par}",
            f"{hole.score}",
            f"{hole.expected:.1f}",
            f"{hole.decision:.2f}",
            signed(hole.execution, "+.2f"),
        )
    table.add_row(
        "all",
        "",
        f"{record.score}",
        f"{record.expected:.1f}",
        f"{record.decision:.2f}",
        signed(record.execution, "+.2f"),
    )
    return table


def _shots(record: "RoundReview", every: bool) -> Table:
    table = _table(
        "hole", "stroke", "from...", "played...", "best...", "choice", "stroke cost", "ended in..."
    )
    for shot in record.shots:
        if every or shot.decision >= _WORTH_NAMING:
            where = f"{shot.to_pin_yd:.0f} yd, {lie_words(shot.lie)}"
            if shot.lie == "tee":
                where = "tee"
            elif shot.lie == "green":
                where = f"{shot.to_pin_ft:.0f} ft, green"
            table.add_row(
                f"{shot.hole}",
                f"{shot.stroke}",
                where,
                shot.chosen,
                shot.best,
                f"{shot.decision:.2f}",
                signed(shot.execution, "+.2f"),
                lie_words(shot.result),
            )
    return table
