"""Keeping double bogeys off the card: what it costs on one hole, and over a round."""

import caddiebrain as cb
from caddiebrain.insight import DisasterFrontier, DisasterLimit, RoundDisasterLimit


def ask(plan: cb.RoundPlan) -> tuple[DisasterFrontier, DisasterLimit, RoundDisasterLimit]:
    """Cap double bogeys or worse on the hole that makes most of them, and over the round."""
    worst = max(plan.holes, key=lambda hole: hole.double_bogey_or_worse)
    curve = cb.disaster_frontier(plan, worst.number)
    cap = 0.5 * (curve.points[0].double_bogey_or_worse + curve.points[-1].double_bogey_or_worse)
    one = cb.limit_disasters(plan, worst.number, cap)
    many = sum(hole.double_bogey_or_worse for hole in plan.holes)
    return curve, one, cb.limit_disasters_of_round(plan, 0.95 * many)


def page(curve: DisasterFrontier, one: DisasterLimit, whole: RoundDisasterLimit) -> str:
    """Write the answers down."""
    lines = [
        f"Hole {one.hole}: strokes on average, chance of double bogey or worse, off the tee",
        *(f"  {p.expected:.3f}  {p.double_bogey_or_worse:.1%}  {p.tee_choice}" for p in curve.points),
        one.words,
        f"  the cap {one.cap:.3f} is met exactly at {one.expected:.4f} strokes by tossing a coin "
        f"({one.coins[0].where if one.coins else 'nowhere'});",
        f"  without a coin {one.usable_expected:.4f} strokes and {one.usable_chance:.4f}; {one.status}, "
        f"bound {one.bound:.4f}",
        whole.words,
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    print(page(*ask(cb.plan_round(cb.demo.course(), cb.demo.player(), target=79))))
