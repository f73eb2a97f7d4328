r"""The fewest expected strokes as a linear program: a certificate that shares no code with the sweeps.

Value form (variables: the states but the goal; weights w sum to 1):

.. math:: \min -\sum_s w_s V_s \quad \text{s.t.} \quad V_s - \sum p(s', c \mid s, a) V_{s'} \le \sum p c
          \quad \text{for every choice a of every state s}, \qquad V \ge 0.

Its optimum is the value of the dynamic program wherever play from a weighted state comes by; minus the dual of a
choice's row is how often the choice is expected to be made when play starts as weighted.
Source: d'Epenoux F. (1963), *Management Science* 10(1):98-108; Puterman M.L. (1994), *Markov Decision Processes*,
section 6.9.
"""

from collections.abc import Hashable
from typing import Any

import numpy as np
import pulp
from numpy.typing import NDArray

from caddiebrain.graph import StateGraph
from caddiebrain.solve.records import ProgramSolution, Status

__all__ = ["linear_program"]

_OPTIMAL = 1
"""Of both PuLP 3 (``LpStatusOptimal``) and PuLP 4 (``LpSolveStatus.Optimal``), which share no name for it."""


def linear_program(graph: StateGraph, start: Hashable | None = None) -> ProgramSolution:
    """Solve for the fewest expected strokes by PuLP and HiGHS.

    Meant for graphs of up to some ten thousand choices; the sweeps are far quicker.

    Parameters
    ----------
    graph : StateGraph
    start : hashable, optional
        Label of the state play starts in: ``value`` then holds from there on, ``visits`` counts from there. By
        default play starts in any state but the goal, each as likely.

    Raises
    ------
    UnknownError
        If no state has the label.
    """
    weight = np.full(graph.n_states, 1.0 / max(graph.n_states - 1, 1))
    if start is not None:
        weight = np.zeros(graph.n_states)
        weight[graph.index(start)] = 1.0
    weight[graph.goal] = 0.0
    problem = pulp.LpProblem("fewest_strokes", pulp.LpMinimize)
    value: list[Any] = [
        None if s == graph.goal else problem.add_variable(f"v{s}", 0) for s in range(graph.n_states)
    ]
    problem.setObjective(pulp.lpSum(-float(weight[s]) * value[s] for s in range(graph.n_states) if weight[s]))
    for c, terms in enumerate(_rows(graph)):
        problem += pulp.lpSum(k * value[s] for s, k in terms[0].items()) <= terms[1], f"c{c}"
    status = _solve(problem)
    solved = np.zeros(graph.n_states)
    for s, variable in enumerate(value):
        if variable is not None:
            found = variable.value()
            solved[s] = np.nan if found is None else found
    return ProgramSolution(solved, -_duals(problem, graph.n_choices), status)


def _rows(graph: StateGraph) -> list[tuple[dict[int, float], float]]:
    """Return each choice's coefficients by state, the goal left out, and its mean strokes."""
    paid = graph.mean_strokes
    rows = []
    for c, state in enumerate(graph.choice_state.tolist()):
        terms = {state: 1.0}
        for i in range(int(graph.outcome_start[c]), int(graph.outcome_start[c + 1])):
            target = int(graph.outcome_state[i])
            if target != graph.goal:
                terms[target] = terms.get(target, 0.0) - float(graph.outcome_prob[i])
        rows.append((terms, float(paid[c])))
    return rows


def _solve(problem: Any) -> Status:
    """Run HiGHS; PuLP 3 returns a whole number, PuLP 4 a record with a status."""
    outcome = problem.solve(pulp.HiGHS(msg=False))
    code = int(getattr(outcome, "status", outcome))
    return Status.PROVEN if code == _OPTIMAL else Status.STOPPED


def _duals(problem: Any, size: int) -> NDArray[np.float64]:
    """Return the rows' duals in order; PuLP 3 keeps rows in a mapping, PuLP 4 hands out a list."""
    rows = problem.constraints
    listed = rows() if callable(rows) else rows.values()
    duals = np.full(size, np.nan)
    for row in listed:
        if row.pi is not None:
            duals[int(row.name[1:])] = row.pi
    return duals
