"""Many plans on any executor: jobs in, records out, each finished plan kept once."""

from caddiebrain.batch.job import PlanJob
from caddiebrain.batch.result import JobError, PlanResult, StoredPlan
from caddiebrain.batch.run import plan_many

__all__ = ["JobError", "PlanJob", "PlanResult", "StoredPlan", "plan_many"]
