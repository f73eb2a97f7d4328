"""One door to HiGHS: what is proven, what only found, what has no answer."""

import numpy as np
import pulp
import pytest

from caddiebrain.errors import SolveError
from caddiebrain.solve import Status
from caddiebrain.solve.highs import run_program


def knapsack(size: int, rows: int):
    """A covering program too hard for a moment: random, the same every time."""
    rng = np.random.default_rng(0)
    problem = pulp.LpProblem("cover", pulp.LpMinimize)
    pick = [problem.add_variable(f"x{i}", 0, 1, cat="Integer") for i in range(size)]
    for r in range(rows):
        weight = rng.integers(10, 99, size)
        problem += (
            pulp.lpSum(int(w) * x for w, x in zip(weight, pick, strict=True)) >= int(weight.sum() // 2),
            f"r{r}",
        )
    problem.setObjective(
        pulp.lpSum(int(c) * x for c, x in zip(rng.integers(10, 99, size), pick, strict=True))
    )
    return problem


def test_an_optimum_is_proven():
    run = run_program(knapsack(12, 2), gap=0.0)
    assert run.status is Status.PROVEN
    assert run.gap == 0.0
    assert run.objective == pytest.approx(round(run.objective), abs=1e-6)


def test_an_answer_found_when_time_is_up_is_not_called_proven():
    # Some answer is found at once; to prove one best would take hours.
    run = run_program(knapsack(200, 20), time_limit=2.0, gap=0.0)
    assert run.status is Status.STOPPED
    assert np.isfinite(run.objective)


def test_no_answer_is_an_error():
    problem = pulp.LpProblem("none", pulp.LpMinimize)
    x = problem.add_variable("x", 0, 1)
    problem += x >= 2, "more"
    problem.setObjective(pulp.lpSum([1.0 * x]))
    with pytest.raises(SolveError, match="no answer"):
        run_program(problem)
