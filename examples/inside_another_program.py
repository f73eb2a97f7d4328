"""The engine inside another program, here a club's: every member's chance in Saturday's par-3 challenge on the 12th."""

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from tempfile import TemporaryDirectory

import caddiebrain as cb
from caddiebrain.course.model import Course

HEATH = Path(__file__).parents[1] / "course_specs" / "heath_by_numbers.json"
MEMBERS = {"ann": 6.0, "bo": 18.5}  # handicap indexes, from the club's own records

if __name__ == "__main__":
    hole = Course("Saturday's challenge", (cb.load_course(HEATH).hole(12),))
    jobs = (cb.PlanJob(hole, cb.Level(handicap_index=index), target=3, id=m) for m, index in MEMBERS.items())
    with ThreadPoolExecutor(2) as engine, TemporaryDirectory() as kept:  # or any executor the program has
        for result in cb.plan_many(jobs, engine, directory=kept):
            if result.record is None:
                print(result.key, result.error)
                continue
            tee = result.record.holes[0].tee_choice
            print(f"{result.key}: par or better {result.record.chance:.0%}; {tee.label}, {tee.aim_words}")
