"""Lines below losses are below all of them and below their means, and touch what is convex."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

lines = pytest.importorskip("caddiebrain.solve.lines")


def drawn(held: np.ndarray, true: np.ndarray, slip: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """Lines below losses, as slopes and levels."""
    room, found = np.empty((2, len(held))), np.empty((2, lines.LINES), dtype=np.float32)
    count = lines.tangents(1.0 - held, 1.0 - true, 1.0, slip, room, *found)
    return found[0, :count].astype(float), found[1, :count].astype(float)


@settings(max_examples=100, deadline=None, derandomize=True)
@given(seed=st.integers(0, 2**32 - 1), size=st.integers(1, 40), small=st.floats(1e-9, 1.0))
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
