"""A place on a planned hole, the choices from it by name, and where each of their balls ends."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from caddiebrain.errors import UnknownError
from caddiebrain.hole import ChoiceTable, HoleCompiler, Kind
from caddiebrain.hole.ground import CODE, Ground
from caddiebrain.player.bag import club_name
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.round.lookup import Spread
from caddiebrain.round.options import label_of
from caddiebrain.round.place import check_strokes, lie_named, on_the_tee, place_of
from caddiebrain.round.plan import RoundPlan, check_plan
from caddiebrain.round.ranking import best_for_target
from caddiebrain.round.worth import Worth
from caddiebrain.terms import Height, Lie, Shape

__all__ = [
    "Landings",
    "Picker",
    "Spot",
    "best_row",
    "clubs_from",
    "landings",
    "lie_on_map",
    "matching",
    "own_fan",
    "plain_name",
    "spot_of",
    "stem",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Spot:
    """A ball at rest on a planned hole.

    Parameters
    ----------
    plan : RoundPlan
    hole : HolePlan
    x, y : float
        Yards in the hole's axes.
    lie : Lie
    strokes_on_hole : int
        Taken so far, penalties included.
    standing : int
        Strokes over par before this hole.
    """

    plan: RoundPlan
    hole: HolePlan
    x: float
    y: float
    lie: Lie
    strokes_on_hole: int
    standing: int

    @property
    def strokes_left(self) -> int:
        """Strokes left under the target."""
        return self.plan.strokes_left(self.hole.number, self.standing) - self.strokes_on_hole

    @property
    def to_pin(self) -> float:
        """Yards to the pin."""
        px, py = self.hole.hole.pin
        return float(np.hypot(px - self.x, py - self.y))


def spot_of(
    plan: RoundPlan,
    hole: int,
    position: tuple[float, float] | None,
    to_pin: float | None,
    lie: str | None,
    strokes_on_hole: int,
    standing: int,
) -> Spot:
    """Find a place; the tee where neither position nor distance is given.

    Raises
    ------
    UnknownError, InputError
        For a hole, lie or position that is not there.
    """
    check_plan(plan, f"hole {hole}")
    one = plan.hole(hole)
    check_strokes(hole, standing, strokes_on_hole)
    kind = lie_named(lie)
    if position is None and to_pin is None:
        x, y = one.hole.tee
        kind = kind or Lie.TEE
    else:
        x, y = place_of(one.hole, position, to_pin)
    if kind is None:
        tee = on_the_tee(one.hole, x, y)
        kind = Lie.TEE if tee else lie_on_map(one.compiler.ground, x, y)
    return Spot(plan, one, x, y, kind, strokes_on_hole, standing)


def lie_on_map(ground: Ground, x: float, y: float) -> Lie:
    """Lie that the map shows at a position."""
    code = int(ground.lie_at(np.array([x]), np.array([y]))[0])
    return next(lie for lie, number in CODE.items() if number == code)


def _alike(table: ChoiceTable) -> tuple[list[tuple[int, int, float]], NDArray[np.int64]]:
    """Kind, index and distance of rows that differ by more than their aim, and which of these each row is."""
    rows = zip(table.kind.tolist(), table.index.tolist(), table.distance.tolist(), strict=True)
    number: dict[tuple[int, int, float], int] = {}
    which = [number.setdefault(row, len(number)) for row in rows]
    return list(number), np.array(which, dtype=np.int64)


def _labels(compiler: HoleCompiler, alike: list[tuple[int, int, float]], where: bool = False) -> list[str]:
    """Names of choices of some kind, index and distance; of drops also by ``where`` they are made."""
    return [label_of(compiler, Kind(kind), index, distance, where) for kind, index, distance in alike]


def stem(label: str) -> str:
    """A choice without its distance or pace: "pitch to 40 yards" -> "pitch"."""
    head = label.partition(", ")[0]
    return head.partition(" to ")[0].lower()


def plain_name(name: str) -> str:
    """Name a full shot as labels do where its club goes by another name; other names as they are.

    Examples
    --------
    >>> plain_name("3w draw"), plain_name("low 7i"), plain_name("pw"), plain_name("pitch")
    ('3-wood draw', 'low 7-iron', 'pitching wedge', 'pitch')
    """
    words = name.lower().split()
    height = words.pop(0) if len(words) > 1 and words[0] in set(Height) else ""
    shape = words.pop() if len(words) > 1 and words[-1] in set(Shape) else ""
    club = club_name(" ".join(words)) or " ".join(words)
    return " ".join(part for part in (height, club, shape) if part)


def clubs_from(compiler: HoleCompiler, table: ChoiceTable) -> tuple[str, ...]:
    """Names that `matching` understands, in the order of the table, without repeats."""
    return tuple(dict.fromkeys(stem(label) for label in _labels(compiler, _alike(table)[0])))


def matching(compiler: HoleCompiler, table: ChoiceTable, name: str) -> NDArray[np.bool_]:
    """Mark the rows with a name: a whole label ("pitch to 40 yards") or one without its distance ("pitch").

    Clubs go by any name that records may use ("7i", "3w draw").

    Raises
    ------
    UnknownError
        If no row has the name; lists those there are.
    """
    wanted = " ".join(str(name).lower().split())
    alike, which = _alike(table)
    labels = _labels(compiler, alike)
    told = _labels(compiler, alike, where=True)
    groups = [[label.lower() for label in group] for group in (labels, told)] + [[*map(stem, labels)]]
    for asked in (wanted, plain_name(wanted)):
        for group in groups:
            found = np.array([label == asked for label in group], dtype=bool)
            if found.any():
                return found[which]
    have = ", ".join(clubs_from(compiler, table))
    raise UnknownError(f"no choice {name!r} from here on hole {compiler.hole.number}; there are {have}")


def own_fan(
    compiler: HoleCompiler, place: tuple[float, float, Lie], table: ChoiceTable, name: str
) -> ChoiceTable | None:
    """Aims for a full club that ``table`` leaves out at ``place`` (x, y, lie); None where the lie bars the club."""
    x, y, lie = place
    every = compiler.arsenal.full[CODE[lie]]
    asked = {name, plain_name(name)}
    swings = [s for s in every if label_of(compiler, Kind.FULL, s.index, 0.0).lower() in asked]
    swings = swings or [s for s in every if s.pattern.club.lower() in asked]
    if not swings:
        return None
    px, py = compiler.hole.pin
    around = float(np.arctan2(px - x, py - y)) + np.deg2rad(np.arange(-12.0, 13.0, 2.0))
    aims = np.unique(np.concatenate([table.heading[table.kind == Kind.FULL], around]))
    node = np.zeros(len(aims), dtype=np.int64)
    return ChoiceTable.join([ChoiceTable.of(node, Kind.FULL, s.index, aims) for s in swings])


class Picker:
    """Keeps the rows with given names, in the order asked for; ``sizes`` tells how many rows each name has.

    Parameters
    ----------
    wanted : sequence of (str, float or None)
        Name, and the aim in degrees if it is not to be the best one.
    place : (x, y, Lie), optional
        Where given, a full club that is not looked at from there is given aims of its own.
    """

    def __init__(
        self,
        compiler: HoleCompiler,
        wanted: Sequence[tuple[str, float | None]],
        place: tuple[float, float, Lie] | None = None,
    ) -> None:
        self._compiler, self._wanted, self._place = compiler, wanted, place
        self.sizes: tuple[int, ...] = ()

    def __call__(self, table: ChoiceTable) -> ChoiceTable:
        """Return the rows to work out."""
        parts = [self._rows(table, name, aim) for name, aim in self._wanted]
        self.sizes = tuple(len(part) for part in parts)
        return ChoiceTable.join(parts)

    def _rows(self, table: ChoiceTable, name: str, aim_deg: float | None) -> ChoiceTable:
        try:
            rows = table.take(matching(self._compiler, table, name))
        except UnknownError:
            own = self._place and own_fan(self._compiler, self._place, table, name.strip().lower())
            if not own:
                raise
            rows = own
        if aim_deg is None or (rows.kind == Kind.PUTT).all():  # putts are aimed at the hole
            return rows
        if (rows.kind == Kind.DROP).all():
            # A drop goes where its Rule puts it: of those there are, the nearest to the way asked for.
            turn = rows.heading - np.deg2rad(aim_deg)
            return rows.take(np.argsort(np.abs(np.arctan2(np.sin(turn), np.cos(turn))), kind="stable")[:1])
        key = np.stack([rows.kind, rows.index, rows.distance])
        _, first = np.unique(key, axis=1, return_index=True)
        rows = rows.take(first)
        return replace(rows, heading=np.full(len(rows), np.deg2rad(aim_deg)))


def best_row(rows: NDArray[np.int64], strokes: Floats, chance: Floats, by: str) -> int:
    """Row with the fewest expected strokes, or best for the target; see `caddiebrain.round.ranking`."""
    if by == "target":
        return int(rows[best_for_target(strokes[rows], chance[rows])])
    return int(rows[np.lexsort([-chance[rows], strokes[rows]])[0]])


@dataclass(frozen=True)
class Landings:
    """Where the balls of one choice end: arrays (outcomes,).

    ``code`` is the kind of result (index into ``caddiebrain.round.results.RESULTS``), ``prob`` its chance and
    ``worth`` one array for each worth asked for, the stroke itself included.
    """

    code: NDArray[np.int64]
    prob: Floats
    worth: tuple[Floats, ...]


def landings(spread: Spread, row: int, worths: Sequence[Worth]) -> Landings:
    """Follow every ball of one row of a spread."""
    at, prob = spread.outcomes(row)
    live = prob > 0
    at = at[live]
    return Landings(spread.codes[at], prob[live], tuple(spread.every(worth)[at] for worth in worths))
