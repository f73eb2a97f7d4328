"""Instructions of a card turned into strokes: for every place of a hole the club and line a golfer would take.

Nothing here looks at the plan. A golfer with the card knows the distance to the pin and to the middle of the green,
the clubs' lengths of the day (wind and height counted, as a caddie would), the way the ball drifts, and sees gaps
between trees.
"""

from collections.abc import Iterable, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from caddiebrain.course.model import Hole
from caddiebrain.hole import ChoiceTable, HoleCompiler, Kind
from caddiebrain.hole.drops import penalty_strokes, spots_of, unplayable_drops
from caddiebrain.hole.green import PACES_FT
from caddiebrain.hole.ground import CODE, SPECIAL
from caddiebrain.hole.off_green import putts_from
from caddiebrain.hole.short_swings import ShortSwing
from caddiebrain.hole.swings import FullSwing
from caddiebrain.insight.carry_ways import MiddleLine, green_of, middle_line, open_ways
from caddiebrain.insight.records_carry import Play, PlayKind, Side
from caddiebrain.terms import Height, Lie, Shape

__all__ = ["Strokes", "aims_of", "stock_swings"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_STRETCH_YD = 8.0
"""A green this much further than the longest club goes is still played for."""
_LAYUP_YD = 40.0
"""A layup is at least this far."""
_OFF_CENTRE = 0.5
"""Aims at a side of the green are this share of the way from its middle to its edge."""


def aims_of(hole: Hole) -> dict[Side, tuple[float, float]]:
    """Points of the green to aim at, yards in the hole's axes: its middle, and halfway to either edge."""
    green = green_of(hole)
    shift = {
        Side.LEFT: -_OFF_CENTRE * green.edge(-green.right),
        Side.MIDDLE: 0.0,
        Side.RIGHT: _OFF_CENTRE * green.edge(green.right),
    }
    points = {side: green.middle + yards * green.right for side, yards in shift.items()}
    return {side: (float(x), float(y)) for side, (x, y) in points.items()}


def _nothing() -> ChoiceTable:
    return ChoiceTable.of(np.zeros(0, dtype=np.int64), Kind.FULL, 0)


def stock_swings(swings: Iterable[FullSwing]) -> list[FullSwing]:
    """One stock swing for each club, the straight one where there is one; shortest first."""
    best: dict[str, FullSwing] = {}
    for swing in sorted(
        swings, key=lambda s: (s.pattern.height is not Height.STOCK, s.pattern.derived, _bent(s))
    ):
        best.setdefault(swing.pattern.club, swing)
    return sorted(best.values(), key=lambda s: s.pattern.carry_yd)


def _bent(swing: FullSwing) -> bool:
    return swing.pattern.shape is not Shape.STRAIGHT


class Strokes:
    """Lays out, for one hole, what instructions make a golfer do at every node but the tee.

    Parameters
    ----------
    compiler : HoleCompiler
    """

    def __init__(self, compiler: HoleCompiler) -> None:
        self.compiler = compiler
        places, hole = compiler.places, compiler.hole
        self.x, self.y, self.lie = places.x, places.y, places.lie
        self.nodes = np.arange(1, len(places.x))
        self.to_pin = np.hypot(hole.pin[0] - self.x, hole.pin[1] - self.y)
        self.aims = aims_of(hole)
        self._furthest: dict[tuple[int, int], Floats] = {}

    def rows(self, play: Play, side: Side = Side.MIDDLE) -> ChoiceTable:
        """What an instruction makes of every node it applies to: one choice each.

        Parameters
        ----------
        play : Play
        side : Side
            Part of the green the hole's line says to aim at.
        """
        kind = play.kind
        if kind in (PlayKind.PUNCH_OUT, PlayKind.PUNCH_ON):
            return self._punches(kind)
        if kind is PlayKind.UNPLAYABLE:
            return self._drops
        if kind is PlayKind.LEAVE:
            far = self.nodes[self.to_pin[self.nodes] - play.value >= _LAYUP_YD]
            target = self._line.from_pin(play.value)
            return self._finish(far, np.broadcast_to(target, (len(far), 2)), Lie.FAIRWAY)
        if kind is PlayKind.PUTT:
            return self._putts(play.value)
        if kind is PlayKind.SHOT:
            return self._named(play.club, play.value)
        target = np.array(self.compiler.hole.pin if kind is PlayKind.PIN else self.aims[side])
        step = {PlayKind.MORE: 1, PlayKind.LESS: -1}.get(kind, 0)
        where = np.broadcast_to(target, (len(self.nodes), 2))
        return self._finish(self.nodes, where, Lie.GREEN, step, play.club)

    @cached_property
    def out_of_reach(self) -> NDArray[np.bool_]:
        """Whether each node (nodes,) is too far from the middle of the green for every club."""
        far = np.zeros(len(self.x), dtype=bool)
        middle = np.array(self.aims[Side.MIDDLE])
        for code, at in self._by_lie(self.nodes):
            distance, heading = self._toward(at, np.broadcast_to(middle, (len(at), 2)))
            reach = self._reach(self._stock(code, ""), at, heading, Lie.GREEN, middle)
            far[at] = distance > np.maximum(reach.max(axis=1), self._longest_short(code)) + _STRETCH_YD
        return far

    def _by_lie(self, nodes: Ints) -> list[tuple[int, Ints]]:
        lies = self.lie[nodes]
        return [(int(code), nodes[lies == code]) for code in np.unique(lies)]

    def _stock(self, code: int, longest: str) -> list[FullSwing]:
        """Stock swings from a lie, none longer than a club."""
        swings = stock_swings(self.compiler.arsenal.full[code])
        limit = max((p.carry_yd for p in self.compiler.player.patterns if p.club == longest), default=np.inf)
        return [s for s in swings if s.pattern.carry_yd <= limit] or swings[:1]

    def _longest_short(self, code: int) -> float:
        return max(s.shot.longest_yd for s in self.compiler.arsenal.short[code])

    def _toward(self, at: Ints, target: Floats) -> tuple[Floats, Floats]:
        dx, dy = target[:, 0] - self.x[at], target[:, 1] - self.y[at]
        return np.hypot(dx, dy), np.arctan2(dx, dy)

    def _reach(
        self, swings: Sequence[FullSwing], at: Ints, heading: Floats, land: Lie, target: Floats
    ) -> Floats:
        """How far each swing goes today, (n, swings): carry, rollout, and what the height difference does."""
        ground = self.compiler.ground
        tx, ty = np.broadcast_to(target, (len(at), 2)).T
        rise = ground.height_at(tx, ty) - ground.height_at(self.x[at], self.y[at])
        columns = []
        for swing in swings:
            bins = self.compiler.wind_bins(swing, heading)
            level = swing.carry[bins] + swing.roll[bins, CODE[land]]
            columns.append(level - swing.yards_per_height[bins] * rise)
        return np.stack(columns, axis=1)

    def _finish(
        self, nodes: Ints, target: Floats, land: Lie, step: int = 0, longest: str = ""
    ) -> ChoiceTable:
        """Shots that finish at their targets (n, 2), or go as far toward them as the clubs allow."""
        where = np.zeros((len(self.x), 2))
        where[nodes] = target
        parts = []
        for code, at in self._by_lie(nodes):
            distance, heading = self._toward(at, where[at])
            swings = self._stock(code, longest)
            reach = self._reach(swings, at, heading, land, where[at])
            close = distance <= self._longest_short(code)
            far = ~close & (distance > reach.max(axis=1) + _STRETCH_YD)
            full = ~close & ~far
            if close.any() and step == 0:
                parts.append(self._short(code, at[close], heading[close], distance[close]))
            if full.any():
                pick = np.abs(reach[full] - distance[full, None]).argmin(axis=1) + step
                real = (pick >= 0) & (pick < len(swings))
                parts.append(self._full(swings, at[full][real], heading[full][real], pick[real]))
            if far.any() and step == 0:
                parts.append(self._along(swings[-1], code, at[far]))
        return ChoiceTable.join(parts) if parts else _nothing()

    def _short(self, code: int, at: Ints, heading: Floats, distance: Floats) -> ChoiceTable:
        """Short shots of given distances: the shortest of them that goes so far."""
        shots: list[ShortSwing] = sorted(
            self.compiler.arsenal.short[code], key=lambda s: (s.shot.longest_yd, s.index)
        )
        longest = np.array([s.shot.longest_yd for s in shots])
        pick = np.minimum(np.searchsorted(longest, distance - 1e-9), len(shots) - 1)
        index = np.array([s.index for s in shots])[pick]
        return ChoiceTable.of(at, Kind.SHORT, index, heading, np.clip(distance, 1.0, longest[pick]))

    def _full(self, swings: Sequence[FullSwing], at: Ints, heading: Floats, pick: Ints) -> ChoiceTable:
        """Full shots that end on their headings: the swing's own bias and the wind's drift are allowed for."""
        aim, index = heading.copy(), np.zeros(len(at), dtype=np.int64)
        for i, swing in enumerate(swings):
            here = pick == i
            bins = self.compiler.wind_bins(swing, heading[here])
            aim[here] -= np.deg2rad(swing.pattern.line_deg) + swing.drift[bins] / swing.carry[bins]
            index[here] = swing.index
        return ChoiceTable.of(at, Kind.FULL, index, aim)

    def _along(self, swing: FullSwing, code: int, at: Ints) -> ChoiceTable:
        """One club down the middle of the fairway."""
        key = code, swing.index
        if key not in self._furthest:
            of_lie = np.flatnonzero(self.lie == code)
            target = np.zeros((len(self.x), 2))
            target[of_lie] = self._line.furthest(self.x[of_lie], self.y[of_lie], swing.reach_yd)
            self._furthest[key] = target
        _, heading = self._toward(at, self._furthest[key][at])
        return self._full([swing], at, heading, np.zeros(len(at), dtype=np.int64))

    @cached_property
    def _line(self) -> MiddleLine:
        return middle_line(self.compiler.ground)

    def _named(self, name: str, past: float) -> ChoiceTable:
        """One kind of short shot, so far past the pin, wherever it is played from and goes far enough."""
        parts = []
        pin = np.array(self.compiler.hole.pin)
        for code, at in self._by_lie(self.nodes):
            shot = next((s for s in self.compiler.arsenal.short[code] if s.shot.name == name), None)
            if shot is None:
                continue
            distance, heading = self._toward(at, np.broadcast_to(pin, (len(at), 2)))
            length = np.clip(distance + past, 1.0, shot.shot.longest_yd)
            good = distance <= shot.shot.longest_yd
            parts.append(ChoiceTable.of(at[good], Kind.SHORT, shot.index, heading[good], length[good]))
        return ChoiceTable.join(parts) if parts else _nothing()

    def _putts(self, past: float) -> ChoiceTable:
        """Putts from off the green, to stop so many feet past the hole."""
        at = np.flatnonzero(self.compiler.places.putts)
        pace = np.flatnonzero(past == PACES_FT)
        return putts_from(self.compiler.ground, at, self.x[at], self.y[at], pace)

    def _punches(self, kind: PlayKind) -> ChoiceTable:
        """Low shots by the ways the trees leave open."""
        compiler = self.compiler
        sight, punch = compiler.sight, compiler.arsenal.punch
        if sight is None:
            return _nothing()
        wooded = (self.lie == CODE[Lie.TREES]) | compiler.hemmed
        at = self.nodes[(wooded & (sight.row >= 0))[self.nodes]]
        if at.size == 0:
            return _nothing()
        onward = kind is PlayKind.PUNCH_ON
        place = self.x[at], self.y[at], sight.row[at]
        heading, distance, good = open_ways(compiler.ground, sight, place, punch.shot.longest_yd, onward)
        table = ChoiceTable.of(at, Kind.PUNCH, punch.index, heading, distance)
        return table.take(good)

    @cached_property
    def _drops(self) -> ChoiceTable:
        """Drops for one stroke onto the best lie, nearest the pin."""
        ground, places = self.compiler.ground, self.compiler.places
        at = self.nodes
        table = unplayable_drops(ground, places, at, self.x[at], self.y[at], self.lie[at])
        spot = spots_of(ground, places, self.x[table.node], self.y[table.node], table)
        lie = places.spot_lie[spot]
        good = (penalty_strokes(table) == 1) & ~np.isin(lie, (*SPECIAL, CODE[Lie.TREES]))
        table, lie, spot = table.take(good), lie[good], spot[good]
        to_pin = ground.from_pin(places.spot_x[spot], places.spot_y[spot])
        order = np.lexsort([to_pin, lie != CODE[Lie.FAIRWAY], table.node])
        _, first = np.unique(table.node[order], return_index=True)
        return table.take(order[first])
