"""Why the plan leaves the driver in the bag on a narrow par 4, what would change that, and a punch-out weighed."""

import caddiebrain as cb
from caddiebrain.report.insight_text import as_text, break_evens_page, compare_page


def page(plan: cb.RoundPlan) -> str:
    """Explain two choices of a plan for the demo course."""
    layup = cb.compare(plan, hole=7, first="4-hybrid", second="driver")
    tips = cb.break_evens(
        plan, hole=7, first="4-hybrid", second="driver", questions=("fairway", "spread", "wind")
    )
    wood = {"position": (-30.0, 227.0), "lie": "trees", "strokes_on_hole": 1}
    punch = cb.compare(plan, hole=3, first="punch", second="low 6-iron", **wood)
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
    print(page(cb.plan_round(cb.demo.course(), cb.demo.player(), target=79)))
