"""How sure a tee choice is, for a terminal, from its finished record."""

from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

if TYPE_CHECKING:
    from caddiebrain.round.confidence import Confidence

__all__ = ["confidence_page"]


def confidence_page(found: "Confidence") -> RenderableType:
    """Lay out the two best clubs off a tee and what the records say of them.

    Parameters
    ----------
    found : Confidence
    """
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column(f"hole {found.hole}, off the tee")
    table.add_column("on record", justify="right")
    for label in (found.choice, found.other):
        shots = found.shots_on_record[label]
        count = f"{shots:.0f} shot{'' if round(shots) == 1 else 's'}"
        table.add_row(label, count if shots else "none of its own")
    about = (
        f"On your patterns as fitted the {found.choice} leads by {found.lead_strokes:.3f} strokes; it stays best for "
        f"{found.stays_best:.0%} of {found.draws} players drawn. What follows the tee shot is as planned."
    )
    return Group(Text(found.sentence, style="bold"), table, Text(about))
