"""What is not looked at in a layer is proven idle there: the answers are those of the full sweep."""

from itertools import pairwise

import numpy as np
import pytest
from graph_zoo import random_graph
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse import csr_array
from scipy.special import ndtr

from caddiebrain import solve
from caddiebrain.errors import InputError
from caddiebrain.graph import StateGraph
from caddiebrain.solve import screen as screening
from caddiebrain.solve.block import TIE
from caddiebrain.solve.budget import best_layers
from caddiebrain.solve.layers import sweep_layers
from caddiebrain.solve.layout import layer_blocks
from caddiebrain.solve.screen import Screen
from caddiebrain.solve.threads import threads

numba = pytest.importorskip("numba")
kernels = pytest.importorskip("caddiebrain.solve.kernels")
lines = pytest.importorskip("caddiebrain.solve.lines")
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
    full = solve.within_budget(graph, 18, reward, tiebreak=strokes, prune=False)
    quick = solve.within_budget(graph, 18, reward, tiebreak=strokes, prune=True)
    assert quick.swept <= SWEPT[name, kind] * graph.n_choices
    assert full.swept == graph.n_choices
    assert full.residual == 0.0 < quick.residual <= 1e-12
    np.testing.assert_allclose(quick.value, full.value, atol=quick.residual, rtol=0)
    stake = full.value < reward.max() - 1e-12
    np.testing.assert_array_equal(full.choice[stake], quick.choice[stake])


@pytest.mark.parametrize("tiebreak", ["worst first", "no opinion"])
@pytest.mark.parametrize("name", ["wide", "trap", "pit"])
def test_misleading_choices_to_begin_with_lose_nothing(name, tiebreak, keen):
    graph = named(name)
    strokes = solve.choice_values(graph, solve.fewest_strokes(graph).value)
    order = -strokes if tiebreak == "worst first" else np.zeros(graph.n_choices)
    for reward in rewards(19).values():
        full = solve.within_budget(graph, 18, reward, tiebreak=order, prune=False)
        quick = solve.within_budget(graph, 18, reward, tiebreak=order, prune=True)
        np.testing.assert_allclose(quick.value, full.value, atol=quick.residual, rtol=0)
        stake = full.value < reward.max() - 1e-12
        np.testing.assert_array_equal(full.choice[stake], quick.choice[stake])


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
    seed=SEEDS,
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
            full = best_layers(graph, reward, None, prune=False)
            quick = best_layers(graph, reward, None, prune=True)
            np.testing.assert_allclose(quick.value, full.value, atol=quick.residual, rtol=0)
            stake = full.value < max(0.0, reward.max()) - 1e-12
            np.testing.assert_array_equal(full.choice[stake], quick.choice[stake])


def test_bounds_are_not_carried_over_layers_in_which_nothing_can_be_won_or_lost(keen):
    """To hit loses more than all with three strokes left, and is right with 31; between them nothing matters."""
    graph = StateGraph.from_choices(
        {s: {"wait": [(other, 1.0, 1)], "hit": [("cup", 1.0, 1)]} for s, other in ("ab", "ba")}
    )
    reward, order = np.zeros(40), np.array([1.0, 2.0, 1.0, 2.0])
    reward[[2, 30, 38]] = -1.0, 0.4, 1.0
    full, quick = (best_layers(graph, reward, order, prune=prune) for prune in (False, True))
    assert not full.value[3:31, :2].any()
    np.testing.assert_array_equal(full.value[31, :2], 0.4)
    np.testing.assert_allclose(quick.value, full.value, atol=quick.residual, rtol=0)
    np.testing.assert_array_equal(quick.choice, full.choice)


def test_what_is_all_but_settled_is_settled_by_choices_looked_at():
    """By a guess a state may be as good as sure while what was chosen last, and is looked at first, is not yet."""
    rng = np.random.default_rng(110)
    for _ in range(60):
        graph = random_graph(rng, int(rng.integers(2, 25)), widest=int(rng.integers(2, 60)), free=0.0)
        full, quick = (solve.within_budget(graph, 38, prune=prune) for prune in (False, True))
        np.testing.assert_allclose(quick.value, full.value, atol=quick.residual, rtol=0)


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
            full, quick = (best_layers(graph, reward, None, prune=prune) for prune in (False, True))
            np.testing.assert_allclose(quick.value, full.value, atol=quick.residual, rtol=0)
            stake = full.value < reward.max() - 1e-12
            np.testing.assert_array_equal(full.choice[stake], quick.choice[stake])


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
        full, quick = (best_layers(graph, reward, order, prune=prune) for prune in (False, True))
        np.testing.assert_allclose(quick.value, full.value, atol=quick.residual, rtol=0)
        assert screened(graph, reward, order)[0] <= 1e-15


def test_utilities_are_pruned_too(keen):
    graph = named("wide")
    utility = -np.exp(np.arange(30) / 6.0)
    full, quick = (solve.best_utility(graph, utility, prune=prune) for prune in (False, True))
    assert quick.swept < 0.5 * full.swept
    np.testing.assert_allclose(quick.value, full.value, atol=quick.residual, rtol=0)
    np.testing.assert_array_equal(quick.choice, full.choice)


def drawn(held: np.ndarray, true: np.ndarray, slip: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """Lines below losses, as slopes and levels."""
    room, found = np.empty((2, len(held))), np.empty((2, lines.LINES), dtype=np.float32)
    count = lines.tangents(1.0 - held, 1.0 - true, 1.0, slip, room, *found)
    return found[0, :count].astype(float), found[1, :count].astype(float)


@settings(max_examples=100, deadline=None, derandomize=True)
@given(seed=SEEDS, size=st.integers(1, 40), small=st.floats(1e-9, 1.0))
def test_lines_are_below_all_losses_and_below_their_means(seed, size, small):
    rng = np.random.default_rng(seed)
    held = np.where(rng.random(size) < 0.2, 0.0, rng.random(size) ** 3)
    true = np.where(rng.random(size) < 0.1, 0.0, held * (1.0 - small * rng.random(size)))
    slopes, levels = drawn(held, true, slip=1e-14)
    assert np.all(slopes[:, None] * held - levels[:, None] <= true + 1e-14)
    weights = rng.dirichlet(np.full(size, 0.3), 50)
    means, lost = (weights @ held).astype(np.float32), weights @ true
    bound = np.zeros(50, dtype=np.float32)
    room = np.zeros((2, lines.LINES), dtype=np.float32)
    room[0, : len(slopes)], room[1, : len(slopes)] = slopes, levels
    lines.carry(np.nextafter(means, np.float32(0)), room[0], room[1], len(slopes), bound)
    assert np.all(bound <= lost + 1e-14)


def test_lines_touch_the_corners_of_what_is_convex():
    corners = np.array([[0.0, 0.0], [0.1, 0.01], [0.4, 0.1], [0.6, 0.25], [1.0, 0.9]])
    across = np.linspace(0.0, 1.0, 201)
    edge = np.interp(across, *corners.T)
    held, true = np.r_[across, across, 0.0], np.r_[edge, np.minimum(edge + 0.05, across), 0.0]
    slopes, levels = drawn(held, true)
    highest = (slopes[:, None] * across - levels[:, None]).max(axis=0)
    np.testing.assert_allclose(highest, edge, atol=2e-6)


def ragged(rng: np.random.Generator, states: int) -> tuple[csr_array, np.ndarray]:
    """Rows of 1 to 11 outcomes, 1 to 9 rows a state, and where each state's begin and the last end."""
    stops = np.concatenate(([0], np.cumsum(rng.integers(1, 10, states))))
    lengths = rng.integers(1, 12, stops[-1])
    begin = np.concatenate(([0], np.cumsum(lengths))).astype(np.int32)
    column = rng.integers(0, 50, begin[-1]).astype(np.int32)
    return csr_array((rng.random(begin[-1]), column, begin), shape=(len(lengths), 50)), stops


@pytest.mark.parametrize("seed", range(5))
def test_the_loops_are_the_products_of_scipy(seed):
    rng = np.random.default_rng(seed)
    table, stops = ragged(rng, 40)
    rows, m, n = (table.indptr, table.indices, table.data), table.shape[0], 40
    seen, strokes = rng.random(50), rng.integers(1, 4, m).astype(float)
    means, firsts = table @ seen, np.empty(n, dtype=np.int64)
    kernels.first_least(stops, strokes, firsts)
    np.testing.assert_array_equal(firsts, [a + strokes[a:b].argmin() for a, b in pairwise(stops)])
    few = np.column_stack([rng.integers(stops[:-1], stops[1:]) for _ in range(3)])
    best, chosen = np.empty(n), np.empty(n, dtype=np.int64)
    kernels.best_of_few(0, n, rows, few, seen, best)
    np.testing.assert_allclose(best, means[few].max(axis=1), rtol=1e-14)

    job = (rows, stops, strokes, TIE, np.empty(m, dtype=np.int64), np.empty(m), best, chosen)
    guesses, bound = rng.random((50, kernels.AHEAD)), np.empty(m, dtype=np.float32)
    ahead, records = np.empty((kernels.AHEAD, m), dtype=np.float32), np.column_stack((seen, guesses))
    kernels.read(0, n, *job, records.ravel(), 9.0, 0.0, bound, ahead)
    np.testing.assert_array_equal(chosen, [a + means[a:b].argmax() for a, b in pairwise(stops)])
    np.testing.assert_allclose(best, np.maximum.reduceat(means, stops[:-1]), rtol=1e-14)
    for found, lost in ((bound, 9.0 - means), *zip(ahead, (table @ guesses).T, strict=True)):
        assert np.all((found <= lost) & (found >= (1.0 - 1e-6) * lost))


def test_the_promising_rows_are_those_with_the_lowest_bounds():
    stops = np.array([0, 1, 4, 9])
    bound = np.array([0.5, 0.3, 0.1, 0.2, 0.9, 0.4, 0.8, 0.3, 0.3], dtype=np.float32)
    few = np.repeat([[0], [1], [4]], 4, axis=1)
    kernels.promising(stops, bound, few)
    assert [set(rows) for rows in few[:, 1:]] == [{0}, {1, 2, 3}, {5, 7, 8}]
    np.testing.assert_array_equal(few[:, 0], [0, 1, 4])


@pytest.mark.parametrize("seed", range(5))
def test_the_rows_looked_at_are_the_one_before_and_those_within_the_bar(seed):
    rng = np.random.default_rng(seed)
    table, stops = ragged(rng, 40)
    rows, m, n = (table.indptr, table.indices, table.data), table.shape[0], 40
    seen, strokes, owner = rng.random(50), np.zeros(m), np.repeat(np.arange(40), np.diff(stops))
    means, before = table @ seen, rng.integers(stops[:-1], stops[1:])
    bound = np.float32(4.0) * rng.random(m, dtype=np.float32)
    own = np.where(rng.random(n) < 0.5, np.inf, 2.0 * rng.random(n))
    left = bound <= (np.minimum(own, 9.0 - means[before]) + 0.1)[owner]
    wanted = left | np.isin(np.arange(m), before)
    best, (chosen, looked) = np.empty(n), np.empty((2, n), dtype=np.int64)
    job = (rows, stops, strokes, TIE, np.empty(m, dtype=np.int64), np.empty(m), best, chosen)
    bars = (before, own, 9.0, 0.1, -1.0, bound)
    assert kernels.left_over(1, rows, stops, seen, *bars) == (left.sum(), m)
    kernels.decide(0, n, *job, seen, before, *bars, 0.0, looked)
    np.testing.assert_array_equal(looked, np.bincount(owner[wanted]))
    among = np.where(wanted, means, -np.inf)
    np.testing.assert_array_equal(chosen, [a + among[a:b].argmax() for a, b in pairwise(stops)])
    np.testing.assert_allclose(best, means[chosen], rtol=1e-14)
    np.testing.assert_allclose(bound[wanted], 9.0 - means[wanted], rtol=1e-6)


def test_of_equals_the_fewest_strokes_and_then_the_first_are_chosen():
    table = csr_array(np.array([[0.5], [0.5 + 1e-13], [0.5 + 1e-13], [0.4]]))
    rows, stops = (table.indptr, table.indices, table.data), np.array([0, 4])
    for strokes, wanted in (([3.0, 2.0, 2.0, 1.0], 1), ([1.0, 2.0, 2.0, 1.0], 0), ([np.inf] * 4, 0)):
        best, bound, looked = np.empty(1), np.zeros(4, dtype=np.float32), np.empty(1, dtype=np.int64)
        for before in (None, 0, 1, 2, 3):
            chosen = np.empty(1, dtype=np.int64)
            job = (
                rows,
                stops,
                np.array(strokes),
                TIE,
                np.empty(4, dtype=np.int64),
                np.empty(4),
                best,
                chosen,
            )
            if before is None:
                ahead = np.empty((kernels.AHEAD, 4), dtype=np.float32)
                kernels.read(0, 1, *job, np.ones(1 + kernels.AHEAD), 1.0, 0.0, bound, ahead)
            else:
                one = np.array([before])
                kernels.decide(
                    0, 1, *job, np.ones(1), one, one, np.ones(1), 1.0, 0.0, 0.0, bound, 0.0, looked
                )
            assert chosen[0] == wanted


@pytest.mark.parametrize("count", [1, 2, 5])
def test_threads_do_all_of_it_once_and_say_what_went_wrong(count):
    done = np.zeros(30, dtype=int)

    def work(low: int, high: int) -> None:
        done[low:high] += 1
        if low <= 17 < high:
            raise ValueError("seventeen")

    with threads(count) as team:
        for sizes in (np.ones(30, int), np.arange(30) ** 3 + 1, np.r_[np.ones(29, int), 1000]):
            stops = np.concatenate(([0], np.cumsum(sizes)))
            done[:] = 0
            with pytest.raises(ValueError, match="seventeen"):
                team.run(work, team.shares(stops))
            assert count > 1 or done[:17].all()
            done[:] = 0
            team.run(lambda low, high: np.add.at(done, np.arange(low, high), 1), team.shares(stops))
            np.testing.assert_array_equal(done, np.ones(30))


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


def test_the_switch_of_numba_is_left_as_it_was():
    before = numba.core.config.SLP_VECTORIZE
    kernels.ready()
    assert before == numba.core.config.SLP_VECTORIZE


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
    full = solve.within_budget(graph, 40, tiebreak=order, prune=False)
    quick = solve.within_budget(graph, 40, tiebreak=order, prune=True)
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
