"""What is left out of the sweeps is proven idle: the answers are those of the full sweep."""

import numpy as np
import pytest
from graph_zoo import random_graph
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ndtr

from caddiebrain import solve
from caddiebrain.graph import StateGraph
from caddiebrain.solve.budget import best_layers
from caddiebrain.solve.working_set import choices_that_matter

SEEDS = st.integers(0, 2**32 - 1)


def wide_graph(rng: np.random.Generator, states: int, choices: int) -> StateGraph:
    """Many choices a state, most of them poor, a few wild; penalties; nobody's hole."""
    table = {}
    for s in range(states):
        table[s] = {}
        for c in range(choices):
            reach = int(rng.integers(1, 4))
            wild = rng.random() < 0.1
            good = rng.random() * (0.5 if wild else 0.9)
            row = [("cup" if s < reach else s - reach, good, 1)]
            if wild:
                leap = 0.25 * rng.random()
                row += [("cup", leap, 1), (s, 1 - good - leap, 2)]
            else:
                row += [(s, 0.6 * (1 - good), 1), (min(s + 1, states - 1), 0.4 * (1 - good), 1)]
            table[s][c] = row
    return StateGraph.from_choices(table)


def trap(choices: int) -> StateGraph:
    """A state where what is best on average is never best for a chance, choice by choice a little riskier.

    Safe play takes two strokes for certain; gamble i holes out at once with chance i / (n + 1) and otherwise
    costs four more.
    """
    n = choices
    table = {
        "far": {
            i: [("near", 0.9, 1), ("far", 0.1 * i / n, 1), ("cup", 0.1 * (1 - i / n), 2)] for i in range(n)
        },
        "near": {i: [("cup", 0.4 * i / n, 1), ("sand", 1 - 0.4 * i / n, 1)] for i in range(1, n)}
        | {"safe": [("tap", 1.0, 1)]},
        "sand": {"out": [("tap", 0.5, 1), ("sand", 0.5, 1)]},
        "tap": {"putt": [("cup", 1.0, 1)]},
    }
    return StateGraph.from_choices(table)


def rewards(layers: int) -> dict[str, np.ndarray]:
    return {
        "chance": np.ones(layers),
        "smooth": ndtr((np.arange(layers) - 0.5 * layers) / 3.0),
        "one total alone": (np.arange(layers) == layers // 2).astype(float),
    }


SWEPT = {
    ("wide", "chance"): 1.0,
    ("wide", "smooth"): 0.6,
    ("wide", "one total alone"): 1.0,
    ("trap", "chance"): 1.0,
    ("trap", "smooth"): 0.6,
    ("trap", "one total alone"): 1.0,
}
"""Part of the choices that may be swept: a smooth reward is where leaving out works."""


@pytest.mark.parametrize("kind", ["chance", "smooth", "one total alone"])
@pytest.mark.parametrize("name", ["wide", "trap"])
def test_choices_are_left_out_and_nothing_is_lost(name, kind):
    graph = wide_graph(np.random.default_rng(3), 40, 60) if name == "wide" else trap(150)
    reward = rewards(19)[kind]
    strokes = solve.choice_values(graph, solve.fewest_strokes(graph).value)
    keep = choices_that_matter(graph, reward, strokes)
    assert keep is not None
    assert keep.mean() <= SWEPT[name, kind]
    full = solve.within_budget(graph, 18, reward, tiebreak=strokes, prune=False)
    quick = solve.within_budget(graph, 18, reward, tiebreak=strokes, prune=True)
    assert quick.swept == keep.sum() <= full.swept == graph.n_choices
    assert full.residual == 0.0 < quick.residual <= 1e-9
    np.testing.assert_allclose(quick.value, full.value, atol=quick.residual + 1e-14, rtol=0)


@settings(max_examples=30, deadline=None, derandomize=True)
@given(seed=SEEDS, states=st.integers(2, 14), widest=st.integers(2, 30), layers=st.integers(1, 16))
def test_random_graphs_agree_with_the_full_sweep(seed, states, widest, layers):
    rng = np.random.default_rng(seed)
    graph = random_graph(rng, states, widest=widest, free=0.15)
    for reward in (*rewards(layers).values(), rng.random(layers), rng.random(layers) - 0.5):
        full = best_layers(graph, reward, None, prune=False)
        quick = best_layers(graph, reward, None, prune=True)
        np.testing.assert_allclose(quick.value, full.value, atol=1e-9, rtol=0)


def test_the_best_choice_of_an_equal_few_is_the_same():
    graph = wide_graph(np.random.default_rng(8), 30, 40)
    full = solve.within_budget(graph, 14, prune=False)
    quick = solve.within_budget(graph, 14, prune=True)
    stake = (full.value > 1e-9) & (full.value < 1 - 1e-9)
    assert stake.mean() > 0.5
    np.testing.assert_array_equal(full.choice[stake], quick.choice[stake])
