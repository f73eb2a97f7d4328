"""Visits by strokes left against the distribution of scores, plain visits, and a case by hand."""

import numpy as np
import pytest
from graph_zoo import random_graph
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from caddiebrain import solve
from caddiebrain.errors import InputError, SolveError
from caddiebrain.graph import StateGraph

PAIR = StateGraph.from_choices(
    {
        "tee": {"drive": [("rough", 0.5, 1), ("water", 0.5, 1)]},
        "water": {"drop": [("rough", 1.0, 1)]},
        "rough": {"bounce": [("fairway", 0.25, 0), ("sand", 0.75, 0)]},
        "fairway": {"hole it": [("cup", 1.0, 1)]},
        "sand": {"out": [("fairway", 1.0, 1)]},
    }
)


def test_a_case_by_hand():
    table = np.tile([0, 1, 2, 3, 4, -1], (5, 1))
    found = solve.budget_visits(PAIR, table, "tee", [0, 0, 0, 0, 1.0])
    by = {label: found.visits[:, PAIR.index(label)].tolist() for label in PAIR.states}
    assert by["rough"] == [0, 0, 0.5, 0.5, 0]
    assert by["sand"] == [0, 0, 0.375, 0.375, 0]
    assert by["fairway"] == [
        0,
        0.375,
        0.5,
        0.125,
        0,
    ]  # 0.125 at once, 0.375 by sand; the same one stroke later
    assert by["cup"] == [0.375, 0.5, 0.125, 0, 0]
    assert found.spent == 0.0


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10_000))
def test_arrivals_are_the_distribution_of_scores(seed):
    rng = np.random.default_rng(seed)
    graph = random_graph(rng, 6)
    budget = 9
    table = solve.within_budget(graph, budget).choice
    found = solve.budget_visits(graph, table, 0, np.eye(budget + 1)[budget])
    pmf = solve.score_pmf(graph, table, 0, strokes=budget).pmf
    np.testing.assert_allclose(found.visits[::-1, graph.goal], pmf, atol=1e-12, rtol=0)
    assert found.visits[:, graph.goal].sum() + found.spent == pytest.approx(1.0)


def test_visits_of_a_stationary_policy_add_up(three_plan):
    hole = three_plan.hole(2)
    model, choice = hole.solved.model, hole.solved.expected.choice
    table = np.tile(choice, (40, 1))
    found = solve.budget_visits(model.graph, table, model.tee, np.eye(40)[39])
    plain = solve.visit_frequencies(model.graph, choice, model.tee)
    np.testing.assert_allclose(found.visits.sum(axis=0), plain, atol=1e-9, rtol=0)


def test_expected_visits_by_hand():
    found = solve.expected_visits(PAIR, [0, 1, 2, 3, 4, 0], PAIR.index("tee"))
    by = dict(zip(PAIR.states, found.tolist(), strict=True))
    assert by == {"tee": 1.0, "water": 0.5, "rough": 1.0, "fairway": 1.0, "sand": 0.75, "cup": 0.0}


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10_000))
def test_expected_visits_are_those_of_the_linear_system(seed):
    graph = random_graph(np.random.default_rng(seed), 8)
    choice = solve.fewest_strokes(graph).choice
    plain = solve.visit_frequencies(graph, choice, 0)
    assume(plain.max() < 100.0)  # play that takes thousands of moves is refused
    found = solve.expected_visits(graph, np.maximum(choice, 0), 0)
    assert (found[graph.goal], plain[graph.goal]) == (0.0, pytest.approx(1.0))
    elsewhere = np.arange(graph.n_states) != graph.goal
    np.testing.assert_allclose(found[elsewhere], plain[elsewhere], atol=1e-9, rtol=0)


def test_play_that_never_ends_is_named():
    loop = StateGraph.from_choices({"tee": {"stay": [("tee", 1.0, 1)], "leave": [("cup", 1.0, 1)]}})
    with pytest.raises(SolveError, match="may never reach the goal"):
        solve.expected_visits(loop, [0, 0], 0)


def test_seldom_visits_are_not_followed():
    table = np.tile([0, 1, 2, 3, 4, -1], (5, 1))
    found = solve.budget_visits(PAIR, table, "tee", [0, 0, 0, 0, 1.0], seldom=0.2)
    # The eighth that bounces on to the fairway at once, with three strokes left, is noted and left there.
    assert found.visits[:, PAIR.index("fairway")].tolist() == [0, 0.375, 0.5, 0.125, 0]
    assert found.visits[:, PAIR.index("cup")].tolist() == [0.375, 0.5, 0, 0, 0]


def test_bad_mass_is_named():
    with pytest.raises(InputError, match="start_mass"):
        solve.budget_visits(PAIR, np.tile([0, 1, 2, 3, 4, -1], (3, 1)), "tee", [1.0, -1.0, 0.0])
