"""Named graphs the tests of graphs and solvers share."""

from fractions import Fraction
from typing import Any

import numpy as np

from caddiebrain.graph import StateGraph

__all__ = ["TEXTBOOK", "Exact", "as_graph", "hardy", "random_graph", "small_hole"]

Exact = dict[Any, dict[Any, list[tuple[Any, Fraction, int]]]]


def hardy(par: int, good: Fraction, bad: Fraction) -> Exact:
    """Hardy's golfer (1945, Mathematical Gazette 29:226-227): progress 2 with chance p, 0 with q, else 1.

    A hole of par m ends at the first shot with progress of m or more; what is over is wasted.
    """

    def after(left: int, progress: int) -> Any:
        return "cup" if left <= progress else left - progress

    return {
        left: {"hit": [(after(left, 2), good, 1), (after(left, 1), 1 - good - bad, 1), (left, bad, 1)]}
        for left in range(par, 0, -1)
    }


def small_hole() -> Exact:
    """A hole small enough to enumerate by hand: a choice off the tee, a penalty, a free drop, a self-loop."""
    f = Fraction
    return {
        "tee": {
            "driver": [("short", f(1, 2), 1), ("rough", f(3, 10), 1), ("tee", f(1, 5), 2)],
            "iron": [("fairway", f(1), 1)],
        },
        "fairway": {"wedge": [("green", f(3, 4), 1), ("path", f(1, 4), 1)]},
        "short": {"chip": [("green", f(4, 5), 1), ("cup", f(1, 5), 1)]},
        "rough": {"hack": [("short", f(1, 2), 1), ("rough", f(1, 2), 1)]},
        "path": {
            "drop": [("short", f(1, 2), 0), ("rough", f(1, 2), 0)],
            "play it": [("green", f(2, 5), 1), ("path", f(3, 5), 1)],
        },
        "green": {
            "lag": [("cup", f(1, 4), 1), ("tap", f(3, 4), 1)],
            "charge": [("cup", f(2, 5), 1), ("green", f(3, 5), 1)],
        },
        "tap": {"putt": [("cup", f(1), 1)]},
    }


def as_graph(exact: Exact, goal: Any = "cup") -> StateGraph:
    """Return the graph of a table with exact probabilities."""
    plain = {
        s: {c: [(t, float(p), k) for t, p, k in outcomes] for c, outcomes in choices.items()}
        for s, choices in exact.items()
    }
    return StateGraph.from_choices(plain, goal=goal)


def random_graph(rng: np.random.Generator, states: int, *, widest: int = 4, free: float = 0.3) -> StateGraph:
    """Return a graph with self-loops, penalties of up to three strokes and zero-stroke states.

    Zero-stroke outcomes lead to states of lower index or the goal; every state has a choice with a way there.
    """
    choices: dict[int, dict[int, list[tuple[Any, float, int]]]] = {}
    for s in range(states):
        choices[s] = {}
        for c in range(int(rng.integers(1, widest + 1))):
            size = int(rng.integers(1, 6))
            weight = rng.dirichlet(np.ones(size + 1))
            row: list[tuple[Any, float, int]] = [
                ("cup" if s == 0 or rng.random() < 0.3 else s - 1, weight[0], 1)
            ]
            for p in weight[1:]:
                if s and rng.random() < free:
                    row.append((int(rng.integers(0, s)), p, 0))
                elif rng.random() < 0.2:
                    row.append((s, p, int(rng.integers(1, 4))))
                else:
                    row.append((int(rng.integers(0, states)), p, int(rng.integers(1, 3))))
            choices[s][c] = row
    return StateGraph.from_choices(choices)


TEXTBOOK: dict[str, Exact] = {
    "hardy par 3": hardy(3, Fraction(1, 10), Fraction(1, 10)),
    "hardy par 4": hardy(4, Fraction(1, 10), Fraction(1, 10)),
    "hardy par 5": hardy(5, Fraction(1, 5), Fraction(3, 20)),
    "small hole": small_hole(),
}
