r"""The whole trade between expected strokes and the chance of a total of n or more.

The best pairs (strokes, chance), mixtures included, form a convex curve whose corners are policies without coins.
Between two known corners A and B the price ``(strokes_B - strokes_A) / (chance_A - chance_B)`` makes them equal; if
the best policy at that price (`Layered`) beats them it is a corner between, else the segment is part of the curve.
Left unsplit, a segment lies at most by that gain above the curve, which is reported.
Source: Cohon J.L. (1978), *Multiobjective Programming and Planning*, section 6 (the weighting method run to the end
on two objectives).
"""

import heapq
from collections.abc import Hashable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.errors import InputError
from caddiebrain.graph import StateGraph
from caddiebrain.solve.contract import contract
from caddiebrain.solve.layered import Layered, PricedPolicy, unfold

__all__ = ["Corner", "Frontier", "frontier"]


@dataclass(frozen=True)
class Corner:
    """A policy of the frontier: strokes, chance of the limit, and the policy (n + 1, S) by strokes taken."""

    strokes: float
    chance: float
    policy: NDArray[np.int64]


@dataclass(frozen=True)
class Frontier:
    """Corners from the fewest strokes to the least chance.

    Attributes
    ----------
    limit : int
        The chance is that of a total of ``limit`` strokes or more.
    corners : tuple of Corner
    gap : float
        No way to play lies more than so many strokes below the line through the corners.
    """

    limit: int
    corners: tuple[Corner, ...]
    gap: float

    def strokes_at(self, cap: float) -> float:
        """Fewest expected strokes, to within the gap, with the chance at most ``cap``; infinite if none is."""
        chance = np.array([c.chance for c in self.corners])
        strokes = np.array([c.strokes for c in self.corners])
        if cap < chance.min():
            return float("inf")
        return float(np.interp(cap, chance[::-1], strokes[::-1]))


def frontier(
    graph: StateGraph, start: Hashable, limit: int, *, tol: float = 1e-3, most: int = 40, price: float = 50.0
) -> Frontier:
    """Trace the frontier.

    Parameters
    ----------
    graph : StateGraph
    start : hashable
        Label of the state play starts in.
    limit : int
        The chance is that of a total of ``limit`` strokes or more; at least 1.
    tol : float
        Segments that can gain less than so many strokes are not split.
    most : int
        Most corners.
    price : float
        Strokes per unit of chance beyond which the curve is not followed.

    Raises
    ------
    InputError
        If the limit, the tolerance or the price makes no sense.
    UnknownError
        If no state has the label.
    """
    if limit < 1 or tol <= 0.0 or price <= 0.0 or most < 2:
        found = f"limit {limit}, tol {tol:g}, most {most}, price {price:g}"
        raise InputError.one(
            "frontier", "arguments", found, "limit at least 1, most at least 2, the others above 0"
        )
    small = contract(graph, [start])
    layered, first = Layered(small.graph, limit), small.state(graph.index(start))
    low, high = layered.best(1.0, 1e-9), layered.best(1.0, price)
    corners = {low.at(first): low, high.at(first): high}
    heap, gap = [_segment(layered, first, low, high)], 0.0
    while heap:
        loss, _, left, middle, right = heapq.heappop(heap)
        if -loss < tol or len(corners) >= most:
            gap = max(gap, -loss)
            continue
        corners[middle.at(first)] = middle
        heapq.heappush(heap, _segment(layered, first, left, middle))
        heapq.heappush(heap, _segment(layered, first, middle, right))
    ordered = sorted(corners.items())
    return Frontier(
        limit,
        tuple(Corner(*pair, unfold(small, policy.choice)) for pair, policy in ordered),
        gap,
    )


_Segment = tuple[float, tuple[float, float], PricedPolicy, PricedPolicy, PricedPolicy]


def _segment(layered: Layered, start: int, left: PricedPolicy, right: PricedPolicy) -> _Segment:
    """Return minus what the best policy between two corners gains, a key to order by, and the three policies."""
    (few, risky), (more, safe) = left.at(start), right.at(start)
    if risky - safe < 1e-9 or more - few < 1e-9:
        return 0.0, (few, risky), left, left, right
    price = (more - few) / (risky - safe)
    middle = layered.best(1.0, price)
    strokes, chance = middle.at(start)
    return (strokes + price * chance) - (few + price * risky), (few, risky), left, middle, right
