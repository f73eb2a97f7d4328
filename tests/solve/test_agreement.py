"""Our solvers against the linear program and a general-purpose library, on random graphs.

Reference: quantecon's finite-horizon ``backward_induction`` (Stachurski and Sargent's QuantEcon.py).
"""

import numpy as np
from graph_zoo import random_graph
from hypothesis import given, settings
from hypothesis import strategies as st
from solve_reference import library_budget, library_expected

from caddiebrain import solve

SEEDS = st.integers(0, 2**32 - 1)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(seed=SEEDS, states=st.integers(1, 9))
def test_expected_strokes_agree(seed, states):
    graph = random_graph(np.random.default_rng(seed), states)
    found = solve.fewest_strokes(graph)
    assert found.status == solve.Status.PROVEN
    np.testing.assert_allclose(found.value, solve.linear_program(graph).value, atol=1e-9, rtol=0)
    np.testing.assert_allclose(found.value, solve.evaluate(graph, found.choice), atol=1e-9, rtol=0)
    far = library_expected(graph, 3000)
    assert np.all(far <= found.value + 1e-9)  # play cut short costs less
    if np.abs(far - library_expected(graph, 2900)).max() < 1e-13:  # nearly always: the horizon is long enough
        np.testing.assert_allclose(found.value, far, atol=1e-9, rtol=0)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(seed=SEEDS, states=st.integers(1, 9), budget=st.integers(0, 9), smooth=st.booleans())
def test_budgets_agree(seed, states, budget, smooth):
    rng = np.random.default_rng(seed)
    graph = random_graph(rng, states)
    reward = rng.random(budget + 1) if smooth else None
    want = library_budget(graph, budget, reward)
    for prune in (True, False):
        found = solve.within_budget(graph, budget, finish=reward, prune=prune)
        assert found.status == solve.Status.PROVEN
        np.testing.assert_allclose(found.value, want, atol=1e-9, rtol=0)
