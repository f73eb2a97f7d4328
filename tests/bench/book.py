"""How long a book takes of a plan as `plan_round` hands it over, and how large it is. Prints seconds and megabytes.

Every turn takes another copy of the plan, on which nothing has been asked before. The plan's distribution of totals
under its target policy is the last thing `plan_round` works out; what that takes of the plan's time is printed too.
"""

import pickle
import sys
import time
from collections.abc import Sequence

import caddiebrain as cb
from caddiebrain.insight.book import book_of
from caddiebrain.report.book import book_page
from caddiebrain.round.flow import total_pmf

_TURNS = 5


def main() -> None:
    made = cb.plan_round(cb.demo.course(), cb.demo.player(), target=79)
    kept = pickle.dumps(made)
    size, spent = 0, []
    for _ in range(_TURNS):
        size, *seconds = _turn(kept)
        spent.append(seconds)
    names = ("book of a plan", "  processor time", "  record", "  page")
    for name, column in zip(names, zip(*spent, strict=True), strict=True):
        _say(name, column)
    again = []
    for _ in range(_TURNS):
        used = time.process_time()
        total_pmf(made.holes, made.target)
        again.append(time.process_time() - used)
    _say("within the plan", again)
    sys.stdout.write(f"{'size':16s} {size / 1e6:.2f} MB for {len(made.holes)} holes\n")


def _turn(kept: bytes) -> tuple[int, float, float, float, float]:
    """Bytes of the page, and seconds: in all, of processor time, for the record, for the page."""
    plan: cb.RoundPlan = pickle.loads(kept)
    start, used = time.perf_counter(), time.process_time()
    record = book_of(plan)
    between = time.perf_counter()
    text = book_page(record, plan.course)
    end = time.perf_counter()
    return len(text.encode()), end - start, time.process_time() - used, between - start, end - between


def _say(name: str, seconds: Sequence[float]) -> None:
    sys.stdout.write(f"{name:16s} first {seconds[0]:5.2f} s   best of {len(seconds)} {min(seconds):5.2f} s\n")


if __name__ == "__main__":
    main()
