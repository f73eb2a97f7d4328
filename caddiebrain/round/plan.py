"""A plan for a round: what to hit from every place to score lowest, and to stay within a target."""

from collections.abc import Callable, Sequence
from contextlib import closing
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from caddiebrain.course import Course, Setup
from caddiebrain.course import prepare as prepare_course
from caddiebrain.errors import InputError, UnknownError, kind_faults, number_faults
from caddiebrain.flight import Conditions
from caddiebrain.hole import GridSpec, arsenal_of, player_today
from caddiebrain.player.model import Player
from caddiebrain.round.asked import check_asked
from caddiebrain.round.chain import Finish, chain_hole
from caddiebrain.round.confidence import Confidence, tee_confidence
from caddiebrain.round.day import day_flight
from caddiebrain.round.flow import total_pmf
from caddiebrain.round.helpers import processes_for, shared
from caddiebrain.round.hole_plan import HolePlan, read_only
from caddiebrain.round.lookup import spread_from
from caddiebrain.round.options import Option
from caddiebrain.round.place import check_strokes, lie_named, on_the_tee, pair_of, place_of
from caddiebrain.round.prepare import Day, solved_on
from caddiebrain.round.record import PlanRecord
from caddiebrain.round.replay import in_order, replay
from caddiebrain.terms import Lie

__all__ = ["FEW_SHOTS", "Progress", "RoundPlan", "check_plan", "plan_round"]

_EVER = 1e-6
"""A standing that is reached, or passed, less often does not come up: once in a million rounds."""
FEW_SHOTS = 20.0
"""Recommendations that hang on fewer recorded shots say so: a mean of 20 is known to a quarter of its spread."""

Progress = Callable[[int, int, str], None]
"""Called with (steps done, steps in all, what was done)."""


class RoundPlan:
    """Everything a plan knows. Made by `plan_round`.

    Parameters
    ----------
    course : Course
    player : Player
    target : int
        Most strokes the round may take.
    conditions : Conditions
    setup : Setup
    holes : tuple of HolePlan
        In playing order.
    """

    def __init__(
        self,
        course: Course,
        player: Player,
        target: int,
        conditions: Conditions,
        setup: Setup,
        holes: tuple[HolePlan, ...],
    ) -> None:
        self.course, self.player, self.target = course, player, target
        self.conditions, self.setup, self.holes = conditions, setup, holes
        self._pmf: dict[str, NDArray[np.float64]] = {}

    def __setattr__(self, name: str, value: object) -> None:
        # Another target, player or day needs other holes, and answers would be mixed of both.
        if name in self.__dict__ and not name.startswith("_"):
            raise AttributeError(f"{name}: a plan does not change; plan_round makes one for another {name}")
        super().__setattr__(name, value)

    @property
    def expected_score(self) -> float:
        """Mean total, strokes, when every choice has the lowest expected score."""
        return float(sum(hole.expected_score for hole in self.holes))

    def chance(self, total: int | None = None) -> float:
        """Best chance (0 to 1) of a round of at most ``total`` strokes; by default the target.

        Raises
        ------
        InputError
            If ``total`` is no whole number.
        """
        return float(self.holes[0].chances.start.at(self._total(total)))

    def chance_expected_policy(self, total: int | None = None) -> float:
        """Chance of at most ``total`` strokes when every choice has the lowest expected score."""
        pmf = self.score_pmf("expected")
        return float(pmf[: max(0, self._total(total) + 1)].sum())

    def _total(self, total: int | None) -> int:
        """A total asked for, by default the target."""
        if total is None:
            return self.target
        faults = number_faults("total", total, -1e9, 1e9, "a whole number of strokes", whole=True)
        if faults:
            raise InputError("chance", faults)
        return int(total)

    def score_pmf(self, policy: str = "expected") -> NDArray[np.float64]:
        """Chance of each total, from 0 strokes on; read-only, so copy it to change it.

        Parameters
        ----------
        policy : {"expected", "target"}
            Lowest expected score throughout, or whatever serves ``target`` best.

        Raises
        ------
        UnknownError
            For any other policy.
        """
        if policy not in ("expected", "target"):
            raise UnknownError(f'no policy {policy!r}; there are "expected" and "target"')
        if policy not in self._pmf:
            found = self._expected_pmf() if policy == "expected" else total_pmf(self.holes, self.target)
            self._pmf[policy] = found
        return read_only(self._pmf[policy])

    def _expected_pmf(self) -> NDArray[np.float64]:
        total = np.ones(1)
        for hole in self.holes:
            total = np.convolve(total, hole.score_pmf)
        return np.trim_zeros(total, "b")

    def hole(self, number: int) -> HolePlan:
        """Return the plan of one hole.

        Raises
        ------
        UnknownError
            If the course has no such hole.
        """
        for hole in self.holes:
            if hole.number == number:
                return hole
        have = ", ".join(str(h.number) for h in self.holes)
        raise UnknownError(f"hole {number!r} is not in this plan; it has {have}")

    def strokes_left(self, hole: int, standing: int) -> int:
        """Strokes left under the target on a tee, ``standing`` strokes over the par of the holes played."""
        played = 0
        for one in self.holes:
            if one.number == hole:
                check_strokes(hole, standing)
                return self.target - played - int(standing)
            played += one.par
        self.hole(hole)
        raise AssertionError  # pragma: no cover

    def options(
        self,
        hole: int,
        position: tuple[float, float] | None = None,
        *,
        to_pin: float | None = None,
        lie: str | None = None,
        strokes_on_hole: int = 0,
        standing: int = 0,
        every_aim: bool = False,
        played_from: tuple[float, float] | Literal["tee"] | None = None,
    ) -> tuple[Option, ...]:
        """Rank every choice from one place.

        Aims that trees all but rule out are left out where another shot from the place is far freer; of each full
        shot the freest aim stays.

        Parameters
        ----------
        hole : int
        position : (x, y), optional
            Yards: right of the straight line from tee to pin, and toward the pin.
        to_pin : float, optional
            Instead of a position: yards to the pin, on the line of play.
        lie : str, optional
            A member of ``Lie``; by default what the map shows.
        strokes_on_hole : int
            Strokes taken on this hole so far, penalties included.
        standing : int
            Strokes over par before this hole.
        every_aim : bool
            List every aim of every club and every place to drop, not only the best of each.
        played_from : (x, y) or "tee", optional
            Where the ball was last played, yards; stroke and distance (Rules 18.1, 19.2a, 19.3a) is then weighed, too.

        Returns
        -------
        tuple of Option
            Best first: by the chance of the target while that hangs in the balance, else by expected score.

        Raises
        ------
        UnknownError, InputError
            For a hole, lie or position that is not there.
        """
        plan = self.hole(hole)
        check_strokes(hole, standing, strokes_on_hole)
        x, y = place_of(plan.hole, position, to_pin)
        before = plan.hole.tee if isinstance(played_from, str) and played_from == "tee" else played_from
        before = None if before is None else pair_of(plan.hole, "played_from", before)
        kind = lie_named(lie)
        if kind is None and on_the_tee(plan.hole, x, y):
            kind = Lie.TEE
        if kind is Lie.TEE and on_the_tee(plan.hole, x, y):
            # The plan has these already.
            return plan.tee_options(standing + strokes_on_hole, every_aim=every_aim)
        left = self.strokes_left(hole, standing) - strokes_on_hole
        spread = spread_from(plan.compiler, x, y, kind)
        expected = spread.values(plan.strokes_worth())
        chance = np.clip(spread.values(plan.chance_worth(left)), 0.0, 1.0)
        rows = plan.ranked(expected, chance, None if every_aim else spread.kinds())
        found = tuple(spread.options(rows, expected[rows], chance[rows]))
        return found if before is None else in_order((*found, replay(plan, (x, y), before, left)))

    def confidence(self, hole: int, rng: np.random.Generator, draws: int = 40) -> Confidence:
        """How often the tee choice of a hole stays best over players drawn from what the records allow.

        Parameters
        ----------
        hole : int
        rng : numpy.random.Generator
            The same state gives the same answer.
        draws : int
            Players drawn.

        Raises
        ------
        UnknownError, InputError
            For a hole that is not there, too few draws, or a tee with only one club worth hitting.
        """
        faults = kind_faults(
            "rng", rng, np.random.Generator, "a generator, such as numpy.random.default_rng(1)"
        )
        if faults:
            raise InputError("confidence", faults)
        return tee_confidence(self, self.hole(hole), rng, draws)

    def record(self) -> PlanRecord:
        """Return the plan as a record other programs can read."""
        return PlanRecord(
            course=self.course.name,
            player=self.player.name,
            par=self.course.par,
            target=self.target,
            expected_score=self.expected_score,
            chance=self.chance(),
            chance_expected_policy=self.chance_expected_policy(),
            score_pmf={name: tuple(self.score_pmf(name).tolist()) for name in ("expected", "target")},
            holes=tuple(hole.record() for hole in self.holes),
            few_shots=self._few_shots(),
        )

    def _few_shots(self) -> dict[str, float]:
        """Recommended tee shots with fewer than ``FEW_SHOTS`` on record, fewest first."""
        options = [o for hole in self.holes for o in (hole.tee_choice, *(s.option for s in hole.switches))]
        few = {o.label: o.shots for o in options if o.shots < FEW_SHOTS}
        return dict(sorted(few.items(), key=lambda item: (item[1], item[0])))

    def __repr__(self) -> str:
        return (
            f"RoundPlan({self.course.name!r}, target {self.target}: expected {self.expected_score:.2f}, "
            f"chance {self.chance():.4f})"
        )


def check_plan(plan: object, where: str) -> None:
    """Refuse what is no plan, such as a record of one read back from JSON."""
    made = "a RoundPlan, as plan_round makes it; a record of one cannot be asked"
    faults = kind_faults("plan", plan, RoundPlan, made)
    if faults:
        raise InputError(where, faults)


def plan_round(
    course: Course,
    player: Player,
    target: int,
    conditions: Conditions | None = None,
    setup: Setup | None = None,
    *,
    grid: GridSpec | None = None,
    progress: Progress | None = None,
    workers: int | None = None,
) -> RoundPlan:
    """Work out a round: the lowest expected score, and the best chance of every total at every standing.

    Parameters
    ----------
    course : Course
    player : Player
    target : int
        Most strokes the round may take; at least one for each hole.
    conditions : Conditions, optional
        Weather of the day; still air at 20 C and sea level by default.
    setup : Setup, optional
        Tees, pins, ground, rough and greens of the day; by default as the course file has them.
    grid : GridSpec, optional
        How finely holes are cut up.
    progress : callable, optional
        Told after each step.
    workers : int, optional
        Processes, this one and helpers; by default one for each processor, at most 4, on a round of
        a few holes fewer. The plan does not depend on it.

    Returns
    -------
    RoundPlan
        With the distributions of the total under both of its policies.

    Raises
    ------
    InputError
        If something is not of its kind, the target is less than one stroke a hole, or the course has no hole, or two of
        one number.
    """
    check_asked(course, player, target, conditions, setup, grid, progress)
    target = int(target)
    conditions, today = conditions or Conditions(), setup or Setup()
    if setup is not None:
        course = prepare_course(course, setup)
    golfer = player_today(player, today)
    flight = day_flight(golfer, conditions)

    day = Day(
        golfer,
        flight,
        conditions,
        grid,
        today.firmness,
        arsenal_of(golfer, flight, conditions, today.firmness),
    )
    steps = 2 * len(course.holes)
    plans: list[HolePlan] = []
    after = Finish.end_of_round()
    holes = tuple(reversed(course.holes))
    tasks = [(hole, day) for hole in holes]
    with closing(shared(solved_on, tasks, processes_for(workers, len(holes)))) as ready:
        for hole, solved in zip(holes, ready, strict=True):
            solved.model.compiler.arsenal = day.arsenal  # one for all holes, whichever process compiled them
            chances = chain_hole(solved, after)
            after = chances.start
            played = sum(h.par for h in course.holes[: course.holes.index(hole)])
            plans.append(HolePlan.of(hole, solved, chances, target - played))
            if progress is not None:
                progress(2 * len(plans), steps, f"hole {hole.number}")
    plans.reverse()
    _mark_standings(plans)
    plan = RoundPlan(course, player, target, conditions, today, tuple(plans))
    plan.score_pmf("target")  # so that records and books of the plan need not wait for it
    return plan


def _mark_standings(plans: Sequence[HolePlan]) -> None:
    """Tell every hole after the first which standings come up on its tee, playing for the score."""
    total, par = np.ones(1), 0
    for before, hole in pairwise(plans):
        total, par = np.convolve(total, before.score_pmf), par + before.par
        up = np.flatnonzero((np.cumsum(total) > _EVER) & (np.cumsum(total[::-1])[::-1] > _EVER))
        hole.standings = int(up[0]) - par, int(up[-1]) - par
