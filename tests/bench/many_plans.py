"""200 plans, 20 players on 10 courses, through one process, two, and a dask cluster of two: the same, and how fast?

An 18-hole plan on the usual grid costs some 25 seconds of one processor, and 200 of them over an hour. Here
eight courses have one plain hole, one has two and one three, the players carry six clubs, and 190 of the plans are
made on a grid too coarse for any figure; the last ten, one hole each, on the grid that users get. What is measured is
the way jobs go out and come back.

    python tests/bench/many_plans.py [plans]
"""

import sys
import time
from collections.abc import Callable
from concurrent.futures import Executor, ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import caddiebrain as cb
from caddiebrain.course import course_from_document
from caddiebrain.course.model import Course
from caddiebrain.hole import GridSpec

COARSE = GridSpec(
    cell=2.0, spot=4.0, near_spot=2.0, lattice=30.0, sparse_lattice=45.0, near_lattice=18.0, wood_lattice=18.0,
    putt_step_ft=1.0, screen_points=(8, 3), points=(13, 5), tee_points=(21, 5),
)  # fmt: skip
CLUBS = ("driver", "5-wood", "6-iron", "8-iron", "pitching wedge", "sand wedge")
FINE = 10
"""Plans on the usual grid."""


def hole(number: int, length: int) -> dict[str, Any]:
    """A plain hole by numbers."""
    wide = {"number": number, "par": 3 if length < 220 else 4, "stroke_index": number, "length": length}
    around = [{"at": "front left"}, {"at": "right"}]
    water = {"kind": "water", "side": "right", "from": 60, "to": 110, "offset": 10, "width": 20}
    fairway = [{"from": 40, "to": length - 20, "width": 30}]
    green = {"depth": 28, "width": 24, "around": around}
    return wide | {"green": green, "fairway": fairway, "features": [water]}


def jobs(n: int) -> list[cb.PlanJob]:
    """Players of index 0 to 28 on ten courses: eight of one hole, one of two, one of three."""
    courses = []
    for i in range(10):
        lengths = [125 + 30 * i, 140, 150][: 3 if i == 9 else 2 if i == 8 else 1]
        holes = [hole(number, length) for number, length in enumerate(lengths, start=1)]
        form = {"format": "holes-by-numbers", "schema_version": 1, "name": f"course {i}", "holes": holes}
        courses.append(course_from_document(form))
    players = [cb.Level(handicap_index=1.5 * i, clubs=CLUBS).player() for i in range(20)]
    made = [cb.PlanJob(course, player, course.par + 1) for player in players for course in courses]
    return made[:n]


def run(name: str, executor: Executor, n: int) -> tuple[float, dict[str, bytes]]:
    """Plan them all; seconds, and the files that were written."""
    made = jobs(n)
    fine = [
        cb.PlanJob(Course("one", job.course.holes[:1]), job.player, 5) for job in made[:: len(made) // FINE]
    ]
    with TemporaryDirectory() as directory:
        start = time.perf_counter()
        results = list(cb.plan_many(made[FINE:], executor, grid=COARSE, directory=directory))
        results += cb.plan_many(fine[:FINE], executor, directory=directory)
        seconds = time.perf_counter() - start
        files = {path.name: path.read_bytes() for path in Path(directory).iterdir()}
    failed = [str(result.error) for result in results if not result.ok]
    working = sum(result.seconds for result in results)
    print(
        f"{name:<28}{len(results):>5} plans in {seconds:6.1f} s, {len(results) / seconds:5.2f} a second; "
        f"the workers worked {working:6.1f} s; {len(failed)} failed",
        flush=True,
    )
    return seconds, files


def main(n: int) -> None:
    context = get_context("spawn")
    found = []
    for name, processes in (("pool of one process", 1), ("pool of two processes", 2)):
        with ProcessPoolExecutor(processes, mp_context=context) as pool:
            warm(pool, processes)
            found.append(run(name, pool, n))
    from distributed import Client, LocalCluster

    with (
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,
        Client(cluster) as client,
    ):
        pool = client.get_executor()
        warm(pool, 2)
        found.append(run("dask cluster of two workers", pool, n))
    (one, first), *others = found
    print(f"identical files: {all(files == first for _, files in others)}")
    for name, (seconds, _) in zip(("two processes", "dask"), others, strict=True):
        print(f"{name}: {one / seconds:.2f} times as fast as one process")


def warm(pool: Executor, workers: int) -> None:
    """Let the workers start and import before the clock does."""
    wait: Callable[[float], None] = time.sleep
    job = jobs(1)
    list(cb.plan_many(job * workers, pool, grid=COARSE))
    list(pool.map(wait, [0.5] * workers))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
