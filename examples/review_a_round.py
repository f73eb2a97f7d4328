"""A round as it was played against its plan: what the choices cost, what the strokes cost, what to take home."""

from pathlib import Path

import caddiebrain as cb
from caddiebrain.report.insight_text import as_text, review_page

ROUND = Path(__file__).parent / "demo_round.json"


def page(plan: cb.RoundPlan) -> str:
    """Review the demo round."""
    return as_text(review_page(cb.review(plan, ROUND)))


if __name__ == "__main__":
    print(page(cb.plan_round(cb.demo.course(), cb.demo.player(), target=79)))
