"""Our solvers beside general-purpose ones on one hole graph, in one run, as ratios.

python tests/bench/solvers.py                       # an invented hole-like graph, 8.5 million outcomes
python tests/bench/solvers.py --small               # the same in little
python tests/bench/solvers.py --graph hole.npz      # a graph written by caddiebrain.graph.write_graph
python tests/bench/solvers.py --limit               # how many choices a proof could leave out at best
"""

import argparse
import time
import warnings
from collections.abc import Callable
from typing import Any
from unittest.mock import patch

import numpy as np
from numpy.typing import NDArray
from others import others
from quantecon.markov import DiscreteDP, backward_induction
from scipy.sparse import csr_matrix, vstack
from scipy.special import ndtr

from caddiebrain import solve
from caddiebrain.graph import StateGraph, read_graph
from caddiebrain.solve import product
from caddiebrain.solve.contract import contract
from caddiebrain.solve.layout import rows_of

CLUBS = 12
AIMS = 5
PLAIN = (0, 5, 8, 10, 15, 20)
"""Evaluations that plain modified policy iteration makes between two sweeps; none: value iteration."""
SPREAD = 69
"""Landing spots of one choice; the hole itself and the way out of bounds come on top."""


def invented_hole(along: int, across: int, seed: int) -> StateGraph:
    """Return a graph shaped like a 450-yard hole: invented data, for timing alone.

    States are spots on a grid finer near the pin, plus the cup. A choice is one of twelve distances and five aims;
    it lands on 69 spots, may find the cup, and may be out of bounds on the right (two strokes, same spot).
    """
    rng = np.random.default_rng(seed)
    ahead = 450.0 * np.linspace(0.02, 1.0, along) ** 1.6
    side = 40.0 * np.linspace(-1.0, 1.0, across) * np.abs(np.linspace(-1.0, 1.0, across)) ** 0.5
    y, x = (a.ravel() for a in np.meshgrid(ahead, side, indexing="ij"))
    states, goal = len(y), len(y)
    left = np.hypot(x, y)
    carries = np.linspace(60.0, 250.0, CLUBS)
    full = np.minimum(carries, left[:, None] + 5.0)
    part = left[:, None] * np.linspace(0.6, 1.15, CLUBS)
    far = np.repeat(np.where(left[:, None] > 110.0, full, part), AIMS, axis=1).ravel()
    aim = np.tile(np.linspace(-0.08, 0.08, AIMS), states * CLUBS)
    lie = 1.0 + 0.5 * (np.abs(x) > 14.0) + 0.8 * (np.abs(x) > 30.0)
    rows = states * CLUBS * AIMS
    own = np.repeat(np.arange(states, dtype=np.int32), CLUBS * AIMS)
    column = np.empty((rows, SPREAD + 2), dtype=np.int32)
    prob = np.empty((rows, SPREAD + 2))
    for lo in range(0, rows, 20_000):  # in pieces, to spare memory
        s = slice(lo, lo + 20_000)
        spots, chance = _land(rng, x[own[s]], y[own[s]], far[s], aim[s], lie[own[s]], ahead, side)
        column[s, :SPREAD], column[s, SPREAD], column[s, SPREAD + 1] = spots, goal, own[s]
        prob[s] = chance
    prob /= prob.sum(axis=1, keepdims=True)
    strokes = np.ones((rows, SPREAD + 2), dtype=np.uint8)
    strokes[:, SPREAD + 1] = 2
    choice_start = np.append(np.arange(0, rows + 1, CLUBS * AIMS), rows)
    outcome_start = np.arange(0, column.size + 1, SPREAD + 2)
    return StateGraph.from_arrays(
        choice_start, outcome_start, column.ravel(), prob.ravel(), strokes.ravel(), goal=goal
    )


def _land(
    rng: np.random.Generator,
    x: NDArray[Any],
    y: NDArray[Any],
    far: NDArray[Any],
    aim: NDArray[Any],
    lie: NDArray[Any],
    ahead: NDArray[Any],
    side: NDArray[Any],
) -> tuple[NDArray[Any], NDArray[Any]]:
    """Return the spots (rows, 69) and the chances (rows, 71) of one piece of choices."""
    shape = (len(x), SPREAD)
    mishit = rng.random(shape) < 0.06
    depth = (
        np.where(mishit, 0.7, 1.0) * far[:, None] * (1.0 + 0.06 * lie[:, None] * rng.standard_normal(shape))
    )
    turn = aim[:, None] + 0.055 * lie[:, None] * rng.standard_normal(shape) * np.where(mishit, 2.5, 1.0)
    line = np.arctan2(-x, y)[:, None] + turn
    new_x, new_y = x[:, None] + depth * np.sin(line), y[:, None] - depth * np.cos(line)
    miss = np.hypot(new_x, new_y)
    out = new_x > 36.0
    cup = np.where(out, 0.0, 0.8 * np.exp(-((miss / 4.0) ** 2) - far[:, None] / 60.0))
    i = np.clip(np.searchsorted(ahead, np.abs(new_y)), 0, len(ahead) - 1)
    j = np.clip(np.searchsorted(side, new_x), 0, len(side) - 1)
    weight = rng.random(shape) + 0.2
    chance = np.empty((len(x), SPREAD + 2))
    chance[:, :SPREAD] = np.where(out, 0.0, weight * (1.0 - cup))
    chance[:, SPREAD] = (weight * cup).sum(axis=1)
    chance[:, SPREAD + 1] = np.where(out, weight, 0.0).sum(axis=1)
    return (i * len(side) + j).astype(np.int32), chance


class Waiting:
    """The graph as state-action pairs of one stroke each: a penalty waits its turn in a state of its own."""

    def __init__(self, graph: StateGraph) -> None:
        late = np.flatnonzero(graph.outcome_strokes > 1)
        stop = np.unique(graph.outcome_state[late])
        column = graph.outcome_state.copy()
        column[late] = graph.n_states + np.searchsorted(stop, column[late])
        self.states, self.old = graph.n_states + len(stop), graph.n_states
        size = (graph.n_choices, self.states)
        rows = csr_matrix((graph.outcome_prob, column, graph.outcome_start), shape=size)
        ends = np.append(graph.goal, stop)
        more = csr_matrix((np.ones(len(ends)), (np.arange(len(ends)), ends)), shape=(len(ends), self.states))
        owner = np.concatenate((graph.choice_state, [graph.goal], graph.n_states + np.arange(len(stop))))
        order = np.argsort(owner, kind="stable")
        self.chance = csr_matrix(vstack([rows, more]))[order]
        self.owner = owner[order]
        self.action = np.arange(len(owner)) - np.searchsorted(self.owner, self.owner)
        self.cost = np.where(self.owner == graph.goal, 0.0, 1.0)
        self.goal = graph.goal

    @classmethod
    def of(cls, graph: StateGraph) -> "Waiting | None":
        """Return the pairs of a graph; None when outcomes cost other than one or two strokes."""
        if graph.outcome_strokes.min() < 1 or graph.outcome_strokes.max() > 2:
            print("outcomes cost other than one or two strokes: nothing general-purpose to race against")
            return None
        return cls(graph)

    def library(self, discount: float) -> DiscreteDP:
        """Return quantecon's problem."""
        with warnings.catch_warnings():
            warnings.simplefilter(
                "ignore"
            )  # without discount it offers finite horizons alone: what we ask for
            return DiscreteDP(-self.cost, self.chance, discount, self.owner, self.action)


def plain(graph: StateGraph, rows: Any, evaluations: int, tol: float = 1e-10) -> NDArray[Any]:
    """Return the fewest expected strokes by textbook modified policy iteration: what numpy and scipy offer at once.

    One product of all choices and a minimum by state, then so many evaluations of the policy found (Puterman M.L.,
    1994, *Markov Decision Processes*, section 6.5), until a sweep over all choices changes nothing by more than tol.
    """
    value, cost = np.zeros(graph.n_states), graph.mean_strokes
    states = np.delete(np.arange(graph.n_states), graph.goal)
    starts, lengths = graph.choice_start[states], np.diff(graph.choice_start)[states]
    choice = np.zeros(graph.n_states, dtype=np.int64)
    while True:
        total = rows @ value + cost
        best = np.minimum.reduceat(total, starts)
        change = np.abs(best - value[states]).max()
        value[states] = best
        if change <= tol:
            return value
        hit = np.flatnonzero(total == np.repeat(best, lengths))
        choice[graph.choice_state[hit]] = hit
        policy, spent = rows[choice[states]], cost[choice[states]]
        for _ in range(evaluations):
            value[states] = policy @ value + spent


def race(runners: dict[str, Callable[[], Any]], times: int) -> tuple[dict[str, float], dict[str, Any]]:
    """Run every runner in turn, several times; return the least time of each in ms, and the answers."""
    least, answers = dict.fromkeys(runners, np.inf), {}
    for _ in range(times):
        for name, run in runners.items():
            start = time.perf_counter()
            answers[name] = run()
            least[name] = min(least[name], 1e3 * (time.perf_counter() - start))
    return least, answers


def table(title: str, least: dict[str, float], ours: str, error: dict[str, float]) -> None:
    """Print times and how many times as long as ours each takes."""
    print(f"\n{title}")
    for name, ms in least.items():
        off = f"   differs by {error[name]:.1e}" if name in error else ""
        print(f"  {name:<44}{ms:9.1f} ms   {ms / least[ours]:6.2f} x{off}")


def on_one_core(graph: StateGraph) -> NDArray[Any]:
    """Return the fewest expected strokes with no more than one thread."""
    with patch.object(product, "MANY_OUTCOMES", np.inf):
        return solve.fewest_strokes(graph).value


def expected(graph: StateGraph, times: int) -> None:
    """Race for the fewest expected strokes, beside every general-purpose solver at hand."""
    start = solve.fewest_strokes(graph).value
    runners: dict[str, Callable[[], Any]] = {
        "ours, fewest_strokes": lambda: solve.fewest_strokes(graph).value,
        "ours, on one core": lambda: on_one_core(graph),
        "one scipy product of all choices": lambda: rows @ start,
    }
    rows = rows_of(graph, graph.outcome_state, graph.n_states)
    for evaluations in PLAIN if graph.level.max() == 0 else ():  # it sweeps all states at once
        name = (
            f"numpy and scipy, {evaluations} evaluations a sweep"
            if evaluations
            else "value iteration, the same way"
        )
        runners[name] = lambda evaluations=evaluations: plain(graph, rows, evaluations)
    runners.update(others(graph))
    least, answers = race(runners, times)
    error = {n: float(np.abs(v - start).max()) for n, v in answers.items() if len(v) == len(start)}
    table("Fewest expected strokes", least, "ours, fewest_strokes", error)


def theirs(waiting: Waiting, most: int) -> Callable[[], Any]:
    """Return quantecon's budgets, its problem made beforehand."""
    problem, goal = waiting.library(1.0), np.zeros(waiting.states)
    goal[waiting.goal] = 1.0
    problem.R = np.zeros_like(problem.R)
    return lambda: backward_induction(problem, most, v_term=goal)[0][::-1, : waiting.old]


def budgets(graph: StateGraph, waiting: Waiting | None, times: int) -> None:
    """Race for the best chance within every budget up to fifteen strokes."""
    strokes = solve.choice_values(graph, solve.fewest_strokes(graph).value)
    most = 15
    runners: dict[str, Callable[[], Any]] = {
        f"ours, prune={prune}": lambda prune=prune: (
            solve.within_budget(graph, most, tiebreak=strokes, prune=prune).value
        )
        for prune in (True, False)
    }
    if waiting is not None:
        runners["quantecon backward_induction"] = theirs(waiting, most)
    least, answers = race(runners, times)
    full = answers.get("quantecon backward_induction", answers["ours, prune=False"])
    error = {n: float(np.abs(v - full).max()) for n, v in answers.items()}
    table(f"Best chance within 0 to {most} strokes", least, "ours, prune=True", error)
    swept = solve.within_budget(graph, most, tiebreak=strokes, prune=True).swept
    print(f"  choices looked at in a layer with prune=True: {swept} of {graph.n_choices}")


def smooth(graph: StateGraph, times: int) -> None:
    """Time a hole in the middle of a round: forty budgets, a reward that rises smoothly."""
    reward = ndtr((np.arange(41) - 18) / 5.0)
    strokes = solve.choice_values(graph, solve.fewest_strokes(graph).value)
    runs = {
        f"ours, prune={prune}": lambda prune=prune: solve.within_budget(
            graph, 40, reward, tiebreak=strokes, prune=prune
        )
        for prune in (False, True)
    }
    least, answers = race(runs, times)
    full = answers["ours, prune=False"].value
    error = {n: float(np.abs(v.value - full).max()) for n, v in answers.items()}
    table("A smooth reward by strokes left, 0 to 40", least, "ours, prune=False", error)
    swept = answers["ours, prune=True"].swept
    print(f"  choices looked at in a layer with prune=True: {swept} of {graph.n_choices}")


def limit(graph: StateGraph) -> None:
    """Print how many choices lose little more than the best, layer by layer: what no proof can leave out.

    The loss is what is missing to certainty; a proof that knows losses within a share can drop what loses more.
    """
    most, state = 15, np.delete(np.arange(graph.n_states), graph.goal)
    loss = 1.0 - solve.within_budget(graph, most, prune=False).value
    rows = rows_of(graph, graph.outcome_column, graph.most_strokes * graph.n_states)
    shares = (1e-6, 1e-3, 1e-2, 1e-1)
    near = np.zeros((len(shares), most, graph.n_choices), dtype=bool)
    below = np.vstack((np.ones((graph.most_strokes - 1, graph.n_states)), loss))
    for k in range(1, most + 1):
        lost = rows @ below[k - 1 : k - 1 + graph.most_strokes][::-1].ravel()
        best = np.zeros(graph.n_states)
        best[state] = np.minimum.reduceat(lost, graph.choice_start[state])
        for i, share in enumerate(shares):
            near[i, k - 1] = lost <= (1.0 + share) * best[graph.choice_state]
    print(f"\nPart of the choices that lose at most so much more than the best, of {graph.n_choices}")
    print("  share   " + "".join(f"{k:6d}" for k in range(1, most + 1)) + "   sum  in any")
    for share, found in zip(shares, near, strict=True):
        part = found.mean(axis=1)
        print(
            f"  {share:7.0e} "
            + "".join(f"{p:6.3f}" for p in part)
            + f"{part.sum():6.2f}{found.any(axis=0).mean():8.2f}"
        )


def main() -> None:
    """Run the races."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--graph", help="a graph written by caddiebrain.graph.write_graph")
    parser.add_argument("--small", action="store_true", help="an invented graph of a tenth of the size")
    parser.add_argument(
        "--limit", action="store_true", help="how many choices a proof could leave out at best"
    )
    parser.add_argument("--times", type=int, default=5)
    parser.add_argument("--seed", type=int, default=7)
    args = parser.parse_args()
    if args.graph:
        graph = read_graph(args.graph)
        print(f"as written: {graph}")
        start = time.perf_counter()
        graph = contract(graph).graph
        print(f"states of mere chance taken out in {time.perf_counter() - start:.2f} s")
    else:
        graph = invented_hole(25, 8, args.seed) if args.small else invented_hole(80, 25, args.seed)
    print(graph)
    if args.limit:
        limit(graph)
        return
    waiting = Waiting.of(graph)
    expected(graph, args.times)
    budgets(graph, waiting, args.times)
    smooth(graph, args.times)


if __name__ == "__main__":
    main()
