"""What to practise and what to carry, for a terminal, from finished records."""

from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from caddiebrain.report.words import chance_words, signed

if TYPE_CHECKING:
    from caddiebrain.insight.bag import BagChoice
    from caddiebrain.insight.hours import HoursSplit
    from caddiebrain.insight.practice import PracticeReport

__all__ = ["bag_page", "practice_page"]


def _table(*columns: str) -> Table:
    """A plain table, its first column to the left."""
    table = Table(box=None, pad_edge=False, padding=(0, 1, 0, 0), collapse_padding=True, header_style="bold")
    for i, heading in enumerate(columns):
        table.add_column(heading, justify="right" if i else "left", no_wrap=i == 0)
    return table


def practice_page(record: "PracticeReport") -> RenderableType:
    """Lay out what to practise, most useful first, and how to split the hours.

    Parameters
    ----------
    record : PracticeReport
    """
    table = _table("skill", "by", "strokes", f"{record.target} or better")
    for row in record.priorities:
        table.add_row(
            row.skill, row.improvement_words, signed(row.strokes, "+.2f"), signed(row.chance, "+.1%")
        )
    best = [Text(row.words) for row in record.priorities[:3]]
    return Group(
        Text(
            f"{record.target} or better: {chance_words(record.chance)} rounds now, "
            f"{record.expected_score:.1f} on average."
        ),
        Text("The same effort put into one thing at a time, to first order:", style="bold"),
        *best,
        Text(),
        table,
        *(() if record.hours is None else _hours(record.hours)),
        Text(),
        Text(_SWING, style="dim"),
    )


_SWING = (
    "What counts as the same effort is a judgement; `efforts` in the library changes it. How to swing is for a "
    "licensed coach, and whatever hurts for a doctor."
)


def _hours(split: "HoursSplit") -> tuple[RenderableType, ...]:
    table = _table("skill", "hours a week", "of its improvement", "brings")
    for row in split.skills:
        table.add_row(row.skill, f"{row.hours:.1f}", f"{row.share:.0%}", _gain(split.unit, row.gain))
    total = Text(f"in all {_gain(split.unit, split.gain)}")
    return Text(), Text("How to split the hours", style="bold"), table, total


def _gain(unit: str, gain: float) -> str:
    return signed(gain, "+.1%") if unit == "chance" else f"{signed(gain, '+.2f')} strokes"


def bag_page(record: "BagChoice") -> RenderableType:
    """Lay out the clubs to carry and what each is worth.

    Parameters
    ----------
    record : BagChoice
    """
    table = _table("club", "strokes a round without it", "full shots a round")
    for row in record.clubs:
        table.add_row(row.club, f"{row.worth:.3f}", f"{row.uses:.1f}")
    return Group(
        Text(record.words, style="bold"),
        Text(
            f"Expected score {record.expected:.3f} with these, {record.expected_all:.3f} with every club owned."
        ),
        Text(),
        table,
        Text(
            f"{record.proposals} bags proposed by the program, {record.exchanges} exchanges solved: {record.status}. "
            "The putter comes on top.",
            style="dim",
        ),
    )
