"""Work shared out among threads, for loops that let go of the interpreter's lock."""

import os
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from itertools import pairwise
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
    """Shares work out among threads, the caller's own being one of ``count``; each takes share after share."""

    def __init__(self, pool: ThreadPoolExecutor, count: int) -> None:
        self.count, self._pool = count, pool

    def shares(self, stops: NDArray[np.int64]) -> list[Share]:
        """Cut a run of groups, the rows of each ending where the next begin, into shares of about as many rows."""
        cuts = np.searchsorted(stops, np.linspace(0, stops[-1], PIECES * self.count + 1))
        cuts[0], cuts[-1] = 0, len(stops) - 1
        return [(int(a), int(b)) for a, b in pairwise(cuts) if a < b]

    def run(self, loop: Callable[..., None], shares: list[Share], *given: Any) -> None:
        """Call ``loop(low, high, *given)`` for every share, and wait for all of them."""
        left = iter(shares)
        others = [
            self._pool.submit(_take, loop, left, given) for _ in range(min(self.count, len(shares)) - 1)
        ]
        try:
            _take(loop, left, given)
        finally:
            faults = [other.exception() for other in others]
        for fault in faults:
            if fault is not None:
                raise fault


def _take(loop: Callable[..., None], left: Iterator[Share], given: tuple[Any, ...]) -> None:
    """Take share after share while there are any."""
    for low, high in left:
        loop(low, high, *given)


@contextmanager
def threads(count: int | None = None) -> Iterator[Threads]:
    """Hand out so many threads, by default one for each core this process may use; they end with the context."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    count = count or min(cores, MOST)
    with ThreadPoolExecutor(max(1, count - 1)) as pool:
        yield Threads(pool, count)
