"""One door to HiGHS: what is proven, what only found, what has no answer."""

import numpy as np
import pulp
import pytest

from caddiebrain.errors import InputError, SolveError
from caddiebrain.solve import Status
from caddiebrain.solve.highs import run_program


def cover(size: int, rows: int):
    """Pick items so that every row of weights is half covered: random, the same every time."""
    rng = np.random.default_rng(0)
    problem = pulp.LpProblem("cover", pulp.LpMinimize)
    pick = [problem.add_variable(f"x{i}", 0, 1, cat="Integer") for i in range(size)]
    for r in range(rows):
        weight = rng.integers(10, 99, size)
        total = pulp.lpSum(int(w) * x for w, x in zip(weight, pick, strict=True))
        problem += total >= int(weight.sum() // 2), f"r{r}"
    problem.setObjective(
        pulp.lpSum(int(c) * x for c, x in zip(rng.integers(10, 99, size), pick, strict=True))
    )
    return problem


def market_split(rows: int):
    """Split customers in two halves alike in every product: any split will do, the best one takes days.

    Cornuejols G., Dawande M. (1998), A class of hard small 0-1 programs, IPCO VI, pp. 284-293 (memory).
    """
    rng = np.random.default_rng(0)
    problem = pulp.LpProblem("market_split", pulp.LpMinimize)
    pick = [problem.add_variable(f"x{i}", 0, 1, cat="Integer") for i in range(10 * (rows - 1))]
    over = [problem.add_variable(f"over{r}", 0) for r in range(rows)]
    short = [problem.add_variable(f"short{r}", 0) for r in range(rows)]
    for r in range(rows):
        weight = rng.integers(0, 100, len(pick))
        total = pulp.lpSum(int(w) * x for w, x in zip(weight, pick, strict=True))
        problem += total - over[r] + short[r] == int(weight.sum() // 2), f"r{r}"
    problem.setObjective(pulp.lpSum([*over, *short]))
    return problem


def test_an_optimum_is_proven():
    run = run_program(cover(12, 2), gap=0.0)
    assert run.status is Status.PROVEN
    assert run.gap == 0.0
    assert run.objective == pytest.approx(round(run.objective), abs=1e-6)


def test_an_answer_found_when_time_is_up_is_not_called_proven():
    run = run_program(market_split(7), time_limit=2.0, gap=0.0)
    assert run.status is Status.STOPPED
    assert np.isfinite(run.objective)


def test_no_answer_is_an_error():
    problem = pulp.LpProblem("none", pulp.LpMinimize)
    x = problem.add_variable("x", 0, 1)
    problem += x >= 2, "more"
    problem.setObjective(pulp.lpSum([1.0 * x]))
    with pytest.raises(SolveError, match="no answer"):
        run_program(problem)


@pytest.mark.parametrize("limit", [0, -1.0, "30", float("nan")])
def test_a_time_limit_that_is_none_is_named(limit):
    with pytest.raises(InputError, match=r"program: time_limit: found .*; expected seconds, above 0"):
        run_program(cover(3, 1), time_limit=limit)
