"""One choice at one place to the states it may lead to: the heart of the compiler.

A block is a set of choices of one swing from one lie, worked out together as (rows, points) arrays.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from caddiebrain.hole.choices import ChoiceTable
from caddiebrain.hole.entry import EntryTable
from caddiebrain.hole.ground import CODE, LIES, PENALTY, Ground
from caddiebrain.hole.numbering import Numbering
from caddiebrain.hole.places import Places
from caddiebrain.hole.points import ErrorPoints
from caddiebrain.hole.sight import Sight
from caddiebrain.hole.swings import FullSwing, Offsets, ShortSwing
from caddiebrain.hole.travel import fly, roll_out
from caddiebrain.hole.trees import Arc, Bundles, Stopped, stopped_high, stopped_low
from caddiebrain.hole.trouble import TroubleLog
from caddiebrain.terms import Lie

__all__ = [
    "HOLE_RADIUS_YD",
    "PACE_WINDOW_YD",
    "SHORT_ROLL",
    "Block",
    "Scene",
    "full_block",
    "short_block",
]

_GROUPS = ((50, 3, 1), (400, 6, 2))
"""Up to so many points, solid and mishit shots are followed into trees in so many directions each."""
_TEE_GROUPS = (36, 10)
_CHUNK = 300_000
HOLE_RADIUS_YD = 4.25 / 2 / 36
PACE_WINDOW_YD = 4.0 / 3.0
"""A ball that would run up to 4 feet past still drops (the published putting model allows 3 to 4 feet)."""

SHORT_ROLL = np.array(
    [
        {Lie.SAND: 0.0, Lie.YELLOW: 0.0, Lie.RED: 0.0, Lie.THICK: 0.25, Lie.ROUGH: 0.5, Lie.TREES: 0.5}.get(
            lie, 1.0
        )
        for lie in LIES
    ],
    dtype=np.float32,
)
"""Share of a short shot's roll left on landing in each lie (common practice, no source)."""


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
        Takes note of every ball in a penalty area.
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


@dataclass(frozen=True)
class Block:
    """Outcomes of some choices: ``state``, ``prob``, ``strokes`` are (rows, outcomes)."""

    rows: NDArray[np.int64]
    state: NDArray[np.int32]
    prob: NDArray[np.float64]
    strokes: NDArray[np.uint8]


_NO_TREES = 1e-6
"""A flight is taken to clear the trees where they stop it less often than this."""


@dataclass(frozen=True)
class _Rows:
    """Rows of a block: where they start, the state to return to, and which way they aim."""

    node: NDArray[np.int64]
    origin: NDArray[np.int64]
    x: NDArray[np.float32]
    y: NDArray[np.float32]
    heading: NDArray[np.float32]
    distance: NDArray[np.float32]

    def some(self, rows: NDArray[np.bool_]) -> "_Rows":
        """Return some of the rows."""
        return _Rows(
            self.node[rows],
            self.origin[rows],
            self.x[rows],
            self.y[rows],
            self.heading[rows],
            self.distance[rows],
        )

    @classmethod
    def of(cls, scene: Scene, table: ChoiceTable, rows: NDArray[np.int64]) -> "_Rows":
        node = table.node[rows]
        return cls(
            node,
            scene.origin[node],
            scene.x[node].astype(np.float32),
            scene.y[node].astype(np.float32),
            table.heading[rows].astype(np.float32),
            table.distance[rows].astype(np.float32),
        )


def _chunks(
    scene: Scene, table: ChoiceTable, rows: NDArray[np.int64], points: int
) -> list[NDArray[np.int64]]:
    """Cut rows into pieces that fit the cache, those that see trees apart from the rest."""
    if scene.sight is None:
        parts = [rows]
    else:
        sees = scene.sight.row[table.node[rows]] >= 0
        parts = [rows[sees], rows[~sees]]
    size = max(1, _CHUNK // points)
    return [part[i : i + size] for part in parts for i in range(0, len(part), size)]


def full_block(
    scene: Scene, table: ChoiceTable, rows: NDArray[np.int64], swing: FullSwing, points: ErrorPoints
) -> list[Block]:
    """Outcomes of full shots with one swing.

    Parameters
    ----------
    table : ChoiceTable
    rows : ndarray (n,)
        Rows of the table that play this swing.
    """
    still = swing.offsets(points) if scene.wind_to_deg is None else None
    blocks = []
    for part in _chunks(scene, table, rows, len(points.weight)):
        at = _Rows.of(scene, table, part)
        bins = None
        if scene.wind_to_deg is not None:
            line = scene.ground.hole.bearing_deg + np.rad2deg(at.heading)
            bins = swing.bin_of(scene.wind_to_deg - line)
        offsets = still if still is not None else swing.offsets(points, bins)
        loss = swing.yards_per_height[np.zeros(1, dtype=np.int64) if bins is None else bins]
        landing = fly(scene.ground, at.x, at.y, at.heading, offsets.along, offsets.across, loss)
        lie = scene.ground.lie[landing.cell]
        roll = swing.roll[0][lie] if bins is None else swing.roll[bins[:, None], lie]
        longest = float(swing.roll.max())
        end = roll_out(scene.ground, at.x, at.y, landing, roll, longest, swing.landing_turn)
        stopped = None
        if scene.sight is not None and scene.sight.row[at.node[0]] >= 0:
            arc = Arc(float(swing.carry.mean()), float(swing.apex.mean()), float(swing.apex_share.mean()))
            shots = _bundles(at, offsets, points)
            drift = None if bins is None else swing.drift[bins]
            stopped = stopped_high(scene.sight, at.node, shots, arc, swing.pattern.curve_yd, drift)
        blocks.extend(_parted(scene, part, at, end, offsets.weight, stopped))
    return blocks


def _parted(
    scene: Scene,
    rows: NDArray[np.int64],
    at: _Rows,
    end: tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.int32]],
    weight: NDArray[np.float64],
    stopped: Stopped | None,
) -> list[Block]:
    """Resolve rows; those that meet no trees apart from those that do, for they have fewer outcomes."""
    if stopped is None:
        return [_resolve(scene, rows, at, end, weight, None)]
    met: NDArray[np.bool_] = np.any(stopped.chance > _NO_TREES, axis=(1, 2))
    blocks = []
    for some, trees in ((met, stopped.some(met)), (~met, None)):
        if some.any():
            ends = (end[0][some], end[1][some], end[2][some])
            blocks.append(_resolve(scene, rows[some], at.some(some), ends, weight, trees))
    return blocks


def _group_edges(points: ErrorPoints) -> NDArray[np.int64]:
    """Edges of bundles of points of like direction, solid ones first; a mishit comes down in other trees."""
    # With few directions the best aim is the one whose directions happen to miss the trees.
    n, solid = len(points.weight), int(points.solid.sum())
    many = next(((s, m) for most, s, m in _GROUPS if n <= most), _TEE_GROUPS)
    return np.unique(np.concatenate([_parts(0, solid, many[0]), _parts(solid, n, many[1])]))


def _parts(start: int, stop: int, parts: int) -> NDArray[np.int64]:
    """Edges that cut a range into parts, smaller ones at both ends: it is the wide shots that meet trees."""
    share = 0.5 - 0.5 * np.cos(np.pi * np.arange(parts + 1) / parts)
    return np.rint(start + (stop - start) * share).astype(np.int64)


def _bundles(at: _Rows, offsets: Offsets, points: ErrorPoints) -> Bundles:
    edges = _group_edges(points)
    turn = np.arctan2(offsets.across, offsets.along).astype(np.float64)
    length = np.hypot(offsets.across, offsets.along).astype(np.float64)
    # Points of a bundle weigh alike, for a bundle is of one part of the mixture.
    turn, length = (np.add.reduceat(a, edges[:-1], axis=-1) / np.diff(edges) for a in (turn, length))
    heading = at.heading[:, None].astype(np.float64) + turn
    return Bundles(edges, heading, np.broadcast_to(length, heading.shape))


def short_block(
    scene: Scene,
    table: ChoiceTable,
    rows: NDArray[np.int64],
    swing: ShortSwing,
    points: ErrorPoints,
    low: bool = False,
) -> list[Block]:
    """Outcomes of short shots, or of punches where ``low``."""
    blocks = []
    share = np.float32(swing.shot.carry_share)
    for part in _chunks(scene, table, rows, len(points.weight)):
        at = _Rows.of(scene, table, part)
        offsets = swing.offsets(points, at.distance)
        landing = fly(scene.ground, at.x, at.y, at.heading, offsets.along * share, offsets.across * share)
        roll = (landing.length * (1.0 / share - 1.0)) * SHORT_ROLL[scene.ground.lie[landing.cell]]
        end = roll_out(scene.ground, at.x, at.y, landing, roll.astype(np.float32), np.inf)
        stopped = None
        if low and scene.sight is not None and scene.sight.row[at.node[0]] >= 0:
            stopped = stopped_low(scene.sight, at.node, _bundles(at, offsets, points))
        holed = np.zeros(len(part)) if low else _holed(scene.ground, at, swing)
        blocks.append(_resolve(scene, part, at, end, offsets.weight, stopped, holed))
    return blocks


def _holed(ground: Ground, at: _Rows, swing: ShortSwing) -> NDArray[np.float64]:
    """Chance that a short shot drops: its line crosses the hole at a pace that lets it fall."""
    px, py = ground.hole.pin
    if ground.lie[ground.frame.index(np.array([px]), np.array([py]))][0] != CODE[Lie.GREEN]:
        return np.zeros(len(at.x))
    to_pin = np.hypot(px - at.x, py - at.y).astype(np.float64)
    turn = np.arctan2(px - at.x, py - at.y) - at.heading
    ahead, aside = to_pin * np.cos(turn), to_pin * np.sin(turn)
    sd_along, sd_across = swing.spread(at.distance.astype(np.float64))
    line = ndtr((aside + HOLE_RADIUS_YD) / sd_across) - ndtr((aside - HOLE_RADIUS_YD) / sd_across)
    past = (ahead - at.distance) / sd_along
    pace = ndtr(past + PACE_WINDOW_YD / sd_along) - ndtr(past)
    chance: NDArray[np.float64] = (1.0 - swing.shot.mishit) * line * pace
    return chance


def _resolve(
    scene: Scene,
    rows: NDArray[np.int64],
    at: _Rows,
    end: tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.int32]],
    weight: NDArray[np.float64],
    stopped: Stopped | None,
    holed: NDArray[np.float64] | None = None,
) -> Block:
    """Turn resting places into states, strokes and chances."""
    x, y, cell = end
    prob = np.broadcast_to(weight, cell.shape).copy()
    if stopped is not None:
        x, y, cell, prob = _with_stops(scene.ground, at, x, y, cell, prob, stopped)
    number = scene.numbering
    state = scene.places.spot_of_cell[cell]
    special = np.flatnonzero(state.ravel() < 0)
    state += np.int32(number.spot)
    strokes = np.ones(state.shape, dtype=np.uint8)
    _resolve_special(scene, at, x, y, cell, state, strokes, special)
    columns = [(state, prob, strokes)]
    if scene.ground.lost.any():
        columns.append(_split_lost(scene, at, cell, prob))
    if holed is not None and holed.any():
        prob *= (1.0 - holed)[:, None]
        if len(columns) > 1:
            columns[1][1][:] *= (1.0 - holed)[:, None]
        columns.append(_column(np.full(len(rows), number.cup), holed, 1))
    return Block(
        rows,
        np.concatenate([c[0] for c in columns], axis=1),
        np.concatenate([c[1] for c in columns], axis=1),
        np.concatenate([c[2] for c in columns], axis=1),
    )


def _column(
    state: NDArray[np.integer], prob: NDArray[np.float64], strokes: int
) -> tuple[NDArray[np.int32], NDArray[np.float64], NDArray[np.uint8]]:
    return (
        state.astype(np.int32)[:, None],
        prob[:, None].copy(),
        np.full((len(prob), 1), strokes, dtype=np.uint8),
    )


def _with_stops(
    ground: Ground,
    at: _Rows,
    x: NDArray[np.float32],
    y: NDArray[np.float32],
    cell: NDArray[np.int32],
    prob: NDArray[np.float64],
    stopped: Stopped,
) -> tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.int32], NDArray[np.float64]]:
    """Take the stopped share off every point and add the places where stopped balls drop."""
    edges = stopped.edges
    mass = np.add.reduceat(prob, edges[:-1], axis=1)
    through = 1.0 - stopped.chance.sum(axis=-1)
    prob = prob * np.repeat(through, np.diff(edges), axis=1)
    stop_x = at.x[:, None, None] + stopped.distance * np.sin(stopped.heading)
    stop_y = at.y[:, None, None] + stopped.distance * np.cos(stopped.heading)
    flat = (len(at.x), -1)
    stop_x, stop_y = stop_x.reshape(flat).astype(np.float32), stop_y.reshape(flat).astype(np.float32)
    stop_prob = (mass[:, :, None] * stopped.chance).reshape(flat)
    return (
        np.concatenate([x, stop_x], axis=1),
        np.concatenate([y, stop_y], axis=1),
        np.concatenate([cell, ground.frame.index(stop_x, stop_y)], axis=1),
        np.concatenate([prob, stop_prob], axis=1),
    )


def _resolve_special(
    scene: Scene,
    at: _Rows,
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
    costly = special[np.isin(lie, PENALTY)]
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


def _split_lost(
    scene: Scene, at: _Rows, cell: NDArray[np.int32], prob: NDArray[np.float64]
) -> tuple[NDArray[np.int32], NDArray[np.float64], NDArray[np.uint8]]:
    """Take the balls that are not found out of ``prob`` and send them back (Rule 18.2)."""
    share = scene.ground.lost[cell] * prob
    prob -= share
    lost = share.sum(axis=1)
    origin = at.origin
    if not scene.ground.hole.local_rule_e5:
        return _column(origin, lost, 2)
    likeliest = cell[np.arange(len(cell)), np.argmax(share, axis=1)]
    kind = np.full(len(cell), CODE[Lie.OUT], dtype=np.uint8)
    return _column(scene.trouble.add(origin, likeliest, kind), lost, 1)
