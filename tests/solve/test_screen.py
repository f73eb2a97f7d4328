"""What is not looked at in a layer is proven idle there: the answers are those of the full sweep."""

import numpy as np
import pytest
from graph_zoo import random_graph
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ndtr

from caddiebrain import solve
from caddiebrain.errors import InputError
from caddiebrain.graph import StateGraph
from caddiebrain.solve import screen as screening
from caddiebrain.solve.budget import best_layers
from caddiebrain.solve.layers import sweep_layers
from caddiebrain.solve.layout import layer_blocks
from caddiebrain.solve.records import BudgetSolution
from caddiebrain.solve.screen import Screen
from caddiebrain.solve.threads import threads

kernels = pytest.importorskip("caddiebrain.solve.kernels")


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
        "two totals": np.isin(np.arange(layers), (layers // 6, layers - 2)).astype(float),
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


def not_quite_one(graph: StateGraph, rng: np.random.Generator, off: float) -> StateGraph:
    """The graph with rows that sum to one but for so much."""
    sums = 1.0 + off * rng.choice([-1.0, 0.0, 1.0], graph.n_choices)
    chance = graph.outcome_prob * np.repeat(sums, np.diff(graph.outcome_start))
    return StateGraph.from_arrays(
        graph.choice_start,
        graph.outcome_start,
        graph.outcome_state,
        chance,
        graph.outcome_strokes,
        goal=graph.goal,
    )


def named(name: str) -> StateGraph:
    if name == "wide":
        return wide_graph(np.random.default_rng(3), 40, 60)
    return trap(150) if name == "trap" else pit(80)


def agreed(graph: StateGraph, reward: np.ndarray, order: np.ndarray | None = None) -> BudgetSolution:
    """The pruned answer, which is that of the full sweep: choices, too, where anything is at stake."""
    full, quick = (best_layers(graph, reward, order, prune=prune) for prune in (False, True))
    assert full.swept == graph.n_choices
    assert full.residual == 0.0 < quick.residual
    np.testing.assert_allclose(quick.value, full.value, atol=quick.residual, rtol=0)
    stake = full.value < max(0.0, reward.max()) - 1e-12
    np.testing.assert_array_equal(quick.choice[stake], full.choice[stake])
    return quick


@pytest.fixture
def keen(monkeypatch):
    """Let the screen read one layer in full, and never again."""
    monkeypatch.setattr(screening, "AGAIN", 1.1)


SWEPT = {
    ("wide", "chance"): 0.45,
    ("wide", "smooth"): 0.3,
    ("wide", "one total alone"): 0.55,
    ("wide", "two totals"): 0.65,
    ("trap", "chance"): 0.1,
    ("trap", "smooth"): 0.15,
    ("trap", "one total alone"): 0.25,
    ("trap", "two totals"): 0.35,
    ("pit", "chance"): 0.2,
    ("pit", "smooth"): 0.15,
    ("pit", "one total alone"): 0.35,
    ("pit", "two totals"): 0.45,
}
"""Part of the choices that may be looked at in a layer, on average; the first is read in full."""


@pytest.mark.parametrize(("name", "kind"), list(SWEPT))
def test_choices_are_left_out_and_nothing_is_lost(name, kind):
    graph, reward = named(name), rewards(19)[kind]
    strokes = solve.choice_values(graph, solve.fewest_strokes(graph).value)
    quick = agreed(graph, reward, strokes)
    assert quick.swept <= SWEPT[name, kind] * graph.n_choices
    assert quick.residual <= 1e-12


@pytest.mark.parametrize("tiebreak", ["worst first", "no opinion"])
@pytest.mark.parametrize("name", ["wide", "trap", "pit"])
def test_misleading_choices_to_begin_with_lose_nothing(name, tiebreak, keen):
    graph = named(name)
    strokes = solve.choice_values(graph, solve.fewest_strokes(graph).value)
    order = -strokes if tiebreak == "worst first" else np.zeros(graph.n_choices)
    for reward in rewards(19).values():
        agreed(graph, reward, order)


def screened(graph: StateGraph, reward: np.ndarray, strokes: np.ndarray) -> tuple[float, float]:
    """How far a bound is above what its choice loses at most, in any layer, and what part of the choices is barred."""
    value = best_layers(graph, reward, strokes, prune=False).value
    table = np.concatenate((value[::-1], np.zeros((graph.most_strokes, graph.n_states))))
    parts, layers, barred, excess = layer_blocks(graph), len(reward), 0, 0.0
    part = parts[0]
    with threads() as team:
        screen = Screen(graph, parts, max(0.0, reward.max()), layers, strokes, team)
        for row in range(layers - 1, -1, -1):
            made = screen.decide(table, row, strokes)
            seen = part.seen(table, row)
            if seen.any():
                lost = part.matrix @ (screen.ceiling - seen)
                excess = max(excess, float((screen.bound - lost).max()))
                barred += len(part.choices) - made.looked
    return excess, barred / layers / len(part.choices)


@pytest.mark.parametrize("off", [0.0, 9.9e-10])
@pytest.mark.parametrize("kind", ["chance", "smooth"])
@pytest.mark.parametrize("name", ["wide", "trap", "pit"])
def test_no_choice_loses_less_than_its_bound_in_any_layer(name, kind, off, keen):
    graph = not_quite_one(named(name), np.random.default_rng(5), off)
    strokes = solve.choice_values(graph, solve.fewest_strokes(graph).value)
    excess, barred = screened(graph, rewards(19)[kind], strokes)
    assert excess <= 1e-15
    assert barred > 0.4


@settings(max_examples=40, deadline=None, derandomize=True)
@given(
    seed=st.integers(0, 2**32 - 1),
    states=st.integers(2, 14),
    widest=st.integers(2, 30),
    layers=st.integers(1, 24),
    again=st.sampled_from([0.05, 0.3, 1.1]),
    off=st.sampled_from([0.0, 9.9e-10]),
)
def test_random_graphs_agree_with_the_full_sweep(seed, states, widest, layers, again, off):
    rng = np.random.default_rng(seed)
    graph = not_quite_one(random_graph(rng, states, widest=widest, free=0.15), rng, off)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(screening, "AGAIN", again)
        near = 1.0 - np.geomspace(1.0, 1e-12, layers)  # losses about as small as what counts as none
        for reward in (*rewards(layers).values(), rng.random(layers), rng.random(layers) - 0.5, near):
            agreed(graph, reward)


def test_bounds_are_not_carried_over_layers_in_which_nothing_can_be_won_or_lost(keen):
    """To hit loses more than all with three strokes left, and is right with 31; between them nothing matters."""
    graph = StateGraph.from_choices(
        {s: {"wait": [(other, 1.0, 1)], "hit": [("cup", 1.0, 1)]} for s, other in ("ab", "ba")}
    )
    reward, order = np.zeros(40), np.array([1.0, 2.0, 1.0, 2.0])
    reward[[2, 30, 38]] = -1.0, 0.4, 1.0
    quick = agreed(graph, reward, order)
    assert not quick.value[3:31, :2].any()
    np.testing.assert_array_equal(quick.value[31, :2], 0.4)


def test_what_is_all_but_settled_is_settled_by_choices_looked_at():
    """By a guess a state may be as good as sure while what was chosen last, and is looked at first, is not yet."""
    rng = np.random.default_rng(110)
    for _ in range(60):
        graph = random_graph(rng, int(rng.integers(2, 25)), widest=int(rng.integers(2, 60)), free=0.0)
        agreed(graph, np.ones(39))


@pytest.mark.parametrize("off", [0.0, 9.9e-10])
def test_rows_that_do_not_quite_sum_to_one_are_bounded_as_well(off, keen):
    """Many choices of a state nearly as good as each other, and nearly sure: what sums are off decides between them."""
    rng = np.random.default_rng(7)
    for _ in range(40):
        sure = 10.0 ** rng.uniform(-4, -1)
        table = {}
        for s in range(int(rng.integers(2, 6))):
            miss = sure * (1.0 + 10.0 ** rng.uniform(-11, -1, 40))
            goal = "cup" if s == 0 else s - 1
            table[s] = {c: [(goal, 1.0 - m, 1), (s, 0.7 * m, 1), (s, 0.3 * m, 2)] for c, m in enumerate(miss)}
        graph = not_quite_one(StateGraph.from_choices(table), rng, off)
        for reward in (np.ones(12), np.sort(rng.random(12)), 10.0 ** rng.uniform(-12, 0, 12)):
            agreed(graph, reward)


@pytest.mark.parametrize(
    "sizes",
    [
        (-12, 0),
        (-34, 0),
        (-39, 0),
        (-310, 0),
        (-45, -30, -15, 0),
        (-44.5, -25, -5.5, 0),
        (-45, -40, -30, -20, -10, 0),
    ],
)
def test_losses_beyond_single_precision_are_bounded(sizes, keen):
    """Rewards of which some are nearly nothing: what one layer loses may be 1e39 times what the one before does."""
    rng = np.random.default_rng(1)
    for _ in range(6):
        table = {}
        for s in range(4):
            table[s] = {}
            for c in range(20):
                w = rng.dirichlet(np.full(3, rng.choice([0.5, 1.0])))
                others = [(int(rng.integers(0, 4)), w[1], 1), (int(rng.integers(0, 4)), w[2], 1)]
                table[s][c] = [("cup", w[0], 1), *others]
        graph = StateGraph.from_choices(table)
        reward = -np.concatenate([10.0**size * rng.uniform(0.1, 1.0, 5) for size in sizes])
        reward[0] = 0.0
        order = rng.permutation(graph.n_choices).astype(float)
        agreed(graph, reward, order)
        assert screened(graph, reward, order)[0] <= 1e-15


def test_utilities_are_pruned_too(keen):
    graph = named("wide")
    utility = -np.exp(np.arange(30) / 6.0)
    full, quick = (solve.best_utility(graph, utility, prune=prune) for prune in (False, True))
    assert quick.swept < 0.5 * full.swept
    np.testing.assert_allclose(quick.value, full.value, atol=quick.residual, rtol=0)
    np.testing.assert_array_equal(quick.choice, full.choice)


def test_pruning_without_numba_is_refused_and_nobody_is_pruned_by_default(monkeypatch):
    graph = named("pit")
    monkeypatch.setattr(screening, "_loops", lambda: None)
    monkeypatch.setattr(screening, "MANY_CHOICES", 1)
    monkeypatch.setattr(screening, "MANY_OUTCOMES", 1)
    assert solve.within_budget(graph, 4).residual == 0.0
    with pytest.raises(InputError, match=r"prune: .*numba.*caddiebrain\[compiled\]"):
        solve.within_budget(graph, 4, prune=True)


@pytest.mark.parametrize("error", [ImportError, OSError, AttributeError])
def test_a_numba_that_does_not_work_spoils_no_solve(monkeypatch, error):
    def spoilt():
        raise error("spoilt")

    monkeypatch.setattr(kernels, "ready", spoilt)
    screening._loops.cache_clear()
    try:
        assert screening._loops() is None
    finally:
        screening._loops.cache_clear()


def test_rows_that_sum_to_a_little_more_than_one_lose_nothing():
    """Their values pass the largest reward, on which a state that has it is not settled then."""
    over = 1.0 + 9e-10
    graph = StateGraph.from_choices(
        {
            s: {c: [("cup" if s == 0 else s - 1, 1.0 if c < 8 else over, 1)] for c in range(9)}
            for s in range(20)
        }
    )
    order = np.zeros(graph.n_choices)
    full, quick = (solve.within_budget(graph, 40, tiebreak=order, prune=prune) for prune in (False, True))
    assert full.value.max() > 1.0 + 1e-8
    assert quick.residual < 1e-11
    np.testing.assert_allclose(quick.value, full.value, atol=quick.residual, rtol=0)
    np.testing.assert_array_equal(quick.choice, full.choice)


def test_choices_above_states_that_are_all_but_settled_are_those_of_the_full_sweep():
    table = {
        "bank": {c: [("cup", 1 - 9e-11, 1), ("never", 9e-11, 1)] for c in range(8)} | {"sure": [(9, 1.0, 1)]},
        "other": {0: [("cup", 1 - 4e-11, 1), ("never", 4e-11, 1)]},
        "never": {0: [("never", 0.999999, 9), ("cup", 1e-6, 9)]},
        "start": {
            "right": [("bank", 0.5, 1), ("never", 0.5, 1)],
            "wrong": [("other", 0.5, 1), ("never", 0.5, 1)],
        },
        **{i: {0: [("cup" if i == 0 else i - 1, 1.0, 1)]} for i in range(10)},
    }
    graph = StateGraph.from_choices(table)
    order = np.zeros(graph.n_choices)  # the fewest strokes of play that all but never ends take long to find
    full, quick = (solve.within_budget(graph, 17, tiebreak=order, prune=prune) for prune in (False, True))
    np.testing.assert_array_equal(full.choice, quick.choice)


def test_answers_do_not_depend_on_the_number_of_threads():
    graph = wide_graph(np.random.default_rng(4), 60, 30)
    strokes = solve.choice_values(graph, solve.fewest_strokes(graph).value)
    parts, found = layer_blocks(graph), []
    for count in (1, 2, 8):
        with threads(count) as team:
            screen = Screen(graph, parts, 1.0, 19, strokes, team)
            found.append(sweep_layers(graph, parts, np.ones(19), strokes, screen.decide))
    for value, choice, _ in found[1:]:
        np.testing.assert_array_equal(value, found[0][0])
        np.testing.assert_array_equal(choice, found[0][1])


def test_large_graphs_are_pruned_by_default(monkeypatch):
    graph = named("pit")
    assert solve.within_budget(graph, 4).residual == 0.0
    monkeypatch.setattr(screening, "MANY_CHOICES", 1)
    monkeypatch.setattr(screening, "MANY_OUTCOMES", 1)
    assert solve.within_budget(graph, 4).residual > 0.0


def test_a_graph_of_free_choices_alone_is_swept_in_full():
    graph = StateGraph.from_choices({"tee": {0: [("cup", 0.5, 0), ("cup", 0.5, 1)], 1: [("cup", 1.0, 0)]}})
    np.testing.assert_array_equal(solve.within_budget(graph, 2, prune=True).value[:, 0], [1.0, 1.0, 1.0])
