"""Where balls stop: the picture of a shot at its real size, and what its wide ones cost on either side."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole import ChoiceTable, HoleCompiler, Kind
from caddiebrain.hole.full_shots import full_blocks
from caddiebrain.hole.green import PACES_FT
from caddiebrain.hole.ground import CODE
from caddiebrain.hole.off_green import putt_offsets, rolled_to
from caddiebrain.hole.points import ErrorPoints, mixture_points, normal_points
from caddiebrain.hole.short_shots import fly_short
from caddiebrain.hole.swing_set import SwingSet
from caddiebrain.hole.swings import FullSwing
from caddiebrain.hole.travel import fly, roll_out
from caddiebrain.hole.trouble import Trouble
from caddiebrain.hole.ways import way_to_hole
from caddiebrain.insight.book_records import MissSide
from caddiebrain.insight.book_worth import Entries, Ledger
from caddiebrain.insight.picture import picture_points, short_swing
from caddiebrain.insight.records_compare import Ellipse
from caddiebrain.round.options import carried
from caddiebrain.terms import Lie

__all__ = ["Rests", "Spreads", "miss_side", "oval_of", "reaches", "rests_of"]

_SHOTS = 89
_ALIKE = 0.05
"""Sides whose costs differ by less, in strokes, are said to be alike."""
_TWO_THIRDS = float(np.sqrt(-2.0 * np.log(1.0 / 3.0)))

_SWINGS = 4096
"""More than there are swings from a lie."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Rests:
    """Where equally likely balls of one shot stop, (points,), and how far they carry; trees are left out.

    ``solid`` (points,) tells mishits apart.
    """

    x: Floats
    y: Floats
    carry: Floats
    solid: NDArray[np.bool_]


def rests_of(
    compiler: HoleCompiler, at: tuple[float, float, Lie], table: ChoiceTable, mishits: bool = False
) -> Rests:
    """Play a shot from a position.

    Parameters
    ----------
    at : (x, y, lie)
    table : ChoiceTable
        One row, no drop.
    mishits : bool
        Put mishits among the balls in their share.
    """
    from_x, from_y, heading = (np.array([v], dtype=np.float32) for v in (at[0], at[1], table.heading[0]))
    kind, index, code = Kind(table.kind[0]), int(table.index[0]), CODE[at[2]]
    ground = compiler.ground
    if kind is Kind.FULL:
        swing = _swing(compiler, code, index)
        points = picture_points(swing.mishit) if mishits else _solid()
        bins = compiler.wind_bins(swing, table.heading)
        offsets = swing.offsets(points, bins)
        landing = fly(
            ground,
            from_x,
            from_y,
            heading,
            offsets.along,
            offsets.across,
            np.hypot(offsets.along, offsets.across),
            swing.yards_per_height[bins],
        )
        roll = swing.roll[bins[:, None], ground.lie[landing.cell]]
        end = roll_out(ground, from_x, from_y, landing, roll, np.array([swing.landing_turn]))
    elif kind is Kind.PUTT:
        return _putted(compiler, at, index)
    else:
        short = short_swing(compiler, kind, code, index)
        points = picture_points(short.shot.mishit) if mishits else _solid()
        ball = from_x, from_y, heading
        allowed = compiler.allowance((*ball, table.distance), short.shot, kind is Kind.PUNCH)
        offsets = short.offsets(points, table.distance, allowed)
        end, landing = fly_short(ground, ball, offsets, short.shot, allowed)
    x, y, carry = (v[0].astype(np.float64) for v in (end[0], end[1], landing.length))
    return Rests(x, y, carry, points.solid)


def _putted(compiler: HoleCompiler, at: tuple[float, float, Lie], pace: int) -> Rests:
    """Putt from off the green."""
    ball = np.array([at[0]]), np.array([at[1]])
    way = way_to_hole(compiler.ground, compiler.arsenal.putter.slowing, *ball)
    points = _solid()
    roll, angle = compiler.arsenal.putter.struck(way, PACES_FT[[pace]], points)
    end = rolled_to(compiler.ground, *ball, way.heading[:, None] + angle, way.length(roll / 3.0))
    x, y = (v[0].astype(np.float64) for v in end[:2])
    return Rests(x, y, np.zeros(len(x)), points.solid)


def _swing(compiler: HoleCompiler, code: int, index: int) -> FullSwing:
    return next(s for s in compiler.arsenal.full[code] if s.index == index)


def reaches(
    compiler: HoleCompiler, x: Floats, y: Floats, code: NDArray[np.int64], table: ChoiceTable
) -> Floats:
    """How far shots (rows,) are meant to go: carry in the wind and on the slope of the line, rollout on fairway, yards.

    Parameters
    ----------
    x, y, code : ndarray (rows,)
        Where each row of the table is played from: yards, and the code of the lie.
    """
    reach = table.distance.copy()
    for rows, swing in _by_swing(compiler, code, table):
        bins = compiler.wind_bins(swing, table.heading[rows])
        reach[rows] = swing.carry[bins] + swing.roll[bins, CODE[Lie.FAIRWAY]]
    return reach + _slopes(compiler, x, y, code, table)


def _slopes(
    compiler: HoleCompiler, x: Floats, y: Floats, code: NDArray[np.int64], table: ChoiceTable
) -> Floats:
    """Yards (rows,) that the slope adds to the carry of full shots, negative uphill; 0 for others."""
    added = np.zeros(len(table))
    for rows, swing in _by_swing(compiler, code, table):
        heading = table.heading[rows]
        bins = compiler.wind_bins(swing, heading)
        level, per_height = swing.carry[bins], swing.yards_per_height[bins]
        added[rows] = carried(compiler.ground, (x[rows], y[rows]), heading, level, per_height) - level
    return added


def _by_swing(
    compiler: HoleCompiler, code: NDArray[np.int64], table: ChoiceTable
) -> Iterator[tuple[NDArray[np.int64], FullSwing]]:
    """Rows of full shots, by swing and lie."""
    full = np.flatnonzero(table.kind == Kind.FULL)
    which = code[full] * _SWINGS + table.index[full]
    for key in np.unique(which):
        yield full[which == key], _swing(compiler, *divmod(int(key), _SWINGS))


@cache
def _solid() -> ErrorPoints:
    both = normal_points(_SHOTS)
    weight = np.full(_SHOTS, 1.0 / _SHOTS)
    return ErrorPoints(both[:, 0], both[:, 1], np.ones(_SHOTS, dtype=bool), weight)


def oval_of(rests: Rests) -> Ellipse:
    """Ellipse that holds two thirds of the solid balls of a shot, were they normal."""
    x, y = rests.x[rests.solid], rests.y[rests.solid]
    spread = np.cov(np.stack([x, y]), bias=True)
    moments = np.array([[x.mean(), y.mean(), spread[0, 0], spread[0, 1], spread[1, 1]]])
    cx, cy, long, short, turn = _ellipses(moments)[0].tolist()
    return Ellipse(centre=(cx, cy), long_yd=long, short_yd=short, turn_deg=turn)


def _ellipses(moments: Floats) -> Floats:
    """Middle, half axes and turn (rows, 5) from means and covariances (rows, 5): x, y, xx, xy, yy."""
    x, y, xx, xy, yy = moments.T
    middle, swing = (xx + yy) / 2, np.hypot((yy - xx) / 2, xy)
    long, short = (_TWO_THIRDS * np.sqrt(np.maximum(middle + s * swing, 0.0)) for s in (1.0, -1.0))
    turn = np.rad2deg(np.arctan2(xy, (yy - xx) / 2)) / 2
    return np.stack([x, y, long, short, turn], axis=1)


class Spreads:
    """Ovals of many shots at once, from the spread of each swing around its line, rolled out as on fairway.

    One object serves all holes of a round, which share their swings.
    """

    def __init__(self) -> None:
        self._full: dict[tuple[int, int], Floats] = {}
        self._thirds: dict[int, tuple[SwingSet, ...]] = {}

    def thirds(self, compiler: HoleCompiler, index: int) -> tuple[SwingSet, ...]:
        """Full swing off the tee with the third of its solid shots furthest left, those between, and furthest right."""
        if index not in self._thirds:
            every = mixture_points(*compiler.grid.tee_points)
            solid = np.flatnonzero(every.solid)  # sorted from left to right
            third, swing = len(solid) // 3, _swing(compiler, CODE[Lie.TEE], index)
            parts = (solid[:third], solid[third:-third], solid[-third:])
            self._thirds[index] = tuple(SwingSet.of([swing], _some(every, part)) for part in parts)
        return self._thirds[index]

    def ovals(
        self, compiler: HoleCompiler, x: Floats, y: Floats, code: NDArray[np.int64], table: ChoiceTable
    ) -> tuple[Floats, Floats]:
        """Ellipses (rows, 5) as middle, half axes, turn in degrees, NaN for drops; and carries (rows,).

        Parameters
        ----------
        x, y, code : ndarray (rows,)
            Where each row of the table is played from: yards, and the code of the lie.
        """
        own = np.full((len(table), 6), np.nan)
        key = (code * 8 + table.kind) * 100_000 + np.where(table.kind == Kind.DROP, 0, table.index)
        order = np.argsort(key, kind="stable")
        for rows in np.split(order, np.flatnonzero(np.diff(key[order])) + 1):
            if len(rows) and table.kind[rows[0]] != Kind.DROP:
                own[rows] = self._around(compiler, (x[rows], y[rows], int(code[rows[0]])), table, rows)
        own[:, [0, 5]] += _slopes(compiler, x, y, code, table)[:, None]
        along, across, aa, ac, cc, carry = own.T
        s, c = np.sin(table.heading), np.cos(table.heading)
        moments = [
            x + along * s + across * c,
            y + along * c - across * s,
            aa * s * s + 2 * ac * s * c + cc * c * c,
            (aa - cc) * s * c + ac * (c * c - s * s),
            aa * c * c - 2 * ac * s * c + cc * s * s,
        ]
        return _ellipses(np.stack(moments, axis=1)), np.nan_to_num(carry)

    def _around(
        self,
        compiler: HoleCompiler,
        at: tuple[Floats, Floats, int],
        table: ChoiceTable,
        rows: NDArray[np.int64],
    ) -> Floats:
        """Means and covariances around the line, and carry, (rows, 6), of rows of one swing from one lie.

        ``at`` is where each is played from, yards, and the code of the lie.
        """
        x, y, code = at
        kind, index = Kind(table.kind[rows[0]]), int(table.index[rows[0]])
        if kind is Kind.PUTT:
            putter, paces = compiler.arsenal.putter, table.index[rows]
            offsets = putt_offsets(compiler.ground, putter, (x, y), paces, _solid())
            return _moments(offsets.along, offsets.across, np.zeros(len(rows)))
        if kind is not Kind.FULL:
            distance, short = table.distance[rows], short_swing(compiler, kind, code, index)
            to = table.heading[rows], distance
            allowed = compiler.allowance((x, y, *to), short.shot, kind is Kind.PUNCH)
            offsets = short.offsets(_solid(), distance, allowed)
            return _moments(offsets.along, offsets.across, short.shot.carry_share * distance)
        swing = _swing(compiler, code, index)
        if (code, index) not in self._full:
            offsets = swing.offsets(_solid(), np.arange(len(swing.carry)))
            rolled = offsets.along + swing.roll[:, CODE[Lie.FAIRWAY], None]
            self._full[code, index] = _moments(rolled, offsets.across, swing.carry)
        return self._full[code, index][compiler.wind_bins(swing, table.heading[rows])]


def _moments(along: NDArray[np.float32], across: NDArray[np.float32], carry: Floats) -> Floats:
    a, c = (np.broadcast_to(v, (len(carry), v.shape[-1])).astype(float) for v in (along, across))
    mean_a, mean_c = a.mean(axis=1), c.mean(axis=1)
    da, dc = a - mean_a[:, None], c - mean_c[:, None]
    columns = [mean_a, mean_c, (da * da).mean(axis=1), (da * dc).mean(axis=1), (dc * dc).mean(axis=1), carry]
    return np.stack(columns, axis=1)


def miss_side(
    compiler: HoleCompiler, table: ChoiceTable, ledger: Ledger, spreads: Spreads
) -> MissSide | None:
    """What the outer thirds of a full shot off the tee cost against all solid ones; None for other shots.

    Each third is played through the compiler by itself: trees, penalty areas and lost balls are all in it.
    """
    if Kind(table.kind[0]) is not Kind.FULL:
        return None
    thirds = spreads.thirds(compiler, int(table.index[0]))
    cost = _strokes(compiler, table, thirds, ledger.without_levels())
    shots = [part.along.shape[1] for part in thirds]
    middle = sum(c * n for c, n in zip(cost, shots, strict=True)) / sum(shots)
    left, right = cost[0] - middle, cost[2] - middle
    better: Literal["left", "right", ""] = (
        "" if abs(left - right) < _ALIKE else "left" if left < right else "right"
    )
    return MissSide(left=left, right=right, better=better)


def _some(points: ErrorPoints, at: NDArray[np.int64]) -> ErrorPoints:
    return ErrorPoints(
        points.length[at], points.direction[at], points.solid[at], np.full(len(at), 1.0 / len(at))
    )


def _strokes(
    compiler: HoleCompiler, table: ChoiceTable, parts: Sequence[SwingSet], ledger: Ledger
) -> list[float]:
    """Expected strokes of a full shot off the tee with each of these sets of errors."""
    scene, first = compiler.own_scene(), np.zeros(1, dtype=np.int64)
    one = replace(table.take(first), node=first)  # the tee is node 0
    blocks = [
        replace(block, rows=block.rows + i)
        for i, swings in enumerate(parts)
        for block in full_blocks(scene, one, first, first, swings)
    ]
    trouble = Trouble.gather(scene.trouble, compiler.ground, compiler.places)
    weighed = ledger.weigh(len(parts), Entries.of_blocks(blocks, trouble))
    return [float(v) for v in weighed.strokes]
