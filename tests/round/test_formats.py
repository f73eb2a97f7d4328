"""Formats against the Rules, published polynomials, brute force and simulation."""

from itertools import product

import numpy as np
import pytest
from numpy.polynomial import Polynomial

from caddiebrain import solve
from caddiebrain.errors import InputError, UnknownError
from caddiebrain.graph import StateGraph
from caddiebrain.round.format_chain import HoleGraph, standings
from caddiebrain.round.format_plan import plan_format, play_format
from caddiebrain.round.formats import MatchPlay, MaximumScore, ParBogey, Stableford
from caddiebrain.round.handicap import course_handicap


def sure(results) -> list[int]:
    """Result of each gross score, where it is sure."""
    return [int(results.values[row.argmax()]) for row in results.chance if row.max() == 1.0]


def test_stableford_points_are_those_of_the_rules():
    # Rule 21.1b: more than one over the fixed score 0, one over 1, equal 2, one under 3, two 4, three 5, four 6.
    assert sure(Stableford().results(0, 5, 0)) == [6, 6, 5, 4, 3, 2, 1, 0]
    # With a stroke received a five on a par four is a net par.
    assert sure(Stableford().results(0, 4, 1))[5] == 2


def test_par_bogey_and_maximum_score_are_those_of_the_rules():
    assert sure(ParBogey().results(0, 4, 0)) == [1, 1, 1, 1, 0, -1]  # rule 21.3b
    assert sure(ParBogey().results(0, 4, 1)) == [1, 1, 1, 1, 1, 0, -1]
    assert sure(MaximumScore("double par").results(0, 3, 0)) == [0, 1, 2, 3, 4, 5, 6]  # rule 21.2a
    assert sure(MaximumScore().results(0, 4, 1))[-1] == 6  # net double bogey
    for nine in (9, np.int64(9)):
        assert sure(MaximumScore(nine).results(0, 5, 0))[-1] == 9


def hardy(x: float, par: int = 4) -> StateGraph:
    """Hardy's golfer: good shots gain two, bad ones nothing, others one; the hole ends at ``par`` or beyond."""
    play = {}
    for s in range(par):
        ends = [(s, x, 1), ("cup" if s + 1 >= par else s + 1, 1 - 2 * x, 1)]
        play[s] = {"shot": [*ends, ("cup" if s + 2 >= par else s + 2, x, 1)]}
    return StateGraph.from_choices(play)


STEADY = np.eye(5)[4]
"""Always four."""


@pytest.mark.parametrize("x", [0.02, 0.1, 0.2, 0.25])
def test_hardys_golfer_against_the_steady_player(x):
    # Hardy G.H. (1945), Mathematical Gazette 29:226-227; van der Ven (2012), Mathematical Gazette 96: par 4,
    # good and bad shots each with chance x: wins 3x - 9x^2 + 10x^3, loses 4x - 18x^2 + 40x^3 - 35x^4.
    hole = HoleGraph(hardy(x), 0, 1, 4, 1)
    won, halved, lost = play_format([hole], MatchPlay([STEADY])).match
    assert won == pytest.approx(Polynomial([0, 3, -9, 10])(x), abs=1e-12)
    assert lost == pytest.approx(Polynomial([0, 4, -18, 40, -35])(x), abs=1e-12)
    assert won + halved + lost == pytest.approx(1.0)


def test_eighteen_holes_of_it_are_a_random_walk():
    x = 0.1
    win, lose = Polynomial([0, 3, -9, 10])(x), Polynomial([0, 4, -18, 40, -35])(x)
    walk = np.ones(1)
    for _ in range(18):
        walk = np.convolve(walk, [lose, 1 - win - lose, win])
    holes = [HoleGraph(hardy(x), 0, n, 4, n) for n in range(1, 19)]
    plan = play_format(holes, MatchPlay([STEADY] * 18))
    assert plan.match == pytest.approx((walk[19:].sum(), walk[18], walk[:18].sum()), abs=1e-12)
    assert plan.value == pytest.approx(walk[19:].sum() + walk[18] / 2, abs=1e-12)


def risky(p: float) -> StateGraph:
    """A hole that is four for sure, or three or six by a gamble on the tee or on the second shot."""
    return StateGraph.from_choices(
        {
            "tee": {"safe": [("fairway", 1.0, 1)], "gamble": [("cup", p, 3), ("cup", 1 - p, 6)]},
            "fairway": {"safe": [("cup", 1.0, 3)], "gamble": [("cup", 0.3, 2), ("cup", 0.7, 5)]},
        }
    )


GAMBLES = (0.2, 0.45, 0.35)
ENDS = [{4: 1.0}, {3: 0.3, 6: 0.7}]
"""Scores of the safe way and of the gamble on the second shot; that on the tee depends on the hole."""


def best_by_hand(worth, points, holes: int) -> float:
    """Best mean worth of the final result, every standing looked at in full."""

    def value(h: int, so_far: int) -> float:
        if h == holes:
            return worth(so_far)
        ways = [*ENDS, {3: GAMBLES[h], 6: 1 - GAMBLES[h]}]
        return max(sum(p * value(h + 1, so_far + points(score)) for score, p in way.items()) for way in ways)

    return value(0, 0)


def test_a_match_is_one_decision_problem():
    holes = [HoleGraph(risky(p), 0, n + 1, 4, n + 1) for n, p in enumerate(GAMBLES)]
    opponent = [np.array([0, 0, 0, 0.3, 0.5, 0.2])] * 3
    theirs = dict(enumerate(opponent[0]))

    def value(h: int, up: int) -> float:
        if h == 3:
            return 0.5 * (1 + np.sign(up))
        ways = [*ENDS, {3: GAMBLES[h], 6: 1 - GAMBLES[h]}]
        return max(
            sum(
                p * q * value(h + 1, up + int(np.sign(t - s)))
                for (s, p), (t, q) in product(way.items(), theirs.items())
            )
            for way in ways
        )

    plan = play_format(holes, MatchPlay(opponent))
    assert plan.value == pytest.approx(value(0, 0), abs=1e-12)
    won, halved, _ = plan.match
    assert plan.value == pytest.approx(won + halved / 2, abs=1e-12)
    # Level on the last tee the gamble is worse than a safe four; one down it is all that is left.
    assert plan.tee_choice(3, 0) == "safe"
    assert plan.tee_choice(3, -1) == "gamble"
    assert plan.value >= plan.value_strokes_policy - 1e-12


@pytest.mark.parametrize("target", [6, 7, 8])
def test_a_points_target_is_one_decision_problem(target):
    holes = [HoleGraph(risky(p), 0, n + 1, 4, n + 1) for n, p in enumerate(GAMBLES)]
    points = {3: 3, 4: 2, 6: 0}.__getitem__
    plan = play_format(holes, Stableford(), target=target)
    assert plan.value == pytest.approx(best_by_hand(lambda r: float(r >= target), points, 3), abs=1e-12)
    assert plan.chance(target) == pytest.approx(plan.value, abs=1e-12)
    mean = play_format(holes, Stableford())
    assert mean.value == pytest.approx(best_by_hand(float, points, 3), abs=1e-12)


def test_many_utilities_are_each_the_best_one(three_plan):
    model = three_plan.hole(2).compiled()
    small = solve.contract(model.graph, [model.tee])
    rng = np.random.default_rng(3)
    worth = np.cumsum(-rng.random((4, 7)), axis=1)
    found = solve.best_utilities(small.graph, worth)
    for m in range(4):
        one = solve.best_utility(small.graph, worth[m])
        np.testing.assert_allclose(found.value[m], one.value[0], atol=1e-12)
    tee = small.state(model.tee)
    for m in range(4):  # and the policies are worth what is said
        pmf = solve.score_pmf(small.graph, found.choice[m][::-1], tee).pmf
        worths = np.append(worth[m], np.full(len(pmf), worth[m, -1]))[: len(pmf)]
        assert pmf @ worths == pytest.approx(found.value[m, tee], abs=1e-9)


def test_a_stableford_plan_scores_the_points_it_says(three_plan):
    plan = plan_format(three_plan, Stableford(), handicap=2)
    assert plan.received == (1, 1, 0)
    # Played on the compiled holes themselves by another route: solve.simulate on the contracted graphs.
    rng, n = np.random.default_rng(11), 40_000
    points = np.zeros(n)
    for one, par, got in zip(plan.played, (4, 3, 5), plan.received, strict=True):
        taken = solve.simulate(one.hole.graph, one.policy(0)[::-1], one.hole.start, n, rng)
        points += np.maximum(0, 2 + par + got - taken)
    error = points.std() / np.sqrt(n)
    assert abs(points.mean() - plan.expected) < 4 * error
    assert plan.value == pytest.approx(plan.expected, abs=1e-9)
    # The plan for strokes scores fewer points, and what it scores is what its distribution of scores says.
    by_hand = sum(
        np.maximum(0, 2 + h.par + got - np.arange(len(h.score_pmf))) @ h.score_pmf
        for h, got in zip(three_plan.holes, plan.received, strict=True)
    )
    assert plan.value_strokes_policy == pytest.approx(by_hand, abs=1e-9)
    assert plan.value > by_hand + 1e-4


def test_a_target_of_points_is_simulated_too(three_plan):
    plan = plan_format(three_plan, Stableford(), handicap=2, target=7)
    reached = plan.simulate(30_000, np.random.default_rng(5)) >= 7
    assert abs(reached.mean() - plan.value) < 4 * np.sqrt(plan.value * (1 - plan.value) / 30_000)
    assert plan.value > plan.value_strokes_policy
    assert plan.value >= plan_format(three_plan, Stableford(), handicap=2).chance(7)


def test_a_maximum_too_high_to_matter_is_stroke_play(three_plan):
    plan = plan_format(three_plan, MaximumScore(40))
    assert plan.value == pytest.approx(three_plan.expected_score, abs=1e-6)
    target = plan_format(three_plan, MaximumScore(40), target=13)
    assert target.value == pytest.approx(
        three_plan.chance(13), abs=2e-4
    )  # the plan's own choices are some fewer


def test_a_cap_on_each_hole_lowers_the_score(three_plan):
    capped = plan_format(three_plan, MaximumScore("double par"))
    assert capped.value < three_plan.expected_score
    assert capped.value <= capped.value_strokes_policy + 1e-12


def test_match_of_equals_is_even_and_a_stroke_helps(three_plan):
    scores = [hole.score_pmf for hole in three_plan.holes]
    even = plan_format(three_plan, MatchPlay(scores))
    won, _, lost = _match_of(even.plain)
    assert won == pytest.approx(lost, abs=1e-9)
    assert even.value >= 0.5
    helped = plan_format(three_plan, MatchPlay(scores), received=(1, 0, 0))
    against = plan_format(three_plan, MatchPlay(scores, opponent_received=(1, 0, 0)))
    assert helped.value > even.value + 0.05 > against.value + 0.1


def _match_of(played):
    *_, (least, chance) = standings(played)
    side = np.sign(least + np.arange(len(chance)))
    return chance[side > 0].sum(), chance[side == 0].sum(), chance[side < 0].sum()


def test_the_record_goes_to_json_and_back(three_plan):
    plan = plan_format(three_plan, Stableford(), handicap=2, target=7)
    record = plan.record()
    assert type(record).model_validate_json(record.model_dump_json()) == record
    assert sum(record.results.values()) == pytest.approx(1.0)
    assert sum(h.expected for h in record.holes) == pytest.approx(record.expected)
    assert record.objective == "chance of 7 points or more"
    assert all(hole.tee_choices for hole in record.holes)
    assert len(record.holes[2].tee_choices) > 1  # the tee choice depends on the points so far


@pytest.mark.parametrize(
    ("make", "named"),
    [
        (lambda: Stableford((3, 2, 1)), "never fall"),
        (lambda: MaximumScore("triple par"), "triple par"),
        (lambda: MaximumScore(True), "True"),
        (lambda: MatchPlay([[0.5, 0.4]]), r"opponent\[0\]"),
        (lambda: MatchPlay([STEADY], opponent_received=(1, 2)), "opponent_received"),
    ],
)
def test_bad_formats_are_named(make, named):
    with pytest.raises(InputError, match=named):
        make()


def test_formats_that_do_not_fit_the_round_are_named(three_plan):
    with pytest.raises(InputError, match="3 holes"):
        plan_format(three_plan, MatchPlay([STEADY]))
    with pytest.raises(InputError, match="received"):
        plan_format(three_plan, Stableford(), received=(1, 0))
    for wrong in (200, -31, 18.4, "18", None, True):
        with pytest.raises(
            InputError,
            match=f"^plan_format: handicap: found {wrong!r}; expected a whole number of strokes, -30 to",
        ):
            plan_format(three_plan, Stableford(), handicap=wrong)
    with pytest.raises(
        InputError, match=r"^plan_format: handicap: found 18 beside received; expected one of the"
    ):
        plan_format(three_plan, Stableford(), handicap=18, received=(1, 0, 0))
    with pytest.raises(
        InputError, match=r"^plan_format: received\[1\]: found 0.5; expected a whole number of"
    ):
        plan_format(three_plan, Stableford(), received=(1, 0.5, 0))
    with pytest.raises(InputError, match=r"^plan_format: target: found '36'; expected a whole number$"):
        plan_format(three_plan, Stableford(), target="36")
    assert plan_format(three_plan, Stableford(), received=np.array([1, 0, 2])).received == (1, 0, 2)
    plan = plan_format(three_plan, ParBogey(), handicap=course_handicap(2.0, 113, 72.0, 72))
    assert sum(plan.received) == 2
    assert repr(plan) == f"FormatPlan('par/bogey', 3 holes, mean holes up on par: {plan.value:.4f})"
    with pytest.raises(UnknownError, match="hole 9"):
        plan.tee_choice(9)
    with pytest.raises(InputError, match="so_far"):
        plan.tee_choice(1, 5)
