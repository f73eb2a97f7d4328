"""How long a book takes once its plan is made, and how large it is. Prints seconds and megabytes.

The distribution of totals is the plan's own and made once, for the book or for `RoundPlan.record`; it stands apart.
"""

import sys
import time

import caddiebrain as cb
from caddiebrain.insight.book import book_of
from caddiebrain.report.book import book_page


def main() -> None:
    plan = cb.plan_round(cb.demo.course(), cb.demo.player(), target=79)
    start, used = time.perf_counter(), time.process_time()
    plan.record()
    sys.stdout.write(f"{'plan.record()':16s} once  {time.perf_counter() - start:5.2f} s")
    sys.stdout.write(f"   processor time {time.process_time() - used:5.2f} s\n")
    spent = []
    for _ in range(5):
        start, used = time.perf_counter(), time.process_time()
        record = book_of(plan)
        between = time.perf_counter()
        text = book_page(record, plan.course)
        end = time.perf_counter()
        spent.append((end - start, between - start, end - between, time.process_time() - used))
    for name, column in zip(
        ("in all", "record", "page", "processor time"), zip(*spent, strict=True), strict=True
    ):
        first, best = column[0], min(column)
        sys.stdout.write(f"{name:16s} first {first:5.2f} s   best of five {best:5.2f} s\n")
    sys.stdout.write(f"{'size':16s} {len(text.encode()) / 1e6:.2f} MB for {len(plan.holes)} holes\n")


if __name__ == "__main__":
    main()
