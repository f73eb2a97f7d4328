"""The closing holes of a round for 79: when to protect, when to press, and how many strokes there are to spare.

Made before the round such pages may be carried; asking a program for a club during one is a breach of Rule 4.3a.
"""

import caddiebrain as cb
from caddiebrain.insight import Press
from caddiebrain.report.insight_text import as_text, press_page

TITLES = (
    "ON THE 14TH TEE, FOUR TO SPARE",
    "ON THE 17TH TEE, NEEDING A BIRDIE",
    "ON THE 18TH TEE, A BOGEY TO SPARE",
)


def ask(plan: cb.RoundPlan) -> tuple[Press, ...]:
    """Ask about three moments of the closing holes."""
    return tuple(
        cb.press(plan, hole=hole, standing=standing) for hole, standing in ((14, 3), (17, 8), (18, 6))
    )


def page(*moments: Press) -> str:
    """Write the answers down."""
    laid_out = zip(TITLES, moments, strict=True)
    return "\n\n".join(f"{title}\n\n{as_text(press_page(moment))}" for title, moment in laid_out)


if __name__ == "__main__":
    print(page(*ask(cb.plan_round(cb.demo.course(), cb.demo.player(), target=79))))
