"""Our solvers beside general-purpose ones on one hole graph, in one run, as ratios.

python tests/bench/solvers.py                       # an invented hole-like graph, 8.5 million outcomes
python tests/bench/solvers.py --small               # the same in little
python tests/bench/solvers.py --graph hole.npz      # a graph written by StateGraph.save
"""

import argparse
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caddiebrain.graph import StateGraph

CLUBS = 12
AIMS = 5
SPREAD = 69
"""Landing spots of one choice; the hole itself and the way out of bounds come on top."""


def invented_hole(along: int, across: int, seed: int) -> StateGraph:
    """Return a graph shaped like a 450-yard hole: invented data, for timing alone.

    States are spots on a grid finer near the pin, plus the cup. A choice is one of twelve distances and five aims;
    it lands on 69 spots, may find the cup, and may be out of bounds on the right (two strokes, same spot).
    """
    rng = np.random.default_rng(seed)
    ahead = 450.0 * np.linspace(0.02, 1.0, along) ** 1.6
    side = 40.0 * np.linspace(-1.0, 1.0, across) * np.abs(np.linspace(-1.0, 1.0, across)) ** 0.5
    y, x = (a.ravel() for a in np.meshgrid(ahead, side, indexing="ij"))
    states, goal = len(y), len(y)
    left = np.hypot(x, y)
    carries = np.linspace(60.0, 250.0, CLUBS)
    full = np.minimum(carries, left[:, None] + 5.0)
    part = left[:, None] * np.linspace(0.6, 1.15, CLUBS)
    far = np.repeat(np.where(left[:, None] > 110.0, full, part), AIMS, axis=1).ravel()
    aim = np.tile(np.linspace(-0.08, 0.08, AIMS), states * CLUBS)
    lie = 1.0 + 0.5 * (np.abs(x) > 14.0) + 0.8 * (np.abs(x) > 30.0)
    rows = states * CLUBS * AIMS
    own = np.repeat(np.arange(states, dtype=np.int32), CLUBS * AIMS)
    column = np.empty((rows, SPREAD + 2), dtype=np.int32)
    prob = np.empty((rows, SPREAD + 2))
    for lo in range(0, rows, 20_000):  # in pieces, to spare memory
        s = slice(lo, lo + 20_000)
        spots, chance = _land(rng, x[own[s]], y[own[s]], far[s], aim[s], lie[own[s]], ahead, side)
        column[s, :SPREAD], column[s, SPREAD], column[s, SPREAD + 1] = spots, goal, own[s]
        prob[s] = chance
    prob /= prob.sum(axis=1, keepdims=True)
    strokes = np.ones((rows, SPREAD + 2), dtype=np.uint8)
    strokes[:, SPREAD + 1] = 2
    choice_start = np.append(np.arange(0, rows + 1, CLUBS * AIMS), rows)
    outcome_start = np.arange(0, column.size + 1, SPREAD + 2)
    return StateGraph.from_arrays(
        choice_start, outcome_start, column.ravel(), prob.ravel(), strokes.ravel(), goal=goal
    )


def _land(
    rng: np.random.Generator,
    x: NDArray[Any],
    y: NDArray[Any],
    far: NDArray[Any],
    aim: NDArray[Any],
    lie: NDArray[Any],
    ahead: NDArray[Any],
    side: NDArray[Any],
) -> tuple[NDArray[Any], NDArray[Any]]:
    """Return the spots (rows, 69) and the chances (rows, 71) of one piece of choices."""
    shape = (len(x), SPREAD)
    mishit = rng.random(shape) < 0.06
    depth = (
        np.where(mishit, 0.7, 1.0) * far[:, None] * (1.0 + 0.06 * lie[:, None] * rng.standard_normal(shape))
    )
    turn = aim[:, None] + 0.055 * lie[:, None] * rng.standard_normal(shape) * np.where(mishit, 2.5, 1.0)
    line = np.arctan2(-x, y)[:, None] + turn
    new_x, new_y = x[:, None] + depth * np.sin(line), y[:, None] - depth * np.cos(line)
    miss = np.hypot(new_x, new_y)
    out = new_x > 36.0
    cup = np.where(out, 0.0, 0.8 * np.exp(-((miss / 4.0) ** 2) - far[:, None] / 60.0))
    i = np.clip(np.searchsorted(ahead, np.abs(new_y)), 0, len(ahead) - 1)
    j = np.clip(np.searchsorted(side, new_x), 0, len(side) - 1)
    weight = rng.random(shape) + 0.2
    chance = np.empty((len(x), SPREAD + 2))
    chance[:, :SPREAD] = np.where(out, 0.0, weight * (1.0 - cup))
    chance[:, SPREAD] = (weight * cup).sum(axis=1)
    chance[:, SPREAD + 1] = np.where(out, weight, 0.0).sum(axis=1)
    return (i * len(side) + j).astype(np.int32), chance
