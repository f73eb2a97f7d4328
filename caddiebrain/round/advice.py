"""The plan's advice from many positions at once: every choice weighed from where each ball lies."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole import ChoiceTable
from caddiebrain.hole.compile import hemmed
from caddiebrain.hole.decisions import Decisions
from caddiebrain.hole.drops import drops_from
from caddiebrain.hole.ground import LIES
from caddiebrain.hole.propose import propose
from caddiebrain.hole.sight import Sight, close_sight
from caddiebrain.hole.trouble import Trouble
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.round.lookup import Spread

__all__ = ["Advice"]

_BATCH = 500
_BLOCK_YD = 2.0
"""Balls of one lie within such a square share their advice."""
_FINALISTS = 5
"""Choices of each ball that are weighed again with fine shots."""
_FINER = 1e-7
"""Weight of the expected score among choices that serve the target equally."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class _Balls:
    """Balls (n,) with as many strokes left each, and the trees they see."""

    x: Floats
    y: Floats
    lie: NDArray[np.uint8]
    origin: NDArray[np.int64]
    sight: Sight | None


class Advice:
    """Picks the best choice for balls anywhere on a planned hole; see `HolePlay.play`."""

    def __init__(self, hole: HolePlan, decisions: Decisions) -> None:
        self.hole, self.decisions = hole, decisions

    def __call__(
        self, x: Floats, y: Floats, lie: NDArray[np.int64], node: NDArray[np.int64], left: NDArray[np.int64]
    ) -> ChoiceTable:
        """Return one choice for each ball.

        Parameters
        ----------
        x, y, lie : ndarray (n,)
        node : ndarray of int (n,)
            Nearest node, to which the graph would return the ball under stroke and distance.
        left : ndarray of int (n,)
            Strokes left.
        """
        row = self.decisions.row(left)
        block = np.stack([np.floor(x / _BLOCK_YD), np.floor(y / _BLOCK_YD), lie, row], axis=1)
        _, first, which = np.unique(block, axis=0, return_index=True, return_inverse=True)
        parts, who = [], []
        for one in np.unique(row[first]):
            at = np.flatnonzero(row[first] == one)
            for start in range(0, len(at), _BATCH):
                some = first[at[start : start + _BATCH]]
                strokes_left = int(left[some[0]]) if one else None
                origin = node[some] + self.hole.compiler.numbering.node
                sight = close_sight(self.hole.compiler.ground, x[some], y[some])
                balls = _Balls(x[some], y[some], lie[some].astype(np.uint8), origin, sight)
                parts.append(self._best(balls, strokes_left))
                who.append(at[start : start + _BATCH])
        of_block = ChoiceTable.join(parts).take(np.argsort(np.concatenate(who), kind="stable"))
        return of_block.take(which.ravel())

    def _best(self, balls: _Balls, left: int | None) -> ChoiceTable:
        compiler = self.hole.compiler
        number = np.arange(len(balls.x))
        near = hemmed(compiler.ground, balls.sight, balls.x, balls.y)
        swings = propose(
            compiler.ground,
            compiler.arsenal,
            number,
            balls.x,
            balls.y,
            balls.lie,
            np.zeros(len(number), dtype=bool),
            near,
        )
        drops = drops_from(compiler.ground, compiler.places, number, balls.x, balls.y, balls.lie, near)
        table = ChoiceTable.join([swings, drops]).ordered()
        table = _first(table, self._score(balls, table, left, screen=True), _FINALISTS)
        return _first(table, self._score(balls, table, left, screen=False), 1)

    def _score(self, balls: _Balls, table: ChoiceTable, left: int | None, screen: bool) -> Floats:
        """Worth of every choice, larger is better; strokes where ``left`` is None."""
        compiler = self.hole.compiler
        scene = compiler.scene(balls.x, balls.y, balls.origin, balls.sight)
        blocks = compiler.blocks(scene, table, balls.lie[table.node], screen)
        trouble = Trouble.gather(scene.trouble, compiler.ground, compiler.places)
        spread = Spread(compiler, table, blocks, trouble, 0.0, 0.0, LIES[int(balls.lie[0])])
        strokes = spread.values(self.hole.strokes_worth())
        if left is None:
            return -strokes
        return np.asarray(spread.values(self.hole.chance_worth(left)) - _FINER * strokes)


def _first(table: ChoiceTable, score: Floats, keep: int) -> ChoiceTable:
    """Return the best rows of every node, nodes in order."""
    order = np.lexsort([-score, table.node])
    node = table.node[order]
    start = np.flatnonzero(np.diff(node, prepend=-1))
    rank = np.arange(len(node)) - np.repeat(start, np.diff(np.append(start, len(node))))
    return table.take(order[rank < keep])
