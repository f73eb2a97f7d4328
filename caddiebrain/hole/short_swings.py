"""The short shots and punches a player has from each lie, as points around an aimed line."""

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.points import ErrorPoints
from caddiebrain.hole.swings import Offsets
from caddiebrain.player.model import Player, ShortShot
from caddiebrain.terms import Lie

__all__ = [
    "LEAST_CARRIED",
    "Allowance",
    "ShortNumbers",
    "ShortSwing",
    "punch_of",
    "short_offsets",
    "short_spread",
    "short_swings",
]

LEAST_CARRIED = 0.3
"""Part of its carry that a short shot keeps in any wind."""
_STAND_IN = {
    Lie.TEE: (Lie.FAIRWAY,),
    Lie.TIGHT: (Lie.FAIRWAY, Lie.ROUGH),
    Lie.FAIRWAY: (Lie.TIGHT, Lie.ROUGH),
    Lie.THICK: (Lie.ROUGH,),
    Lie.ROUGH: (Lie.THICK, Lie.FAIRWAY),
    Lie.TREES: (Lie.ROUGH, Lie.THICK),
    Lie.SAND: (Lie.ROUGH,),
}
"""Whose numbers serve where a player has none for a lie."""


@dataclass(frozen=True)
class ShortNumbers:
    """Numbers of short shots as in `ShortShot`, those of one shot in each row: arrays (rows, 1)."""

    depth_sd: NDArray[np.float64]
    depth_sd_floor_yd: NDArray[np.float64]
    line_sd_deg: NDArray[np.float64]
    line_sd_floor_yd: NDArray[np.float64]
    mishit: NDArray[np.float64]
    mishit_depth: NDArray[np.float64]
    mishit_depth_sd: NDArray[np.float64]
    carry_share: NDArray[np.float64]
    longest_yd: NDArray[np.float64]

    @classmethod
    def of(cls, shots: Sequence[ShortShot]) -> "ShortNumbers":
        """Put shots side by side."""
        return cls(*(np.array([[getattr(shot, f.name)] for shot in shots]) for f in fields(cls)))

    def some(self, rows: NDArray[np.int64]) -> "ShortNumbers":
        """Return some of the rows, in the order given."""
        return ShortNumbers(*(getattr(self, f.name)[rows] for f in fields(self)))


@dataclass(frozen=True)
class ShortSwing:
    """A shot whose distance the player chooses, from one lie."""

    index: int
    shot: ShortShot

    def spread(self, distance: NDArray[np.floating]) -> tuple[NDArray[np.floating], NDArray[np.floating]]:
        """Standard deviations along and across, yards, of a solid shot meant to stop at ``distance`` yards."""
        return short_spread(self.shot, distance)

    def offsets(
        self, points: ErrorPoints, distance: NDArray[np.floating], allowed: "Allowance | None" = None
    ) -> Offsets:
        """Stopping points (rows, points) of shots meant to stop at ``distance`` (rows,) yards."""
        return short_offsets(self.shot, points, distance, allowed)


@dataclass(frozen=True)
class Allowance:
    """What short shots allow for of wind and slope, and what they feel of it all the same.

    Attributes
    ----------
    distance : ndarray (rows, 1)
        How far they would go on the level in reference air, yards.
    share : ndarray (rows, 1)
        Part of it that they fly.
    rise : ndarray (rows, 1)
        Carry that the rise of the spot meant takes, yards.
    loss, drift, loss_sd, drift_sd : ndarray (rows, 1)
        What the wind takes of the carry and blows it to the right, and the standard deviations of both, as shares of
        the carry.
    more_loss, more_drift : ndarray (rows, 1)
        How these grow a yard of carry.
    level : ndarray (rows,) or None
        Height at which the carry is as meant.
    steep : ndarray (rows,)
        Carry lost for each yard the landing lies above that.
    """

    distance: NDArray[np.float64]
    share: NDArray[np.float64]
    rise: NDArray[np.float64]
    loss: NDArray[np.float64]
    drift: NDArray[np.float64]
    loss_sd: NDArray[np.float64]
    drift_sd: NDArray[np.float64]
    more_loss: NDArray[np.float64]
    more_drift: NDArray[np.float64]
    level: NDArray[np.float64] | None
    steep: NDArray[np.float64]

    def widened(
        self, along: NDArray[np.floating], across: NDArray[np.floating]
    ) -> tuple[NDArray[np.floating], NDArray[np.floating]]:
        """Add gusts and doubt to standard deviations along and across."""
        return np.hypot(along, self.distance * self.loss_sd), np.hypot(across, self.distance * self.drift_sd)

    @property
    def reach(self) -> NDArray[np.float64]:
        """How far the balls go that are sent as meant, (rows,)."""
        return np.asarray(self.felt(self.distance, np.zeros(1))[0][:, 0], dtype=np.float64)

    def felt(
        self, along: NDArray[np.floating], across: NDArray[np.floating]
    ) -> tuple[NDArray[np.floating], NDArray[np.floating]]:
        """Return where balls (rows, points) stop that would stop so far along and across in reference air."""
        carry, apart = along * self.share, (along - self.distance) * self.share
        kept = np.maximum(1.0 - self.loss - self.more_loss * apart, LEAST_CARRIED)
        aside = carry * self.more_drift * apart  # the rest of the drift is allowed for
        return np.maximum((carry * kept - self.rise) / self.share, 0.3), across + aside / self.share


def short_spread(
    shot: ShortShot | ShortNumbers, distance: NDArray[np.floating]
) -> tuple[NDArray[np.floating], NDArray[np.floating]]:
    """Return the standard deviations of `ShortSwing.spread`; distances are (rows, 1) where every row has its shot."""
    along = np.hypot(shot.depth_sd * distance, shot.depth_sd_floor_yd)
    across = np.hypot(np.tan(np.deg2rad(shot.line_sd_deg)) * distance, shot.line_sd_floor_yd)
    return along, across


def short_offsets(
    shot: ShortShot | ShortNumbers,
    points: ErrorPoints,
    distance: NDArray[np.floating],
    allowed: Allowance | None = None,
) -> Offsets:
    """Return the stopping points of `ShortSwing.offsets`; weights are (rows, points) where every row has its shot."""
    d = distance[:, None] if allowed is None else allowed.distance
    sd_along, sd_across = short_spread(shot, d)
    if allowed is not None:
        sd_along, sd_across = allowed.widened(sd_along, sd_across)
    poor_sd = np.hypot(shot.mishit_depth_sd * d, shot.depth_sd_floor_yd)
    along: NDArray[np.floating] = np.where(
        points.solid, d + sd_along * points.length, shot.mishit_depth * d + poor_sd * points.length
    )
    along = np.maximum(along, 0.3)
    across: NDArray[np.floating] = sd_across * points.direction * np.where(points.solid, 1.0, 1.6)
    if allowed is not None:
        along, across = allowed.felt(along, across)
    weight = points.weight * np.where(points.solid, 1.0 - shot.mishit, shot.mishit)
    return Offsets(along.astype(np.float32), across.astype(np.float32), weight)


def short_swings(player: Player, lie: Lie) -> list[ShortSwing]:
    """Short shots from a lie; where the player has none for it, those of the nearest kind of lie."""
    for kind in (lie, *_STAND_IN.get(lie, ())):
        found = [ShortSwing(i, s) for i, s in enumerate(player.short_game) if s.lie is kind]
        if found:
            return found
    return [ShortSwing(0, player.short_game[0])]


def punch_of(player: Player) -> ShortSwing:
    """The low shot that gets a ball out of trees, any distance to 110 yards.

    The player's own short shot from the trees where the file has one; else derived: as straight as the middle
    of the bag and a third wider, length within 16 % (common practice, no source).
    """
    for i, shot in enumerate(player.short_game):
        if shot.lie is Lie.TREES:
            return ShortSwing(i, shot)
    middle = float(np.median([p.line_sd_deg for p in player.patterns]))
    mishit = float(np.median([p.mishit for p in player.patterns]))
    derived = ShortShot(
        name="punch",
        lie=Lie.TREES,
        longest_yd=110.0,
        depth_sd=0.16,
        depth_sd_floor_yd=2.0,
        line_sd_deg=min(20.0, 1.3 * middle),
        line_sd_floor_yd=0.5,
        mishit=min(0.6, 1.4 * mishit + 0.02),
        mishit_depth=0.45,
        mishit_depth_sd=0.25,
        carry_share=0.5,
    )
    return ShortSwing(len(player.short_game), derived)
