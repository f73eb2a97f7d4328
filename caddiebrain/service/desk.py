"""Requests to answers: from the cache, from one who is asking the same already, or from a worker."""

import asyncio
import hashlib
import logging
import tempfile
from dataclasses import dataclass
from pathlib import Path

from caddiebrain.errors import Fault
from caddiebrain.faults import FaultRecord, FaultReport, fault_record
from caddiebrain.service.asks import PlanAsk, plan_key
from caddiebrain.service.cache import Answers, Plans
from caddiebrain.service.crew import BusyError, Crew, LostError, Member, OverdueError
from caddiebrain.service.settings import ServiceSettings
from caddiebrain.service.worker import Reply, Task

__all__ = ["Answer", "Desk", "RefusedError", "refused"]

_LOG = logging.getLogger("caddiebrain.service")
_RETRY_SECONDS = 10


class RefusedError(Exception):
    """No answer: the status of HTTP that says so, why, and when to ask again."""

    def __init__(self, status: int, report: FaultReport, retry: int | None = None) -> None:
        self.status, self.report, self.retry = status, report, retry
        super().__init__(status, report, retry)


def refused(status: int, error: str, *lines: str | Fault, retry: int | None = None) -> RefusedError:
    """Make a refusal from plain lines or faults."""
    faults = tuple(FaultRecord(line=x) if isinstance(x, str) else fault_record(x) for x in lines)
    return RefusedError(status, FaultReport(error=error, faults=faults), retry)


_GRACE_SECONDS = 5.0
"""How long a request is kept up that nobody waits for; most are answered by then, and a worker is not lost."""


@dataclass(frozen=True)
class Answer:
    """The JSON of an answer, and the seconds a worker spent on it; 0 if it was known already."""

    body: bytes
    seconds: float = 0.0


@dataclass(eq=False)
class _Asked:
    """A request that is being answered, and how many wait for it."""

    key: str
    outcome: "asyncio.Future[Answer]"
    waiting: int = 0
    task: "asyncio.Task[None] | None" = None


class Desk:
    """One service.

    Parameters
    ----------
    settings : ServiceSettings
    """

    def __init__(self, settings: ServiceSettings) -> None:
        self.settings = settings
        self.crew = Crew(settings)
        self.answers = Answers(settings.answers, settings.answer_bytes)
        self._folder = tempfile.TemporaryDirectory(prefix="caddiebrain-", ignore_cleanup_errors=True)
        self.plans = Plans(Path(self._folder.name), settings.plans, settings.plan_bytes)
        self._asked: dict[str, _Asked] = {}
        self._making: dict[str, asyncio.Lock] = {}
        self._tasks: set[asyncio.Task[None]] = set()

    def start(self) -> None:
        """Start the workers."""
        self.crew.start()

    async def stop(self) -> None:
        """End the workers and forget everything."""
        for task in self._tasks:
            task.cancel()
        await asyncio.get_running_loop().run_in_executor(None, self.crew.stop)
        await asyncio.gather(*self._tasks, return_exceptions=True)
        self._folder.cleanup()

    async def answer(self, verb: str, ask: PlanAsk) -> Answer:
        """Return the JSON of an answer; raises RefusedError if there is none.

        Cancelled when its client is gone; once nobody waits for an answer, it is given up.
        """
        # Hashing a large course takes a while; others are served meanwhile.
        plan, key = await asyncio.to_thread(_keys, verb, ask, self.settings)
        known = self.answers.get(key)
        if known is not None:
            return Answer(known)
        loop = asyncio.get_running_loop()
        if key not in self._asked:
            asked = self._asked[key] = _Asked(key, loop.create_future())
            asked.task = task = asyncio.create_task(self._work(asked, plan, ask))
            self._tasks.add(task)
            task.add_done_callback(self._tasks.discard)
        asked = self._asked[key]
        asked.waiting += 1
        try:
            return await asyncio.shield(asked.outcome)
        finally:
            asked.waiting -= 1
            if not asked.waiting and not asked.outcome.done():
                loop.call_later(_GRACE_SECONDS, self._give_up, asked)

    def _give_up(self, asked: _Asked) -> None:
        """Stop working on a request, unless someone waits for it again."""
        if asked.task is not None and not asked.waiting and self._asked.get(asked.key) is asked:
            del self._asked[asked.key]  # who asks the same from now on has it begun anew
            asked.task.cancel()

    async def _work(self, asked: _Asked, plan: str, ask: PlanAsk) -> None:
        """Have a request answered; the plan is written to disk after the answer is out."""
        try:
            if self.plans.has(plan):
                await self._with_worker(asked, plan, ask)
                return
            # Whoever asks of the same plan waits until it is there.
            lock = self._making.setdefault(plan, asyncio.Lock())
            try:
                async with lock:
                    await self._with_worker(asked, plan, ask)
            finally:
                if not lock.locked():
                    self._making.pop(plan, None)
        except Exception as error:
            self._settle(asked, error if isinstance(error, RefusedError) else _refusal(error, self.settings))
        finally:
            if not asked.outcome.done():
                self._settle(asked, refused(503, "stopping", "the service is being stopped"))

    async def _with_worker(self, asked: _Asked, plan: str, ask: PlanAsk) -> None:
        loop = asyncio.get_running_loop()
        async with self.crew.one(plan) as member:
            task = Task(ask, plan, self.plans.file(plan))
            working = loop.run_in_executor(self.crew.threads, member.run, task)
            try:
                reply = await asyncio.shield(working)
            except asyncio.CancelledError:
                member.interrupt()
                await asyncio.wait({working})  # it is given back when it has let go of its task
                working.exception()
                raise
            self._settle(asked, self._outcome(reply))
            if reply.keeps:
                await self._keep(plan, member)

    async def _keep(self, plan: str, member: Member) -> None:
        size = await asyncio.get_running_loop().run_in_executor(self.crew.threads, member.kept)
        self.plans.put(plan, size)

    def _outcome(self, reply: Reply) -> Answer | RefusedError:
        if reply.kind == "answer":
            return Answer(reply.text.encode(), reply.seconds)
        if reply.kind == "refused" and reply.faults is not None:
            return RefusedError(422, reply.faults)
        if reply.kind == "memory":
            return _too_much(self.settings)
        _LOG.error("a fault of the program: %s", reply.text)
        return refused(500, "a fault of the program, not yours", reply.text)

    def _settle(self, asked: _Asked, outcome: Answer | RefusedError) -> None:
        """Give everyone who asked the same the same."""
        if self._asked.get(asked.key) is asked:
            del self._asked[asked.key]
        if isinstance(outcome, Answer):
            self.answers.put(asked.key, outcome.body)
        if asked.outcome.done():
            return
        if isinstance(outcome, Answer):
            asked.outcome.set_result(outcome)
        else:
            asked.outcome.set_exception(outcome)
            asked.outcome.exception()  # whoever asked may have gone


def _keys(verb: str, ask: PlanAsk, settings: ServiceSettings) -> tuple[str, str]:
    """Key of the plan behind a request, and of the answer."""
    plan = plan_key(ask, settings)
    return plan, hashlib.sha256(f"{verb} {plan} {ask.model_dump_json()}".encode()).hexdigest()


def _too_much(settings: ServiceSettings) -> RefusedError:
    line = f"the plan needs more than the {settings.memory_mb} MB a request may use; send fewer holes or less map"
    return refused(413, "too large", line)


def _refusal(error: Exception, settings: ServiceSettings) -> RefusedError:
    if isinstance(error, BusyError):
        line = f"{settings.waiting} requests are waiting already"
        return refused(429, "too many requests", line, retry=_RETRY_SECONDS)
    if isinstance(error, OverdueError):
        line = (
            f"the answer took more than the {settings.seconds:g} seconds a request may take, and was stopped"
        )
        return refused(504, "too long", line)
    if isinstance(error, LostError) and error.out_of_memory and settings.memory_mb is not None:
        return _too_much(settings)
    if isinstance(error, LostError):
        line = "the worker process ended; most likely the machine is out of memory"
        return refused(503, "worker lost", line, retry=_RETRY_SECONDS)
    _LOG.error("a fault of the program", exc_info=error)
    return refused(500, "a fault of the program, not yours", type(error).__name__)
