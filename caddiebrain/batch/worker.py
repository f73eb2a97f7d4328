"""What a worker does: one job on one thread. Whatever happens comes back as data, never as an exception."""

import time
from dataclasses import dataclass

from caddiebrain.batch.job import PlanJob, course_of, player_of
from caddiebrain.batch.result import JobError
from caddiebrain.faults import fault_lines
from caddiebrain.hole import GridSpec
from caddiebrain.round import PlanRecord, RoundPlan, plan_round

__all__ = ["Outcome", "error_of", "plan_job"]


@dataclass(frozen=True)
class Outcome:
    """What a worker sends back."""

    record: PlanRecord | None = None
    error: JobError | None = None
    plan: RoundPlan | None = None
    seconds: float = 0.0


def plan_job(job: PlanJob, grid: GridSpec | None, whole: bool) -> Outcome:
    """Plan one job; other jobs have the other processors.

    Parameters
    ----------
    whole : bool
        Send the whole plan, tens of megabytes for each hole, beside its record.
    """
    start = time.perf_counter()
    try:
        plan = plan_round(
            course_of(job), player_of(job), job.target, job.conditions, job.setup, grid=grid, workers=1
        )
        record = plan.record()
    except Exception as error:  # one job's failure is nobody else's
        return Outcome(error=error_of(error), seconds=time.perf_counter() - start)
    return Outcome(record, None, plan if whole else None, time.perf_counter() - start)


def error_of(error: BaseException) -> JobError:
    """Return an error as plain data."""
    return JobError(type(error).__name__, tuple(fault_lines(error)))
