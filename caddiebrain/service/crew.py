"""The worker processes of a service, seen from outside: who is free, who waits, and stopping one for good."""

import asyncio
import contextlib
import signal
import threading
from collections.abc import AsyncIterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import asynccontextmanager
from dataclasses import dataclass
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any

from caddiebrain.service.settings import ServiceSettings
from caddiebrain.service.worker import READY, Reply, Task, work

__all__ = ["BusyError", "Crew", "LostError", "Member", "OverdueError"]

_START_SECONDS = 120.0
_KEEP_SECONDS = 60.0
"""Time to write a plan to disk."""


_OUT_OF_MEMORY = (-signal.SIGABRT, 127)
"""How a process ends when a library, or the loader of the C library, cannot go on for want of memory."""
_PATIENCE = 20
"""Times the first in line may be passed over."""


class BusyError(Exception):
    """As many requests wait as may."""


class OverdueError(Exception):
    """A task took longer than it may; its process has been stopped."""


class LostError(Exception):
    """A worker process ended by itself; ``out_of_memory`` where its libraries gave up for want of it."""

    def __init__(self, exit_code: int | None = None) -> None:
        self.out_of_memory = exit_code in _OUT_OF_MEMORY
        super().__init__(exit_code)


class Member:
    """One worker process; a new one takes the place of one that was stopped."""

    def __init__(self, settings: ServiceSettings) -> None:
        self.settings = settings
        self.has = ""
        """Key of the plan it has in hand."""
        self._process: BaseProcess | None = None
        self._line: Connection[Any, Any] | None = None
        self._ready = self._closing = False
        self._lock = threading.Lock()

    def start(self) -> None:
        """Start the process; returns at once. Raises LostError if the service is being stopped."""
        context = get_context("spawn")
        with self._lock:
            if self._closing:
                raise LostError
            self._line, other = context.Pipe()
            self._process = context.Process(target=work, args=(other, self.settings), daemon=True)
            self._process.start()
        other.close()
        self._ready, self.has = False, ""

    def close(self) -> None:
        """End the process and start no other; whoever waits for it is told that it is lost."""
        with self._lock:
            self._closing = True
            if self._process is not None:
                self._process.kill()

    def interrupt(self) -> None:
        """End the process; who waits for it is told that it is lost, and another is started."""
        with self._lock:
            if self._process is not None:
                self._process.kill()

    def run(self, task: Task) -> Reply:
        """Do a task; blocks.

        Raises
        ------
        OverdueError, LostError
            The process is gone and another is on its way.
        """
        if self._process is None or not self._process.is_alive():
            self.stop()
            self.start()
        if not self._ready:
            if self._receive(_START_SECONDS) != READY:
                raise LostError
            self._ready = True
        self._send(task)
        reply: Reply = self._receive(self.settings.seconds)
        self.has = task.key if reply.kind == "answer" else ""
        return reply

    def kept(self) -> int:
        """Wait until the plan just made has been written; return its bytes, 0 if it was not."""
        try:
            return int(self._receive(_KEEP_SECONDS))
        except (OverdueError, LostError):
            return 0

    def _send(self, task: Task) -> None:
        try:
            if self._line is not None:
                self._line.send(task)
        except OSError:
            raise self._lost() from None

    def _receive(self, seconds: float) -> Any:
        try:
            if self._line is not None and self._line.poll(seconds):
                return self._line.recv()
        except (EOFError, OSError):
            raise self._lost() from None
        self._again()
        raise OverdueError

    def _lost(self) -> LostError:
        """Say how the process ended, and start another."""
        code = None
        if self._process is not None:
            self._process.join(1.0)
            code = self._process.exitcode
        self._again()
        return LostError(code)

    def _again(self) -> None:
        self.stop()
        self.start()

    def stop(self) -> None:
        """End the process, whatever it is doing, and let go of it."""
        with self._lock:
            if self._process is not None:
                self._process.kill()
                self._process.join()
                self._process.close()
                self._process = None
        if self._line is not None:
            self._line.close()
            self._line = None

    @property
    def process_id(self) -> int | None:
        """Of the process; None if there is none."""
        return None if self._process is None else self._process.pid


@dataclass(eq=False)
class _Turn:
    """A place in the line: which plan it is for, and how often it was passed over."""

    key: str
    member: "asyncio.Future[Member]"
    passed_over: int = 0


class Crew:
    """All workers, and the line of those who wait for one.

    Parameters
    ----------
    settings : ServiceSettings
    """

    def __init__(self, settings: ServiceSettings) -> None:
        self.settings = settings
        self.members = [Member(settings) for _ in range(settings.workers)]
        self._free = list(self.members)
        self._line: list[_Turn] = []
        self.threads = ThreadPoolExecutor(settings.workers, thread_name_prefix="worker")

    @property
    def busy(self) -> int:
        """Workers at work."""
        return len(self.members) - len(self._free)

    @property
    def waiting(self) -> int:
        """Requests in line."""
        return len(self._line)

    def start(self) -> None:
        """Start all processes."""
        for member in self.members:
            member.start()

    def stop(self) -> None:
        """End all processes, then the threads that wait for them."""
        for member in self.members:
            member.close()
        self.threads.shutdown(wait=True, cancel_futures=True)
        for member in self.members:
            member.stop()

    @asynccontextmanager
    async def one(self, key: str) -> AsyncIterator[Member]:
        """Wait in line for a worker, one with this plan in hand if possible; BusyError if the line is full."""
        member = await self._take(key)
        try:
            yield member
        finally:
            self._give_back(member)

    async def _take(self, key: str) -> Member:
        if self._free:
            has = [member for member in self._free if member.has == key]
            member = (has or self._free)[0]
            self._free.remove(member)
            return member
        if len(self._line) >= self.settings.waiting:
            raise BusyError
        turn = _Turn(key, asyncio.get_running_loop().create_future())
        self._line.append(turn)
        try:
            return await turn.member
        except asyncio.CancelledError:
            with contextlib.suppress(ValueError):
                self._line.remove(turn)
            if turn.member.done() and not turn.member.cancelled():
                self._give_back(turn.member.result())
            raise

    def _give_back(self, member: Member) -> None:
        """Give a worker to the first in line who asks of the plan it has in hand, for another takes a while to read.

        Nobody is passed over more than ``_PATIENCE`` times.
        """
        self._line = [turn for turn in self._line if not turn.member.done()]
        if not self._line:
            self._free.append(member)
            return
        first = self._line[0]
        same = next((turn for turn in self._line if turn.key == member.has), first)
        turn = first if first.passed_over >= _PATIENCE else same
        first.passed_over += 1
        self._line.remove(turn)
        turn.member.set_result(member)
