"""Why the plan leaves the driver in the bag on a narrow par 4, what would change that, and a punch-out weighed."""

import caddiebrain as cb
from caddiebrain.insight import BreakEvens, Comparison
from caddiebrain.report.insight_text import as_text, break_evens_page, compare_page


def ask(plan: cb.RoundPlan) -> tuple[Comparison, BreakEvens, Comparison]:
    """Ask a plan for the demo course about two choices."""
    layup = cb.compare(plan, hole=7, first="4-hybrid", second="driver")
    tips = cb.break_evens(
        plan, hole=7, first="4-hybrid", second="driver", questions=("fairway", "spread", "wind")
    )
    punch = cb.compare(
        plan,
        hole=3,
        first="punch",
        second="low 6-iron",
        position=(-30.0, 227.0),
        lie="trees",
        strokes_on_hole=1,
    )
    return layup, tips, punch


def page(layup: Comparison, tips: BreakEvens, punch: Comparison) -> str:
    """Write the answers down."""
    pages = (
        "THE NARROW PAR 4",
        as_text(compare_page(layup)),
        "WHAT WOULD CHANGE IT",
        as_text(break_evens_page(tips)),
        "OUT OF THE TREES",
        as_text(compare_page(punch)),
    )
    return "\n\n".join(pages)


if __name__ == "__main__":
    print(page(*ask(cb.plan_round(cb.demo.course(), cb.demo.player(), target=79))))
