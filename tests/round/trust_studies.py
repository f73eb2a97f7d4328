"""Studies of how far a plan can be trusted: slow tests judge them, ``tests/bench/accuracy.py`` writes them down.

Published figures stand here as copies, each with its source beside it.
"""

from concurrent.futures import ProcessPoolExecutor
from copy import copy
from dataclasses import dataclass, replace
from multiprocessing import get_context

import numpy as np
from numpy.typing import NDArray
from shapely import Point, box

import caddiebrain as cb
from caddiebrain.course.model import Area, Course, Hole
from caddiebrain.hole import ChoiceTable, GridSpec
from caddiebrain.hole.compile import TEE_YD
from caddiebrain.hole.green import split
from caddiebrain.hole.ground import LIES
from caddiebrain.hole.play import HolePlay
from caddiebrain.player.reference_levels import tour_like
from caddiebrain.round import RoundPlan
from caddiebrain.round.advice import Advice
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.round.lookup import spread_from, state_at
from caddiebrain.round.simulate import decisions_of, play_rounds
from caddiebrain.terms import Lie

Floats = NDArray[np.float64]
MANY_POINTS = (610, 144)
"""Points that stand for the solid and the mishit part of a shot where a choice is valued afresh."""

YARDS = (20, 60, 100, 140, 180, 220, 260, 300, 340, 380, 420, 460, 500, 540, 580)
# Strokes to hole out of tour players, 2003-2010: Broadie M. (2012), Assessing Golfer Performance on the PGA TOUR,
# Interfaces 42(2):146-165, baseline table (from memory; a dozen cells agree with secondary pages).
# fmt: off
TOUR_STROKES = {
    "tee": dict(zip(YARDS[2:], (2.92, 2.97, 3.05, 3.17, 3.45, 3.71, 3.86, 3.96, 4.02, 4.17, 4.41, 4.65, 4.79),
                    strict=True)),
    "fairway": dict(zip(YARDS, (2.40, 2.70, 2.80, 2.91, 3.08, 3.32, 3.58, 3.78, 3.88, 4.03, 4.15, 4.29, 4.53,
                                4.78, 4.91), strict=True)),
    "rough": dict(zip(YARDS, (2.59, 2.91, 3.02, 3.15, 3.31, 3.53, 3.74, 3.90, 4.02, 4.21, 4.34, 4.48, 4.72,
                              4.97, 5.10), strict=True)),
    "sand": dict(zip(YARDS, (2.53, 3.15, 3.23, 3.22, 3.40, 3.70, 3.93, 4.04, 4.26, 4.55, 4.73, 4.87, 5.11,
                             5.36, 5.49), strict=True)),
    "green": {3: 1.04, 5: 1.23, 8: 1.50, 10: 1.61, 15: 1.78, 20: 1.87, 30: 1.98, 40: 2.06},
}
"""Yards from the hole (feet on the green) to strokes."""
# fmt: on

EXCEPTIONAL_ODDS = {
    "13 to 21.9, ours 17": (17.0, {0: 6, -3: 43, -5: 174}),
    "5.9 or less, ours 4": (4.0, {0: 5, -3: 57, -5: 379}),
}
"""Group -> the index we try, and the odds, one in so many rounds, of a net differential this low or lower.

USGA Handicap System Manual, Appendix E, odds of an exceptional tournament score (read).
"""


def yardage_rating(player: str, length_yd: float) -> float:
    """Rating from length alone, men: the average of the better half (Course Rating System; memory)."""
    return length_yd / 220 + 40.9 if player == "scratch" else length_yd / 160 + 50.7


TourRow = tuple[str, int, float, float]
"""Lie, distance, published strokes and ours."""

# -- a tour-like player on open holes -------------------------------------------------------------------------


def open_hole(length: float) -> Hole:
    """Lay out one flat hole: fairway of 32 yards, rough elsewhere, a round green of 14 yards' radius."""
    start = min(200.0, 0.45 * length) if length > 260 else max(0.0, length - 60.0)
    areas = (
        Area(Lie.GREEN, Point(0, length).buffer(14)),
        Area(Lie.FAIRWAY, box(-16, start, 16, length - 12)),
        Area(Lie.SAND, box(46, 0, 50, length)),  # far off the line: it makes sand a lie the hole has
    )
    return Hole(1, 4, 1, np.array([[0.0, 0.0], [0.0, length]]), areas)


def tour_strokes() -> list[TourRow]:
    """Every cell of the published table beside ours: one hole of 620 yards looked up, tees on holes of their own."""
    player = tour_like()
    hole = cb.plan_round(Course("open", (open_hole(620.0),)), player, 5).holes[0]
    worth, number = hole.strokes_worth(), hole.compiler.numbering
    putts = worth.layers[0][number.putt : number.node]
    rows = []
    for lie, table in TOUR_STROKES.items():
        for distance, published in table.items():
            if lie == "tee":
                value = cb.plan_round(Course("open", (open_hole(float(distance)),)), player, 5).expected_score
            elif lie == "green":
                low, upper = split(np.array([float(distance)]))
                value = float(putts[low[0]] * (1 - upper[0]) + putts[low[0] + 1] * upper[0])
            else:
                x = 22.0 if lie == "rough" and distance > 40 else 0.0
                y = 620.0 - float(np.sqrt(distance**2 - x**2))
                value = float(spread_from(hole.compiler, x, y, Lie(lie)).values(worth).min())
            rows.append((lie, distance, published, value))
    return rows


# -- levels ---------------------------------------------------------------------------------------------------


def better_half(pmf: np.ndarray) -> float:
    """Mean of the lower half of a distribution over 0, 1, 2, ..."""
    below = np.cumsum(pmf) - pmf
    share = np.clip(0.5 - below, 0.0, pmf)
    return float((share * np.arange(len(pmf))).sum() / share.sum())


@dataclass(frozen=True)
class LevelStudy:
    """A level on the demo course: its index from 20 rounds there, and the chance of each net differential."""

    better_half: float
    mean: float
    index: float
    odds: dict[int, float]


def level_study(handicap_index: float, rng: np.random.Generator) -> LevelStudy:
    """Plan the demo course for a level; the index is the mean of the best 8 of 20 differentials.

    The course's own rating and slope come from its length (yardage ratings; slope = 5.381 times their difference).
    """
    course = cb.demo.course()
    plan = cb.plan_round(course, cb.Level(handicap_index=handicap_index).player(), 90)
    pmf = plan.score_pmf("expected")
    rating = yardage_rating("scratch", course.length_yd)
    slope = 5.381 * (yardage_rating("bogey", course.length_yd) - rating)
    differential = (np.arange(len(pmf)) - rating) * 113 / slope
    drawn = rng.choice(differential, size=(20_000, 20), p=pmf / pmf.sum())
    index = float(np.sort(drawn, axis=1)[:, :8].mean())
    net = np.round(differential - index, 1)
    odds = {least: float(1.0 / pmf[net <= least].sum()) for least in (0, -3, -5)}
    return LevelStudy(better_half(pmf), plan.expected_score, index, odds)


# -- the grid and continuous play -----------------------------------------------------------------------------


def demo_plan(grid: GridSpec | None = None) -> RoundPlan:
    """Plan the demo for 79."""
    return cb.plan_round(cb.demo.course(), cb.demo.player(), 79, grid=grid)


@dataclass(frozen=True)
class PlayStudy:
    """Computed and simulated: mean score and chance of the plan's target under one policy."""

    policy: str
    computed: float
    played: float
    standard_error: float
    chance: float
    chance_played: float
    holes: tuple[float, ...]
    """Played less computed, hole by hole; for the expected policy."""


def played(plan: RoundPlan, rounds: int, seed: int, policy: str, batch: int = 25_000) -> NDArray[np.int64]:
    """Play rounds in continuous positions; return their scores, (rounds, holes)."""
    rng = np.random.default_rng(seed)
    parts = [min(batch, rounds - i) for i in range(0, rounds, batch)]
    return np.concatenate([play_rounds(plan, n, rng, policy).scores for n in parts])


def play_study(plan: RoundPlan, rounds: int, seed: int) -> list[PlayStudy]:
    """Play rounds under both policies, each in a process of its own."""
    policies, studies = ("expected", "target"), []
    with ProcessPoolExecutor(len(policies), mp_context=get_context("spawn")) as pool:
        found = [pool.submit(played, plan, rounds, seed, policy) for policy in policies]
    for policy, scores in zip(policies, (f.result() for f in found), strict=True):
        totals = scores.sum(axis=1)
        pmf = plan.score_pmf(policy)
        holes = tuple(scores[:, i].mean() - hole.expected_score for i, hole in enumerate(plan.holes))
        studies.append(
            PlayStudy(
                policy,
                float((pmf * np.arange(len(pmf))).sum()),
                float(totals.mean()),
                float(totals.std() / np.sqrt(rounds)),
                float(pmf[: plan.target + 1].sum()),
                float((totals <= plan.target).mean()),
                holes,
            )
        )
    return studies


# -- deciding where the ball lies -------------------------------------------------------------------------------


@dataclass(frozen=True)
class DecisionStudy:
    """Strokes a round, with standard errors: what deciding where the ball lies gains, and what not doing so costs.

    ``shots`` are those off the tee and the green. ``there`` is the best choice from where balls lie, less what the
    plan computes for those places; ``nearest`` the choice of the nearest place, less the best; both for those shots,
    valued with many points each.
    """

    shots: tuple[float, float]
    there: tuple[float, float]
    nearest: tuple[float, float]


def decision_study(plan: RoundPlan, rounds: int, each: int, seed: int) -> DecisionStudy:
    """Play rounds for the average and weigh a sample of the choices made, ``each`` of every hole."""
    rng = np.random.default_rng(seed)
    shots, gains = [], []
    for hole in plan.holes:
        made, (x, y, lie, table) = _choices_made(hole, rounds, rng)
        picked = rng.choice(len(x), each, replace=False)
        rows = [_weighed(hole, x[i], y[i], LIES[lie[i]], table.take(np.array([i]))) for i in picked]
        shots.append(made)
        gains.append(made.mean() * np.array(rows))
    per_round = np.sum(shots, axis=0)
    there, nearest = zip(
        np.sum([rows.mean(axis=0) for rows in gains], axis=0),
        np.sqrt(np.sum([rows.var(axis=0) / each for rows in gains], axis=0)),
        strict=True,
    )
    return DecisionStudy((per_round.mean(), per_round.std() / np.sqrt(rounds)), there, nearest)


def _choices_made(
    hole: HolePlan, rounds: int, rng: np.random.Generator
) -> tuple[NDArray[np.int64], tuple[Floats, Floats, NDArray[np.int64], ChoiceTable]]:
    """How many shots were played off the tee and the green in each round; from where, and what was chosen there."""
    seen: list[tuple[NDArray[np.int64], Floats, Floats, NDArray[np.int64], ChoiceTable]] = []
    decisions = decisions_of(hole, target=False)
    left = np.zeros(rounds, dtype=np.int64)
    HolePlay(hole.compiler).play(
        decisions, left, rng, Advice(hole, decisions), lambda *choices: seen.append(choices)
    )
    who, x, y, lie = (np.concatenate([choices[k] for choices in seen]) for k in range(4))
    table = ChoiceTable.join([choices[4] for choices in seen])
    off = np.flatnonzero(np.hypot(x - hole.hole.tee[0], y - hole.hole.tee[1]) > TEE_YD)
    return np.bincount(who[off], minlength=rounds), (x[off], y[off], lie[off], table.take(off))


def _weighed(hole: HolePlan, x: float, y: float, lie: Lie, made: ChoiceTable) -> tuple[float, float]:
    """Best choice less computed, and the one made less the best."""
    worth, compiler = hole.strokes_worth(), hole.compiler
    finer = copy(compiler)
    finer.grid = replace(compiler.grid, points=MANY_POINTS)
    choices = spread_from(compiler, x, y, lie)
    best = choices.table.take(np.array([np.argmin(choices.values(worth))]))
    both = ChoiceTable.join([replace(t, node=np.zeros(1, dtype=np.int64)) for t in (best, made)])
    least, taken = spread_from(finer, x, y, lie, lambda _: both).values(worth)
    (computed,) = compiler.resting[[state_at(compiler, x, y, LIES.index(lie))]] @ worth.layers[0]
    return float(least - computed), float(taken - least)
