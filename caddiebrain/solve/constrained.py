r"""Fewest expected strokes with a cap on the chance of a total of n or more, as a linear program over visits.

States carry the strokes taken so far, t = 0 to n - 1; at n or more the cap is spent and play goes on for the
fewest strokes, V. With x(t, s, a) the expected visits,

.. math:: \min \sum x \, \Big( \bar c + \sum_{t + c \ge n} p V(s') \Big) \quad \text{s.t.} \quad
          \sum_a x(t, s, a) - \text{inflow}(t, s) = [t = 0, s = s_0], \quad
          \sum x \sum_{t + c \ge n} p \le \text{cap}, \quad x \ge 0.

**Small.** Chance events are contracted, and only choices within a margin of the best at the shadow price of the
cap have a variable. What that leaves out is bounded: for any price, min(strokes + price * chance) - price * cap
over *all* choices (one pass of `Layered`) is a lower bound on the answer, by duality. The gap is reported.

**Mixtures.** With one cap an optimal answer mixes two choices in at most one state; a golfer can carry it out
only by tossing a coin. It is rounded to a policy without coins, and that one's true strokes and chance are
worked out again.

Sources: Altman E. (1999), *Constrained Markov Decision Processes*, chapters 3 and 4; Derman C. (1970), *Finite
State Markovian Decision Processes*, for the program over visits.
"""

from collections import defaultdict
from collections.abc import Hashable
from dataclasses import dataclass
from typing import Any

import numpy as np
import pulp
from numpy.typing import NDArray

from caddiebrain.errors import InputError
from caddiebrain.graph import StateGraph
from caddiebrain.solve.contract import contract
from caddiebrain.solve.highs import run_program
from caddiebrain.solve.layered import Layered, PricedPolicy, unfold
from caddiebrain.solve.records import Status

__all__ = ["CappedSolution", "Mixture", "fewest_strokes_capped"]

_MIXED = 1e-6
"""Share of the visits of a state from which a choice counts as part of a mixture."""
_EXACT = {
    "primal_feasibility_tolerance": 1e-10,
    "dual_feasibility_tolerance": 1e-10,
    "small_matrix_value": 1e-12,
}
"""Options of HiGHS: its own would let a millionth of a play vanish."""
_MET = 1e-9
"""A chance this little above the cap meets it."""
_FLAT = 1e-11
"""Gain, in strokes, below which a price finds nothing new."""


@dataclass(frozen=True)
class Mixture:
    """A state in which the program tosses a coin: visits, and the share of each choice (graph's index)."""

    taken: int
    state: int
    visits: float
    shares: dict[int, float]


@dataclass(frozen=True)
class CappedSolution:
    """Fewest expected strokes under a cap.

    Attributes
    ----------
    strokes, chance : float
        Of the program's answer, mixtures included.
    price : float
        Strokes that one whole unit of chance is worth at the cap (its shadow price); 0 where it does not bind.
    bound : float
        Proven lower bound on the strokes of any way to play under the cap.
    status : Status
        ``proven`` when the program ended optimal and ``strokes - bound`` is within 1e-6.
    mixtures : tuple of Mixture
    policy : array of int64, shape (n + 1, S)
        The answer without coins: choice with t strokes taken; last row: n or more.
    policy_strokes, policy_chance : float
        What that policy truly costs.
    variables, seconds : int, float
        Size of the program and time it took.
    """

    strokes: float
    chance: float
    price: float
    bound: float
    status: Status
    mixtures: tuple[Mixture, ...]
    policy: NDArray[np.int64]
    policy_strokes: float
    policy_chance: float
    variables: int
    seconds: float

    @property
    def gap(self) -> float:
        """Strokes between the answer and the proven bound."""
        return self.strokes - self.bound


def fewest_strokes_capped(
    graph: StateGraph,
    start: Hashable,
    limit: int,
    cap: float,
    *,
    margin: float = 0.002,
    time_limit: float = 60.0,
) -> CappedSolution:
    """Find the fewest expected strokes with the chance of ``limit`` or more strokes at most ``cap``.

    Parameters
    ----------
    graph : StateGraph
    start : hashable
        Label of the state play starts in.
    limit : int
        A total of ``limit`` strokes or more is what the cap is on; at least 1.
    cap : float
        Highest chance, 0 to 1.
    margin : float
        Choices within so many strokes of the best, priced, get a variable.
    time_limit : float
        Seconds for the program.

    Raises
    ------
    InputError
        If the limit or the cap makes no sense, or no way to play meets the cap (the message says the least).
    SolveError
        If the program ends without an answer.
    UnknownError
        If no state has the label.
    """
    if limit < 1 or not 0.0 <= cap <= 1.0:
        raise InputError.one(
            "fewest_strokes_capped", "limit, cap", f"{limit}, {cap:g}", "limit at least 1, cap from 0 to 1"
        )
    small = contract(graph, [start])
    layered, first = Layered(small.graph, limit), small.state(graph.index(start))
    low, high, price = _bracket(layered, first, cap)
    policy = layered.best(1.0, price)
    strokes, chance = policy.at(first)
    bound = strokes + price * (chance - cap)
    keep = layered.near(policy, price, margin)
    for one in (low, high, policy):
        taken, state = np.nonzero(one.choice[:limit] >= 0)
        keep[taken, one.choice[taken, state]] = True
    program = _Program(layered, first, keep, max(cap, high.at(first)[1]))
    run = program.solve(time_limit)
    answer, mixtures = program.answer(small.choices, small.states)
    found = (run.objective, program.chance())
    rounded = _rounded(layered, first, [low, high, policy, answer], cap)
    proven = run.status is Status.PROVEN and abs(run.objective - bound) <= 1e-6
    return CappedSolution(
        *found,
        price,
        bound,
        Status.PROVEN if proven else Status.STOPPED,
        mixtures,
        unfold(small, rounded.choice),
        *rounded.at(first),
        program.size,
        run.seconds,
    )


def _bracket(layered: Layered, start: int, cap: float) -> tuple[PricedPolicy, PricedPolicy, float]:
    """Return policies on either side of the cap and the price at which both are best."""
    low = layered.best(1.0, 1e-9)  # fewest strokes; of equals the safer
    if low.at(start)[1] <= cap + _MET:
        return low, low, 0.0
    high = layered.best(1e-9, 1.0)
    least = high.at(start)[1]
    if least > cap + _MET:
        raise InputError.one(
            "fewest_strokes_capped", "cap", f"{cap:g}", f"at least {least:.6f}: no way to play does better"
        )
    while True:
        (few, risky), (more, safe) = low.at(start), high.at(start)
        price = (more - few) / (risky - safe)
        between = layered.best(1.0, price)
        strokes, chance = between.at(start)
        if strokes + price * chance >= few + price * risky - _FLAT:
            return low, high, price
        low, high = (between, high) if chance > cap + _MET else (low, between)


def _rounded(layered: Layered, start: int, candidates: list[PricedPolicy], cap: float) -> PricedPolicy:
    """Return the policy with the fewest strokes under the cap, valued afresh."""
    valued = [layered.value(one.choice) for one in candidates]
    meets = [one for one in valued if one.at(start)[1] <= cap + _MET]
    return min(meets, key=lambda one: one.at(start)[0])


class _Program:
    """The linear program of one cap; rows are pairs (strokes taken, state) play can come to."""

    def __init__(self, layered: Layered, start: int, keep: NDArray[np.bool_], cap: float) -> None:
        self.layered, self.start = layered, start
        self.problem: Any = pulp.LpProblem("capped_strokes", pulp.LpMinimize)
        self.visits: dict[tuple[int, int], Any] = {}
        self.risk: dict[tuple[int, int], float] = {}
        self._build(keep, cap)

    @property
    def size(self) -> int:
        """Number of variables."""
        return len(self.visits)

    def _build(self, keep: NDArray[np.bool_], cap: float) -> None:
        graph = self.layered.graph
        flow: dict[tuple[int, int], list[Any]] = defaultdict(list)
        cost: list[Any] = []
        waiting, seen = [(0, self.start)], {(0, self.start)}
        while waiting:
            taken, state = waiting.pop()
            first, last = int(graph.choice_start[state]), int(graph.choice_start[state + 1])
            for choice in range(first, last):
                if not keep[taken, choice]:
                    continue
                visit = self.problem.add_variable(f"x{taken}_{choice}", 0)
                self.visits[taken, choice] = visit
                flow[taken, state].append(visit)
                paid, risk, onward = self._outcomes(taken, choice)
                cost.append(paid * visit)
                self.risk[taken, choice] = risk
                for place, prob in onward.items():
                    flow[place].append(-prob * visit)
                    if place not in seen:
                        seen.add(place)
                        waiting.append(place)
        self.problem.setObjective(pulp.lpSum(cost))
        for (taken, state), terms in flow.items():
            arrives = 1.0 if (taken, state) == (0, self.start) else 0.0
            self.problem += pulp.lpSum(terms) == arrives, f"flow{taken}_{state}"
        risky = pulp.lpSum(self.risk[key] * visit for key, visit in self.visits.items() if self.risk[key])
        self.problem += risky <= cap, "cap"

    def _outcomes(self, taken: int, choice: int) -> tuple[float, float, dict[tuple[int, int], float]]:
        """Strokes paid at once or, past the limit, in all; the chance of passing it; chances of places below it."""
        graph, limit = self.layered.graph, self.layered.limit
        span = slice(int(graph.outcome_start[choice]), int(graph.outcome_start[choice + 1]))
        state, prob = graph.outcome_state[span], graph.outcome_prob[span]
        after = taken + graph.outcome_strokes[span].astype(np.int64)
        over = after >= limit
        paid = float(graph.mean_strokes[choice] + prob[over] @ self.layered.over.value[state[over]])
        onward: dict[tuple[int, int], float] = defaultdict(float)
        inside = ~over & (state != graph.goal)
        for place, share in zip(
            zip(after[inside].tolist(), state[inside].tolist(), strict=True),
            prob[inside].tolist(),
            strict=True,
        ):
            onward[place] += share
        return paid, float(prob[over].sum()), onward

    def solve(self, time_limit: float) -> Any:
        """Run the interior point method; see `run_program`."""
        return run_program(self.problem, time_limit=time_limit, solver="ipm", **_EXACT)

    def chance(self) -> float:
        """Chance of the limit under the answer."""
        return float(sum(self.risk[key] * (visit.value() or 0.0) for key, visit in self.visits.items()))

    def answer(
        self, choices: NDArray[np.int64], states: NDArray[np.int64]
    ) -> tuple[PricedPolicy, tuple[Mixture, ...]]:
        """Return the policy of the most visited choices, and the mixtures in the numbers of the whole graph."""
        graph, limit = self.layered.graph, self.layered.limit
        held: dict[tuple[int, int], dict[int, float]] = defaultdict(dict)
        for (taken, choice), visit in self.visits.items():
            held[taken, int(graph.choice_state[choice])][choice] = max(visit.value() or 0.0, 0.0)
        table = np.tile(self.layered.over.choice, (limit + 1, 1))
        mixtures = []
        for (taken, state), visits in held.items():
            total = sum(visits.values())
            table[taken, state] = max(visits, key=lambda c: visits[c])
            shares = {
                int(choices[c]): v / total for c, v in visits.items() if total > _MIXED and v > _MIXED * total
            }
            if len(shares) > 1:
                mixtures.append(Mixture(taken, int(states[state]), total, shares))
        mixtures.sort(key=lambda m: (-m.visits, m.taken, m.state))
        return self.layered.value(table), tuple(mixtures)
