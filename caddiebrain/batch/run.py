"""Jobs handed to an executor a few at a time, results taken back as they come.

At most ``window`` jobs are in the executor's hands at once, so jobs may be a generator of any length. A job that
fails says why and loses no other. A pool whose worker was killed says of every job in its hands that it broke; if
the pool can be made again, each of these is tried once more with nobody beside it, which finds the one at fault.
"""

import os
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator
from concurrent.futures import (
    FIRST_COMPLETED,
    BrokenExecutor,
    CancelledError,
    Executor,
    Future,
    ProcessPoolExecutor,
    wait,
)
from dataclasses import dataclass, field, replace
from multiprocessing import current_process, get_context
from typing import Literal

from caddiebrain.batch.job import Digests, PlanJob
from caddiebrain.batch.result import JobError, PlanResult, StoredPlan
from caddiebrain.batch.store import PlanStore
from caddiebrain.batch.worker import Outcome, error_of, plan_job
from caddiebrain.errors import InputError, kind_faults, number_faults
from caddiebrain.hole import GridSpec
from caddiebrain.version import __version__

__all__ = ["plan_many"]

Order = Literal["given", "finished"]

_HELD = 4
"""Results that may wait for an earlier one, as a multiple of the window."""
_KILLED = (
    "its worker process ended, also with no job beside it; it may need more memory than there is, or the script has no "
    '`if __name__ == "__main__":` around its call'
)
_UNGUARDED = (
    "a call of plan_many in a worker that is still being started, which runs the script again",
    'the call under `if __name__ == "__main__":`, or an executor handed over',
)
_LOST = (
    "the executor broke, most likely because a worker process was killed, and it is not ours to make again; "
    "run what is left with a fresh one, or hand over a function that makes it"
)


def plan_many(
    jobs: Iterable[PlanJob],
    executor: Executor | Callable[[], Executor] | None = None,
    *,
    directory: str | os.PathLike[str] | None = None,
    order: Order = "given",
    window: int | None = None,
    grid: GridSpec | None = None,
    whole: bool = False,
) -> Iterator[PlanResult]:
    """Plan many rounds on any executor.

    Each job takes one thread of one worker. Results come one by one while later jobs are still running; stop
    taking them and what has not begun is called off.

    Parameters
    ----------
    jobs : iterable of PlanJob
        Taken a few at a time; a generator will do.
    executor : concurrent.futures.Executor or callable, optional
        Where to run: a pool of processes, ``Client.get_executor()`` of dask.distributed, ... It stays open. A
        function that makes one lets a broken pool be made again. By default a pool of one process for each
        processor, started afresh (so a script needs its ``if __name__ == "__main__"``).
    directory : path-like, optional
        Where each finished plan is kept, in a file of its own, as soon as its result is taken. What is there already is
        not planned again.
    order : {"given", "finished"}
        In the order of the jobs, or as they finish.
    window : int, optional
        Jobs in the executor's hands at once; by default twice the processors for our own pool, else four times the
        processors and at least 16. For a cluster give two or more for each of its workers.
    grid : GridSpec, optional
        How finely holes are cut up.
    whole : bool
        Send whole plans back, too: tens of megabytes for each hole.

    Returns
    -------
    iterator of PlanResult
        One for each job.

    Raises
    ------
    InputError
        If the order, the window or the directory makes no sense.
    """
    if order not in ("given", "finished"):
        raise InputError.one("plan_many", "order", repr(order), '"given" or "finished"')
    faults = [] if window is None else number_faults("window", window, 1, 10**6, "1 or more", whole=True)
    if executor is not None and not callable(executor):
        kind = "an executor of concurrent.futures, or a function that makes one"
        faults += kind_faults("executor", executor, Executor, kind)
    if faults:
        raise InputError("plan_many", faults)
    processors = os.cpu_count() or 1
    wide = 2 * processors if executor is None else max(16, 4 * processors)
    store = None if directory is None else PlanStore(directory)
    pool = _Pool(executor if executor is not None else _own_pool, grid, whole)
    return _Run(jobs, pool, store, Digests(grid), order, window or wide).results()


def _own_pool() -> Executor:
    return ProcessPoolExecutor(os.cpu_count() or 1, mp_context=get_context("spawn"))


@dataclass
class _Item:
    """A job on its way, and others with the same content that wait for it."""

    index: int
    job: PlanJob
    key: str
    fingerprint: str
    followers: list["_Item"] = field(default_factory=list)


class _Pool:
    """An executor, and how to make it again."""

    def __init__(self, source: Executor | Callable[[], Executor], grid: GridSpec | None, whole: bool) -> None:
        self.make = None if isinstance(source, Executor) else source
        self.executor = source if isinstance(source, Executor) else None
        self.grid, self.whole = grid, whole

    def submit(self, job: PlanJob) -> "Future[Outcome]":
        """Hand over a job; raises BrokenExecutor or RuntimeError if the executor takes none."""
        if self.executor is None and self.make is not None:
            self.executor = self.make()
        if self.executor is None:
            raise BrokenExecutor(_LOST)
        return self.executor.submit(plan_job, job, self.grid, self.whole)

    def close(self) -> None:
        """Shut down an executor that we made; the next job makes another."""
        if self.make is not None and self.executor is not None:
            self.executor.shutdown(wait=True, cancel_futures=True)
            self.executor = None


class _Run:
    """One call of `plan_many`."""

    def __init__(
        self,
        jobs: Iterable[PlanJob],
        pool: _Pool,
        store: PlanStore | None,
        digests: Digests,
        order: Order,
        window: int,
    ) -> None:
        self.jobs = enumerate(jobs)
        self.pool, self.store, self.digests = pool, store, digests
        self.order, self.window = order, window
        self.running: dict[Future[Outcome], _Item] = {}
        self.by_content: dict[str, _Item] = {}
        self.broken: deque[_Item] = deque()
        self.ready: dict[int, PlanResult] = {}
        self.ids: set[str] = set()
        self.next, self.all_in = 0, False

    def results(self) -> Generator[PlanResult, None, None]:
        """Hand out results until every job has one."""
        try:
            while True:
                self._fill()
                yield from self._due()
                if self.running:
                    self._take()
                elif self.broken:
                    self._alone(self.broken.popleft())
                elif self.all_in and not self.ready:
                    return
        finally:
            for future in self.running:
                future.cancel()
            self.pool.close()

    def _due(self) -> Iterator[PlanResult]:
        if self.order == "finished":
            while self.ready:
                yield self.ready.pop(next(iter(self.ready)))
        while self.next in self.ready:
            self.next += 1
            yield self.ready.pop(self.next - 1)

    def _fill(self) -> None:
        """Hand over jobs while there is room, none while a pool lies broken."""
        while not self.all_in and not self.broken and self._room():
            try:
                index, job = next(self.jobs)
            except StopIteration:
                self.all_in = True
                return
            item = self._begin(index, job)
            if item is not None:
                self._hand_over(item)

    def _room(self) -> bool:
        followers = sum(len(item.followers) for item in self.running.values())
        return len(self.running) + followers < self.window and len(self.ready) < _HELD * self.window

    def _begin(self, index: int, job: PlanJob) -> _Item | None:
        """Look at a job; None if its result is known already, or another job will bring it."""
        try:
            faults = kind_faults("job", job, PlanJob, "PlanJob(course, player, target)")
            if faults:
                raise InputError("plan_many", faults)
            fingerprint = self.digests.of(job)
        except Exception as error:  # a file that is not there, a document JSON cannot hold, no job at all
            self.ready[index] = PlanResult(index, getattr(job, "id", ""), job, error=error_of(error))
            return None
        item = _Item(index, job, job.id or fingerprint, fingerprint)
        if job.id and job.id.casefold() in self.ids:
            twice = JobError("InputError", (f"job: id: found {job.id!r} again; expected an id of its own",))
            self.ready[index] = PlanResult(index, item.key, job, error=twice)
            return None
        if job.id:
            self.ids.add(job.id.casefold())
        stored = self.store.read(item.key, fingerprint) if self.store is not None else None
        if stored is not None:
            self.ready[index] = PlanResult(index, item.key, job, stored.plan, kept=True)
            return None
        first = self.by_content.get(fingerprint)
        if first is not None:
            first.followers.append(item)
            return None
        return item

    def _hand_over(self, item: _Item) -> None:
        try:
            future = self.pool.submit(item.job)
        except BrokenExecutor:
            self._broke(item)
        except RuntimeError as error:  # an executor that was shut down
            if getattr(current_process(), "_inheriting", False):  # what multiprocessing itself looks at
                raise InputError.one("plan_many", "script", *_UNGUARDED) from None
            self._finish(item, Outcome(error=error_of(error)))
        else:
            self.running[future] = item
            self.by_content[item.fingerprint] = item

    def _take(self) -> None:
        """Wait for a job or more and take what came of them."""
        for future in wait(self.running, return_when=FIRST_COMPLETED).done:
            item = self.running.pop(future)
            outcome = _outcome(future)
            if outcome is None:
                self._broke(item)
            else:
                self._finish(item, outcome)

    def _broke(self, item: _Item) -> None:
        """Keep a job for another try where the pool can be made again; else say that it is lost."""
        if self.pool.make is not None:
            self.pool.close()
            self.broken.append(item)
        else:
            self._finish(item, Outcome(error=JobError("BrokenExecutor", (_LOST,))))

    def _alone(self, item: _Item) -> None:
        """Try a job again with nobody beside it."""
        try:
            outcome = _outcome(self.pool.submit(item.job))
        except BrokenExecutor:
            outcome = None
        if outcome is None:
            self.pool.close()
        self._finish(item, outcome or Outcome(error=JobError("BrokenExecutor", (_KILLED,))))

    def _finish(self, item: _Item, outcome: Outcome) -> None:
        self.by_content.pop(item.fingerprint, None)
        for one in (item, *item.followers):
            result = PlanResult(
                one.index, one.key, one.job, outcome.record, outcome.error, outcome.plan, outcome.seconds
            )
            self.ready[one.index] = self._kept(result, one.fingerprint)

    def _kept(self, result: PlanResult, fingerprint: str) -> PlanResult:
        """Write a plan to the directory; say so where that fails."""
        if self.store is None or result.record is None:
            return result
        stored = StoredPlan(key=result.key, fingerprint=fingerprint, made_by=__version__, plan=result.record)
        try:
            if not (self.store.file(result.key).exists() and self.store.read(result.key, fingerprint)):
                self.store.write(stored)
        except OSError as error:
            return replace(result, error=error_of(error))
        return result


def _outcome(future: "Future[Outcome]") -> Outcome | None:
    """What came of a job; None if its pool broke."""
    try:
        return future.result()
    except BrokenExecutor:
        return None
    except (
        Exception,
        CancelledError,
    ) as error:  # an executor's own troubles: a lost worker, a closed cluster
        return Outcome(error=error_of(error))
