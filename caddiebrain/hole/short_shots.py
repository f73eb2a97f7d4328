"""Short shots and punches to the states they may lead to."""

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from caddiebrain.hole.bundles import bundles_of
from caddiebrain.hole.choices import ChoiceTable
from caddiebrain.hole.ground import CODE, LIES, Ground
from caddiebrain.hole.points import ErrorPoints
from caddiebrain.hole.resolve import Block, Rows, Scene, chunks, resolve
from caddiebrain.hole.short_air import ShortAir, allowance
from caddiebrain.hole.short_swings import Allowance, ShortNumbers, short_offsets, short_spread
from caddiebrain.hole.swings import Offsets
from caddiebrain.hole.travel import Landing, fly, roll_out
from caddiebrain.hole.trees import stopped_low
from caddiebrain.player.model import ShortShot
from caddiebrain.terms import Lie

Ends = tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.int32]]
"""Where balls come to rest: x, y and cell, (rows, points)."""

__all__ = ["HOLE_RADIUS_YD", "PACE_WINDOW_YD", "fly_short", "short_blocks"]

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
    air: ShortAir | None,
    low: bool = False,
) -> list[Block]:
    """Outcomes of short shots, or of punches where ``low``: one shot, or the numbers of each row's."""
    blocks = []
    for piece in chunks(scene, table.node[rows], np.arange(len(rows)), len(points.weight)):
        one = shot.some(piece) if isinstance(shot, ShortNumbers) else shot
        blocks.append(_short(scene, table, rows[piece], one, points, air, low))
    return blocks


def _short(
    scene: Scene,
    table: ChoiceTable,
    rows: NDArray[np.int64],
    shot: ShortShot | ShortNumbers,
    points: ErrorPoints,
    air: ShortAir | None,
    low: bool,
) -> Block:
    """One piece of the rows; all see trees or none."""
    at = Rows.of(scene, table, rows)
    allowed = allowance(scene.ground, air, (at.x, at.y, at.heading, at.distance), shot, low)
    offsets = short_offsets(shot, points, at.distance, allowed)
    end = fly_short(scene.ground, (at.x, at.y, at.heading), offsets, shot, allowed)[0]
    stopped = None
    if low and scene.sight is not None and scene.sight.row[at.node[0]] >= 0:
        stopped = stopped_low(scene.sight, at.node, bundles_of(at.heading, offsets, points))
    holed = np.zeros(len(rows)) if low else _holed(scene.ground, at, shot, allowed)
    weight = np.broadcast_to(offsets.weight, end[2].shape).copy()
    return resolve(scene, rows, at, end, weight, stopped, holed)


def fly_short(
    ground: Ground,
    ball: tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.float32]],
    offsets: Offsets,
    shot: ShortShot | ShortNumbers,
    allowed: Allowance | None,
) -> tuple[Ends, Landing]:
    """Return where short shots (rows, points) come to rest, and where they land.

    Parameters
    ----------
    ball : tuple of ndarray (rows,)
        Where the balls lie, x and y in yards, and the heading of their lines.
    """
    share = np.asarray(shot.carry_share, dtype=np.float32)
    along, across = offsets.along * share, offsets.across * share
    slope = (None, None) if allowed is None or allowed.level is None else (allowed.steep, allowed.level)
    landing = fly(ground, *ball, along, across, np.hypot(along, across), *slope)
    roll = (landing.length * (1.0 / share - 1.0)) * SHORT_ROLL.take(ground.lie.take(landing.cell))
    return roll_out(ground, *ball[:2], landing, roll.astype(np.float32, copy=False)), landing


def _holed(
    ground: Ground, at: Rows, shot: ShortShot | ShortNumbers, allowed: Allowance | None
) -> NDArray[np.float64]:
    """Chance that a short shot drops: its line crosses the hole at a pace that lets it fall."""
    px, py = ground.hole.pin
    if ground.lie[ground.frame.index(np.array([px]), np.array([py]))][0] != CODE[Lie.GREEN]:
        return np.zeros(len(at.x))
    to_pin = np.hypot(px - at.x, py - at.y).astype(np.float64)
    turn = np.arctan2(px - at.x, py - at.y) - at.heading
    ahead, aside = to_pin * np.cos(turn), to_pin * np.sin(turn)
    far = at.distance[:, None].astype(np.float64) if allowed is None else allowed.distance
    spread = short_spread(shot, far)
    sd_along, sd_across = (sd[:, 0] for sd in (spread if allowed is None else allowed.widened(*spread)))
    line = ndtr((aside + HOLE_RADIUS_YD) / sd_across) - ndtr((aside - HOLE_RADIUS_YD) / sd_across)
    stops = at.distance if allowed is None else allowed.reach
    past = (ahead - stops) / sd_along
    pace = ndtr(past + PACE_WINDOW_YD / sd_along) - ndtr(past)
    chance: NDArray[np.float64] = (1.0 - np.ravel(shot.mishit)) * line * pace
    return chance
