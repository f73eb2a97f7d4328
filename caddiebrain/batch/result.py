"""What becomes of a job, and the file a finished plan is kept in."""

from dataclasses import dataclass

from pydantic import BaseModel, ConfigDict, Field

from caddiebrain.batch.job import PlanJob
from caddiebrain.round import PlanRecord, RoundPlan

__all__ = ["JobError", "PlanResult", "StoredPlan"]


@dataclass(frozen=True)
class JobError:
    """Why there is no plan, or none on disk.

    Parameters
    ----------
    kind : str
        Name of the error: "CourseError", "InputError", "BrokenExecutor", "MemoryError", ...
    lines : tuple of str
        One for each fault.
    """

    kind: str
    lines: tuple[str, ...]

    def __str__(self) -> str:
        return "; ".join(self.lines)


@dataclass(frozen=True)
class PlanResult:
    """One job and what became of it.

    Parameters
    ----------
    index : int
        Place of the job in what was handed in, from 0.
    key : str
        The caller's id, or the hash of the job's content; the name of its file. Empty if it has neither.
    job : PlanJob
    record : PlanRecord or None
        The plan.
    error : JobError or None
        Set where there is no plan, or it could not be written to the directory.
    plan : RoundPlan or None
        The whole plan, if it was asked for and was made in this run.
    seconds : float
        Time of planning, in the worker; 0 for a plan that was on disk.
    kept : bool
        Whether the plan was on disk already.
    """

    index: int
    key: str
    job: PlanJob
    record: PlanRecord | None = None
    error: JobError | None = None
    plan: RoundPlan | None = None
    seconds: float = 0.0
    kept: bool = False

    @property
    def ok(self) -> bool:
        """Whether there is a plan, and on disk too if that was asked for."""
        return self.record is not None and self.error is None


class StoredPlan(BaseModel):
    """A finished plan in a directory of plans: the same bytes whoever made it."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    schema_version: int = Field(default=1, ge=1, le=1)
    key: str = Field(description="the caller's id, or the fingerprint; the name of the file")
    fingerprint: str = Field(description="SHA-256 of everything the plan depends on")
    made_by: str = Field(description="version of the library")
    plan: PlanRecord
