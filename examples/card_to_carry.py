"""A plan on a card: a few rules, a line for each hole, and what leaving the rest out costs."""

from dataclasses import replace

import caddiebrain as cb
from caddiebrain.insight import CarryCard
from caddiebrain.report.carry_text import carry_page
from caddiebrain.report.insight_text import as_text


def ask(plan: cb.RoundPlan) -> tuple[CarryCard]:
    """Compress a plan into at most twelve rules."""
    return (cb.carry_card(plan, rules=12),)


def page(card: CarryCard) -> str:
    """Write the card down, and what shorter ones would cost."""
    steps = ", ".join(f"{step.rules}: {step.expected:.2f}" for step in card.by_rules)
    return f"{as_text(carry_page(card))}\n\nStrokes a round by the number of rules\n{steps}"


if __name__ == "__main__":
    course = cb.demo.course()
    last = replace(course, holes=course.holes[-3:])  # the last three holes, not to make anyone wait
    print(page(*ask(cb.plan_round(last, cb.demo.player(), target=13))))
