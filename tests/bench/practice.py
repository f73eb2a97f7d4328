"""How long practice priorities take for a round already planned: ``python tests/bench/practice.py``.

Planning comes first and is timed apart.
"""

import time

import caddiebrain as cb


def main() -> None:
    """Plan the demo, then rank what to practise, twice."""
    start = time.perf_counter()
    plan = cb.plan_round(cb.demo.course(), cb.demo.player(), target=79)
    print(f"plan: {time.perf_counter() - start:.1f} s")
    for _ in range(2):
        wall, cpu = time.perf_counter(), time.process_time()
        cb.practice_priorities(plan, weekly_hours=4.0)
        seconds = time.perf_counter() - wall
        print(f"practice priorities: {seconds:.1f} s, processor {time.process_time() - cpu:.1f} s")


if __name__ == "__main__":
    main()
