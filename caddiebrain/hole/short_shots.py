"""Short shots and punches to the states they may lead to."""

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from caddiebrain.hole.bundles import bundles_of
from caddiebrain.hole.choices import ChoiceTable
from caddiebrain.hole.ground import CODE, LIES, Ground
from caddiebrain.hole.points import ErrorPoints
from caddiebrain.hole.resolve import Block, Rows, Scene, chunks, resolve
from caddiebrain.hole.swings import ShortNumbers, short_offsets, short_spread
from caddiebrain.hole.travel import fly, roll_out
from caddiebrain.hole.trees import stopped_low
from caddiebrain.player.model import ShortShot
from caddiebrain.terms import Lie

__all__ = ["HOLE_RADIUS_YD", "PACE_WINDOW_YD", "SHORT_ROLL", "short_blocks"]

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


def short_blocks(
    scene: Scene,
    table: ChoiceTable,
    rows: NDArray[np.int64],
    shot: ShortShot | ShortNumbers,
    points: ErrorPoints,
    low: bool = False,
) -> list[Block]:
    """Outcomes of short shots, or of punches where ``low``: one shot, or the numbers of each row's."""
    blocks = []
    for piece in chunks(scene, table.node[rows], np.arange(len(rows)), len(points.weight)):
        one = shot.some(piece) if isinstance(shot, ShortNumbers) else shot
        blocks.append(_short(scene, table, rows[piece], one, points, low))
    return blocks


def _short(
    scene: Scene,
    table: ChoiceTable,
    rows: NDArray[np.int64],
    shot: ShortShot | ShortNumbers,
    points: ErrorPoints,
    low: bool,
) -> Block:
    """One piece of the rows; all see trees or none."""
    at = Rows.of(scene, table, rows)
    share = np.asarray(shot.carry_share, dtype=np.float32)
    offsets = short_offsets(shot, points, at.distance)
    along, across = offsets.along * share, offsets.across * share
    landing = fly(scene.ground, at.x, at.y, at.heading, along, across, np.hypot(along, across))
    roll = (landing.length * (1.0 / share - 1.0)) * SHORT_ROLL.take(scene.ground.lie.take(landing.cell))
    end = roll_out(scene.ground, at.x, at.y, landing, roll.astype(np.float32, copy=False))
    stopped = None
    if low and scene.sight is not None and scene.sight.row[at.node[0]] >= 0:
        stopped = stopped_low(scene.sight, at.node, bundles_of(at.heading, offsets, points))
    holed = np.zeros(len(rows)) if low else _holed(scene.ground, at, shot)
    weight = np.broadcast_to(offsets.weight, end[2].shape).copy()
    return resolve(scene, rows, at, end, weight, stopped, holed)


def _holed(ground: Ground, at: Rows, shot: ShortShot | ShortNumbers) -> NDArray[np.float64]:
    """Chance that a short shot drops: its line crosses the hole at a pace that lets it fall."""
    px, py = ground.hole.pin
    if ground.lie[ground.frame.index(np.array([px]), np.array([py]))][0] != CODE[Lie.GREEN]:
        return np.zeros(len(at.x))
    to_pin = np.hypot(px - at.x, py - at.y).astype(np.float64)
    turn = np.arctan2(px - at.x, py - at.y) - at.heading
    ahead, aside = to_pin * np.cos(turn), to_pin * np.sin(turn)
    sd_along, sd_across = (sd[:, 0] for sd in short_spread(shot, at.distance[:, None].astype(np.float64)))
    line = ndtr((aside + HOLE_RADIUS_YD) / sd_across) - ndtr((aside - HOLE_RADIUS_YD) / sd_across)
    past = (ahead - at.distance) / sd_along
    pace = ndtr(past + PACE_WINDOW_YD / sd_along) - ndtr(past)
    chance: NDArray[np.float64] = (1.0 - np.ravel(shot.mishit)) * line * pace
    return chance
