"""Every choice from one spot on a hole, weighed: works at any position, not only where the plan has nodes."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from caddiebrain.errors import InputError, UnknownError
from caddiebrain.hole import ChoiceTable, HoleCompiler, Kind
from caddiebrain.hole.barred import barred
from caddiebrain.hole.compile import hemmed
from caddiebrain.hole.drops import drops_from
from caddiebrain.hole.ground import CODE, LIES, SPECIAL
from caddiebrain.hole.places import NO_SPOT
from caddiebrain.hole.points import mixture_points
from caddiebrain.hole.propose import propose
from caddiebrain.hole.sight import close_sight
from caddiebrain.hole.trouble import Trouble
from caddiebrain.round.options import Option, describe, kinds_of
from caddiebrain.round.results import BACK, RESULTS, codes_of_states, listed, pair_codes
from caddiebrain.round.worth import Shots
from caddiebrain.terms import Lie

__all__ = ["Pick", "Spread", "spread_from", "state_at"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Pick = Callable[[ChoiceTable], ChoiceTable]


@dataclass(frozen=True)
class Spread(Shots):
    """All choices from one position with their outcomes.

    Parameters
    ----------
    x, y : float
    lie : Lie
    """

    x: float
    y: float
    lie: Lie

    def kinds(self) -> NDArray[np.int64]:
        """Which choices are alike but for the aim, or the place of a drop; see `kinds_of`."""
        return kinds_of(self.table)

    def shares(self, rows: Ints) -> list[dict[str, float]]:
        """Chance of each kind of result of some choices."""
        place = np.full(len(self.table), -1)
        place[rows] = np.arange(len(rows))
        total = np.zeros(len(rows) * len(RESULTS))
        for block, at, sums in zip(self.blocks, self.ends.at, self.ends.total, strict=True):
            mine = place[block.rows]
            some = np.flatnonzero(mine >= 0)
            if some.size:
                part = slice(None) if some.size == len(mine) else some  # a slice needs no copies
                codes = self.codes.take(at[part])
                codes += mine[part, None] * len(RESULTS)
                chance = block.prob[part] / sums[part, None]
                total += np.bincount(codes.ravel(), chance.ravel(), total.size)
        return listed(total.reshape(len(rows), len(RESULTS)))

    @cached_property
    def codes(self) -> Ints:
        """Kind of result of all that outcomes lead to, in the order of `every`."""
        known, ends = codes_of_states(self.compiler.places, self.compiler.numbering), self.ends
        lies_there = (self.table.kind[ends.row] == Kind.DROP) | (ends.strokes < 2)
        dear = np.where(lies_there, known[ends.state], BACK)
        return np.concatenate([known, pair_codes(self.trouble), dear])

    def options(self, rows: NDArray[np.int64], expected: Floats, chance: Floats) -> list[Option]:
        """Describe some choices, each with its expected score and chance, (rows,)."""
        place = self.x, self.y, self.lie
        return describe(self.compiler, self.table.take(rows), place, expected, chance, self.shares(rows))

    def named(self, row: int) -> Option:
        """Describe one choice by its name and aim alone."""
        (option,) = describe(self.compiler, self.table.take(np.array([row])), (self.x, self.y, self.lie))
        return option


def spread_from(
    compiler: HoleCompiler, x: float, y: float, lie: Lie | None = None, pick: Pick | None = None
) -> Spread:
    """Lay out every choice from a position with its outcomes, in the finest points.

    Parameters
    ----------
    x, y : float
        Yards in the hole's axes.
    lie : Lie, optional
        By default what the map shows there.
    pick : callable, optional
        Takes the table of choices and returns the one to work out, for those who ask about a few.

    Raises
    ------
    InputError
        If the position is off the map of the hole or no ball is played from there.
    """
    ground, places = compiler.ground, compiler.places
    at_x, at_y = np.array([float(x)]), np.array([float(y)])
    _check(compiler, float(x), float(y), lie)
    code = CODE[lie] if lie is not None else int(ground.lie_at(at_x, at_y)[0])
    number = compiler.numbering
    on_tee = code == CODE[Lie.TEE]
    origin = np.array([number.node if on_tee else state_at(compiler, float(x), float(y), code)])
    sight = close_sight(ground, at_x, at_y)
    codes = np.array([code], dtype=np.uint8)
    zero = np.zeros(1, dtype=np.int64)
    near = hemmed(ground, sight, at_x, at_y)
    table = propose(ground, compiler.arsenal, zero, at_x, at_y, codes, np.ones(1, bool), near)
    if pick is None:
        points, lies = mixture_points(*compiler.grid.points), np.repeat(codes, len(table))
        table = table.take(~barred(sight, table, lies, compiler.arsenal, points, from_each_swing=True))
    drops = drops_from(ground, places, zero, at_x, at_y, codes, near)
    table = ChoiceTable.join([table, drops]).ordered()
    if pick is not None:
        table = pick(table)
    scene = compiler.scene(at_x, at_y, origin, sight)
    blocks = compiler.blocks(scene, table, np.repeat(codes, len(table)), screen=False)
    trouble = Trouble.gather(scene.trouble, ground, places)
    return Spread(compiler, table, blocks, trouble, float(x), float(y), LIES[code])


_DROPPED = "ask from where it is dropped, the penalty among the strokes"
_INSTEAD = {
    Lie.GREEN: "putts are worked out by their length, not as choices of club",
    Lie.YELLOW: _DROPPED,
    Lie.RED: _DROPPED,
    Lie.OUT: "ask from where it was last played, stroke and penalty among the strokes",
}
"""What to do with a ball on ground no full shot is played from."""


def _check(compiler: HoleCompiler, x: float, y: float, lie: Lie | None) -> None:
    frame = compiler.ground.frame
    where = f"({x:.0f}, {y:.0f})"
    if not (np.isfinite(x) and np.isfinite(y)) or not frame.holds(np.array([x]), np.array([y]))[0]:
        high = (frame.x_min + frame.columns * frame.cell, frame.y_min + frame.rows * frame.cell)
        span = f"x {frame.x_min:.0f} to {high[0]:.0f}, y {frame.y_min:.0f} to {high[1]:.0f} yards"
        raise InputError.one(f"hole {compiler.hole.number}", "position", where, span)
    code = CODE[lie] if lie is not None else int(compiler.ground.lie_at(np.array([x]), np.array([y]))[0])
    if code in SPECIAL:
        raise InputError.one(
            f"hole {compiler.hole.number}",
            "position",
            f"{where} in {LIES[code]}",
            f"a lie a full shot is played from; {_INSTEAD[LIES[code]]}",
        )


def state_at(compiler: HoleCompiler, x: float, y: float, code: int) -> int:
    """Spot that stands for a ball at (x, y) with a given lie: the nearest spot of that lie."""
    places, number = compiler.places, compiler.numbering
    cell = compiler.ground.frame.index(np.array([x]), np.array([y]))
    spot = int(places.spot_of_cell[cell[0]])
    if spot != NO_SPOT and places.spot_lie[spot] == code:
        return number.spot + spot
    same = np.flatnonzero(places.spot_lie == code)
    if same.size == 0:
        there = ", ".join(LIES[c] for c in np.unique(places.spot_lie) if c not in SPECIAL)
        raise UnknownError(
            f"hole {compiler.hole.number}: lie: found {LIES[code]!s}; expected one its map has in play: {there}"
        )
    nearest = same[np.argmin(np.hypot(places.spot_x[same] - x, places.spot_y[same] - y))]
    return int(number.spot + nearest)
