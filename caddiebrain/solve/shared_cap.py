r"""One cap shared by several graphs: fewest strokes in all, with the *sum* of their chances of a limit capped.

For a price on the sum each graph is solved on its own (`Layered`), so

.. math:: \min_\pi \sum_h E_h + \lambda \Big( \sum_h P_h - \text{cap} \Big)

is a lower bound for every price, and at the right price it is the answer (strong duality of linear programs). The
policies met on the way to that price are the columns of a small linear program (mixtures allowed) and of the same
program in whole numbers (one policy a graph: what a player can carry out). Both are solved by HiGHS.
Source: Dantzig G.B., Wolfe P. (1960), Decomposition principle for linear programs, *Operations Research*
8(1):101-111.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pulp
from numpy.typing import NDArray

from caddiebrain.errors import Fault, InputError, kind_faults, number_faults
from caddiebrain.solve.contract import Contraction
from caddiebrain.solve.highs import ProgramRun, run_program
from caddiebrain.solve.layered import Layered, PricedPolicy, unfold
from caddiebrain.solve.records import Status

__all__ = ["SharedCap", "SharedPart", "share_cap"]

_MET = 1e-9
"""A sum of chances this little above the cap meets it."""
_FLAT = 1e-11
_WHOLE = 1e-6


@dataclass(frozen=True)
class SharedPart:
    """One graph under a shared cap.

    Attributes
    ----------
    strokes, chance : float
        Of the policy without coins, recomputed.
    policy : array of int64, shape (n + 1, S)
    mixed : bool
        Whether the linear program mixes policies here.
    """

    strokes: float
    chance: float
    policy: NDArray[np.int64]
    mixed: bool


@dataclass(frozen=True)
class SharedCap:
    """Fewest strokes under a shared cap.

    Attributes
    ----------
    strokes, chances : float
        Sums of the linear program's answer, mixtures included.
    bound : float
        Proven lower bound on the strokes.
    price : float
        Strokes that one unit of chance is worth at the cap.
    status : Status
        ``proven`` when the linear program meets the bound within 1e-6 strokes.
    parts : tuple of SharedPart
        The answer without coins, graph by graph.
    whole_status : Status
        Whether that one is proven best among the policies it was chosen from.
    seconds : float
    """

    strokes: float
    chances: float
    bound: float
    price: float
    status: Status
    parts: tuple[SharedPart, ...]
    whole_status: Status
    seconds: float

    @property
    def policy_strokes(self) -> float:
        """Strokes of the answer without coins."""
        return sum(part.strokes for part in self.parts)

    @property
    def policy_chances(self) -> float:
        """Sum of chances of the answer without coins."""
        return sum(part.chance for part in self.parts)


@dataclass(frozen=True)
class _One:
    """A graph with the policies met so far."""

    small: Contraction
    layered: Layered
    start: int
    met: list[PricedPolicy]

    def best(self, strokes: float, chance: float) -> tuple[float, float]:
        policy = self.layered.best(strokes, chance)
        self.met.append(policy)
        return policy.at(self.start)

    def columns(self) -> list[tuple[float, float, PricedPolicy]]:
        """Policies met, each pair of strokes and chance once."""
        found = {tuple(np.round(one.at(self.start), 13)): one for one in self.met}
        return [(*one.at(self.start), one) for one in found.values()]


def share_cap(
    graphs: Sequence[Contraction],
    starts: Sequence[int],
    limits: Sequence[int],
    cap: float,
    *,
    time_limit: float = 30.0,
) -> SharedCap:
    """Find the fewest strokes in all with the sum of chances of the limits at most ``cap``.

    Parameters
    ----------
    graphs : sequence of Contraction
        Contracted graphs, starts kept.
    starts : sequence of int
        Index of the state play starts in, in the graph before contraction: ``graph.index(label)``.
    limits : sequence of int
        Totals of so many strokes or more are what the cap is on, graph by graph.
    cap : float
        Highest sum of chances, that is the highest expected number of such totals.
    time_limit : float
        Seconds for each program.

    Raises
    ------
    InputError
        If the cap is negative, or no way to play meets it (the message says the least); if there is not a start and a
        limit for each graph, or a start did not stay when its graph was contracted.
    """
    _check(graphs, starts, limits, cap)
    ones = [
        _One(small, Layered(small.graph, limit), small.state(start), [])
        for small, start, limit in zip(graphs, starts, limits, strict=True)
    ]
    price, bound = _price(ones, cap)
    columns = [one.columns() for one in ones]
    least = sum(min(column[1] for column in part) for part in columns)
    cap = max(cap, least)  # by rounding alone
    mixed_problem, shares = _program(columns, cap, whole=False)
    run = run_program(mixed_problem, time_limit=time_limit)
    mixed = [[v.value() or 0.0 for v in part] for part in shares]
    chances = sum(
        v * c[1] for part, cs in zip(mixed, columns, strict=True) for v, c in zip(part, cs, strict=True)
    )
    whole_problem, picks = _program(columns, cap, whole=True)
    # By itself the solver lets a sum pass its cap by a millionth.
    tight = dict.fromkeys(("mip_feasibility_tolerance", "primal_feasibility_tolerance"), _MET)
    whole = run_program(whole_problem, time_limit=time_limit, gap=1e-9, **tight)
    parts = tuple(
        _part(one, column, [v.value() or 0.0 for v in pick], share)
        for one, column, pick, share in zip(ones, columns, picks, mixed, strict=True)
    )
    proven = run.status is Status.PROVEN and abs(run.objective - bound) <= 1e-6
    status = Status.PROVEN if proven else Status.STOPPED
    return SharedCap(run.objective, chances, bound, price, status, parts, whole.status, _seconds(run, whole))


def _check(graphs: Sequence[Contraction], starts: Sequence[int], limits: Sequence[int], cap: float) -> None:
    faults = number_faults("cap", cap, 0.0, float("inf"), "a sum of chances, 0 or more")
    if not len(graphs) == len(starts) == len(limits):
        found = f"{len(graphs)} graphs, {len(starts)} starts, {len(limits)} limits"
        faults.append(Fault("graphs", found, "a start and a limit for each graph"))
        raise InputError("share_cap", faults)
    for i, (small, start, limit) in enumerate(zip(graphs, starts, limits, strict=True)):
        expected = "strokes, a whole number, 1 or more"
        faults += number_faults(f"limits[{i}]", limit, 1, 10_000, expected, whole=True)
        faults += kind_faults(
            f"graphs[{i}]", small, Contraction, "a Contraction, as contract(graph, [start]) makes"
        )
        if not isinstance(small, Contraction):
            continue
        before = len(small.first_choice)
        expected = f"the index of a state, 0 to {before - 1}, as graph.index(label) gives it"
        wrong = number_faults(f"starts[{i}]", start, 0, before - 1, expected, whole=True)
        if not wrong and small.state(start) < 0:
            wrong = [Fault(f"starts[{i}]", f"{start}, which was contracted away", "contract(graph, [start])")]
        faults += wrong
    if faults:
        raise InputError("share_cap", faults)


def _seconds(*runs: ProgramRun) -> float:
    return sum(run.seconds for run in runs)


def _sums(ones: list[_One], strokes: float, chance: float) -> tuple[float, float]:
    pairs = [one.best(strokes, chance) for one in ones]
    return sum(p[0] for p in pairs), sum(p[1] for p in pairs)


def _price(ones: list[_One], cap: float) -> tuple[float, float]:
    """Return the price at which the cap is met, and the bound it proves."""
    few, risky = _sums(ones, 1.0, 1e-9)
    if risky <= cap + _MET:
        return 0.0, few
    more, safe = _sums(ones, 1e-9, 1.0)
    if safe > cap + _MET:
        raise InputError.one(
            "share_cap",
            "cap",
            f"{cap:g}",
            f"at least {np.ceil(1e5 * safe) / 1e5:.5f}: no way to play does better",
        )
    while True:
        price = (more - few) / (risky - safe)
        strokes, chance = _sums(ones, 1.0, price)
        if strokes + price * chance >= few + price * risky - _FLAT * len(ones):
            return price, strokes + price * (chance - cap)
        if chance > cap + _MET:
            few, risky = strokes, chance
        else:
            more, safe = strokes, chance


def _program(
    columns: list[list[tuple[float, float, PricedPolicy]]], cap: float, whole: bool
) -> tuple[Any, list[list[Any]]]:
    """Build the program that gives each graph one policy, or shares of several."""
    problem: Any = pulp.LpProblem("shared_cap", pulp.LpMinimize)
    kind = "Integer" if whole else "Continuous"
    share = [
        [problem.add_variable(f"y{h}_{i}", 0, 1, cat=kind) for i in range(len(column))]
        for h, column in enumerate(columns)
    ]
    paired = [
        (v, c) for part, column in zip(share, columns, strict=True) for v, c in zip(part, column, strict=True)
    ]
    problem.setObjective(pulp.lpSum(c[0] * v for v, c in paired))
    problem += pulp.lpSum(c[1] * v for v, c in paired) <= cap, "cap"
    for h, part in enumerate(share):
        problem += pulp.lpSum(part) == 1, f"one{h}"
    return problem, share


def _part(
    one: _One, column: list[tuple[float, float, PricedPolicy]], pick: list[float], share: list[float]
) -> SharedPart:
    policy = one.layered.value(column[int(np.argmax(pick))][2].choice)
    mixed = sum(v > _WHOLE for v in share) > 1
    return SharedPart(*policy.at(one.start), unfold(one.small, policy.choice), mixed)
