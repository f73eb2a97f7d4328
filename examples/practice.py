"""What to practise for more rounds under 80, and how to split four hours a week."""

import caddiebrain as cb
from caddiebrain.insight import PracticeReport


def ask(plan: cb.RoundPlan) -> tuple[PracticeReport]:
    """Rank what to practise for a plan's target."""
    return (cb.practice_priorities(plan, weekly_hours=4.0),)


def page(report: PracticeReport) -> str:
    """Write the ranking down."""
    lines = [
        f"{report.target} or better: {report.chance:.1%} of rounds now, {report.expected_score:.1f} on average.",
        "The same effort put into one thing at a time brings, to first order:",
        *(f"  {p.words}" for p in report.priorities),
    ]
    if report.hours is not None:  # only where hours were named
        lines += [
            "Four hours a week, under the usual learning curves:",
            *(
                f"  {row.skill}: {row.hours:.1f} h, {row.share:.0%} of its improvement, {row.gain:+.1%}"
                for row in report.hours.skills
            ),
            f"  in all {report.hours.gain:+.1%} rounds of {report.target} or better",
        ]
    return "\n".join(lines)


if __name__ == "__main__":
    print(page(*ask(cb.plan_round(cb.demo.course(), cb.demo.player(), target=79))))
