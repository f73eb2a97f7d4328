"""What is not looked at in a layer is proven idle there: the answers are those of the full sweep."""

import numpy as np
import pytest
from graph_zoo import random_graph
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ndtr

from caddiebrain import solve
from caddiebrain.graph import StateGraph
from caddiebrain.solve import working_set
from caddiebrain.solve.budget import best_layers
from caddiebrain.solve.layers import LOSS, TIE
from caddiebrain.solve.layout import layer_blocks
from caddiebrain.solve.working_set import Screen

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


def pit(choices: int) -> StateGraph:
    """A state whose quick choices keep most of their chance in a pit that only slow choices avoid.

    The fewest expected strokes speak for the quick ones, whose chance of never getting out halves with every stroke;
    after slow play it falls a hundredfold.
    """
    n = choices
    table = {
        "rim": {
            i: [("cup", 0.9 - 0.3 * i / n, 1), ("rim", 0.1, 1), ("pit", 0.3 * i / n, 1)] for i in range(n)
        }
        | {n + i: [("shelf", 1 - 1e-3 * i / n, 1), ("cup", 1e-3 * i / n, 2)] for i in range(n)},
        "pit": {i: [("rim", 0.5 - 0.2 * i / n, 1), ("pit", 0.5 + 0.2 * i / n, 1)] for i in range(n)}
        | {n: [("rim", 0.45, 1), ("pit", 0.1, 1), ("pit", 0.45, 3)]},
        "shelf": {i: [("cup", 0.99 - 0.5 * i / n, 1), ("shelf", 0.01 + 0.5 * i / n, 1)] for i in range(n)},
    }
    return StateGraph.from_choices(table)


def named(name: str) -> StateGraph:
    if name == "wide":
        return wide_graph(np.random.default_rng(3), 40, 60)
    return trap(150) if name == "trap" else pit(80)


@pytest.fixture
def keen(monkeypatch):
    """Let the screen go through few layers at a time and pick however much is left."""
    monkeypatch.setattr(working_set, "TOGETHER", 5)
    monkeypatch.setattr(working_set, "PIECE", 100)
    monkeypatch.setattr(working_set, "MOST_PICKED", 1.0)


SWEPT = {
    ("wide", "chance"): 0.4,
    ("wide", "smooth"): 0.05,
    ("wide", "one total alone"): 0.9,
    ("trap", "chance"): 0.1,
    ("trap", "smooth"): 0.05,
    ("trap", "one total alone"): 0.9,
    ("pit", "chance"): 0.1,
    ("pit", "smooth"): 0.05,
    ("pit", "one total alone"): 0.9,
}
"""Part of the choices that may be looked at in a layer, on average: below the one total no choice has a hope."""


@pytest.mark.parametrize(("name", "kind"), list(SWEPT))
def test_choices_are_left_out_and_nothing_is_lost(name, kind, keen):
    graph, reward = named(name), rewards(19)[kind]
    strokes = solve.choice_values(graph, solve.fewest_strokes(graph).value)
    full = solve.within_budget(graph, 18, reward, tiebreak=strokes, prune=False)
    quick = solve.within_budget(graph, 18, reward, tiebreak=strokes, prune=True)
    assert quick.swept <= SWEPT[name, kind] * graph.n_choices
    assert full.swept == graph.n_choices
    assert full.residual == 0.0 < quick.residual <= 1e-9
    np.testing.assert_allclose(quick.value, full.value, atol=quick.residual, rtol=0)
    stake = full.value < reward.max() - 2 * LOSS
    np.testing.assert_array_equal(full.choice[stake], quick.choice[stake])


@pytest.mark.parametrize("tiebreak", ["worst first", "no opinion"])
@pytest.mark.parametrize("name", ["wide", "trap", "pit"])
def test_a_misleading_working_set_loses_nothing(name, tiebreak, keen):
    graph = named(name)
    strokes = solve.choice_values(graph, solve.fewest_strokes(graph).value)
    order = -strokes if tiebreak == "worst first" else np.zeros(graph.n_choices)
    for reward in rewards(19).values():
        full = solve.within_budget(graph, 18, reward, tiebreak=order, prune=False)
        quick = solve.within_budget(graph, 18, reward, tiebreak=order, prune=True)
        np.testing.assert_allclose(quick.value, full.value, atol=quick.residual, rtol=0)
        stake = full.value < reward.max() - 2 * LOSS
        np.testing.assert_array_equal(full.choice[stake], quick.choice[stake])


@pytest.mark.parametrize("name", ["wide", "trap", "pit"])
def test_every_choice_left_out_of_a_layer_is_worse_there(name, keen):
    graph = named(name)
    strokes = solve.choice_values(graph, solve.fewest_strokes(graph).value)
    value = solve.within_budget(graph, 18, tiebreak=strokes, prune=False).value
    table = np.concatenate((value[::-1], np.zeros((graph.most_strokes, graph.n_states))))
    part = layer_blocks(graph)[0]
    screen, barred = Screen(graph, part, 1.0, strokes), 0
    for row in range(18, -1, -1):
        means = part.matrix @ part.seen(table, row)
        out = np.setdiff1d(np.arange(len(means)), screen.rows(table, row))
        owner = np.repeat(np.arange(len(part.states)), part.lengths)[out]
        best = np.maximum.reduceat(means, part.starts)[owner]
        assert np.all((means[out] < best - TIE) | (best >= 1.0 - LOSS))
        barred += len(out)
    assert barred > 0.5 * 19 * graph.n_choices


@settings(max_examples=30, deadline=None, derandomize=True)
@given(
    seed=SEEDS,
    states=st.integers(2, 14),
    widest=st.integers(2, 30),
    layers=st.integers(1, 16),
    together=st.sampled_from([1, 3, 32]),
)
def test_random_graphs_agree_with_the_full_sweep(seed, states, widest, layers, together):
    rng = np.random.default_rng(seed)
    graph = random_graph(rng, states, widest=widest, free=0.15)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(working_set, "TOGETHER", together)
        patch.setattr(working_set, "MOST_PICKED", 1.0)
        for reward in (*rewards(layers).values(), rng.random(layers), rng.random(layers) - 0.5):
            full = best_layers(graph, reward, None, prune=False)
            quick = best_layers(graph, reward, None, prune=True)
            np.testing.assert_allclose(quick.value, full.value, atol=1.01 * LOSS, rtol=0)
            stake = full.value < max(0.0, reward.max()) - 2 * LOSS
            np.testing.assert_array_equal(full.choice[stake], quick.choice[stake])


def test_rows_multiplied_where_they_stand_are_those_copied_out():
    graph = wide_graph(np.random.default_rng(8), 30, 40)
    part = layer_blocks(graph)[0]
    table = np.random.default_rng(9).random((graph.most_strokes + 1, graph.n_states))
    firsts = part.starts
    for rows in (
        firsts,
        firsts + part.lengths - 1,
        np.arange(len(part.choices)),
        np.union1d(firsts, np.arange(0, len(part.choices), 7)),
    ):
        some = part.only(rows)
        np.testing.assert_array_equal(
            some.matrix @ part.seen(table, 0), part.matrix[rows] @ part.seen(table, 0)
        )
        np.testing.assert_array_equal(some.choices, part.choices[rows])
        np.testing.assert_array_equal(graph.choice_state[some.choices[some.starts]], part.states)


def test_a_graph_of_free_choices_alone_is_swept_in_full():
    graph = StateGraph.from_choices({"tee": {0: [("cup", 0.5, 0), ("cup", 0.5, 1)], 1: [("cup", 1.0, 0)]}})
    np.testing.assert_array_equal(solve.within_budget(graph, 2, prune=True).value[:, 0], [1.0, 1.0, 1.0])
