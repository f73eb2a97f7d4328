"""Where balls stop: the picture of a shot at its real size, and what its wide ones cost on either side."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole import ChoiceTable, HoleCompiler, Kind
from caddiebrain.hole.ground import CODE
from caddiebrain.hole.outcomes import SHORT_ROLL, full_block
from caddiebrain.hole.points import ErrorPoints, mixture_points, normal_points
from caddiebrain.hole.sight import sight_from
from caddiebrain.hole.travel import fly, roll_out
from caddiebrain.hole.trouble import Trouble
from caddiebrain.insight.book_records import MissSide
from caddiebrain.insight.book_worth import Entries, Ledger
from caddiebrain.insight.picture import picture_points, short_swing
from caddiebrain.insight.records_compare import Ellipse
from caddiebrain.terms import Lie

__all__ = ["Rests", "miss_side", "ovals", "rests_of"]

_SHOTS = 89
_ALIKE = 0.05
"""Sides whose costs differ by less, in strokes, are said to be alike."""
_TWO_THIRDS = float(np.sqrt(-2.0 * np.log(1.0 / 3.0)))

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Rests:
    """Where equally likely balls stop, (rows, points); ``solid`` (points,) tells mishits apart. Trees are left out."""

    x: Floats
    y: Floats
    solid: NDArray[np.bool_]


def rests_of(
    compiler: HoleCompiler, at: tuple[Floats, Floats, Lie], table: ChoiceTable, mishits: bool = False
) -> Rests:
    """Play rows of one swing from positions.

    Parameters
    ----------
    at : (x, y, lie)
        Arrays (rows,), and the lie they share.
    table : ChoiceTable
        Rows of one kind and one club; no drops.
    mishits : bool
        Put mishits among the balls in their share.
    """
    x, y, lie = at
    single = (np.asarray(v, dtype=np.float32) for v in (x, y, table.heading))
    from_x, from_y, heading = single
    kind, index, code = Kind(table.kind[0]), int(table.index[0]), CODE[lie]
    ground = compiler.ground
    if kind is Kind.FULL:
        swing = next(s for s in compiler.arsenal.full[code] if s.index == index)
        points = picture_points(swing.mishit) if mishits else _solid()
        bins = np.zeros(len(table), dtype=np.int64)
        if compiler.wind_to_deg is not None:
            line = compiler.hole.bearing_deg + np.rad2deg(table.heading)
            bins = swing.bin_of(compiler.wind_to_deg - line)
        offsets = swing.offsets(points, bins)
        landing = fly(
            ground, from_x, from_y, heading, offsets.along, offsets.across, swing.yards_per_height[bins]
        )
        roll = swing.roll[bins[:, None], ground.lie[landing.cell]]
        end = roll_out(ground, from_x, from_y, landing, roll, float(swing.roll.max()), swing.landing_turn)
    else:
        short = short_swing(compiler, kind, code, index)
        points = picture_points(short.shot.mishit) if mishits else _solid()
        offsets = short.offsets(points, table.distance)
        share = np.float32(short.shot.carry_share)
        landing = fly(ground, from_x, from_y, heading, offsets.along * share, offsets.across * share)
        roll = landing.length * (1.0 / share - 1.0) * SHORT_ROLL[ground.lie[landing.cell]]
        end = roll_out(ground, from_x, from_y, landing, roll.astype(np.float32), np.inf)
    return Rests(end[0].astype(np.float64), end[1].astype(np.float64), points.solid)


def _solid() -> ErrorPoints:
    both = normal_points(_SHOTS)
    weight = np.full(_SHOTS, 1.0 / _SHOTS)
    return ErrorPoints(both[:, 0], both[:, 1], np.ones(_SHOTS, dtype=bool), weight)


def ovals(rests: Rests) -> list[Ellipse]:
    """Ellipses that hold two thirds of the solid balls of each row, were they normal."""
    x, y = rests.x[:, rests.solid], rests.y[:, rests.solid]
    mean_x, mean_y = x.mean(axis=1), y.mean(axis=1)
    dx, dy = x - mean_x[:, None], y - mean_y[:, None]
    xx, yy, xy = (dx * dx).mean(axis=1), (dy * dy).mean(axis=1), (dx * dy).mean(axis=1)
    middle, swing = (xx + yy) / 2, np.hypot((yy - xx) / 2, xy)
    long, short = (_TWO_THIRDS * np.sqrt(np.maximum(middle + s * swing, 0.0)) for s in (1.0, -1.0))
    turn = np.rad2deg(np.arctan2(xy, (yy - xx) / 2)) / 2
    rows = zip(*(v.tolist() for v in (mean_x, mean_y, long, short, turn)), strict=True)
    return [Ellipse(centre=(cx, cy), long_yd=a, short_yd=b, turn_deg=t) for cx, cy, a, b, t in rows]


def miss_side(compiler: HoleCompiler, table: ChoiceTable, ledger: Ledger) -> MissSide | None:
    """What the outer thirds of a full shot off the tee cost against all solid ones; None for other shots.

    Each third is played through the compiler by itself: trees, penalty areas and lost balls are all in it.
    """
    if Kind(table.kind[0]) is not Kind.FULL:
        return None
    swing = next(s for s in compiler.arsenal.full[CODE[Lie.TEE]] if s.index == int(table.index[0]))
    ledger = ledger.without_levels()
    every = mixture_points(*compiler.grid.tee_points)
    solid = np.flatnonzero(every.solid)  # sorted from left to right
    third = len(solid) // 3
    cost = [
        _strokes(compiler, table, swing.index, _some(every, part), ledger)
        for part in (solid[:third], solid[third:-third], solid[-third:])
    ]
    middle = (cost[0] + cost[2]) * third + cost[1] * (len(solid) - 2 * third)
    left, right = cost[0] - middle / len(solid), cost[2] - middle / len(solid)
    better: Literal["left", "right", ""] = (
        "" if abs(left - right) < _ALIKE else "left" if left < right else "right"
    )
    return MissSide(left=left, right=right, better=better)


def _some(points: ErrorPoints, at: NDArray[np.int64]) -> ErrorPoints:
    return ErrorPoints(
        points.length[at], points.direction[at], points.solid[at], np.full(len(at), 1.0 / len(at))
    )


def _strokes(
    compiler: HoleCompiler, table: ChoiceTable, index: int, points: ErrorPoints, ledger: Ledger
) -> float:
    """Expected strokes of a full shot off the tee with these errors."""
    x, y = (np.array([v]) for v in compiler.hole.tee)
    number = compiler.numbering
    scene = compiler.scene(x, y, np.array([number.node]), sight_from(compiler.ground, x, y))
    swing = next(s for s in compiler.arsenal.full[CODE[Lie.TEE]] if s.index == index)
    one = table.take(np.zeros(1, dtype=np.int64))
    blocks = full_block(scene, one, np.zeros(1, dtype=np.int64), swing, points)
    trouble = Trouble.gather(scene.trouble, compiler.ground, compiler.places)
    return float(ledger.weigh(1, Entries.of_blocks(blocks, trouble), number.spot).strokes[0])
