"""Full swings side by side: what is the same for all rows that play a swing is worked out once and looked up."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Self

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.bundles import bundle_means, group_edges
from caddiebrain.hole.crossings import Arc, Crossings, Flights
from caddiebrain.hole.ground import LIES, Canopy
from caddiebrain.hole.points import ErrorPoints
from caddiebrain.hole.swings import FullSwing

__all__ = ["SwingSet"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]
_Wood = tuple[tuple[float, ...], ...]


@dataclass(frozen=True)
class SwingSet:
    """Full swings of one day, with the points of their errors, in every wind.

    A line is a swing in one wind: the lines of a swing follow each other, one in still air.

    Parameters
    ----------
    points : ErrorPoints
    bins : int
        Lines of each swing.
    index : ndarray of int64 (swings,)
        The player's pattern of each.
    along, across, length : ndarray of float32 (lines, points)
        Where the points land, as in `Offsets`, and how far that is, yards.
    weight : ndarray (lines, points)
        Sums to 1.
    edges : ndarray of int64 (bundles + 1,)
        The points as bundles: bundle k holds those from ``edges[k]`` to ``edges[k + 1]``.
    turn, far : ndarray (lines, bundles)
        Mean direction of a bundle off the aimed line, radians, and mean distance, yards.
    roll : ndarray of float32 (lines, lies)
        Yards of rollout by landing lie.
    yards_per_height : ndarray (lines,)
    carry, apex, apex_share : ndarray (lines,)
        The swing's flight over all winds.
    bend, push : ndarray (lines,)
        Its curve, and what the wind adds sideways, as shares of the carry.
    landing_turn : ndarray (lines,)
        Turn at the landing, radians.
    """

    points: ErrorPoints
    bins: int
    index: Ints
    along: Singles
    across: Singles
    length: Singles
    weight: Floats
    edges: Ints
    turn: Floats
    far: Floats
    roll: Singles
    yards_per_height: Floats
    carry: Floats
    apex: Floats
    apex_share: Floats
    bend: Floats
    push: Floats
    landing_turn: Floats

    @classmethod
    def of(cls, swings: Sequence[FullSwing], points: ErrorPoints, solid: bool | None = None) -> Self:
        """Put swings side by side with all of their points, or only with the solid ones or the mishits."""
        bins, first = len(swings[0].carry), int(points.solid.sum())
        part = slice(None) if solid is None else slice(0, first) if solid else slice(first, None)
        shots = [s.offsets(points, np.arange(bins)) for s in swings]
        along, across = (
            np.concatenate(a)[:, part] for a in ([o.along for o in shots], [o.across for o in shots])
        )
        edges = group_edges(points)
        if solid is not None:
            edges = edges[edges <= first] if solid else edges[edges >= first] - first
        turn, far = bundle_means(along, across, edges)
        weight = [o.weight if solid is None else points.weight[part] for o in shots]

        def lines(of_swing: Sequence[float] | Floats) -> Floats:
            return np.repeat(np.asarray(of_swing, dtype=np.float64), bins)

        carry = lines([s.carry.mean() for s in swings])
        return cls(
            points=points,
            bins=bins,
            index=np.array([s.index for s in swings], dtype=np.int64),
            along=along,
            across=across,
            length=np.hypot(along, across),
            weight=np.repeat(np.stack(weight), bins, axis=0),
            edges=edges,
            turn=turn,
            far=far,
            roll=np.concatenate([s.roll for s in swings]),
            yards_per_height=np.concatenate([s.yards_per_height for s in swings]),
            carry=carry,
            apex=lines([s.apex.mean() for s in swings]),
            apex_share=lines([s.apex_share.mean() for s in swings]),
            bend=lines([s.pattern.curve_yd for s in swings]) / carry,
            push=np.concatenate([s.drift for s in swings]) / carry,
            landing_turn=lines([s.landing_turn for s in swings]),
        )

    def line(self, swing: Ints, wind_deg: NDArray[np.floating] | None) -> Ints:
        """Line of each row: its swing's place in the set, and the angle between the wind's way and its aim."""
        line: Ints = swing * self.bins
        if wind_deg is not None:
            line += np.rint(wind_deg / (360.0 / self.bins)).astype(np.int64) % self.bins
        return line

    def rollout(self, line: Ints, lie: NDArray[np.uint8]) -> Singles:
        """Yards of rollout of rows' points by landing lie, (rows, points)."""
        rollout: Singles = self.roll.ravel().take(lie + (line * len(LIES))[:, None])
        return rollout

    def crossings(self, canopies: Sequence[Canopy], curved: bool, in_wind: bool) -> Crossings:
        """Where the lines' flights cross canopies, worked out once for each kind of wood.

        Either for the lines that curve in still air or for those that do not; those of the others are of no use.
        """
        key = _wood(canopies), curved, in_wind
        if key not in self._crossings:
            arc = Arc(self.carry, self.apex, self.apex_share)
            bend = self.bend if curved else np.zeros(len(self.bend))
            flights = Flights(arc, bend, self.push if in_wind else None)
            self._crossings[key] = Crossings.of(canopies, flights, self.far)
        return self._crossings[key]

    @cached_property
    def _crossings(self) -> dict[tuple[_Wood, bool, bool], Crossings]:
        return {}

    def as_meant(self, canopies: Sequence[Canopy]) -> Crossings:
        """Where swings without any error cross canopies: a line each, one bundle, the way there taken straight."""
        key = _wood(canopies)
        if key not in self._as_meant:
            carry, apex, share = (v[:: self.bins] for v in (self.carry, self.apex, self.apex_share))
            flights = Flights(Arc(carry, apex, share), np.zeros(len(carry)), None)
            self._as_meant[key] = Crossings.of(canopies, flights, carry[:, None])
        return self._as_meant[key]

    @cached_property
    def _as_meant(self) -> dict[_Wood, Crossings]:
        return {}

    @cached_property
    def stray(self) -> Floats:
        """How far off its heading a ball of each swing may be seen on its way, in any wind, radians, (swings,)."""
        stray: Floats = np.abs(self.bend[:: self.bins])
        stray += np.abs(self.push).reshape(-1, self.bins).max(axis=1)
        return stray


def _wood(canopies: Sequence[Canopy]) -> _Wood:
    """What of canopies matters to flights."""
    return tuple((c.top, c.base, c.gap, c.trunk_gap) for c in canopies)
