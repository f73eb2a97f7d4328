"""Jobs of a fraction of a second: one short hole and few clubs, on a grid too coarse for any figure."""

import os
import time
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future
from typing import Any

import caddiebrain as cb
from caddiebrain.course.numbers import read_numbers
from caddiebrain.hole import GridSpec

BLUNT = GridSpec(
    cell=2.0, spot=4.0, near_spot=2.0, lattice=30.0, sparse_lattice=45.0, near_lattice=18.0, wood_lattice=18.0,
    putt_step_ft=1.0, screen_points=(8, 3), points=(13, 5), tee_points=(21, 5),
)  # fmt: skip
CLUBS = ("7-iron", "9-iron", "sand wedge")


def document(length: int = 150) -> dict[str, Any]:
    """A par 3 by numbers."""
    hole = {"number": 1, "par": 3, "stroke_index": 1, "length": length, "green": {"depth": 28, "width": 24}}
    return {"format": "holes-by-numbers", "schema_version": 1, "name": f"{length} yards", "holes": [hole]}


def job(length: int = 150, index: float = 11.0, **more: Any) -> cb.PlanJob:
    course = read_numbers(document(length), "short")
    return cb.PlanJob(course, cb.Level(handicap_index=index, clubs=CLUBS), 3, **more)


def jobs(n: int) -> list[cb.PlanJob]:
    """Jobs that all differ."""
    return [job(120 + 5 * (i // 2), 4.0 + 9.0 * (i % 2)) for i in range(n)]


class Deadly(dict[str, Any]):
    """A course that ends the process that reads it: once if it has a mark to leave; else always, after one is left."""

    def get(self, *key: Any) -> Any:
        mark, after = dict.get(self, "mark", ""), dict.get(self, "after", "")
        while after and not os.path.exists(after):
            time.sleep(0.01)
        if not mark or not os.path.exists(mark):
            if mark:
                open(mark, "x").close()
            os._exit(9)
        return super().get(*key)


class AtOnce(Executor):
    """Runs a job when it is handed over, and counts; breaks on the n-th."""

    def __init__(self, breaks_on: int = 0) -> None:
        self.breaks_on, self.handed_over, self.open = breaks_on, 0, True

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> "Future[Any]":
        self.handed_over += 1
        future: Future[Any] = Future()
        if self.breaks_on and self.handed_over >= self.breaks_on:
            if self.handed_over > self.breaks_on:
                raise BrokenExecutor("broken")
            future.set_exception(BrokenExecutor("broken"))
        else:
            future.set_result(fn(*args, **kwargs))
        return future

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        self.open = False


def counted(made: list[cb.PlanJob], taken: list[int]) -> Iterator[cb.PlanJob]:
    """Jobs one by one, noting how many were taken."""
    for one in made:
        taken.append(len(taken))
        yield one
