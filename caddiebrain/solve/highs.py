"""One door to HiGHS through PuLP, the same for PuLP 3 and 4: a time limit is never called proven."""

import time
from dataclasses import dataclass
from typing import Any

import pulp

from caddiebrain.errors import InputError, SolveError, number_faults
from caddiebrain.solve.records import Status

__all__ = ["ProgramRun", "run_program"]


@dataclass(frozen=True)
class ProgramRun:
    """How a program ended.

    Attributes
    ----------
    status : Status
        ``proven`` when the solver says optimal within the gap.
    objective : float
        Value of the answer found.
    gap : float
        Relative gap the solver was asked to close; 0 for a linear program.
    seconds : float
        Wall time.
    """

    status: Status
    objective: float
    gap: float
    seconds: float


def run_program(
    problem: Any, *, time_limit: float = 60.0, gap: float | None = None, **options: Any
) -> ProgramRun:
    """Minimise a PuLP problem with HiGHS.

    Parameters
    ----------
    problem : pulp.LpProblem
    time_limit : float
        Seconds.
    gap : float, optional
        Relative gap at which an integer program may end; None for a linear program.
    **options
        Passed on to HiGHS, for instance ``solver="ipm"``.

    Raises
    ------
    InputError
        If the time limit is no number above 0.
    SolveError
        If the program has no answer, or none was found in time.
    """
    faults = number_faults("time_limit", time_limit, 1e-9, 1e9, "seconds, above 0")
    if faults:
        raise InputError("program", faults)
    start = time.perf_counter()
    extra = options if gap is None else {"gapRel": gap, **options}
    outcome = problem.solve(pulp.HiGHS(msg=False, timeLimit=time_limit, **extra))
    seconds = time.perf_counter() - start
    if hasattr(outcome, "status"):  # PuLP 4
        optimal, found = int(outcome.status) == 1, bool(outcome.has_solution)
    else:  # PuLP 3 says optimal, too, when time ran out; the status of the solution tells
        optimal, found = problem.sol_status == 1, problem.sol_status in (1, 2)
    # A linear program that ran out of time has no answer worth the name; an integer one may have.
    if not (optimal or (gap is not None and found and problem.valid(1e-6))):
        raise SolveError(
            f"program {problem.name!r}: no answer in {seconds:.1f} s; loosen what it asks for, or allow more time"
        )
    status = Status.PROVEN if optimal else Status.STOPPED
    return ProgramRun(status, float(problem.objective.value()), gap or 0.0, seconds)
