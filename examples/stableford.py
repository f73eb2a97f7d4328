"""Stableford off the course handicap, a match against an equal, and what playing for strokes would lose."""

import caddiebrain as cb
from caddiebrain.round import FormatPlan


def ask(plan: cb.RoundPlan) -> tuple[int, FormatPlan, FormatPlan, FormatPlan]:
    """Plan Stableford and match play on a plan's course."""
    handicap = cb.course_handicap(9.0, slope=125, rating=71.8, par=plan.course.par)
    mean = cb.plan_format(plan, cb.Stableford(), handicap=handicap)
    goal = cb.plan_format(plan, cb.Stableford(), handicap=handicap, target=36)
    match = cb.plan_format(plan, cb.MatchPlay([hole.score_pmf for hole in plan.holes]))
    return handicap, mean, goal, match


def page(handicap: int, mean: FormatPlan, goal: FormatPlan, match: FormatPlan) -> str:
    """Write the answers down."""
    won, halved, lost = match.match
    lines = [
        f"Stableford off {handicap}: {mean.value:.2f} points on average, {mean.value_strokes_policy:.2f} when playing "
        "for the lowest score.",
        f"36 points or more: {goal.value:.1%} when playing for them, {mean.chance(36):.1%} for the most on average, "
        f"{goal.value_strokes_policy:.1%} for the lowest score.",
        "Tee choices that depend on the points so far, playing for 36:",
        *_switches(goal.record()),
        f"A match against the same player, who plays for the lowest score: {won:.1%} won, {halved:.1%} halved, "
        f"{lost:.1%} lost.",
        "Tee choices that depend on the match:",
        *_switches(match.record()),
    ]
    return "\n".join(lines)


def _switches(record: cb.round.FormatRecord, most: int = 4) -> list[str]:
    """Lines for the holes where the club on the tee depends on the result so far."""
    lines = []
    for hole in record.holes:
        runs: list[tuple[int, int, str]] = []
        for one in hole.tee_choices:
            club = one.choice.split(" ", 1)[0]
            if runs and runs[-1][2] == club:
                runs[-1] = (runs[-1][0], one.to_result, club)
            else:
                runs.append((one.from_result, one.to_result, club))
        if 1 < len(runs) <= most:
            parts = (f"{low} to {high} {club}" if low < high else f"{low} {club}" for low, high, club in runs)
            lines.append(f"  hole {hole.number}: {', '.join(parts)}")
    return lines or ["  none"]


if __name__ == "__main__":
    print(page(*ask(cb.plan_round(cb.demo.course(), cb.demo.player(), target=79))))
