"""A plan for a format: the choices that win most points, or the match, beside those that save strokes."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, ConfigDict, Field

from caddiebrain import solve
from caddiebrain.errors import Fault, InputError, UnknownError, number_faults
from caddiebrain.round.format_chain import FormatHole, HoleGraph, Worths, chain_format, standings
from caddiebrain.round.formats import Format, MatchPlay, Results
from caddiebrain.round.handicap import handicap_faults, strokes_received
from caddiebrain.round.plan import RoundPlan, check_plan
from caddiebrain.round.policy_words import Words

__all__ = [
    "FormatHoleRecord",
    "FormatPlan",
    "FormatRecord",
    "TeeSwitch",
    "objective",
    "plan_format",
    "play_format",
]

_FOR_THE_RESULT = 1e-4
"""What a stroke or a point is worth beside a target, as a chance of it."""
_SELDOM = 1e-3
"""Results so far that are rarer than this are not listed."""

Floats = NDArray[np.float64]


class _Record(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class TeeSwitch(_Record):
    """A tee choice and the results so far, on that tee, for which it is best."""

    from_result: int
    to_result: int
    choice: str


class FormatHoleRecord(_Record):
    """One hole of a plan for a format."""

    number: int
    par: int
    received: int = Field(description="strokes received")
    expected: float = Field(description="mean result under this plan")
    expected_strokes_policy: float = Field(description="the same with the lowest expected score in strokes")
    tee_choices: tuple[TeeSwitch, ...] = Field(description="for results so far that may come up")


class FormatRecord(_Record):
    """A plan for a format, for other programs."""

    schema_version: int = Field(default=1, ge=1, le=1)
    format: str
    unit: str
    target: int | None
    objective: str
    value: float = Field(description="of the objective: a mean result, or a chance")
    value_strokes_policy: float = Field(
        description="the same when every choice has the lowest expected score"
    )
    expected: float = Field(description="mean result")
    results: dict[int, float] = Field(description="chance of each final result")
    holes: tuple[FormatHoleRecord, ...]


@dataclass(frozen=True)
class FormatPlan:
    """Made by `plan_format`.

    Attributes
    ----------
    format : Format
    target : int or None
        Result to reach; None for the best expected result (in match play: win, a half counting half).
    received : tuple of int
        Strokes received on each hole.
    played : tuple of FormatHole
        The holes, solved.
    plain : tuple of FormatHole
        The same holes played for the fewest expected strokes.
    words : tuple of Words or None
        Names of choices, where holes come from a plan.
    """

    format: Format
    target: int | None
    received: tuple[int, ...]
    played: tuple[FormatHole, ...]
    plain: tuple[FormatHole, ...]
    words: tuple[Words | None, ...]

    @property
    def value(self) -> float:
        """Value of the objective: the mean result, the chance of the target, or wins plus half the halves."""
        if self.target is not None:
            return self.chance(self.target)
        sign = -1.0 if self.target is None and self.format.low_wins else 1.0
        return sign * float(self.played[0].before.at(np.zeros(1, dtype=np.int64))[0])

    @cached_property
    def standings(self) -> tuple[tuple[int, Floats], ...]:
        """Results so far on every tee, and at the end: the least one, and the chances from it on."""
        return tuple(standings(self.played))

    @cached_property
    def plain_standings(self) -> tuple[tuple[int, Floats], ...]:
        """The same when every choice has the lowest expected score."""
        return tuple(standings(self.plain))

    @cached_property
    def result_pmf(self) -> dict[int, float]:
        """Chance of each final result."""
        return _pmf(self.standings)

    @cached_property
    def plain_pmf(self) -> dict[int, float]:
        """The same when every choice has the lowest expected score."""
        return _pmf(self.plain_standings)

    @property
    def expected(self) -> float:
        """Mean final result."""
        return sum(r * p for r, p in self.result_pmf.items())

    @property
    def value_strokes_policy(self) -> float:
        """Value of the objective when every choice has the lowest expected score."""
        pmf = self.plain_pmf
        worth = objective(self.format, self.target)(np.array(list(pmf), dtype=np.int64))
        sign = -1.0 if self.target is None and self.format.low_wins else 1.0
        return sign * float(worth @ np.array(list(pmf.values())))

    def chance(self, result: int) -> float:
        """Chance of a final result this good or better, under this plan."""
        low = self.format.low_wins
        return sum(p for r, p in self.result_pmf.items() if (r <= result if low else r >= result))

    @property
    def match(self) -> tuple[float, float, float]:
        """Chances of winning, halving and losing: final results above, at and below 0."""
        pmf = self.result_pmf
        signs = [np.sign(r) for r in pmf]
        won, halved, lost = (
            sum(p for s, p in zip(signs, pmf.values(), strict=True) if s == side) for side in (1, 0, -1)
        )
        return float(won), float(halved), float(lost)

    def tee_choice(self, hole: int, so_far: int = 0) -> str:
        """Name the tee choice on a hole with a result so far.

        Raises
        ------
        UnknownError
            If the plan has no such hole.
        InputError
            If no such result can stand on its tee.
        """
        i = self._place(hole)
        one, words = self.played[i], self.words[i]
        results = range(one.before.least, one.before.least + len(one.before.value))
        if so_far not in results:
            span = f"{results[0]} to {results[-1]}"
            raise InputError.one(f"hole {hole}", "so_far", str(so_far), span)
        choice = one.tee_choice(so_far)
        return str(one.hole.graph.choice_label(choice)) if words is None else words.choice(choice)

    def _place(self, hole: int) -> int:
        for i, one in enumerate(self.played):
            if one.hole.number == hole:
                return i
        have = ", ".join(str(one.hole.number) for one in self.played)
        raise UnknownError(f"hole {hole} is not in this plan; it has {have}")

    def simulate(self, n: int, rng: np.random.Generator) -> NDArray[np.int64]:
        """Play n rounds by chance and return their final results, shape (n,).

        Parameters
        ----------
        n : int
        rng : numpy.random.Generator
        """
        total = np.zeros(n, dtype=np.int64)
        for one in self.played:
            before = total.copy()
            for so_far in np.unique(before):
                rounds = np.flatnonzero(before == so_far)
                policy = one.policy(int(so_far))[::-1]
                tee = one.hole.graph.states[one.hole.start]
                taken = solve.simulate(one.hole.graph, policy, tee, len(rounds), rng)
                row = np.cumsum(one.results.chance, axis=1)[np.minimum(taken, len(policy) - 1)]
                draw = (rng.random((len(rounds), 1)) * row[:, -1:] >= row).sum(axis=1)
                total[rounds] += one.results.values[np.minimum(draw, len(one.results.values) - 1)]
        return total

    def record(self) -> FormatRecord:
        """Return the plan as a record other programs can read."""
        mean, plain = np.diff(_means(self.standings)), np.diff(_means(self.plain_standings))
        holes = tuple(
            FormatHoleRecord(
                number=one.hole.number,
                par=one.hole.par,
                received=got,
                expected=float(mean[i]),
                expected_strokes_policy=float(plain[i]),
                tee_choices=self._switches(one, least, chance),
            )
            for i, (one, got, (least, chance)) in enumerate(
                zip(self.played, self.received, self.standings[:-1], strict=True)
            )
        )
        return FormatRecord(
            format=self.format.name,
            unit=self.format.unit,
            target=self.target,
            objective=_words(self.format, self.target),
            value=self.value,
            value_strokes_policy=self.value_strokes_policy,
            expected=self.expected,
            results={r: p for r, p in self.result_pmf.items() if p > 0.0},
            holes=holes,
        )

    def __repr__(self) -> str:
        return (
            f"FormatPlan({self.format.name!r}, {len(self.played)} holes, {_words(self.format, self.target)}: "
            f"{self.value:.4f})"
        )

    def _switches(self, one: FormatHole, least: int, chance: Floats) -> tuple[TeeSwitch, ...]:
        """Tee choices by result so far, for results that come up once in a thousand rounds or more."""
        switches: list[TeeSwitch] = []
        for so_far in (least + np.flatnonzero(chance >= _SELDOM)).tolist():
            choice = self.tee_choice(one.hole.number, so_far)
            if switches and switches[-1].choice == choice:
                switches[-1] = switches[-1].model_copy(update={"to_result": so_far})
            else:
                switches.append(TeeSwitch(from_result=so_far, to_result=so_far, choice=choice))
        return tuple(switches)


def _means(stood: Sequence[tuple[int, Floats]]) -> Floats:
    """Mean result so far on every tee, and at the end."""
    return np.array([chance @ (least + np.arange(len(chance))) for least, chance in stood])


def _pmf(stood: Sequence[tuple[int, Floats]]) -> dict[int, float]:
    least, chance = stood[-1]
    return {least + i: float(p) for i, p in enumerate(chance)}


def objective(format: Format, target: int | None) -> Callable[[NDArray[np.int64]], Floats]:
    """Return what final results are worth: themselves (fewer better where low wins), a match, or a target."""
    sign = -1.0 if format.low_wins else 1.0
    if target is not None:
        return lambda result: (sign * result >= sign * target).astype(np.float64)
    if isinstance(format, MatchPlay):
        return lambda result: 0.5 * (1.0 + np.sign(result.astype(np.float64)))
    return lambda result: sign * result.astype(np.float64)


def _played_for(format: Format, target: int | None) -> Callable[[NDArray[np.int64]], Floats]:
    """Return what is maximised: where there is a target, the result counts a little as well.

    Else nothing would be left to play for once a target is sure or lost, and any shot would do.
    """
    worth = objective(format, target)
    if target is None:
        return worth
    sign = -1.0 if format.low_wins else 1.0
    return lambda result: worth(result) + _FOR_THE_RESULT * sign * result


def _words(format: Format, target: int | None) -> str:
    """Say what is played for."""
    if target is not None:
        return f"chance of {target} {format.unit} or {'fewer' if format.low_wins else 'more'}"
    if isinstance(format, MatchPlay):
        return "chance of winning the match, a half counting half"
    return f"mean {format.unit}"


def plan_format(
    plan: RoundPlan,
    format: Format,
    *,
    handicap: int = 0,
    received: Sequence[int] | None = None,
    target: int | None = None,
) -> FormatPlan:
    """Plan a round for a format.

    Parameters
    ----------
    plan : RoundPlan
        Its holes with the choices it was made with; its own target plays no part.
    format : Format
    handicap : int
        Course or playing handicap, -30 to 90; its strokes go to the holes by stroke index. In match play: the
        difference between the players, if the opponent receives none.
    received : sequence of int, optional
        Strokes received on each hole in playing order, instead of ``handicap``.
    target : int, optional
        Result to reach (points; holes up; net strokes with maximum score). By default the best expected result,
        and in match play the match.

    Raises
    ------
    InputError
        If ``received`` does not fit the holes, or the format does not; if the handicap or the target is no whole
        number, or both ``handicap`` and ``received`` are given.
    """
    check_plan(plan, "plan_format")
    faults = handicap_faults(handicap)
    if isinstance(format, type) or not hasattr(format, "results"):
        found = f"the class {format.__name__}" if isinstance(format, type) else repr(format)[:60]
        faults.append(Fault("format", found, "a format, such as Stableford()"))
    if not faults and handicap and received is not None:
        faults.append(Fault("handicap", f"{handicap} beside received", "one of the two"))
    if faults:
        raise InputError("plan_format", faults)
    if received is None:
        received = strokes_received(handicap, [hole.stroke_index for hole in plan.holes])
    holes, words = [], []
    for hole in plan.holes:
        model = hole.compiled()
        small = solve.contract(model.graph, [model.tee])
        holes.append(HoleGraph(small.graph, small.state(model.tee), hole.number, hole.par, hole.stroke_index))
        words.append(Words.of(model, small.choices))
    return play_format(holes, format, received, target, words=words)


def play_format(
    holes: Sequence[HoleGraph],
    format: Format,
    received: Sequence[int] | None = None,
    target: int | None = None,
    *,
    words: Sequence[Words] | None = None,
) -> FormatPlan:
    """Plan any chain of graphs for a format; see `plan_format`.

    Parameters
    ----------
    holes : sequence of HoleGraph
        In playing order.
    words : sequence of Words, optional
        Names of the choices; by default the graph's labels.
    """
    faults = (
        [] if target is None else number_faults("target", target, -999, 999, "a whole number", whole=True)
    )
    for i, one in enumerate(() if received is None else received):
        faults += number_faults(
            f"received[{i}]", one, -9, 9, "a whole number of strokes, -9 to 9", whole=True
        )
    if faults:
        raise InputError("plan_format", faults)
    got = tuple(int(r) for r in received) if received is not None else (0,) * len(holes)
    if len(got) != len(holes) or not holes:
        raise InputError.one(
            "plan_format", "received", f"{len(got)} numbers", f"one for each of {len(holes)} holes"
        )
    if isinstance(format, MatchPlay) and len(format.opponent) != len(holes):
        found = f"{len(format.opponent)} holes"
        raise InputError.one("MatchPlay", "opponent", found, f"chances for each of {len(holes)} holes")
    results = [format.results(i, hole.par, got[i]) for i, hole in enumerate(holes)]
    played = chain_format(holes, results, _played_for(format, target))
    plain = tuple(_plain(hole, one) for hole, one in zip(holes, results, strict=True))
    return FormatPlan(
        format, target, got, played, plain, tuple(words) if words is not None else (None,) * len(holes)
    )


def _plain(hole: HoleGraph, results: Results) -> FormatHole:
    """Return the hole played for the fewest expected strokes; it serves no worth."""
    choice = solve.fewest_strokes(hole.graph).choice.astype(np.int32)
    return FormatHole(hole, results, Worths(0, np.zeros(1)), np.tile(choice, (1, len(results.chance), 1)))
