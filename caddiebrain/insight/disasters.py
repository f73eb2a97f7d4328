"""A limit on disasters: the lowest expected score with double bogeys kept rare, and what that costs.

What is capped, exactly: for one hole the chance that its score is two over par or more; for a round the *expected
number* of such holes, that is the sum of those chances over its holes.

The choices weighed are those the plan was made with (`HolePlan.compiled`): near-best for the score, or best for
some attitude to risk. Answers of the linear program may toss a coin at one place; they are reported as such, and
beside them stands a way to play without coins, with its own true score and chance.
"""

from pydantic import Field

from caddiebrain import solve
from caddiebrain.errors import InputError, number_faults
from caddiebrain.player.patterns import Record
from caddiebrain.round import RoundPlan
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.round.plan import check_plan
from caddiebrain.round.policy_words import Words
from caddiebrain.solve.layered import Layered

__all__ = [
    "Coin",
    "DisasterFrontier",
    "DisasterLimit",
    "FrontierPoint",
    "HoleShare",
    "RoundDisasterLimit",
    "disaster_frontier",
    "limit_disasters",
    "limit_disasters_of_round",
]

_OVER = 2
"""A double bogey is two over par."""
_USUAL_SHARE = 0.95
_TIE = 1e-9
"""Weight of a stroke where disasters alone count: of ways to play that have as few, the one with fewer strokes."""


class FrontierPoint(Record):
    """One way to play a hole, with no better one for both ends."""

    expected: float = Field(description="strokes")
    double_bogey_or_worse: float = Field(ge=0.0, le=1.0)
    tee_choice: str


class DisasterFrontier(Record):
    """Average score against the chance of double bogey or worse on one hole."""

    schema_version: int = Field(default=1, ge=1, le=1)
    hole: int
    par: int
    points: tuple[FrontierPoint, ...] = Field(description="from the lowest score to the fewest disasters")
    gap: float = Field(ge=0.0, description="strokes by which something between the points might be better")


class Coin(Record):
    """A place where the cap is met on average only: each choice with the share of times it is made."""

    where: str
    visits: float = Field(ge=0.0, description="expected times a play of the hole comes there")
    shares: tuple[tuple[str, float], ...]


class DisasterLimit(Record):
    """The lowest expected score on a hole under a cap on double bogey or worse."""

    schema_version: int = Field(default=1, ge=1, le=1)
    hole: int
    par: int
    cap: float = Field(ge=0.0, le=1.0)
    expected_free: float = Field(description="lowest expected score without the cap")
    chance_free: float = Field(description="of double bogey or worse, playing for that score")
    expected: float = Field(description="lowest expected score under the cap, coins allowed")
    chance: float
    price: float = Field(
        ge=0.0, description="strokes per unit of chance at the cap; 0 where it does not bind"
    )
    bound: float = Field(description="proven lower bound on the expected score under the cap")
    status: str
    seconds: float = Field(ge=0.0, description="of the linear program")
    coins: tuple[Coin, ...]
    usable_expected: float = Field(description="expected score of the way to play without coins")
    usable_chance: float = Field(description="its chance of double bogey or worse")
    tee_choice_free: str
    tee_choice: str = Field(description="of the way to play without coins")
    words: str


class HoleShare(Record):
    """One hole of a round under a cap."""

    hole: int
    expected_free: float
    expected: float
    chance_free: float
    chance: float
    tee_choice_free: str
    tee_choice: str


class RoundDisasterLimit(Record):
    """The lowest expected score of a round under a cap on the expected number of double bogeys or worse."""

    schema_version: int = Field(default=1, ge=1, le=1)
    cap: float
    expected_free: float
    number_free: float = Field(description="expected holes at double bogey or worse, playing for the score")
    expected: float = Field(description="lowest expected score under the cap, coins allowed")
    number: float
    price: float
    bound: float
    status: str
    usable_expected: float
    usable_number: float
    usable_status: str
    seconds: float
    holes: tuple[HoleShare, ...]
    words: str


def disaster_frontier(plan: RoundPlan, hole: int, *, tol: float = 1e-3) -> DisasterFrontier:
    """Trace average score against double bogeys on one hole.

    Parameters
    ----------
    plan : RoundPlan
    hole : int
    tol : float
        Strokes to which the curve is followed.

    Raises
    ------
    UnknownError
        If the plan has no such hole.
    InputError
        If the tolerance is not above 0.
    """
    check_plan(plan, "disaster_frontier")
    one = plan.hole(hole)
    model = one.compiled()
    words = Words.of(model)
    found = solve.frontier(model.graph, model.tee, one.par + _OVER, tol=tol)
    points = tuple(
        FrontierPoint(
            expected=corner.strokes,
            double_bogey_or_worse=corner.chance,
            tee_choice=words.choice(int(corner.policy[0, model.tee])),
        )
        for corner in found.corners
    )
    return DisasterFrontier(hole=hole, par=one.par, points=points, gap=found.gap)


def limit_disasters(plan: RoundPlan, hole: int, cap: float, *, time_limit: float = 60.0) -> DisasterLimit:
    """Find the lowest expected score on a hole with the chance of double bogey or worse at most ``cap``.

    Parameters
    ----------
    plan : RoundPlan
    hole : int
    cap : float
        Chance, 0 to 1.
    time_limit : float
        Seconds for the linear program.

    Raises
    ------
    InputError
        If the cap is no chance, or no way to play meets it; the message says the least there is.
    UnknownError
        If the plan has no such hole.
    SolveError
        If the program ends without an answer.
    """
    check_plan(plan, "limit_disasters")
    one = plan.hole(hole)
    faults = number_faults("cap", cap, 0.0, 1.0, "a chance, 0 to 1")
    if faults:
        raise InputError("limit_disasters", faults)
    model = one.compiled()
    limit = one.par + _OVER
    found = solve.fewest_strokes_capped(model.graph, model.tee, limit, cap, time_limit=time_limit)
    free = solve.frontier(model.graph, model.tee, limit, most=2).corners[0]
    words = Words.of(model)
    before = words.choice(int(free.policy[0, model.tee]))
    after = words.choice(int(found.policy[0, model.tee]))
    return DisasterLimit(
        hole=hole,
        par=one.par,
        cap=cap,
        expected_free=free.strokes,
        chance_free=free.chance,
        expected=found.strokes,
        chance=found.chance,
        price=found.price,
        bound=found.bound,
        status=str(found.status),
        seconds=found.seconds,
        coins=tuple(_coin(words, mixture) for mixture in found.mixtures),
        usable_expected=found.policy_strokes,
        usable_chance=found.policy_chance,
        tee_choice_free=before,
        tee_choice=after,
        words=_hole_words(one, found, free, before, after),
    )


def _coin(words: Words, mixture: solve.Mixture) -> Coin:
    played = f", after {mixture.taken} stroke{'s' * (mixture.taken != 1)}" if mixture.taken else ""
    shares = sorted(mixture.shares.items(), key=lambda item: -item[1])
    return Coin(
        where=f"{words.place(mixture.state)}{played}",
        visits=mixture.visits,
        shares=tuple((words.choice(choice), share) for choice, share in shares),
    )


def _hole_words(
    one: HolePlan, found: solve.CappedSolution, free: solve.Corner, before: str, after: str
) -> str:
    """Say what the cap costs, in one sentence."""
    if found.price == 0.0:
        return (
            f"Playing for the score already keeps double bogey or worse on the {_nth(one.number)} at "
            f"{100 * free.chance:.1f} in 100; the limit changes nothing."
        )
    change = f"{after} instead of {before}" if after != before else f"still {after} off the tee"
    return (
        f"On the {_nth(one.number)}, {change}: double bogey or worse falls from {100 * free.chance:.1f} to "
        f"{100 * found.policy_chance:.1f} in 100 and costs {found.policy_strokes - free.strokes:z.3f} strokes."
    )


def _nth(number: int) -> str:
    ends = {1: "st", 2: "nd", 3: "rd"}
    return f"{number}{'th' if 10 <= number % 100 <= 20 else ends.get(number % 10, 'th')}"


def limit_disasters_of_round(
    plan: RoundPlan, cap: float | None = None, *, time_limit: float = 30.0
) -> RoundDisasterLimit:
    """Find the lowest expected score of a round with few holes at double bogey or worse.

    Parameters
    ----------
    plan : RoundPlan
    cap : float, optional
        Highest expected number of holes at double bogey or worse: the sum of their chances. By default a
        twentieth fewer than playing for the score brings or, where no way to play does that, half of what can be
        saved.
    time_limit : float
        Seconds for each of two programs.

    Raises
    ------
    InputError
        If the cap is negative, or no way to play meets it; the message says the least there is.
    """
    check_plan(plan, "limit_disasters_of_round")
    if cap is not None:
        faults = number_faults("cap", cap, 0.0, 1e9, "an expected number of holes, 0 or more")
        if faults:
            raise InputError("limit_disasters_of_round", faults)
    small, tees, words = [], [], []
    for one in plan.holes:
        model = one.compiled()
        small.append(solve.contract(model.graph, [model.tee]))
        tees.append(model.tee)
        words.append(Words.of(model))
    limits = [one.par + _OVER for one in plan.holes]
    if cap is None:
        cap = _usual_cap(plan, small, tees, limits)
    found = solve.share_cap(small, tees, limits, cap, time_limit=time_limit)
    free = solve.share_cap(small, tees, limits, float(len(small)), time_limit=time_limit)
    holes = tuple(
        HoleShare(
            hole=one.number,
            expected_free=before.strokes,
            expected=after.strokes,
            chance_free=before.chance,
            chance=after.chance,
            tee_choice_free=named.choice(int(before.policy[0, tee])),
            tee_choice=named.choice(int(after.policy[0, tee])),
        )
        for one, before, after, named, tee in zip(
            plan.holes, free.parts, found.parts, words, tees, strict=True
        )
    )
    return RoundDisasterLimit(
        cap=cap,
        expected_free=free.strokes,
        number_free=free.chances,
        expected=found.strokes,
        number=found.chances,
        price=found.price,
        bound=found.bound,
        status=str(found.status),
        usable_expected=found.policy_strokes,
        usable_number=found.policy_chances,
        usable_status=str(found.whole_status),
        seconds=found.seconds,
        holes=holes,
        words=_round_words(found, free, holes),
    )


def _usual_cap(plan: RoundPlan, small: list[solve.Contraction], tees: list[int], limits: list[int]) -> float:
    now = sum(one.double_bogey_or_worse for one in plan.holes)
    fewest = (
        Layered(part.graph, limit).best(_TIE, 1.0).at(part.state(tee))[1]
        for part, tee, limit in zip(small, tees, limits, strict=True)
    )
    return max(_USUAL_SHARE * now, 0.5 * (now + sum(fewest)))


def _round_words(found: solve.SharedCap, free: solve.SharedCap, holes: tuple[HoleShare, ...]) -> str:
    if found.price == 0.0:
        return (
            f"Playing for the score already brings {free.chances:.2f} such holes a round; "
            "the limit changes nothing."
        )
    other = [str(h.hole) for h in holes if h.tee_choice != h.tee_choice_free]
    where = f"another tee choice on {', '.join(other)}" if other else "the same tee choices, safer after that"
    return (
        f"{free.chances:.2f} holes a round at double bogey or worse become {found.policy_chances:.2f}, "
        f"with {where}; it costs {found.policy_strokes - free.strokes:z.2f} strokes a round."
    )
