"""What keeping double bogeys off the card costs, for a terminal, from finished records."""

from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from caddiebrain.report.words import CAUTIONS, aim_in_short, in_hundred, tenths_in_hundred

if TYPE_CHECKING:
    from caddiebrain.insight.disasters import Coin, DisasterFrontier, DisasterLimit, RoundDisasterLimit

__all__ = ["hole_doubles_page", "round_doubles_page"]


def _table(*numbers: str, words: str) -> Table:
    """A plain table: columns of numbers, then one of words."""
    table = Table(box=None, pad_edge=False, padding=(0, 1, 0, 0), collapse_padding=True, header_style="bold")
    for heading in numbers:
        table.add_column(heading, justify="right")
    table.add_column(words)
    return table


def hole_doubles_page(curve: "DisasterFrontier", limit: "DisasterLimit | None" = None) -> RenderableType:
    """Lay out the ways to play one hole, from the lowest score to the fewest disasters.

    Parameters
    ----------
    curve : DisasterFrontier
    limit : DisasterLimit, optional
        Said first.
    """
    table = _table("score", "double or worse", words="off the tee")
    for point in curve.points:
        chance = f"{point.double_bogey_or_worse:.2%}"
        table.add_row(f"{point.expected:.3f}", chance, aim_in_short(point.tee_choice))
    return Group(
        *(() if limit is None else _limit(limit)),
        Text(f"Hole {curve.hole}, par {curve.par}: no way to play beats one of these at both", style="bold"),
        table,
        _cautions(),
    )


def _limit(limit: "DisasterLimit") -> tuple[Text, ...]:
    lines = [Text(limit.words, style="bold")]
    if limit.coins:
        lines.append(
            Text(
                f"(A choice by lot at one place would meet the limit exactly on average, at {limit.expected:.3f} "
                f"strokes: {limit.coins[0].where}, {_lots(limit.coins[0])}. Always as above it is "
                f"{limit.usable_expected:.3f} and {tenths_in_hundred(limit.usable_chance)} in 100.)"
            )
        )
    return (*lines, Text())


def _lots(coin: "Coin") -> str:
    """Say how often each choice would be made."""
    return ", ".join(f"{aim_in_short(choice)} {in_hundred(share)} in 100" for choice, share in coin.shares)


def round_doubles_page(limit: "RoundDisasterLimit") -> RenderableType:
    """Lay out where a round's limit on double bogeys is met, and at what cost.

    Parameters
    ----------
    limit : RoundDisasterLimit
    """
    table = _table("hole", "score", "limited", "doubles", "limited", words="off the tee")
    for hole in limit.holes:
        table.add_row(
            str(hole.hole),
            f"{hole.expected_free:.2f}",
            f"{hole.expected:.2f}",
            tenths_in_hundred(hole.chance_free),
            tenths_in_hundred(hole.chance),
            _tee_words(aim_in_short(hole.tee_choice_free), aim_in_short(hole.tee_choice)),
        )
    return Group(
        Text(limit.words, style="bold"),
        Text(
            f"Playing for the score: {limit.expected_free:.2f} strokes; with the limit: "
            f"{limit.usable_expected:.2f}. Strokes are given up only where they buy most."
        ),
        Text(),
        table,
        Text("doubles: double bogeys or worse in 100 plays of the hole.", style="dim"),
        _cautions(),
    )


def _tee_words(now: str, then: str) -> str:
    return now if now == then else f"{then}; was {now}"


def _cautions() -> RenderableType:
    return Group(Text(), Text("\n".join(CAUTIONS), style="dim"))
