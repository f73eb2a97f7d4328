"""A few threads for loops that let go of the interpreter's lock: the standard pool takes three times as long a call."""

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from itertools import pairwise
from queue import SimpleQueue
from threading import Thread
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Threads", "threads"]

MOST = 8
"""Threads at most: what they read comes from one memory."""

PIECES = 3
"""Shares a thread: one that starts late takes fewer."""

Share = tuple[int, int]


class Threads:
    """Shares work out among threads; the caller's own takes the last share."""

    def __init__(self, count: int) -> None:
        self.count = 1
        self._given: SimpleQueue[Callable[[], None] | None] = SimpleQueue()
        self._done: SimpleQueue[BaseException | None] = SimpleQueue()
        self._helpers: list[Thread] = []
        for _ in range(count - 1):
            helper = Thread(target=self._work, daemon=True)
            try:
                helper.start()
            except RuntimeError:  # no more to be had: fewer do
                break
            self._helpers.append(helper)
        self.count += len(self._helpers)

    def shares(self, stops: NDArray[np.int64]) -> list[Share]:
        """Cut a run of groups, the rows of each ending where the next begin, into shares of about as many rows."""
        cuts = np.searchsorted(stops, np.linspace(0, stops[-1], PIECES * self.count + 1))
        cuts[0], cuts[-1] = 0, len(stops) - 1
        return [(int(a), int(b)) for a, b in pairwise(cuts) if a < b]

    def run(self, loop: Callable[..., None], shares: list[Share], *given: Any) -> None:
        """Call ``loop(low, high, *given)`` for every share, and wait for all of them."""
        left = iter(shares)
        job = partial(_take, loop, left, given)
        for _ in self._helpers:
            self._given.put(job)
        try:
            job()
        finally:
            faults = [self._done.get() for _ in self._helpers]
        for fault in faults:
            if fault is not None:
                raise fault

    def end(self) -> None:
        """Let the threads go."""
        for _ in self._helpers:
            self._given.put(None)
        for helper in self._helpers:
            helper.join()

    def _work(self) -> None:
        while (job := self._given.get()) is not None:
            fault: BaseException | None = None
            try:
                job()
            except BaseException as error:  # the caller raises it
                fault = error
            self._done.put(fault)


def _take(loop: Callable[..., None], left: Iterator[Share], given: tuple[Any, ...]) -> None:
    """Take share after share while there are any."""
    for low, high in left:
        loop(low, high, *given)


@contextmanager
def threads() -> Iterator[Threads]:
    """Hand out a thread for each core that this process may use; they end with the context."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    team = Threads(min(cores, MOST))
    try:
        yield team
    finally:
        team.end()
