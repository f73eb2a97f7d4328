"""What is not looked at in a layer is proven idle there: the answers are those of the full sweep."""

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
from caddiebrain.solve import working_set
from caddiebrain.solve.block import TIE
from caddiebrain.solve.budget import best_layers
from caddiebrain.solve.layers import sweep_layers
from caddiebrain.solve.layout import layer_blocks
from caddiebrain.solve.threads import threads
from caddiebrain.solve.working_set import LOSS, Screen

numba = pytest.importorskip("numba")
kernels = pytest.importorskip("caddiebrain.solve.kernels")
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
    """Let the screen go through few layers at a time."""
    monkeypatch.setattr(working_set, "TOGETHER", 5)


SWEPT = {
    ("wide", "chance"): 0.4,
    ("wide", "smooth"): 0.05,
    ("wide", "one total alone"): 0.75,
    ("trap", "chance"): 0.1,
    ("trap", "smooth"): 0.05,
    ("trap", "one total alone"): 0.75,
    ("pit", "chance"): 0.1,
    ("pit", "smooth"): 0.05,
    ("pit", "one total alone"): 0.75,
}
"""Part of the choices that may be looked at in a layer, on average, beside one layer in six that is looked at in full.

Below the one total no choice has a hope.
"""


@pytest.mark.parametrize(("name", "kind"), list(SWEPT))
def test_choices_are_left_out_and_nothing_is_lost(name, kind, keen):
    graph, reward = named(name), rewards(19)[kind]
    strokes = solve.choice_values(graph, solve.fewest_strokes(graph).value)
    full = solve.within_budget(graph, 18, reward, tiebreak=strokes, prune=False)
    quick = solve.within_budget(graph, 18, reward, tiebreak=strokes, prune=True)
    assert quick.swept <= (SWEPT[name, kind] + 1 / 6) * graph.n_choices
    assert full.swept == graph.n_choices
    assert full.residual == 0.0 < quick.residual <= 1e-12
    np.testing.assert_allclose(quick.value, full.value, atol=quick.residual, rtol=0)
    stake = full.value < reward.max() - 1e-12
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
        stake = full.value < reward.max() - 1e-12
        np.testing.assert_array_equal(full.choice[stake], quick.choice[stake])


@pytest.mark.parametrize("name", ["wide", "trap", "pit"])
def test_every_choice_left_out_of_a_layer_is_worse_there(name, keen):
    graph = named(name)
    strokes = solve.choice_values(graph, solve.fewest_strokes(graph).value)
    value = solve.within_budget(graph, 18, tiebreak=strokes, prune=False).value
    table = np.concatenate((value[::-1], np.zeros((graph.most_strokes, graph.n_states))))
    parts = layer_blocks(graph)
    part, barred = parts[0], 0
    with threads() as team:
        screen = Screen(graph, parts, 1.0, strokes, team)
        for row in range(18, -1, -1):
            made = screen.decide(table, row, strokes)
            if made.looked == len(part.choices):  # in full
                continue
            means = part.matrix @ part.seen(table, row)
            lost, bar = screen.bars(table, row)
            most = bar[part.owner]
            out = np.flatnonzero(np.where(most < 0.0, ~screen.few, lost > most))
            assert made.looked == len(means) - len(out)
            best = part.most(means)[part.owner[out]]
            assert np.all((means[out] < best - TIE) | (best >= 1.0 - LOSS))
            barred += len(out)
    assert barred > 0.5 * 19 * graph.n_choices


@settings(max_examples=30, deadline=None, derandomize=True)
@given(
    seed=SEEDS,
    states=st.integers(2, 14),
    widest=st.integers(2, 30),
    layers=st.integers(1, 16),
    together=st.sampled_from([1, 3, 16]),
)
def test_random_graphs_agree_with_the_full_sweep(seed, states, widest, layers, together):
    rng = np.random.default_rng(seed)
    graph = random_graph(rng, states, widest=widest, free=0.15)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(working_set, "TOGETHER", together)
        for reward in (*rewards(layers).values(), rng.random(layers), rng.random(layers) - 0.5):
            full = best_layers(graph, reward, None, prune=False)
            quick = best_layers(graph, reward, None, prune=True)
            np.testing.assert_allclose(quick.value, full.value, atol=quick.residual, rtol=0)
            stake = full.value < max(0.0, reward.max()) - 1e-12
            np.testing.assert_array_equal(full.choice[stake], quick.choice[stake])


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
    seen, ahead, strokes = rng.random(50), rng.random(50), rng.integers(1, 4, m).astype(float)
    means = table @ seen
    best = np.empty(n)
    kernels.best_means(0, n, rows, stops, seen, best)
    np.testing.assert_allclose(best, np.maximum.reduceat(means, stops[:-1]), rtol=1e-14)

    few = np.union1d(stops[:-1], rng.integers(0, m, m // 3))
    to = np.concatenate(([0], np.cumsum(np.diff(table.indptr)[few])))
    column, chance = np.empty(to[-1], dtype=np.int32), np.empty(to[-1])
    kernels.copy_rows(0, len(few), rows, few, to, column, chance)
    copied = csr_array((chance, column, to), shape=(len(few), 50))
    np.testing.assert_array_equal((copied - table[few]).data, np.zeros(0))

    listed, mean, room = np.empty(m, dtype=np.int64), np.empty(m), np.empty(m)
    chosen, looked, leads = np.empty(n, dtype=np.int64), np.empty(n, dtype=np.int64), np.zeros(m, dtype=bool)
    job = (strokes, TIE, listed, mean, best, chosen)
    lost, always = np.ones(m, dtype=np.float32), np.isin(np.arange(m), few)
    lost[few] = 0.0
    # Few lose little enough; or where nothing can be lost, all but those marked are left out.
    for low, high in ((lost, 0.5), (np.zeros_like(lost), -1.0)):
        kernels.decide(0, n, rows, stops, seen, *job, low, np.full(n, high, dtype=np.float32), always, looked)
        for s in range(n):
            here = few[(few >= stops[s]) & (few < stops[s + 1])]
            assert looked[s] == len(here)
            assert chosen[s] == here[np.argmax(means[here])]
    pairs = np.column_stack((seen, ahead)).ravel()
    kernels.look_at_all(0, n, rows, stops, pairs, *job, 2, leads, room, 1.0, 1.5, looked)
    np.testing.assert_allclose(mean, means, rtol=1e-14)
    for s in range(n):
        here = np.arange(stops[s], stops[s + 1])
        assert chosen[s] == here[np.argmax(means[here])]
        loss = 1.0 - (table @ ahead)[here]
        assert set(here[leads[here]]) == set(here[np.argsort(loss)[:2]])
        assert looked[s] == (loss <= 1.5 * loss.min() + 1e-12).sum()

    below, lost = rng.random((50, kernels.LINE)), np.empty((kernels.LINE, m), dtype=np.float32)
    kernels.read(0, n, rows, stops, below.astype(np.float32).ravel(), lost)
    np.testing.assert_allclose(lost, (table @ below).T, rtol=3e-6)


def test_of_equals_the_fewest_strokes_and_then_the_first_are_chosen():
    table = csr_array(np.array([[0.5], [0.5 + 1e-13], [0.5 + 1e-13], [0.4]]))
    rows, stops = (table.indptr, table.indices, table.data), np.array([0, 4])
    for strokes, wanted in (([3.0, 2.0, 2.0, 1.0], 1), ([1.0, 2.0, 2.0, 1.0], 0), ([np.inf] * 4, 0)):
        listed, chosen, leads = (
            np.empty(4, dtype=np.int64),
            np.empty(1, dtype=np.int64),
            np.zeros(4, dtype=bool),
        )
        room = (
            listed,
            np.empty(4),
            np.empty(1),
            chosen,
            1,
            leads,
            np.empty(4),
            1.0,
            1.0,
            np.empty(1, np.int64),
        )
        kernels.look_at_all(0, 1, rows, stops, np.ones(2), np.array(strokes), TIE, *room)
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
    monkeypatch.setattr(working_set, "_loops", lambda: None)
    monkeypatch.setattr(working_set, "MANY_CHOICES", 1)
    monkeypatch.setattr(working_set, "MANY_OUTCOMES", 1)
    assert solve.within_budget(graph, 4).residual == 0.0
    with pytest.raises(InputError, match=r"prune: .*numba.*caddiebrain\[compiled\]"):
        solve.within_budget(graph, 4, prune=True)


@pytest.mark.parametrize("error", [ImportError, OSError, AttributeError])
def test_a_numba_that_does_not_work_spoils_no_solve(monkeypatch, error):
    def spoilt():
        raise error("spoilt")

    monkeypatch.setattr(kernels, "ready", spoilt)
    working_set._loops.cache_clear()
    try:
        assert working_set._loops() is None
    finally:
        working_set._loops.cache_clear()


def test_the_switch_of_numba_is_left_as_it_was():
    before = numba.core.config.SLP_VECTORIZE
    kernels.ready()
    assert before == numba.core.config.SLP_VECTORIZE


def test_rows_that_sum_to_a_little_more_than_one_are_within_the_residual():
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
    gap = float((full.value - quick.value).max())
    assert 1e-9 < gap <= quick.residual < 1e-6


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
            screen = Screen(graph, parts, 1.0, strokes, team)
            found.append(sweep_layers(graph, parts, np.ones(19), strokes, screen.decide))
    for value, choice, _ in found[1:]:
        np.testing.assert_array_equal(value, found[0][0])
        np.testing.assert_array_equal(choice, found[0][1])


def test_large_graphs_are_pruned_by_default(monkeypatch):
    graph = named("pit")
    assert solve.within_budget(graph, 4).residual == 0.0
    monkeypatch.setattr(working_set, "MANY_CHOICES", 1)
    monkeypatch.setattr(working_set, "MANY_OUTCOMES", 1)
    assert solve.within_budget(graph, 4).residual > 0.0


def test_a_graph_of_free_choices_alone_is_swept_in_full():
    graph = StateGraph.from_choices({"tee": {0: [("cup", 0.5, 0), ("cup", 0.5, 1)], 1: [("cup", 1.0, 0)]}})
    np.testing.assert_array_equal(solve.within_budget(graph, 2, prune=True).value[:, 0], [1.0, 1.0, 1.0])
