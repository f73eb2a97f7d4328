"""A round as it was played against its plan: what the choices cost, what the strokes cost, what to take home."""

from pathlib import Path

import caddiebrain as cb
from caddiebrain.insight import RoundReview
from caddiebrain.report.insight_text import as_text, review_page

ROUND = Path(__file__).parent / "demo_round.json"


def ask(plan: cb.RoundPlan) -> tuple[RoundReview]:
    """Hold the demo round against the plan."""
    return (cb.review(plan, ROUND),)


def page(review: RoundReview) -> str:
    """Write the review down."""
    return as_text(review_page(review))


if __name__ == "__main__":
    print(page(*ask(cb.plan_round(cb.demo.course(), cb.demo.player(), target=79))))
