"""How long a made plan takes to answer: options, compare, press, a review, break-evens. Prints milliseconds."""

import sys
import time
from collections.abc import Callable
from pathlib import Path

import caddiebrain as cb

ROUND = Path(__file__).parents[2] / "examples" / "demo_round.json"


def best_of(call: Callable[[], object], times: int) -> float:
    """Shortest of several calls, milliseconds."""
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        call()
        spent.append(time.perf_counter() - start)
    return 1000.0 * min(spent)


def main() -> None:
    plan = cb.plan_round(cb.demo.course(), cb.demo.player(), target=79)
    cases: dict[str, tuple[Callable[[], object], int]] = {
        "options, 7th tee": (lambda: plan.options(7, (0.0, 0.0)), 9),
        "options, 165 yards, rough": (lambda: plan.options(7, to_pin=165.0, lie="rough"), 9),
        "compare, 7th tee": (lambda: cb.compare(plan, 7, "4-hybrid", "driver"), 9),
        "compare, 165 yards, rough": (
            lambda: cb.compare(plan, 7, "7-iron", "6-iron", to_pin=165, lie="rough"),
            9,
        ),
        "press, 17th tee": (lambda: cb.press(plan, 17, standing=8), 5),
        "review of 18 holes": (lambda: cb.review(plan, ROUND), 3),
        "break-evens, all questions": (lambda: cb.break_evens(plan, 7, "4-hybrid", "driver"), 1),
    }
    for name, (call, times) in cases.items():
        sys.stdout.write(f"{name:28s} {best_of(call, times):8.1f} ms\n")


if __name__ == "__main__":
    main()
