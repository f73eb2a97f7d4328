"""Capped strokes: against every policy written out, against the sweeps, and on compiled holes."""

from itertools import product

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from caddiebrain import solve
from caddiebrain.errors import InputError, SolveError, UnknownError
from caddiebrain.graph import StateGraph

LIMIT = 4
CARRY = StateGraph.from_choices(
    {
        "tee": {
            "over the water": [("green", 0.8, 1), ("drop", 0.2, 2)],
            "short of it": [("fairway", 1.0, 1)],
        },
        "fairway": {"at the pin": [("green", 0.9, 1), ("drop", 0.1, 2)], "left": [("fringe", 1.0, 1)]},
        "drop": {"pitch": [("green", 1.0, 1)]},
        "fringe": {"chip": [("cup", 0.1, 1), ("tap", 0.9, 1)]},
        "green": {
            "charge": [("cup", 0.5, 1), ("tap", 0.4, 1), ("fringe", 0.1, 1)],
            "lag": [("cup", 0.3, 1), ("tap", 0.7, 1)],
        },
        "tap": {"tap in": [("cup", 1.0, 1)]},
    }
)
"""A made-up hole where the safe way costs a little on average."""


def every_policy(graph: StateGraph, start: str, limit: int) -> list[tuple[float, float]]:
    """Strokes and chance of the limit of every way to choose by state and strokes taken, worked out by hand."""
    over = dict(zip(graph.states, solve.fewest_strokes(graph).value, strict=True))

    def outcomes(choice):
        for i in range(graph.outcome_start[choice], graph.outcome_start[choice + 1]):
            yield graph.states[graph.outcome_state[i]], graph.outcome_prob[i], int(graph.outcome_strokes[i])

    def pairs(state, taken):
        """Every achievable (strokes to go, chance) from here, one of each."""
        if taken >= limit:
            return {(over[state], 1.0)}
        if state == "cup":
            return {(0.0, 0.0)}
        found = set()
        for choice in graph.choices_of(state):
            ends = list(outcomes(choice))
            for combination in product(*(pairs(s, taken + c) for s, _, c in ends)):
                mean = sum(p * (c + e[0]) for (_, p, c), e in zip(ends, combination, strict=True))
                risk = sum(p * e[1] for (_, p, _), e in zip(ends, combination, strict=True))
                found.add((round(mean, 12), round(risk, 12)))
        return found

    return sorted(pairs(start, 0))


def hull_at(pairs: list[tuple[float, float]], cap: float) -> float:
    """Fewest strokes at a chance of at most ``cap``, mixing two of the pairs."""
    best = min((e for e, p in pairs if p <= cap), default=np.inf)
    for (e1, p1), (e2, p2) in product(pairs, pairs):
        if p1 > cap > p2:
            share = (cap - p2) / (p1 - p2)
            best = min(best, share * e1 + (1 - share) * e2)
    return best


PAIRS = every_policy(CARRY, "tee", LIMIT)


@pytest.mark.parametrize("cap", [0.15, 0.2, 0.22, 0.25, 0.3, 1.0])
def test_the_program_equals_every_policy_and_its_mixtures(cap):
    if cap < min(p for _, p in PAIRS):
        with pytest.raises(InputError, match="at least"):
            solve.fewest_strokes_capped(CARRY, "tee", LIMIT, cap)
        return
    found = solve.fewest_strokes_capped(CARRY, "tee", LIMIT, cap)
    assert found.status is solve.Status.PROVEN
    assert found.strokes == pytest.approx(hull_at(PAIRS, cap), abs=1e-8)
    assert found.bound == pytest.approx(found.strokes, abs=1e-8)
    assert found.chance <= cap + 1e-9
    # The answer without coins is one of the policies, and no other under the cap that it was chosen from is better.
    assert min(abs(found.policy_strokes - e) + abs(found.policy_chance - p) for e, p in PAIRS) < 1e-9
    assert found.policy_chance <= cap + 1e-9
    assert found.policy_strokes >= found.strokes - 1e-9


def test_these_caps_bind_and_mix():
    free = solve.fewest_strokes_capped(CARRY, "tee", LIMIT, 1.0)
    tight = solve.fewest_strokes_capped(CARRY, "tee", LIMIT, free.chance - 0.02)
    assert free.price == 0.0
    assert free.mixtures == ()
    assert tight.price > 0.0
    assert tight.strokes > free.strokes + 1e-3
    assert len(tight.mixtures) == 1
    assert sum(tight.mixtures[0].shares.values()) == pytest.approx(1.0)


def test_without_a_binding_cap_it_is_the_dynamic_program():
    found = solve.fewest_strokes_capped(CARRY, "tee", LIMIT, 1.0)
    assert found.strokes == pytest.approx(solve.fewest_strokes(CARRY).value[CARRY.index("tee")], abs=1e-9)


def truth(graph: StateGraph, start, policy, limit: int) -> tuple[float, float]:
    """Mean and chance of the limit of a policy by strokes taken, by the exact distribution of its score."""
    pmf = solve.score_pmf(graph, policy[::-1], start)
    return pmf.mean, 1.0 - pmf.chance(limit - 1)


@pytest.mark.parametrize("share", [1.2, 0.97])
def test_compiled_holes(three_plan, share):
    hole = three_plan.hole(2)
    model = hole.compiled()
    cap, limit = share * hole.double_bogey_or_worse, hole.par + 2
    found = solve.fewest_strokes_capped(model.graph, model.tee, limit, cap)
    assert found.status is solve.Status.PROVEN
    assert found.gap == pytest.approx(0.0, abs=1e-6)
    if share > 1.0:
        assert found.strokes == pytest.approx(hole.expected_score, abs=1e-6)
    else:
        assert found.strokes > hole.expected_score + 1e-5
        assert found.chance == pytest.approx(cap, abs=1e-8)
    mean, chance = truth(model.graph, model.tee, found.policy, limit)
    assert (mean, chance) == pytest.approx((found.policy_strokes, found.policy_chance), abs=1e-8)
    assert chance <= cap + 1e-9


def test_least_disasters_equal_the_best_chance_of_staying_below(three_plan):
    model, par = three_plan.hole(2).compiled(), 3
    least = 1.0 - solve.within_budget(model.graph, par + 1).value[par + 1, model.tee]
    with pytest.raises(InputError, match=rf"at least {least:.6f}"):
        solve.fewest_strokes_capped(model.graph, model.tee, par + 2, least - 1e-4)


def test_the_frontier_is_convex_true_and_closed(three_plan):
    hole = three_plan.hole(2)
    model = hole.compiled()
    found = solve.frontier(model.graph, model.tee, hole.par + 2, tol=5e-4)
    strokes = np.array([c.strokes for c in found.corners])
    chance = np.array([c.chance for c in found.corners])
    assert strokes[0] == pytest.approx(hole.expected_score, abs=1e-8)
    assert np.all(np.diff(strokes) > 0)
    assert np.all(np.diff(chance) < 0)
    assert np.all(np.diff(np.diff(strokes) / -np.diff(chance)) > 0)  # each reduction dearer than the last
    assert found.gap <= 5e-4
    for corner in found.corners[:3]:
        pair = truth(model.graph, model.tee, corner.policy, hole.par + 2)
        assert pair == pytest.approx((corner.strokes, corner.chance), abs=1e-8)
    cap = 0.5 * (chance[1] + chance[2])
    capped = solve.fewest_strokes_capped(model.graph, model.tee, hole.par + 2, cap)
    assert 0.0 <= found.strokes_at(cap) - capped.strokes <= found.gap + 1e-9
    assert found.strokes_at(0.0) == np.inf


def test_a_shared_cap_equals_the_best_mixture_of_all(three_plan):
    small = solve.contract(CARRY, ["tee"])
    tee = CARRY.index("tee")
    both = [(e1 + e2, p1 + p2) for (e1, p1), (e2, p2) in product(PAIRS, PAIRS)]
    free = solve.share_cap([small, small], [tee, tee], [LIMIT, LIMIT], 2.0)
    assert free.price == 0.0
    cap = free.chances - 0.1
    found = solve.share_cap([small, small], [tee, tee], [LIMIT, LIMIT], cap)
    assert found.status is found.whole_status is solve.Status.PROVEN
    assert found.strokes == pytest.approx(hull_at(both, cap), abs=1e-8)
    assert found.chances <= cap + 1e-9
    assert found.policy_chances <= cap + 1e-9
    assert found.strokes - 1e-9 <= found.policy_strokes
    for part in found.parts:
        assert truth(CARRY, "tee", part.policy, LIMIT) == pytest.approx((part.strokes, part.chance), abs=1e-9)
    with pytest.raises(InputError, match="at least"):
        solve.share_cap([small], [tee], [LIMIT], 0.0)


@pytest.mark.parametrize(
    ("starts", "limits", "cap", "said"),
    [
        (["tee"], [LIMIT], 1.0, r"starts\[0\]: found 'tee'; expected the index of a state"),
        ([99], [LIMIT], 1.0, r"starts\[0\]: found 99; expected the index"),
        ([0], [LIMIT], float("nan"), "cap: found nan; expected a sum of chances"),
        ([0], [0], 1.0, r"limits\[0\]: found 0; expected strokes, a whole number"),
        (
            [0, 0],
            [LIMIT],
            1.0,
            "graphs: found 1 graphs, 2 starts, 1 limits; expected a start and a limit for each",
        ),
    ],
)
def test_a_shared_cap_refuses_what_does_not_fit(starts, limits, cap, said):
    # A label for an index once ended at a state of no choice, whose answer is nought.
    with pytest.raises(InputError, match=said):
        solve.share_cap([solve.contract(CARRY, ["tee"])], starts, limits, cap)


def test_a_shared_cap_says_when_a_start_was_contracted_away():
    coin = {"toss": {"wait": [("a", 0.5, 0), ("b", 0.5, 0)]}, "a": {"go": [("cup", 1.0, 1)]}}
    graph = StateGraph.from_choices({**coin, "b": {"go": [("cup", 1.0, 2)]}})
    with pytest.raises(
        InputError, match=r"starts\[0\]: found 0, which was contracted away; expected contract"
    ):
        solve.share_cap([solve.contract(graph)], [0], [2], 1.0)
    kept = solve.share_cap([solve.contract(graph, ["toss"])], [0], [2], 1.0)
    assert (kept.strokes, kept.chances) == pytest.approx((1.5, 0.5))


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10_000))
def test_random_graphs_keep_duality_and_truth(seed):
    rng = np.random.default_rng(seed)
    n = 5
    choices = {}
    for s in range(n):
        choices[s] = {}
        for a in range(rng.integers(1, 4)):
            prob = rng.dirichlet(np.ones(4))
            ends = [
                ("cup", prob[0], 1),
                *((int(rng.integers(0, n)), p, int(rng.integers(1, 3))) for p in prob[1:]),
            ]
            choices[s][a] = ends
    graph = StateGraph.from_choices(choices)
    least = 1.0 - solve.within_budget(graph, 3).value[3, 0]
    free = solve.fewest_strokes_capped(graph, 0, 4, 1.0)
    cap = 0.5 * (least + free.chance)
    found = solve.fewest_strokes_capped(graph, 0, 4, cap)
    assert abs(found.gap) <= 1e-7
    # A graph that hardly lets go of the ball leaves part of its mean beyond the longest total in a table.
    assume(solve.score_pmf(graph, found.policy[::-1], 0).beyond < 1e-12)
    assert truth(graph, 0, found.policy, 4) == pytest.approx(
        (found.policy_strokes, found.policy_chance), abs=1e-8
    )
    assert free.strokes - 1e-9 <= found.strokes <= found.policy_strokes + 1e-9


@pytest.mark.parametrize(("limit", "cap"), [(0, 0.5), (4, -0.1), (4, 1.5), (4, float("nan"))])
def test_bad_arguments_are_named(limit, cap):
    with pytest.raises(InputError, match="limit"):
        solve.fewest_strokes_capped(CARRY, "tee", limit, cap)


def test_bad_frontier_arguments_and_starts():
    with pytest.raises(InputError, match="price"):
        solve.frontier(CARRY, "tee", 4, price=0.0)
    with pytest.raises(UnknownError, match="bunker"):
        solve.fewest_strokes_capped(CARRY, "bunker", 4, 0.5)


def test_out_of_time_is_an_error_not_an_answer(three_plan):
    model = three_plan.hole(1).compiled()
    with pytest.raises(SolveError, match="allow more time"):
        solve.fewest_strokes_capped(model.graph, model.tee, 6, 0.5, time_limit=1e-6)
