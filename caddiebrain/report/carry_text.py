"""A card for the pocket, on one screen or one sheet, from its finished record."""

from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from caddiebrain.report.words import AIMS, CAUTIONS

if TYPE_CHECKING:
    from caddiebrain.insight.records_carry import CardHoleLine, CarryCard

__all__ = ["carry_page"]


def carry_page(record: "CarryCard") -> RenderableType:
    """Lay out a card: what it costs, the rules, what to do otherwise, and one line for each hole.

    Parameters
    ----------
    record : CarryCard
    """
    head = Text(f"{record.course}. Player: {record.player}.")
    rules = Table.grid(padding=(0, 1, 0, 0))
    for i, rule in enumerate(record.rules, start=1):
        rules.add_row(f"{i:>2}.", Text(rule.words), Text(f"{rule.saves:z.2f}", style="dim"))
    above = (Text("Rules; beside each, the strokes a round it saves", style="bold"), rules, Text())
    otherwise = [Text(f"    {line}") for line in record.otherwise]
    return Group(
        head,
        Text(record.sentence, style="bold"),
        Text(),
        *(above if record.rules else ()),
        Text("Otherwise" if record.rules else "Everywhere", style="bold"),
        *otherwise,
        Text(),
        _holes(record),
        Text(
            "score: expected by this card; dearer: than by the whole plan. over: strokes over par on that tee.\n"
            f"{AIMS}"
        ),
        Text(),
        Text("\n".join(CAUTIONS), style="dim"),
    )


def _holes(record: "CarryCard") -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 1, 0, 0), collapse_padding=True, header_style="bold")
    for heading, left in (("hole", False), ("par", False), ("yds", False), ("what to do", True)):
        table.add_column(heading, justify="left" if left else "right", vertical="top")
    for heading in ("score", "dearer"):
        table.add_column(heading, justify="right", no_wrap=True, vertical="top")
    for hole in record.holes:
        table.add_row(*_cells(hole))
    return table


def _cells(hole: "CardHoleLine") -> tuple[str, ...]:
    return (
        f"{hole.number}",
        f"{hole.par}",
        f"{hole.length_yd:.0f}",
        hole.words,
        f"{hole.expected:.2f}",
        f"{hole.cost:z.2f}",
    )
