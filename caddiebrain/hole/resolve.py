"""Where balls come to rest as outcomes, states with chances and strokes: the heart of the compiler.

A block is a set of choices worked out together as (rows, points) arrays.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.choices import ChoiceTable
from caddiebrain.hole.entry import EntryTable
from caddiebrain.hole.ground import CODE, LIES, PENALTY, Ground
from caddiebrain.hole.numbering import Numbering
from caddiebrain.hole.places import Places
from caddiebrain.hole.sight import Sight
from caddiebrain.hole.trees import Stopped
from caddiebrain.hole.trouble import TroubleLog
from caddiebrain.terms import Lie

__all__ = ["NEARLY", "Block", "Rows", "Scene", "chunks", "resolve"]

_CHUNK = 300_000
_Ends = tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.int32]]
"""Where balls come to rest: x, y and cell, (rows, points)."""
_Resting = tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.int32], NDArray[np.float64]]
"""The same with their chances."""
_Outcomes = tuple[NDArray[np.int32], NDArray[np.float64], NDArray[np.uint8]]
"""State, chance and strokes."""
_COSTLY = np.array([code in PENALTY for code in range(len(LIES))])
NEARLY = 0.3
"""Going back is a choice where it costs at most so many strokes more, by what is roughly known."""


@dataclass(frozen=True)
class Scene:
    """What every block needs: the ground, where balls rest, where they are played from, the wind.

    Parameters
    ----------
    x, y : ndarray (positions,)
        Where shots are played from; ``ChoiceTable.node`` counts these.
    origin : ndarray of int64 (positions,)
        State a ball returns to under stroke and distance.
    sight : Sight or None
        Trees seen from the positions.
    wind_to_deg : float or None
        Compass bearing the wind blows toward; None in still air.
    trouble : TroubleLog
        Takes note of every ball in a penalty area, and of those that may be better played again.
    to_go : ndarray (fixed states,), optional
        About how many strokes each state takes to hole out. Without it every ball out of trouble is played on.
    """

    ground: Ground
    places: Places
    entries: EntryTable
    x: NDArray[np.float64]
    y: NDArray[np.float64]
    origin: NDArray[np.int64]
    sight: Sight | None
    wind_to_deg: float | None
    numbering: Numbering
    trouble: TroubleLog
    to_go: NDArray[np.float32] | None = None

    @cached_property
    def to_go_of_spots(self) -> NDArray[np.float32]:
        """The same of spots; ``NO_SPOT``, which counts from the end, has none to go."""
        number = self.numbering
        spots = np.zeros(0) if self.to_go is None else self.to_go[number.spot : number.bin]
        return np.append(spots, -np.inf).astype(np.float32)


@dataclass(frozen=True)
class Block:
    """Outcomes of some choices: ``state``, ``prob``, ``strokes`` are (rows, outcomes)."""

    rows: NDArray[np.int64]
    state: NDArray[np.int32]
    prob: NDArray[np.float64]
    strokes: NDArray[np.uint8]


@dataclass(frozen=True)
class Rows:
    """Rows of a block: where they start, the state to return to, and which way they aim."""

    node: NDArray[np.int64]
    origin: NDArray[np.int64]
    x: NDArray[np.float32]
    y: NDArray[np.float32]
    heading: NDArray[np.float32]
    distance: NDArray[np.float32]

    def some(self, rows: NDArray[np.bool_]) -> "Rows":
        """Return some of the rows."""
        return Rows(
            self.node[rows],
            self.origin[rows],
            self.x[rows],
            self.y[rows],
            self.heading[rows],
            self.distance[rows],
        )

    @classmethod
    def of(cls, scene: Scene, table: ChoiceTable, rows: NDArray[np.int64]) -> "Rows":
        """Look up rows of a table."""
        node = table.node[rows]
        return cls(
            node,
            scene.origin[node],
            scene.x[node].astype(np.float32),
            scene.y[node].astype(np.float32),
            table.heading[rows].astype(np.float32),
            table.distance[rows].astype(np.float32),
        )


def chunks(
    scene: Scene, node: NDArray[np.int64], rows: NDArray[np.int64], points: int
) -> list[NDArray[np.int64]]:
    """Cut rows, played from nodes, into pieces that fit the cache, those that see trees apart from the rest."""
    parts = [rows]
    if scene.sight is not None:
        sees = scene.sight.row[node[rows]] >= 0
        parts = [rows[sees], rows[~sees]]
    size = max(1, _CHUNK // points)
    return [part[i : i + size] for part in parts for i in range(0, len(part), size)]


def resolve(
    scene: Scene,
    rows: NDArray[np.int64],
    at: Rows,
    end: _Ends,
    weight: NDArray[np.float64],
    stopped: Stopped | None,
    holed: NDArray[np.float64] | None = None,
) -> Block:
    """Turn resting places into states, strokes and chances; ``weight`` (rows, points) is used up."""
    parts = [(*end, weight)] if stopped is None else _with_stops(scene.ground, at, end, weight, stopped)
    columns = [_rested(scene, at, *part) for part in parts]
    if scene.ground.loses:
        columns.append(_split_lost(scene, at, parts))
    if holed is not None and holed.any():
        for _, prob, _ in columns:
            prob *= (1.0 - holed)[:, None]
        columns.append(_column(np.full(len(rows), scene.numbering.cup), holed, 1))
    return Block(
        rows,
        np.concatenate([c[0] for c in columns], axis=1),
        np.concatenate([c[1] for c in columns], axis=1),
        np.concatenate([c[2] for c in columns], axis=1),
    )


def _column(state: NDArray[np.integer], prob: NDArray[np.float64], strokes: int) -> _Outcomes:
    return (
        state.astype(np.int32)[:, None],
        prob[:, None].copy(),
        np.full((len(prob), 1), strokes, dtype=np.uint8),
    )


def _with_stops(
    ground: Ground, at: Rows, end: _Ends, weight: NDArray[np.float64], stopped: Stopped
) -> list[_Resting]:
    """Take the stopped share off every point; return what is left and the places where stopped balls drop."""
    edges = stopped.edges
    mass = np.add.reduceat(weight, edges[:-1], axis=1)
    through = 1.0 - (stopped.chance[..., 0] + stopped.chance[..., 1])
    prob = weight * np.repeat(through, np.diff(edges), axis=1)
    flat = (len(at.x), -1)
    far = np.flatnonzero(stopped.distance)
    row, distance = far // max(1, stopped.distance[0].size), stopped.distance.ravel()[far]
    turn = stopped.heading.ravel()[far]
    stop_x, stop_y = (np.repeat(v, stopped.distance[0].size) for v in (at.x, at.y))
    stop_x[far] = at.x[row] + distance * np.sin(turn)
    stop_y[far] = at.y[row] + distance * np.cos(turn)
    stop_x, stop_y = stop_x.reshape(flat), stop_y.reshape(flat)
    stop_prob = (mass[:, :, None] * stopped.chance).reshape(flat)
    return [(*end, prob), (stop_x, stop_y, ground.frame.index(stop_x, stop_y), stop_prob)]


def _rested(
    scene: Scene,
    at: Rows,
    x: NDArray[np.float32],
    y: NDArray[np.float32],
    cell: NDArray[np.int32],
    prob: NDArray[np.float64],
) -> _Outcomes:
    """States and strokes of balls at rest."""
    state = scene.places.spot_of_cell.take(cell)
    special = np.flatnonzero(state.ravel() < 0)
    again = _may_go_back(scene, at, state)
    state += np.int32(scene.numbering.spot)
    strokes = np.ones(state.shape, dtype=np.uint8)
    _resolve_special(scene, at, x, y, cell, state, strokes, special)
    if again.size:
        rests = cell.ravel()[again]
        origin = at.origin[again // cell.shape[1]]
        state.ravel()[again] = scene.trouble.add(origin, rests, scene.ground.lie.take(rests))
    return state, prob, strokes


def _may_go_back(scene: Scene, at: Rows, spot: NDArray[np.int32]) -> NDArray[np.int64]:
    """Which balls on spots (rows, points), ``NO_SPOT`` for others, may be better played again from where they came."""
    if scene.to_go is None:
        return np.zeros(0, dtype=np.int64)
    there, back = scene.to_go_of_spots.take(spot), scene.to_go[at.origin] + np.float32(1.0 - NEARLY)
    return np.flatnonzero(there >= back[:, None])


def _resolve_special(
    scene: Scene,
    at: Rows,
    x: NDArray[np.float32],
    y: NDArray[np.float32],
    cell: NDArray[np.int32],
    state: NDArray[np.int32],
    strokes: NDArray[np.uint8],
    special: NDArray[np.int64],
) -> None:
    """Number the outcomes on the green, out of bounds and in penalty areas, in place."""
    if special.size == 0:
        return
    ground, number = scene.ground, scene.numbering
    points = cell.shape[1]
    lie = ground.lie[cell.ravel()[special]]
    flat_x, flat_y, flat_state, flat_strokes = x.ravel(), y.ravel(), state.ravel(), strokes.ravel()
    green = special[lie == CODE[Lie.GREEN]]
    flat_state[green] = number.bin_of(ground.from_pin(flat_x[green], flat_y[green]) * 3.0)
    out = special[lie == CODE[Lie.OUT]]
    costly = special[_COSTLY[lie]]
    if ground.hole.local_rule_e5:
        costly = np.concatenate([costly, out])
    else:
        flat_state[out] = at.origin[out // points]
        flat_strokes[out] = 2
    if costly.size:
        row = costly // points
        wet = cell.ravel()[costly]
        entry = scene.entries.crossing(wet, at.x[row] - flat_x[costly], at.y[row] - flat_y[costly])
        kind = ground.lie[wet]
        flat_state[costly] = scene.trouble.add(at.origin[row], entry, kind)


def _split_lost(scene: Scene, at: Rows, parts: list[_Resting]) -> _Outcomes:
    """Take the balls that are not found out of the chances and send them back (Rule 18.2)."""
    shares = [scene.ground.lost.take(cell) * prob for _, _, cell, prob in parts]
    lost = np.zeros(len(at.x))
    for (*_, prob), share in zip(parts, shares, strict=True):
        prob -= share
        lost += share.sum(axis=1)
    if not scene.ground.hole.local_rule_e5:
        return _column(at.origin, lost, 2)
    cell = np.concatenate([part[2] for part in parts], axis=1)
    likeliest = cell[np.arange(len(cell)), np.argmax(np.concatenate(shares, axis=1), axis=1)]
    kind = np.full(len(cell), CODE[Lie.OUT], dtype=np.uint8)
    return _column(scene.trouble.add(at.origin, likeliest, kind), lost, 1)
