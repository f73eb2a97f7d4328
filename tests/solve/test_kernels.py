"""The compiled loops, on rows of many lengths: scipy's products, and choices picked by hand."""

from itertools import pairwise

import numpy as np
import pytest
from scipy.sparse import csr_array

from caddiebrain.solve.block import TIE

numba = pytest.importorskip("numba")
kernels = pytest.importorskip("caddiebrain.solve.kernels")


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


def test_the_switch_of_numba_is_left_as_it_was():
    before = numba.core.config.SLP_VECTORIZE
    kernels.ready()
    assert before == numba.core.config.SLP_VECTORIZE
