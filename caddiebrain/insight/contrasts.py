r"""Better shots against worse ones with no more worked out than differs between them.

Points of both sides that land alike cancel. A full shot whose solid points spread less leaves its mishits where they
were, so the solid points alone are compiled. One that is mishit more rarely, with m the share of mishits, has worth

.. math:: V = (1 - m) \, V_\text{solid} + m \, V_\text{mishit}, \qquad
          \frac{dV}{dm} = V_\text{mishit} - V_\text{solid} = \frac{V_\text{mishit} - V}{1 - m},

and V is what the plan says of the place where the shot is chosen: the mishits alone are compiled, once.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole import ChoiceTable, HoleCompiler, Kind
from caddiebrain.hole.full_shots import SwingSet, mixed_blocks
from caddiebrain.hole.ground import CODE, LIES
from caddiebrain.hole.points import ErrorPoints, mixture_points
from caddiebrain.hole.resolve import Block, Scene
from caddiebrain.hole.swings import FullSwing
from caddiebrain.insight.better import Pass, with_arsenal
from caddiebrain.terms import Lie

__all__ = ["Contrast", "Contrasts", "contrasts_of"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_SPREAD = {"line_sd_deg", "carry_sd"}
"""Numbers of a full shot that its mishits know nothing of."""
_TEE = CODE[Lie.TEE]


@dataclass(frozen=True)
class Contrast:
    """Rows of a table to be compared.

    Parameters
    ----------
    rows : ndarray (n,)
        Rows of the table.
    blocks : list of Block
        Outcomes of n better shots and then of n worse ones; or of n worse ones alone, to be compared with the rows
        as the plan plays them.
    scale : ndarray (n,)
        What half the change from worse to better is of the difference of their worths.
    """

    rows: Ints
    blocks: list[Block]
    scale: Floats
    both: bool

    @property
    def size(self) -> int:
        """Number of rows in the blocks."""
        return len(self.rows) * (2 if self.both else 1)

    def steps(self, worth: Floats, now: Floats) -> Floats:
        """Half the change from worse to better, (n, Q), by the worth of the blocks' rows and of the table's now."""
        n = len(self.rows)
        better, worse = (worth[:n], worth[n:]) if self.both else (now[self.rows], worth)
        return np.asarray(self.scale[:, None] * (better - worse))


@dataclass(frozen=True)
class _Part:
    """Full shots, from the tee or from elsewhere, of which the solid points or the mishits are worked out.

    ``place`` (lies, shots) is where a shot stands in the set, -1 if it does not; where both sides are worked out the
    worse one comes after the better. ``scale`` is as in `Contrast`, by place.
    """

    swings: SwingSet
    place: Ints
    scale: Floats
    both: bool

    def contrast(self, scene: Scene, table: ChoiceTable, lie: NDArray[np.uint8]) -> Contrast | None:
        """Compile the rows of a table that play such a shot; None if there are none."""
        rows = np.flatnonzero(table.kind == Kind.FULL)
        place = self.place[lie[rows], table.index[rows]]
        rows, place = rows[place >= 0], place[place >= 0]
        if len(rows) == 0:
            return None
        again, played = (np.tile(rows, 2), np.append(place, place + 1)) if self.both else (rows, place)
        blocks = mixed_blocks(scene, table.take(again), played, self.swings)
        return Contrast(rows, blocks, self.scale[place], self.both)


@dataclass(frozen=True)
class Contrasts:
    """A better pass and one as much worse, and the shots of which only a part need be worked out."""

    up: Pass
    down: Pass
    parts: tuple[_Part, ...]

    def of(
        self, compiler: HoleCompiler, scene: Scene, table: ChoiceTable, lie: NDArray[np.uint8]
    ) -> Iterator[Contrast]:
        """Compile both sides of all rows of a table that the passes change; ``lie`` is (rows,)."""
        whole = self.up.skill_of(table) >= 0
        for part in self.parts:
            found = part.contrast(scene, table, lie)
            if found is not None:
                whole[found.rows] = False
                yield found
        rows = np.flatnonzero(whole)
        blocks = []
        for shift, one in ((0, self.up), (len(rows), self.down)):
            other = with_arsenal(compiler, one.arsenal)
            for block in other.blocks(scene, table.take(rows), lie[rows], screen=False):
                blocks.append(Block(block.rows + shift, block.state, block.prob, block.strokes))
        yield Contrast(rows, blocks, np.full(len(rows), 0.5), True)


def contrasts_of(compiler: HoleCompiler, sides: Sequence[tuple[Pass, Pass]]) -> tuple[Contrasts, ...]:
    """Sort what passes change; ``compiler`` is any of the round's, for the player and the day are the same.

    Parameters
    ----------
    sides : sequence of (Pass, Pass)
        Better, and as much worse.
    """
    return tuple(Contrasts(up, down, tuple(_parts(compiler, up, down))) for up, down in sides)


def _parts(compiler: HoleCompiler, up: Pass, down: Pass) -> Iterator[_Part]:
    """Find what can be worked out in part: the tee's shots apart, for they have points of their own."""
    grid, full = compiler.grid, compiler.arsenal.full
    for tee in (True, False):
        points = mixture_points(*(grid.tee_points if tee else grid.points))
        tighter, rarer = [], []
        for code in (code for code in full if (code == _TEE) is tee):
            sides = zip(full[code], up.arsenal.full[code], down.arsenal.full[code], strict=True)
            for now, better, worse in sides:
                changed, solid = _changed(better, worse), 1.0 - now.mishit
                if changed and changed <= _SPREAD:
                    tighter.append((code, (better, worse), 0.5 * solid))
                elif changed == {"mishit"}:
                    rarer.append((code, (now,), 0.5 * (worse.mishit - better.mishit) / solid))
        for shots, both in ((tighter, True), (rarer, False)):
            if shots:
                yield _part(compiler, shots, points, both)


def _part(
    compiler: HoleCompiler,
    shots: Sequence[tuple[int, tuple[FullSwing, ...], float]],
    points: ErrorPoints,
    both: bool,
) -> _Part:
    """Put shots in a set, each with the code of its lie, the swings to be worked out, and its scale."""
    place = np.full((len(LIES), len(compiler.player.patterns)), -1, dtype=np.int64)
    swings: list[FullSwing] = []
    for code, worked, _ in shots:
        place[code, worked[0].index] = len(swings)
        swings += worked
    scale = np.repeat([scale for *_, scale in shots], [len(worked) for _, worked, _ in shots])
    return _Part(SwingSet.of(swings, points, solid=both), place, scale, both)


def _changed(one: FullSwing, other: FullSwing) -> set[str]:
    """Names of the numbers, of the swing or of its pattern, that differ."""
    found = {
        f.name
        for f in fields(one)
        if f.name != "pattern" and not np.array_equal(getattr(one, f.name), getattr(other, f.name))
    }
    for name in type(one.pattern).model_fields:
        if getattr(one.pattern, name) != getattr(other.pattern, name):
            found.add(name)
    return found
