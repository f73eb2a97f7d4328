"""Ties, bounds, utilities, distributions, flows, visits, simulation, and what is refused."""

from fractions import Fraction

import numpy as np
import pytest
from graph_zoo import TEXTBOOK, as_graph, random_graph, small_hole
from hypothesis import given, settings
from hypothesis import strategies as st
from solve_reference import exact_expected

from caddiebrain import solve
from caddiebrain.errors import InputError, SolveError, UnknownError
from caddiebrain.graph import StateGraph

SEEDS = st.integers(0, 2**32 - 1)


def exact_pmf(table, policy, start, most):
    """Distribution of strokes in fractions, by following every path of at most so many strokes."""
    mass, pmf = {(start, 0): Fraction(1)}, [Fraction(0)] * (most + 1)
    while mass:
        later: dict = {}
        for (state, taken), m in mass.items():
            if state == "cup":
                pmf[taken] += m
                continue
            for target, p, k in table[state][policy[state]]:
                if taken + k <= most and p:
                    later[target, taken + k] = later.get((target, taken + k), Fraction(0)) + m * p
        mass = later
    return pmf


def labels_of(graph, choice):
    return {s: graph.choice_label(choice[graph.index(s)]) for s in graph.states}


@pytest.mark.parametrize("name", TEXTBOOK)
def test_distribution_in_fractions(name):
    table = TEXTBOOK[name]
    graph, start = as_graph(table), next(iter(table))
    choice = solve.fewest_strokes(graph).choice
    want = exact_pmf(table, labels_of(graph, choice), start, 12)
    found = solve.score_pmf(graph, choice, start, strokes=12)
    np.testing.assert_allclose(np.asarray(found), [float(p) for p in want], atol=1e-13, rtol=0)
    assert found.beyond == pytest.approx(float(1 - sum(want)), abs=1e-12)
    assert found.chance(5) == pytest.approx(float(sum(want[:6])), abs=1e-13)


def test_equals_are_decided_by_fewest_strokes_then_by_index():
    graph = StateGraph.from_choices(
        {
            "a": {
                "long way": [("b", 1.0, 1)],
                "short way": [("cup", 1.0, 1)],
                "short way again": [("cup", 1.0, 1)],
            },
            "b": {"tap": [("cup", 1.0, 1)]},
        }
    )
    for prune in (True, False):
        found = solve.within_budget(graph, 4, prune=prune)
        assert {graph.choice_label(c) for c in found.choice[:, graph.index("a")]} == {"short way"}
        assert np.all(found.choice[:, graph.goal] == -1)
    turned = solve.within_budget(graph, 4, tiebreak=[0.0, 1.0, 1.0, 1.0])
    names = [graph.choice_label(c) for c in turned.choice[:, graph.index("a")]]
    assert names == ["long way", "short way", "long way", "long way", "long way"]
    assert graph.choice_label(solve.fewest_strokes(graph).choice[0]) == "short way"


def test_a_bound_that_was_not_reached_is_not_called_proven():
    graph = random_graph(np.random.default_rng(1), 9)
    truth = solve.fewest_strokes(graph)
    cut = solve.fewest_strokes(graph, tol=1e-16)
    assert cut.status == solve.Status.STOPPED
    assert np.all(cut.lower <= truth.upper)
    assert np.all(truth.lower <= cut.upper)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(seed=SEEDS, states=st.integers(1, 12), tol=st.sampled_from([1e-1, 1e-4, 1e-9]))
def test_bounds_hold_whatever_the_tolerance(seed, states, tol):
    graph = random_graph(np.random.default_rng(seed), states)
    best = solve.evaluate(graph, solve.fewest_strokes(graph).choice)
    found = solve.fewest_strokes(graph, tol=tol)
    assert np.all(found.lower <= best * (1 + 1e-13) + 1e-13)
    assert np.all(best <= found.upper * (1 + 1e-13) + 1e-13)
    if found.status == solve.Status.PROVEN:
        assert found.gap <= tol


@settings(max_examples=40, deadline=None, derandomize=True)
@given(seed=SEEDS, states=st.integers(1, 12), far=st.sampled_from([0.0, 1e-6, 3.0, 1e4]))
def test_the_answer_does_not_depend_on_where_the_search_begins(seed, states, far):
    graph = random_graph(np.random.default_rng(seed), states)
    plain = solve.fewest_strokes(graph)
    start = plain.value + far * np.random.default_rng(seed).standard_normal(graph.n_states)
    found = solve.fewest_strokes(graph, start=start)
    assert found.status == plain.status == "proven"
    np.testing.assert_allclose(found.value, plain.value, rtol=0, atol=2e-9)


def test_evaluation_knows_policies_that_never_end():
    graph = StateGraph.from_choices(
        {
            "a": {"stay": [("a", 1.0, 1)], "go": [("cup", 0.5, 1), ("a", 0.5, 1)]},
            "b": {"to a": [("a", 0.5, 1), ("cup", 0.5, 1)]},
            "c": {"home": [("cup", 1.0, 1)]},
        }
    )
    stay, go = (graph.choices_of("a")[i] for i in (0, 1))
    rest = [graph.choices_of("b")[0], graph.choices_of("c")[0], -1]
    np.testing.assert_array_equal(solve.evaluate(graph, [stay, *rest]), [np.inf, np.inf, 1.0, 0.0])
    np.testing.assert_allclose(solve.evaluate(graph, [go, *rest]), [2.0, 2.0, 1.0, 0.0])
    with pytest.raises(SolveError, match="'b'"):
        solve.visit_frequencies(graph, [stay, *rest], "b")
    np.testing.assert_allclose(solve.visit_frequencies(graph, [go, *rest], "b"), [1.0, 1.0, 0.0, 1.0])
    with pytest.raises(SolveError, match="did not end in 50 moves"):
        solve.simulate(graph, [stay, *rest], "a", 10, np.random.default_rng(0), limit=50)
    pmf = solve.score_pmf(graph, [stay, *rest], "b", strokes=30)
    assert pmf.beyond == pytest.approx(0.5)


def test_duals_are_visits():
    graph = as_graph(small_hole())
    found = solve.fewest_strokes(graph)
    program = solve.linear_program(graph, "tee")
    visits = solve.visit_frequencies(graph, found.choice, "tee")
    made = np.bincount(graph.choice_state, weights=program.visits, minlength=graph.n_states)
    visits[graph.goal] = 0.0
    np.testing.assert_allclose(made, visits, atol=1e-9, rtol=0)
    assert program.visits @ graph.mean_strokes == pytest.approx(
        float(exact_expected(small_hole())["tee"]), abs=1e-9
    )
    assert program.value[graph.index("tee")] == pytest.approx(found.value[graph.index("tee")], abs=1e-9)


@settings(max_examples=30, deadline=None, derandomize=True)
@given(seed=SEEDS, states=st.integers(1, 8), budget=st.integers(0, 8))
def test_a_step_utility_is_a_budget(seed, states, budget):
    graph = random_graph(np.random.default_rng(seed), states)
    chance = solve.within_budget(graph, budget)
    step = np.append(np.ones(budget + 1), 0.0)
    found = solve.best_utility(graph, 3.0 * step - 1.0)
    assert found.value.shape == (budget + 2, graph.n_states)
    np.testing.assert_allclose(found.value[0], 3.0 * chance.value[budget] - 1.0, atol=1e-9, rtol=0)
    np.testing.assert_allclose(found.value[-1], -1.0, atol=1e-12, rtol=0)


def test_a_linear_utility_is_the_expected_score():
    """Minus the total, cut off far out: what lies beyond weighs less than the tolerance."""
    graph = as_graph(TEXTBOOK["hardy par 4"])
    found = solve.best_utility(graph, -np.arange(60.0))
    np.testing.assert_allclose(-found.value[0], solve.fewest_strokes(graph).value, atol=1e-9, rtol=0)


def test_a_utility_that_rises_prefers_more_strokes():
    graph = StateGraph.from_choices({"a": {"one": [("cup", 1.0, 1)], "two": [("cup", 1.0, 2)]}})
    found = solve.best_utility(graph, [0.0, 1.0, 5.0, 0.0])
    assert graph.choice_label(found.choice[0, 0]) == "two"
    assert graph.choice_label(found.choice[1, 0]) == "one"
    np.testing.assert_allclose(found.value[:3, 0], [5.0, 5.0, 0.0])


@settings(max_examples=30, deadline=None, derandomize=True)
@given(seed=SEEDS, states=st.integers(1, 9), budget=st.integers(0, 9))
def test_the_flow_of_a_budget_policy_earns_its_value(seed, states, budget):
    rng = np.random.default_rng(seed)
    graph = random_graph(rng, states)
    reward = rng.random(budget + 1)
    found = solve.within_budget(graph, budget, reward)
    start = states - 1
    mass = rng.random(budget + 1)
    flow = solve.budget_flow(graph, found.choice, start, mass)
    assert flow.at_goal @ reward == pytest.approx(mass @ found.value[:, start], abs=1e-10)
    assert flow.at_goal.sum() + flow.below == pytest.approx(mass.sum(), abs=1e-10)


@settings(max_examples=20, deadline=None, derandomize=True)
@given(seed=SEEDS, states=st.integers(1, 9), budget=st.integers(0, 9))
def test_the_distribution_of_a_budget_policy_holds_its_chance(seed, states, budget):
    graph = random_graph(np.random.default_rng(seed), states)
    found = solve.within_budget(graph, budget)
    pmf = solve.score_pmf(graph, found.choice, states - 1, strokes=budget)
    assert pmf.chance(budget) == pytest.approx(found.value[budget, states - 1], abs=1e-10)
    assert pmf.chance(budget) + pmf.beyond == pytest.approx(1.0, abs=1e-10)


def test_simulation_of_a_budget_policy():
    graph = as_graph(small_hole())
    found = solve.within_budget(graph, 4)
    taken = solve.simulate(graph, found.choice, "tee", 40_000, np.random.default_rng(11))
    chance = found.value[4, graph.index("tee")]
    error = np.sqrt(chance * (1 - chance) / len(taken))
    assert abs((taken <= 4).mean() - chance) < 4 * error
    pmf = solve.score_pmf(graph, found.choice, "tee")
    assert abs(taken.mean() - pmf.mean) < 4 * taken.std() / np.sqrt(len(taken))
    again = solve.simulate(graph, found.choice, "tee", 40_000, np.random.default_rng(11))
    np.testing.assert_array_equal(taken, again)


def test_what_does_not_fit_is_refused_by_name():
    graph = as_graph(small_hole())
    choice = solve.fewest_strokes(graph).choice
    wrong = choice.copy()
    wrong[graph.index("green")] = graph.choices_of("tee")[0]
    rng = np.random.default_rng(0)
    with pytest.raises(InputError, match=r"state 'green'.*choice 0.*expected 7 to 8"):
        solve.evaluate(graph, wrong)
    with pytest.raises(InputError, match="policy"):
        solve.simulate(graph, choice[:-1], "tee", 5, rng)
    with pytest.raises(InputError, match=r"start.*shape \(1,\).*all finite"):
        solve.fewest_strokes(graph, start=[1.0])
    with pytest.raises(InputError, match="not finite"):
        solve.fewest_strokes(graph, start=np.full(graph.n_states, np.nan))
    with pytest.raises(InputError, match="budget"):
        solve.within_budget(graph, -1)
    with pytest.raises(InputError, match=r"finish\[1\]"):
        solve.within_budget(graph, 2, finish=[0.0, 1.5, 1.0])
    with pytest.raises(InputError, match="finish"):
        solve.within_budget(graph, 2, finish=[1.0])
    with pytest.raises(InputError, match="tiebreak"):
        solve.within_budget(graph, 2, tiebreak=[1.0])
    with pytest.raises(InputError, match="utility"):
        solve.best_utility(graph, [0.0, np.nan])
    with pytest.raises(InputError, match="start_mass"):
        solve.budget_flow(graph, solve.within_budget(graph, 3).choice, "tee", [1.0])
    with pytest.raises(InputError, match="budget"):
        solve.score_pmf(graph, solve.within_budget(graph, 3).choice, "tee", budget=4)
    with pytest.raises(UnknownError, match="'moon'"):
        solve.score_pmf(graph, choice, "moon")


CHOICE = solve.fewest_strokes(as_graph(small_hole())).choice
RNG = np.random.default_rng(0)


@pytest.mark.parametrize(
    ("ask", "said"),
    [
        (lambda g, k: solve.fewest_strokes(small_hole()), "graph: found dict object; expected a StateGraph"),
        (lambda g, k: solve.choice_values(g, [1.0]), r"value: found shape \(1,\); expected shape \(8,\)"),
        (
            lambda g, k: solve.expected_visits(g, CHOICE, "tee"),
            "start: found 'tee'; expected the index of a state",
        ),
        (
            lambda g, k: solve.expected_visits(g, CHOICE, 8),
            "start: found 8; expected the index of a state, 0 to 7",
        ),
        (lambda g, k: solve.score_pmf(g, k.choice, "tee", budget=2.5), "budget: found 2.5; expected 0 to 3"),
        (
            lambda g, k: solve.score_pmf(g, k.choice, "tee", strokes=-1),
            "strokes: found -1; expected a whole number",
        ),
        (lambda g, k: solve.score_pmf(g, k.choice, "tee", strokes="9"), "strokes: found '9'"),
        (lambda g, k: solve.simulate(g, k.choice, "tee", 5, RNG, budget=2.5), "simulate: budget: found 2.5"),
        (
            lambda g, k: solve.simulate(g, CHOICE, "tee", -1, RNG),
            "simulate: n: found -1; expected a whole number",
        ),
        (lambda g, k: solve.simulate(g, CHOICE, "tee", 5, 7), "rng: found 7; expected a generator"),
    ],
)
def test_numbers_and_names_of_the_wrong_kind_are_named(ask, said):
    graph = as_graph(small_hole())
    with pytest.raises(InputError, match=said):
        ask(graph, solve.within_budget(graph, 3))


def test_results_describe_themselves():
    graph = as_graph(small_hole())
    assert "proven" in repr(solve.fewest_strokes(graph))
    assert "4 layers" in repr(solve.within_budget(graph, 3))
    assert repr(solve.linear_program(graph)) == "ProgramSolution(proven, 8 states, 10 choices)"
    two = [[1.0, 0.5, 0.0], [1.0, 0.0, 0.0]]
    assert repr(solve.best_utility(graph, two[0])).startswith(
        "UtilitySolution(proven, 3 layers, 8 states, res"
    )
    assert repr(solve.best_utilities(graph, two)) == "ManyUtilities(2 utilities, 3 layers, 8 states)"
