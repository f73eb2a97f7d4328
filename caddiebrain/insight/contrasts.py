r"""Better shots against worse ones with no more worked out than differs between them.

Points of both sides that land alike cancel. A full shot whose solid points spread less leaves its mishits where they
were, so the solid points alone are compiled. One that is mishit more rarely, with m the share of mishits, has worth

.. math:: V = (1 - m) \, V_\text{solid} + m \, V_\text{mishit}, \qquad
          \frac{dV}{dm} = V_\text{mishit} - V_\text{solid} = \frac{V_\text{mishit} - V}{1 - m},

and V is what the plan says of the place where the shot is chosen: the mishits alone are compiled, once.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, fields
from functools import partial
from typing import Any, Generic, NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole import ChoiceTable, HoleCompiler, Kind
from caddiebrain.hole.full_shots import full_blocks
from caddiebrain.hole.ground import CODE, LIES
from caddiebrain.hole.points import ErrorPoints, mixture_points
from caddiebrain.hole.resolve import Block, Scene
from caddiebrain.hole.short_air import ShortAir
from caddiebrain.hole.short_shots import short_blocks
from caddiebrain.hole.short_swings import ShortNumbers, ShortSwing
from caddiebrain.hole.swing_set import SwingSet
from caddiebrain.hole.swings import FullSwing
from caddiebrain.insight.better import Pass, with_arsenal
from caddiebrain.terms import Lie

__all__ = ["Contrast", "Contrasts", "contrasts_of"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
S = TypeVar("S", FullSwing, ShortSwing)

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


class _Shot(NamedTuple, Generic[S]):
    """A shot from the lie of a code, the swings that are worked out, better first, and its scale."""

    code: int
    swings: tuple[S, ...]
    scale: float


@dataclass(frozen=True)
class _Part:
    """Shots of one kind that are worked out together, from the tee or from elsewhere.

    ``place`` (lies, shots) is where a shot stands among them, -1 if it does not; where both sides are worked out the
    worse one comes after the better. ``scale`` is as in `Contrast`, by place. ``work`` gives the blocks of rows of a
    table by the place of what each plays.
    """

    kind: Kind
    place: Ints
    scale: Floats
    both: bool
    work: Callable[[Scene, ChoiceTable, Ints], list[Block]]

    def contrast(
        self, scene: Scene, table: ChoiceTable, lie: NDArray[np.uint8], asked: NDArray[np.bool_]
    ) -> Contrast | None:
        """Compile those rows asked of a table that play such a shot; None if there are none."""
        rows = np.flatnonzero(asked & (table.kind == self.kind))
        index = table.index[rows]
        known = index < self.place.shape[1]
        place = np.where(known, self.place[lie[rows], np.where(known, index, 0)], -1)
        rows, place = rows[place >= 0], place[place >= 0]
        if len(rows) == 0:
            return None
        again, played = (np.tile(rows, 2), np.append(place, place + 1)) if self.both else (rows, place)
        return Contrast(rows, self.work(scene, table.take(again), played), self.scale[place], self.both)


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
            found = part.contrast(scene, table, lie, whole)
            if found is not None:
                whole[found.rows] = False
                yield found
        rows = np.flatnonzero(whole)
        if len(rows) == 0:
            return
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
    """Find what can be worked out together: shots from the tee apart, for they have points of their own."""
    grid, trio = compiler.grid, (compiler.arsenal, up.arsenal, down.arsenal)
    for tee in (True, False):
        points = mixture_points(*(grid.tee_points if tee else grid.points))
        codes = [code for code in compiler.arsenal.full if (code == _TEE) is tee]
        yield from _full_parts(
            [(c, s) for c in codes for s in zip(*(a.full[c] for a in trio), strict=True)], points
        )
        short = [(c, s) for c in codes for s in zip(*(a.short[c] for a in trio), strict=True)]
        air = compiler.arsenal.air
        yield from _short_parts(Kind.SHORT, short, points, air)
        yield from _short_parts(Kind.PUNCH, [(c, tuple(a.punch for a in trio)) for c in codes], points, air)


def _full_parts(
    shots: Sequence[tuple[int, tuple[FullSwing, FullSwing, FullSwing]]], points: ErrorPoints
) -> Iterator[_Part]:
    """Full shots of which a part is worked out: codes of lies, and the swings as they are, better and worse."""
    tighter: list[_Shot[FullSwing]] = []
    rarer: list[_Shot[FullSwing]] = []
    for code, (now, better, worse) in shots:
        changed, solid = _changed(better, worse), 1.0 - now.mishit
        if changed and changed <= _SPREAD:
            tighter.append(_Shot(code, (better, worse), 0.5 * solid))
        elif changed == {"mishit"}:
            rarer.append(_Shot(code, (now,), 0.5 * (worse.mishit - better.mishit) / solid))
    for some, both in ((tighter, True), (rarer, False)):
        if some:
            swings = SwingSet.of([s for shot in some for s in shot.swings], points, solid=both)
            yield _part(Kind.FULL, some, partial(_full, swings=swings))


def _full(scene: Scene, table: ChoiceTable, played: Ints, swings: SwingSet) -> list[Block]:
    return full_blocks(scene, table, np.arange(len(table)), played, swings)


def _short_parts(
    kind: Kind,
    shots: Sequence[tuple[int, tuple[ShortSwing, ...]]],
    points: ErrorPoints,
    air: ShortAir | None,
) -> Iterator[_Part]:
    """Short shots or punches, both sides worked out whole."""
    some = [_Shot(code, (up, down), 0.5) for code, (_, up, down) in shots if up.shot != down.shot]
    if some:
        numbers = ShortNumbers.of([s.shot for shot in some for s in shot.swings])

        def work(scene: Scene, table: ChoiceTable, played: Ints) -> list[Block]:
            every, each = np.arange(len(table)), numbers.some(played)
            return short_blocks(scene, table, every, each, points, air, low=kind is Kind.PUNCH)

        yield _part(kind, some, work)


def _part(
    kind: Kind, shots: Sequence[_Shot[Any]], work: Callable[[Scene, ChoiceTable, Ints], list[Block]]
) -> _Part:
    each = len(shots[0].swings)
    place = np.full((len(LIES), 1 + max(s.swings[0].index for s in shots)), -1, dtype=np.int64)
    for i, shot in enumerate(shots):
        place[shot.code, shot.swings[0].index] = i * each
    return _Part(kind, place, np.repeat([s.scale for s in shots], each), each == 2, work)


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
