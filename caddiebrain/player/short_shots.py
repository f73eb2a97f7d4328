"""The page of the short game: two parameters for each lie.

    p0   log of the factor on the level's spreads (depth and line, share and floor alike)
    p1   shift of the level's mishit share, in logits

A *leave* of r feet from d yards is the distance from the hole of a ball that stops at (along, across):
solid along ~ N(d, sd_d), across ~ N(0, sd_w); a mishit along ~ N(g d, h d), across 1.6 times as wide. Its density
is r times the density of the point, summed around the circle. *Up and down*, k times in n, is binomial with the
chance that the putt from the leave drops, summed over leaves, for the putting already fitted. A holed shot
counts as a leave of a third of a foot.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, logit

from caddiebrain.player.bayes import Terms
from caddiebrain.player.patterns import PuttingSkill, ShortShot
from caddiebrain.player.putting import holing_chance

__all__ = ["ShortPage", "ShortRows", "tightest"]

Floats = NDArray[np.float64]

MISHIT_WIDER = 1.6
"""How much wider a mishit short shot goes; the compiler plays the same."""
_HOLED_FT = 1.0 / 3.0
_ANGLES = 32
_NODES, _NODE_WEIGHTS = np.polynomial.hermite_e.hermegauss(9)
_NODE_WEIGHTS = _NODE_WEIGHTS / _NODE_WEIGHTS.sum()
_STEP = 1e-4
_TINY = 1e-300


@dataclass(frozen=True)
class ShortRows:
    """N records: unit (lie), level's shot, distance (yards); a leave (feet, NaN if none), tries and saves."""

    lie: NDArray[np.int64]
    shot: NDArray[np.int64]
    distance_yd: Floats
    leave_ft: Floats
    tries: Floats
    saves: Floats
    weight: Floats


@dataclass(frozen=True)
class _Spread:
    """Spreads (N,) of solid and mishit shots, yards."""

    along: Floats
    across: Floats
    poor_mean: Floats
    poor_along: Floats


class ShortPage:
    """Evidence on the short game.

    Parameters
    ----------
    shots : sequence of ShortShot
        The level's.
    units : int
        Number of lies.
    rows : ShortRows
    putting : PuttingSkill
        Already fitted; taken as known.
    """

    def __init__(
        self, shots: tuple[ShortShot, ...], units: int, rows: ShortRows, putting: PuttingSkill
    ) -> None:
        self._units = units
        self._rows = rows
        self._putting = putting
        table = np.array(
            [
                (s.depth_sd, s.depth_sd_floor_yd, np.tan(np.deg2rad(s.line_sd_deg)), s.line_sd_floor_yd,
                 logit(np.clip(s.mishit, 0.002, 0.6)), s.mishit_depth, s.mishit_depth_sd)
                for s in shots
            ]
        )  # fmt: skip
        self._level = table[rows.shot].T
        self._is_leave = np.isfinite(rows.leave_ft)

    def terms(self, theta: Floats) -> Terms:
        """Evaluate log-likelihood, gradient and minus the second derivatives at shifts (L, 2)."""
        rows = self._rows
        mishit = expit(self._level[4] + theta[rows.lie, 1])
        scale = theta[rows.lie, 0]
        down, middle, up = (self._parts(scale + shift) for shift in (-_STEP, 0.0, _STEP))
        slope, bend = (up - down) / (2.0 * _STEP), (up - 2.0 * middle + down) / _STEP**2
        mix = np.stack([1.0 - mishit, mishit])
        tilt = mishit * (1.0 - mishit)
        chance = np.maximum((mix * middle).sum(axis=0), _TINY)
        first = np.stack([(mix * slope).sum(axis=0), tilt * (middle[1] - middle[0])])
        second = np.empty((2, 2, len(scale)))
        second[0, 0] = (mix * bend).sum(axis=0)
        second[0, 1] = second[1, 0] = tilt * (slope[1] - slope[0])
        second[1, 1] = tilt * (1.0 - 2.0 * mishit) * (middle[1] - middle[0])
        return self._summed(chance, first, second)

    def _summed(self, chance: Floats, first: Floats, second: Floats) -> Terms:
        """Sum the log-likelihood of leaves (densities) and of counts (chances) by lie."""
        rows, leave = self._rows, self._is_leave
        saves = np.where(leave, 1.0, rows.saves)
        misses = np.where(leave, 0.0, rows.tries - rows.saves)
        rest = np.where(leave, 1.0, np.maximum(1.0 - chance, 1e-12))
        value = saves * np.log(chance) + misses * np.log(rest)
        pull = (saves / chance - misses / rest) * rows.weight
        bend = (saves / chance**2 + misses / rest**2) * rows.weight
        gradient, information = np.zeros((self._units, 2)), np.zeros((self._units, 2, 2))
        np.add.at(gradient, rows.lie, (first * pull).T)
        minus = np.einsum("in,jn,n->nij", first, first, bend) - np.einsum("ijn,n->nij", second, pull)
        np.add.at(information, rows.lie, minus)
        return Terms(float(value @ rows.weight), gradient, information)

    def _parts(self, scale: Floats) -> Floats:
        """Density of each leave, or chance of getting up and down: (2, N), solid and mishit."""
        out = np.empty((2, len(scale)))
        for mask, rate in ((self._is_leave, self._densities), (~self._is_leave, self._save_chances)):
            if mask.any():
                out[:, mask] = rate(self._spread(scale[mask], mask), mask)
        return out

    def _spread(self, scale: Floats, mask: NDArray[np.bool_]) -> _Spread:
        depth, depth_floor, line, line_floor, _, poor, poor_sd = self._level[:, mask]
        d = self._rows.distance_yd[mask]
        grow = np.exp(scale)
        return _Spread(
            along=np.hypot(depth * d, depth_floor) * grow,
            across=np.hypot(line * d, line_floor) * grow,
            poor_mean=(poor - 1.0) * d,
            poor_along=np.hypot(poor_sd * d, depth_floor * grow),
        )

    def _densities(self, spread: _Spread, mask: NDArray[np.bool_]) -> Floats:
        """Densities (2, n) of leaves, around the circle of that radius."""
        r = np.maximum(self._rows.leave_ft[mask], _HOLED_FT)[:, None] / 3.0
        angle = 2.0 * np.pi * (np.arange(_ANGLES) + 0.5) / _ANGLES
        y, x = r * np.cos(angle), r * np.sin(angle)
        solid = _normal(y, 0.0, spread.along) * _normal(x, 0.0, spread.across)
        poor = _normal(y, spread.poor_mean[:, None], spread.poor_along)
        poor = poor * _normal(x, 0.0, MISHIT_WIDER * spread.across)
        around = r[:, 0] * (2.0 * np.pi / _ANGLES)
        return np.stack([solid.sum(axis=1) * around, poor.sum(axis=1) * around])

    def _save_chances(self, spread: _Spread, mask: NDArray[np.bool_]) -> Floats:
        """Chances (2, n) that the next putt drops."""
        along, across = (part.ravel() for part in np.meshgrid(_NODES, _NODES))
        weight = np.outer(_NODE_WEIGHTS, _NODE_WEIGHTS).ravel()
        solid = np.hypot(spread.along[:, None] * along, spread.across[:, None] * across)
        poor_along = spread.poor_mean[:, None] + spread.poor_along[:, None] * along
        poor = np.hypot(poor_along, MISHIT_WIDER * spread.across[:, None] * across)
        putts = [holing_chance(self._putting, np.maximum(3.0 * leave, 0.05)) for leave in (solid, poor)]
        return np.stack([dropped @ weight for dropped in putts])


def _normal(x: Floats, mean: Floats | float, sd: Floats) -> Floats:
    """Normal density, sd (N,) along the first axis."""
    wide = sd[:, None]
    return np.asarray(np.exp(-0.5 * ((x - mean) / wide) ** 2) / (wide * np.sqrt(2.0 * np.pi)))


def tightest(shots: tuple[ShortShot, ...], distance_yd: float) -> int | None:
    """Which of some shots stops nearest on average from this distance; None if all are too short."""
    reach = [i for i, shot in enumerate(shots) if shot.longest_yd + 0.5 >= distance_yd]
    if not reach:
        return None

    def leave(i: int) -> float:
        shot = shots[i]
        along = np.hypot(shot.depth_sd * distance_yd, shot.depth_sd_floor_yd)
        across = np.hypot(np.tan(np.deg2rad(shot.line_sd_deg)) * distance_yd, shot.line_sd_floor_yd)
        poor = (1.0 - shot.mishit_depth) * distance_yd
        return float((1.0 - shot.mishit) * np.hypot(along, across) + shot.mishit * poor)

    return min(reach, key=leave)
