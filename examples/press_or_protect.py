"""The closing holes of a round for 79: when to protect, when to press, and how many strokes there are to spare.

Made before the round such pages may be carried; asking a program for a club during one is a breach of Rule 4.3a.
"""

import caddiebrain as cb
from caddiebrain.report.insight_text import as_text, press_page


def page(plan: cb.RoundPlan) -> str:
    """Lay out three moments of the closing holes."""
    moments = (
        ("ON THE 14TH TEE, TWO TO SPARE", cb.press(plan, hole=14, standing=5)),
        ("ON THE 17TH TEE, NEEDING A BIRDIE", cb.press(plan, hole=17, standing=8)),
        ("ON THE 18TH TEE, A BOGEY TO SPARE", cb.press(plan, hole=18, standing=6)),
    )
    return "\n\n".join(f"{title}\n\n{as_text(press_page(moment))}" for title, moment in moments)


if __name__ == "__main__":
    print(page(cb.plan_round(cb.demo.course(), cb.demo.player(), target=79)))
