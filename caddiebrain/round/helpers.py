"""The same work on many things, shared with processes beside this one.

Threads of one interpreter take turns between the thousands of small array operations of a hole, and two of them
were no quicker than one. The pools of the standard library begin by importing the caller's main module, which a
script without a guard around its last lines does not survive; a helper imports this package and nothing else.
"""

import contextlib
import logging
import os
import pickle
import signal
import subprocess
import sys
import threading
from collections import deque
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import Future
from queue import SimpleQueue
from typing import Any, Generic, TypeVar

from caddiebrain.errors import InputError, number_faults

__all__ = ["processes_for", "serve", "shared"]

A = TypeVar("A")
B = TypeVar("B")

_LOG = logging.getLogger("caddiebrain.round")
_START = """
import sys
sys.path[:] = {path}
import os
answers = os.dup(1)
os.dup2(2, 1)  # whatever prints must not print between the answers
from caddiebrain.round.helpers import serve
serve(answers)
os._exit(0)  # the thread that listens has nothing to say any more
"""
_MARK = "CADDIEBRAIN_HELPER"
"""Set in the environment of helpers: they start no others, nor does a program that is started in their place."""
_THREADS = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
"""Helpers have a processor each; threads of a linear algebra library would only wait for work on it."""
_MEMORY = {"MALLOC_TRIM_THRESHOLD_": str(256 * 2**20), "MALLOC_MMAP_THRESHOLD_": str(32 * 2**20)}
"""Linux gives memory of arrays back and asks for it anew, page by page; a helper keeps it as long as it lives."""
_READY = b"ready to work on holes\n"
_MOST = 4
_WORTH_A_HELPER = 3
"""Fewer holes than this for each process are done before a helper is awake."""


def processes_for(workers: int | None, holes: int) -> int:
    """How many processes to use: as many as asked for, else one for each processor, at most 4 and none idle.

    Raises
    ------
    InputError
        If what was asked for is no whole number from 1 on.
    """
    if workers is not None:
        faults = number_faults(
            "workers", workers, 1, 1024, "a whole number of processes, 1 or more", whole=True
        )
        if faults:
            raise InputError("processes", faults)
        return int(workers)
    return max(1, min(_MOST, os.cpu_count() or 1, holes // _WORTH_A_HELPER))


def _can_have_helpers() -> bool:
    """Whether a helper can be started that is no copy of the caller, and can die without taking it along."""
    own_python = bool(sys.executable) and not getattr(sys, "frozen", False) and _MARK not in os.environ
    pipe = getattr(signal, "SIGPIPE", None)
    return own_python and (pipe is None or signal.getsignal(pipe) != signal.SIG_DFL)


def shared(work: Callable[[A], B], items: Sequence[A], processes: int) -> Generator[B, None, None]:
    """Yield ``work(item)`` in order, worked out here and in helpers; what fails in a helper is done again here.

    Parameters
    ----------
    work : callable
        A function of a module of this package. It and the items are pickled.
    items : sequence
    processes : int
        Including this one, which works too.
    """
    job = _Job(work, items)
    try:
        for _ in range(min(processes, len(items)) - 1 if _can_have_helpers() else 0):
            with contextlib.suppress(RuntimeError):  # no more threads to be had
                threading.Thread(target=job.feed_helper, daemon=True).start()
        yield from job.results()
    finally:
        job.end()


class _Job(Generic[A, B]):
    """Items waiting to be worked out, and what has come of the others."""

    def __init__(self, work: Callable[[A], B], items: Sequence[A]) -> None:
        self.work, self.items = work, items
        self.waiting = deque(range(len(items)))
        self.found: list[Future[B]] = [Future() for _ in items]
        self.helpers: list[_Helper] = []
        self.ended = False

    def results(self) -> Iterator[B]:
        """Yield the results in order; work on what waits until the next is there."""
        for future in self.found:
            while not future.done() and (item := self._next()) is not None:
                self._do_here(item)
            yield future.result()

    def feed_helper(self) -> None:
        """Start a helper and give it items until none waits."""
        item: int | None = None
        helper: _Helper | None = None
        try:
            helper = _Helper()
            self.helpers.append(helper)
            if not self.ended:
                helper.wait_until_awake()
            while not self.ended and (item := self._next()) is not None:
                self.found[item].set_result(helper.run(self.work, self.items[item]))
        except Exception as error:  # whatever ails a helper, the work does not depend on it
            _LOG.debug("a helper is lost: %r", error)
            if item is not None and not self.ended:
                self._do_here(item)
        finally:
            # It may have come too late to be among those that were stopped.
            if self.ended and helper is not None:
                helper.stop()

    def end(self) -> None:
        """Let nothing new begin and stop the helpers."""
        self.ended = True
        self.waiting.clear()
        for helper in self.helpers:
            helper.stop()

    def _next(self) -> int | None:
        with contextlib.suppress(IndexError):
            return self.waiting.popleft()
        return None

    def _do_here(self, item: int) -> None:
        try:
            self.found[item].set_result(self.work(self.items[item]))
        except Exception as error:
            self.found[item].set_exception(error)


class _Helper:
    """A process that does what it is sent; its errors go nowhere, for the work is then done here."""

    def __init__(self) -> None:
        path = [entry for entry in sys.path if isinstance(entry, str)]
        self._process = subprocess.Popen(
            # -P: nothing of the working directory is imported in the place of a module of Python's own
            [sys.executable, "-P", "-c", _START.format(path=path)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=_MEMORY | os.environ | dict.fromkeys(_THREADS, "1") | {_MARK: "1"},
        )

    def wait_until_awake(self) -> None:
        """Wait for its first words; what never says them is given no work. Raises EOFError if it ends instead."""
        while self._process.stdout is not None:
            line = self._process.stdout.readline()
            if line == _READY:
                return
            if not line:
                break
        raise EOFError

    def run(self, work: Callable[[A], B], item: A) -> B:
        """Have one item worked out; blocks. Raises EOFError or OSError if the process has ended."""
        to, back = self._process.stdin, self._process.stdout
        if to is None or back is None:
            raise EOFError
        to.write(pickle.dumps((work, item), protocol=5))
        to.flush()
        found: B = pickle.load(back)
        return found

    def stop(self) -> None:
        """End the process, whatever it is doing."""
        self._process.kill()
        self._process.wait()
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                with contextlib.suppress(OSError):
                    pipe.close()


def serve(answers: int) -> None:
    """Work as a helper: take work from standard input, write what comes of it, end when the line is cut.

    Parameters
    ----------
    answers : int
        File descriptor to write to.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # an interrupt stops the caller, who then stops us
    asked: SimpleQueue[tuple[Callable[[Any], Any], Any]] = SimpleQueue()
    threading.Thread(target=_listen, args=(asked,), daemon=True).start()
    with contextlib.suppress(Exception), os.fdopen(answers, "wb") as line:
        line.write(_READY)
        line.flush()
        while True:
            work, item = asked.get()
            pickle.dump(work(item), line, protocol=5)
            line.flush()


def _listen(asked: "SimpleQueue[tuple[Callable[[Any], Any], Any]]") -> None:
    """Take work from standard input; end the process when the line is cut, for then nobody waits for an answer.

    A caller that was killed could not stop its helpers, and a hole takes a while.
    """
    with contextlib.suppress(Exception):
        while True:
            asked.put(pickle.load(sys.stdin.buffer))
    os._exit(0)
