"""Fewest expected strokes on one core and on several, from good starts and bad ones, and what the bounds hold."""

from collections.abc import Iterator
from contextlib import contextmanager

import numpy as np
import pytest
from graph_zoo import random_graph

from caddiebrain import solve
from caddiebrain.graph import StateGraph
from caddiebrain.solve import expected, product
from caddiebrain.solve.layout import rows_of
from caddiebrain.solve.product import Product
from caddiebrain.solve.threads import Threads, threads


@pytest.mark.parametrize("count", [1, 2, 3])
def test_shared_products_are_those_of_one_run_and_copy_no_outcome(count):
    graph = random_graph(np.random.default_rng(5), 300, widest=6)
    with threads(count) as team:
        value, shared = np.random.default_rng(6).random(graph.n_states), Product(graph, team)
        whole = rows_of(graph, graph.outcome_state, graph.n_states) @ value
        np.testing.assert_array_equal(shared(value), whole)
        np.testing.assert_array_equal(Product(graph)(value), whole)
        assert len(shared.parts) > count
        for part in shared.parts.values():
            assert np.shares_memory(part.data, graph.outcome_prob)
            assert np.shares_memory(part.indices, graph.outcome_state)


def test_large_graphs_are_swept_by_threads_with_the_same_answer(monkeypatch):
    graph = random_graph(np.random.default_rng(8), 200, widest=7, free=0.1)
    alone, shared = solve.fewest_strokes(graph), []

    @contextmanager
    def noted() -> Iterator[Threads]:
        with threads(2) as team:
            shared.append(team)
            yield team

    monkeypatch.setattr(product, "MANY_OUTCOMES", 1)
    monkeypatch.setattr(product, "threads", noted)
    together = solve.fewest_strokes(graph)
    assert len(shared) == 1
    np.testing.assert_array_equal(together.value, alone.value)
    np.testing.assert_array_equal(together.choice, alone.choice)


@pytest.mark.parametrize("seed", range(6))
def test_the_answer_does_not_hang_on_the_start(seed):
    """Reference: the linear program, solved by HiGHS."""
    rng = np.random.default_rng(seed)
    graph = random_graph(rng, 30, widest=5, free=0.15)
    want = solve.linear_program(graph).value
    starts = (
        None,
        np.zeros(graph.n_states),
        np.full(graph.n_states, 50.0),
        -5 * rng.random(graph.n_states),
        want,
    )
    for start in starts:
        found = solve.fewest_strokes(graph, start=start)
        assert found.status == solve.Status.PROVEN
        assert np.all(found.upper - found.lower <= 1e-9)
        np.testing.assert_allclose(found.value, want, atol=1e-9, rtol=0)
        np.testing.assert_allclose(solve.evaluate(graph, found.choice), want, atol=1e-9, rtol=0)


def test_bounds_hold_wherever_the_sweeps_are_cut_short():
    for seed in range(20):
        graph = random_graph(np.random.default_rng(seed), 12, widest=4, free=0.2)
        want = solve.fewest_strokes(graph, tol=1e-12).value
        for sweeps in (1, 2, 3):
            found = solve.fewest_strokes(
                graph, start=want + 0.01 * np.sin(np.arange(len(want))), max_sweeps=sweeps
            )
            assert found.sweeps <= sweeps
            assert np.all(found.lower <= want + 1e-12)
            assert np.all(want <= found.upper + 1e-12)


def test_first_choices_that_never_finish_do_no_harm():
    """Every choice that the first vector would come from stays where it is; expected strokes are 1 / p."""
    stay = {i: [("tee", 1.0, 1)] for i in range(expected.STRIDE)}
    graph = StateGraph.from_choices(
        {
            "tee": {
                **stay,
                "out": [("cup", 0.25, 1), ("tee", 0.75, 1)],
                **{100 + i: line for i, line in stay.items()},
            }
        }
    )
    found = solve.fewest_strokes(graph)
    assert found.status == solve.Status.PROVEN
    assert graph.choice_label(found.choice[graph.index("tee")]) == "out"
    assert found.value[graph.index("tee")] == pytest.approx(4.0, abs=1e-9)


def test_play_that_seldom_finishes_is_followed_for_longer_each_time():
    """A chance of one in a hundred takes a hundred strokes on average."""
    graph = StateGraph.from_choices({"tee": {0: [("cup", 0.01, 1), ("tee", 0.99, 1)]}})
    found = solve.fewest_strokes(graph)
    assert found.value[graph.index("tee")] == pytest.approx(100.0, abs=1e-8)
    assert found.sweeps < 20
