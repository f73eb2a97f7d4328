"""Pages for a terminal, from finished records. No arithmetic: what is not in the record is not said."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from caddiebrain.report.words import (
    CAUTIONS,
    aim_in_short,
    chance_words,
    in_hundred,
    lie_words,
    score_words,
    standing_words,
    switch_words,
)

if TYPE_CHECKING:
    from caddiebrain.course.model import Course, Hole
    from caddiebrain.player.model import Player
    from caddiebrain.round import HolePlan, Option, PlanRecord

__all__ = ["course_page", "hole_page", "options_page", "player_page", "round_page"]


def _table(*columns: tuple[str, str]) -> Table:
    """A plain table; each column is a heading and ``left``, ``right`` or ``wrap``."""
    table = Table(box=None, pad_edge=False, padding=(0, 1, 0, 0), collapse_padding=True, header_style="bold")
    for heading, kind in columns:
        table.add_column(
            heading, justify="right" if kind == "right" else "left", no_wrap=kind != "wrap", vertical="top"
        )
    return table


def _cautions() -> Text:
    return Text("\n".join(CAUTIONS), style="dim")


def round_page(record: "PlanRecord") -> RenderableType:
    """Lay out a plan for 18 holes on one screen.

    Parameters
    ----------
    record : PlanRecord
    """
    head = Text.assemble(
        (f"{record.target} or better: {chance_words(record.chance)} with this plan", "bold"),
        f"; {chance_words(record.chance_expected_policy)} playing every hole for its average.\n",
        f"Expected score, playing for the average: {record.expected_score:.1f}.\n",
    )
    table = _table(
        ("hole", "right"),
        ("par", "right"),
        ("yards", "right"),
        ("off the tee", "left"),
        ("score", "right"),
        ("6+", "right"),
        ("change of club", "wrap"),
    )
    for hole in record.holes:
        table.add_row(
            f"{hole.number}",
            f"{hole.par}",
            f"{hole.length_yd:.0f}",
            f"{hole.tee_choice.label} {aim_in_short(hole.tee_choice.aim_words)}",
            f"{hole.expected_score:.2f}",
            in_hundred(hole.double_bogey_or_worse),
            "; ".join(switch_words(s.option.label, s.from_standing, s.to_standing) for s in hole.switches),
        )
    return Group(head, table, Text(), _cautions())
