"""A worker process: takes one task at a time, answers, and keeps the last plan it had in hand.

It can be killed at any time and loses nothing that cannot be made again.
"""

import contextlib
import logging
import pickle
import signal
import sys
import time
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Literal

from caddiebrain.faults import FaultReport, fault_report, is_bad_input
from caddiebrain.round import RoundPlan
from caddiebrain.service.answers import answer, check, make_plan
from caddiebrain.service.asks import PlanAsk
from caddiebrain.service.settings import ServiceSettings

__all__ = ["READY", "Reply", "Task", "work"]

if sys.platform != "win32":
    import resource

READY = "ready"
_LOG = logging.getLogger("caddiebrain.service")

Kind = Literal["answer", "refused", "memory", "fault"]


@dataclass(frozen=True)
class Task:
    """A request, the key of its plan, and the file where that plan is kept or is to be kept; empty for nowhere."""

    ask: PlanAsk
    key: str
    file: str


@dataclass(frozen=True)
class Reply:
    """What came of a task.

    Parameters
    ----------
    kind : {"answer", "refused", "memory", "fault"}
    text : str
        JSON of the answer; of a fault of the program what it was.
    faults : FaultReport or None
    keeps : bool
        Whether the plan is being written to its file: its size follows as a second message.
    seconds : float
        Spent on it.
    """

    kind: Kind
    text: str = ""
    faults: FaultReport | None = None
    keeps: bool = False
    seconds: float = 0.0


def work(line: "Connection", settings: ServiceSettings) -> None:
    """Do tasks until the line is cut."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # an interrupt stops the service, which then stops us
    _limit_memory(settings.memory_mb)
    bench = _Bench(settings)
    line.send(READY)
    with contextlib.suppress(EOFError, OSError):
        while True:
            task: Task = line.recv()
            reply = bench.do(task)
            line.send(reply)
            if reply.keeps:
                line.send(bench.keep(task))


def _limit_memory(megabytes: int | None) -> None:
    if megabytes is None or sys.platform == "win32":
        return
    most = megabytes * 2**20 + _address_space(resource.getpagesize())
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    if hard != resource.RLIM_INFINITY:
        most = min(most, hard)
    resource.setrlimit(resource.RLIMIT_AS, (most, hard))


def _address_space(page: int) -> int:
    """Bytes of address space in use; 0 where the system does not say."""
    try:
        return int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0]) * page
    except (OSError, ValueError):
        return 0


class _Bench:
    """The plan in hand, and how tasks are done with it."""

    def __init__(self, settings: ServiceSettings) -> None:
        self.settings = settings
        self.key = ""
        self.plan: RoundPlan | None = None

    def do(self, task: Task) -> Reply:
        """Answer a task; whatever happens comes back as data."""
        start = time.perf_counter()
        try:
            check(task.ask)
            plan, made = self._have(task)
            text = answer(task.ask, plan, self.settings)
            keeps = made and bool(task.file)
            return Reply("answer", text, keeps=keeps, seconds=time.perf_counter() - start)
        except MemoryError:
            self.plan, self.key = None, ""
            return Reply("memory")
        except Exception as error:
            if is_bad_input(error):
                return Reply("refused", faults=fault_report(error))
            _LOG.exception("a fault of the program")
            return Reply("fault", f"{type(error).__name__}: {error}"[:200])

    def _have(self, task: Task) -> tuple[RoundPlan, bool]:
        """Take the plan in hand; True if it had to be made."""
        if self.plan is not None and self.key == task.key:
            return self.plan, False
        self.plan, self.key = None, ""  # one at a time: two may be more than the memory allowed
        kept = _read(task.file)
        plan = make_plan(task.ask, self.settings) if kept is None else kept
        self.plan, self.key = plan, task.key
        return plan, kept is None

    def keep(self, task: Task) -> int:
        """Write the plan in hand to its file, whole or not at all; return its size in bytes, 0 if that failed."""
        target = Path(task.file)
        draft = target.with_suffix(".part")
        try:
            with draft.open("wb") as stream:
                pickle.dump(self.plan, stream, protocol=5)
            size = draft.stat().st_size
            draft.replace(target)
        except (OSError, MemoryError) as error:
            draft.unlink(missing_ok=True)
            _LOG.warning("a plan cannot be kept: %s", error)
            return 0
        return size


def _read(file: str) -> RoundPlan | None:
    """A plan that a worker of this service has kept; None if it is gone."""
    if not file:
        return None
    try:
        with Path(file).open("rb") as stream:
            plan: RoundPlan = pickle.load(stream)
    except (OSError, EOFError, pickle.UnpicklingError):
        return None
    return plan
