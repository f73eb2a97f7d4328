"""General-purpose solvers of Markov decision processes, made ready for a race: those whose library is installed.

pip install quantecon mdplib mdpsolver stormpy pymdptoolbox, each on its own; none is needed by the package itself.
"""

import warnings
from collections.abc import Callable, Iterator
from functools import partial
from importlib.util import find_spec
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix, vstack

from caddiebrain.graph import StateGraph

__all__ = ["Pairs", "others"]

Answer = Callable[[], NDArray[np.float64]]

CLOSE = 1e-10
"""Change of a value at which those that iterate stop."""
DISCOUNTS = {"quantecon": 1.0 - 1e-13, "mdplib": 1.0 - 1e-13, "mdpsolver": 1.0 - 1e-11}
"""Near enough to one for values within 1e-10 or so of the undiscounted ones; mdpsolver refuses one itself."""
EVALUATIONS = (20, 100)
"""Evaluations between two sweeps of mdpsolver; its own number is 100."""

PADDED = 3
"""Times as many pairs as there are that a library is given at most, if it wants as many actions in every state."""


class Pairs:
    """A graph as state-action pairs with mean costs, the goal with one more, free and back to itself.

    The mean of the strokes is all that an expectation asks for: penalties need no states of their own.
    """

    def __init__(self, graph: StateGraph) -> None:
        shape = (graph.n_choices, graph.n_states)
        rows = csr_matrix((graph.outcome_prob, graph.outcome_state, graph.outcome_start), shape=shape)
        stay = csr_matrix(([1.0], ([0], [graph.goal])), shape=(1, graph.n_states))
        owner = np.append(graph.choice_state, graph.goal)
        order = np.argsort(owner, kind="stable")
        self.states, self.goal = graph.n_states, graph.goal
        self.owner = owner[order]
        self.chance = csr_matrix(vstack([rows, stay]))[order]
        self.cost = np.append(graph.mean_strokes, 0.0)[order]
        self.begin = np.searchsorted(self.owner, np.arange(self.states + 1))
        self.action = np.arange(len(owner)) - self.begin[self.owner]

    def nested(self, values: NDArray[Any]) -> list[list[list[Any]]]:
        """Return entries of the chances as lists by state and action."""
        flat, start = values.tolist(), self.chance.indptr.tolist()
        begin = self.begin.tolist()
        return [
            [flat[start[c] : start[c + 1]] for c in range(begin[s], begin[s + 1])] for s in range(self.states)
        ]


def others(graph: StateGraph) -> dict[str, Answer]:
    """Return the solvers at hand by name; each gives the fewest expected strokes of all states."""
    makers = {
        "quantecon": _quantecon,
        "mdp": _mdplib,
        "mdpsolver": _mdpsolver,
        "stormpy": _stormpy,
        "mdptoolbox": _mdptoolbox,
    }
    pairs, found = Pairs(graph), {}
    for module, make in makers.items():
        if find_spec(module) is None:
            print(f"{module}: not installed")
        else:
            found.update(make(pairs))
    return found


def _quantecon(pairs: Pairs) -> Iterator[tuple[str, Answer]]:
    from quantecon.markov import DiscreteDP

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        problem = DiscreteDP(-pairs.cost, pairs.chance, DISCOUNTS["quantecon"], pairs.owner, pairs.action)
    given = {
        "v_init": np.zeros(pairs.states),
        "epsilon": CLOSE / (1.0 - problem.beta),  # it compares changes with this times one less the discount
        "max_iter": 1000,
    }
    yield "quantecon, policy iteration", lambda: -problem.policy_iteration().v
    # With few evaluations its last step, by the middle of the last change, can be off by far more than CLOSE.
    for evaluations in (20, 60):
        run = partial(problem.modified_policy_iteration, k=evaluations, **given)
        yield f"quantecon, {evaluations} evaluations a sweep", lambda run=run: -run().v


def _mdplib(pairs: Pairs) -> Iterator[tuple[str, Answer]]:
    from mdp import MDP
    from mdp._core import _mdp_core

    # Its constructor reads the same table from a text file.
    problem, entries = MDP.__new__(MDP), np.diff(pairs.chance.indptr)
    problem.S, problem.A = list(range(pairs.states)), list(range(int(pairs.action.max()) + 1))
    repeated = (np.repeat(a, entries) for a in (pairs.owner, pairs.action, -pairs.cost))
    owner, action, reward = repeated
    table = np.column_stack([owner, action, pairs.chance.indices, pairs.chance.data, reward])
    problem.transition_matrix = np.ascontiguousarray(table, dtype=np.float64)
    problem.transition_index = _mdp_core.build_transition_index(problem.transition_matrix)
    given = {"gamma": DISCOUNTS["mdplib"], "tol": CLOSE, "norm_type": 1, "verbose": False}
    for name, run in (("policy", problem.PI), ("Gauss-Seidel value", problem.VIGS)):
        yield f"mdplib, {name} iteration", lambda run=run: -np.array(run(**given).value)


def _mdpsolver(pairs: Pairs) -> Iterator[tuple[str, Answer]]:
    import mdpsolver

    problem, discount = mdpsolver.model(), DISCOUNTS["mdpsolver"]
    begin = pairs.begin.tolist()
    problem.mdp(
        discount=discount,
        rewards=[(-pairs.cost[a:b]).tolist() for a, b in pairwise(begin)],
        tranMatProbs=pairs.nested(pairs.chance.data),
        tranMatColumns=pairs.nested(pairs.chance.indices),
    )
    given = {
        "algorithm": "mpi",
        "tolerance": CLOSE / (1.0 - discount),  # it compares changes with this times one less the discount
        "initValueVector": [0.0]
        * pairs.states,  # its own would take as many steps as the discount is near one
        "postProcessing": False,  # what it adds then is lost in rounding times one over one less the discount
    }

    def answer(**more: Any) -> NDArray[np.float64]:
        problem.solve(**given, **more)
        return -np.array(problem.getValueVector())

    for evaluations in EVALUATIONS:
        for cores, parallel in (("one core", False), ("all cores", True)):
            name = f"mdpsolver, {evaluations} evaluations a sweep, {cores}"
            yield name, partial(answer, parIterLim=evaluations, parallel=parallel)


def _stormpy(pairs: Pairs) -> Iterator[tuple[str, Answer]]:
    import stormpy

    model, goal = _checkers_model(pairs), stormpy.parse_properties('R{"strokes"}min=? [F "goal"]')[0]
    for name in ("VALUE_ITERATION", "OPTIMISTIC_VALUE_ITERATION", "POLICY_ITERATION"):
        environment = stormpy.Environment()
        solver = environment.solver().min_max()
        solver.relative_termination_criterion = False
        solver.method = getattr(stormpy.environments.MinMaxMethod, name)
        solver.precision = stormpy.Rational(CLOSE)

        def answer(environment: Any = environment) -> NDArray[np.float64]:
            found = stormpy.model_checking(model, goal, environment=environment)
            return np.array(found.get_value_vector())

        yield f"model checker, {name.lower().replace('_', ' ')}", answer


def _checkers_model(pairs: Pairs) -> Any:
    """Return the model in the memory of the model checker, which wants every state once in a row."""
    from stormpy import datastructures, models

    chance = pairs.chance.copy()
    chance.sum_duplicates()
    chance.eliminate_zeros()
    builder = datastructures.SparseMatrixBuilder[float](
        rows=chance.shape[0],
        columns=pairs.states,
        entries=chance.nnz,
        has_custom_row_grouping=True,
        row_groups=pairs.states,
    )
    row = np.repeat(np.arange(chance.shape[0]), np.diff(chance.indptr))
    given = (a.tolist() for a in (row, chance.indices, chance.data, pairs.begin[:-1]))
    builder.add_next_values(*given)
    labels = models.StateLabeling(pairs.states)
    for label, state in (("goal", pairs.goal), ("init", 0)):
        labels.add_label(label)
        labels.add_label_to_state(label, state)
    cost = models.SparseRewardModel[float](optional_state_action_reward_vector=pairs.cost.tolist())
    parts = models.SparseModelComponents[float](
        transition_matrix=builder.build(), state_labeling=labels, reward_models={"strokes": cost}
    )
    return models.SparseMdp[float](parts)


def _mdptoolbox(pairs: Pairs) -> Iterator[tuple[str, Answer]]:
    from mdptoolbox import mdp

    # A matrix for each action, in every state: where there are fewer, the first stands in for the others.
    actions, most = range(int(pairs.action.max()) + 1), np.diff(pairs.begin)
    if len(actions) * pairs.states > PADDED * len(pairs.owner):
        print(
            f"pymdptoolbox: {len(actions)} actions in every state would be {PADDED} times the graph and more"
        )
        return
    picked = [pairs.begin[:-1] + np.where(a < most, a, 0) for a in actions]
    chance = tuple(pairs.chance[rows] for rows in picked)
    reward = np.column_stack([-pairs.cost[rows] for rows in picked])

    first = np.zeros(pairs.states, dtype=np.int64)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        problem = mdp.PolicyIteration(chance, reward, DISCOUNTS["mdplib"], policy0=first, eval_type=1)

    def answer() -> NDArray[np.float64]:
        problem.policy, problem.iter = first, 0
        problem.run()
        return -np.array(problem.V)

    yield "pymdptoolbox, policy iteration", answer
