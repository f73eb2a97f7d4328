"""Trees seen from positions: rays cast over the tree raster, one bit for every few yards of a ray."""

import math
from dataclasses import dataclass, fields
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter

from caddiebrain.hole.ground import Canopy, Ground

__all__ = ["Bits", "Rays", "Sight", "Woods", "close_sight", "samples_upto"]

_DIRECTIONS = 120
_CLOSELY = 480
"""Directions from a position that stands for itself alone: with few, what is blurred for it does not average out."""
_STEP = 4.5
_RANGE = 270.0
_COARSE = 2.0
_PAD = int(_RANGE / _COARSE) + 2
_SAMPLES = round(_RANGE / _STEP)
_NEAR = math.ceil(4 * _STEP / _COARSE) + 1
"""Cells by which a sample may be off one four samples away on its ray."""
_AT_ONCE = 4_000
"""Bytes of samples read together, so that they stay near at hand."""
_FEW = 16
"""From so many cells it takes longer to find where trees are near than to read every sample."""
_NONE = np.uint64(0)
_ONE = np.uint64(1)

Bits = NDArray[np.uint64]

_BEFORE: Bits = (_ONE << np.arange(_SAMPLES + 1, dtype=np.uint64)) - _ONE
"""The bits of all samples before each one."""


@dataclass(frozen=True)
class Sight:
    """Trees seen from nodes.

    Parameters
    ----------
    canopies : tuple of Canopy
    seen : ndarray of uint64 (canopies, seeing nodes, directions + 1)
        For each canopy, the samples of each ray that lie under its trees, the nearest in the lowest bit. Rays are cast
        all around, evenly; the last is the first again.
    row : ndarray (nodes,)
        Row of a node in ``seen``; -1 for nodes that see no trees.
    """

    canopies: tuple[Canopy, ...]
    seen: Bits
    row: NDArray[np.int64]

    def __getstate__(self) -> dict[str, Any]:
        # What follows from the fields is quickly made again.
        return {f.name: getattr(self, f.name) for f in fields(self)}

    @cached_property
    def any_trees(self) -> Bits:
        """Samples under trees of any kind (seeing nodes, directions + 1)."""
        seen: Bits = np.bitwise_or.reduce(self.seen)
        return seen

    @cached_property
    def _wider(self) -> dict[int, Bits]:
        return {0: self.seen}

    @property
    def directions(self) -> int:
        """Rays from each position."""
        return int(self.seen.shape[-1]) - 1

    @property
    def _per_radian(self) -> float:
        return self.directions / (2 * np.pi)

    @property
    def step_yd(self) -> float:
        """Yards between the samples of a ray."""
        return _STEP

    def rays_within(self, turn: NDArray[np.floating]) -> NDArray[np.int64]:
        """Rays to one side that turns of so many radians may reach."""
        rays: NDArray[np.int64] = np.ceil(turn * self._per_radian).astype(np.int64)
        return rays

    def rays(self, row: NDArray[np.int64], heading: NDArray[np.floating]) -> "Rays":
        """Find the two rays beside each heading (radians)."""
        place = heading * self._per_radian
        low = np.floor(place)
        share = (place - low) * _STEP
        low -= self.directions * np.floor(low * (1.0 / self.directions))
        return Rays(self, row * (self.directions + 1) + low.astype(np.int64), share)

    def yards(
        self,
        canopy: int,
        row: NDArray[np.int64],
        heading: NDArray[np.floating],
        distance: NDArray[np.floating],
    ) -> NDArray[np.float64]:
        """Yards of trees along headings (radians) up to distances, linear between the two nearest rays."""
        return self.rays(row, heading).yards(canopy, samples_upto(distance))

    def about(
        self, row: NDArray[np.int64], heading: NDArray[np.floating], bend: NDArray[np.floating]
    ) -> Bits:
        """Samples that may lie under trees on ways that stray from a heading by ``bend`` radians at most.

        One row for each canopy, (canopies, ...).
        """
        below = self.rays(row, heading).below
        widest = int(self.rays_within(np.max(bend, initial=0.0)))
        seen = self._widened(widest).reshape(len(self.canopies), -1)
        about: Bits = seen.take(below, axis=1) | seen.take(below + 1, axis=1)
        return about

    def under_all(
        self, row: NDArray[np.int64], heading: NDArray[np.floating], rays: NDArray[np.int64]
    ) -> Bits:
        """Samples under trees on the ray nearest to each heading and on all ``rays`` (n,) to either side.

        One row for each canopy, (canopies, n).
        """
        seen, start = self.seen.reshape(len(self.seen), -1), row * (self.directions + 1)
        nearest = np.rint(heading * self._per_radian).astype(np.int64) % self.directions
        found: Bits = seen.take(start + nearest, axis=1)
        for turn in range(1, int(rays.max(initial=0)) + 1):
            some = np.flatnonzero(rays >= turn)
            ray, first = nearest[some], start[some]
            beside = seen.take(first + (ray + turn) % self.directions, axis=1)
            beside &= seen.take(first + (ray - turn) % self.directions, axis=1)
            found[:, some] &= beside
        return found

    def _widened(self, rays: int) -> Bits:
        """Samples under each canopy's trees on each ray or one of so many to either side."""
        if rays not in self._wider:
            inner = self._widened(rays - 1)
            seen = inner.copy()
            seen[..., 1:] |= inner[..., :-1]
            seen[..., :-1] |= inner[..., 1:]
            seen[..., 0] |= inner[..., -2]  # the last ray is the first
            seen[..., -1] |= inner[..., 1]
            self._wider[rays] = seen
        return self._wider[rays]

    def first_trees(
        self,
        row: NDArray[np.int64],
        heading: NDArray[np.floating],
        start: NDArray[np.floating],
        stop: NDArray[np.floating],
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Direction and distance of a place some way into the first trees between two distances.

        On the nearer of the two rays beside each heading, on the other where that has no trees. All arrays (n,).
        """
        place = heading * self._per_radian
        nearest = np.rint(place)
        other = nearest + np.where(place > nearest, 1.0, -1.0)
        first = np.minimum(np.maximum(np.rint(start / _STEP).astype(np.int64), 0), _SAMPLES)
        last = np.maximum(np.rint(stop / _STEP).astype(np.int64), first + 1)
        within = _BEFORE.take(first) ^ _BEFORE.take(np.minimum(last, _SAMPLES))
        start_of_row = row * (self.directions + 1)
        ray: NDArray[np.float64] = nearest
        sample = self._into_trees(start_of_row, ray, within)
        clear = np.flatnonzero(sample == _SAMPLES)
        far = self._into_trees(start_of_row[clear], other[clear], within[clear])
        ray[clear] = np.where(far < _SAMPLES, other[clear], ray[clear])
        sample[clear] = np.where(far < _SAMPLES, far, first[clear])
        return ray / self._per_radian, (sample.astype(np.float64) + 0.5) * _STEP

    def _into_trees(
        self, start: NDArray[np.int64], ray: NDArray[np.floating], within: Bits
    ) -> NDArray[np.int64]:
        """First sample under trees, or the one behind it where trees go on; ``_SAMPLES`` if there is none."""
        trees = self.any_trees.reshape(-1).take(start + ray.astype(np.int64) % self.directions) & within
        lowest = trees & (~trees + _ONE)
        goes_on = trees & (lowest << _ONE) != _NONE
        return np.where(trees != _NONE, np.bitwise_count(lowest - _ONE) + goes_on, _SAMPLES)


@dataclass(frozen=True)
class Rays:
    """The rays on either side of headings: the place of the lower in ``Sight.seen``, the upper's share in yards."""

    sight: Sight
    below: NDArray[np.int64]
    share: NDArray[np.float64]

    def yards(self, canopy: int | NDArray[np.int64], within: Bits) -> NDArray[np.float64]:
        """Yards of a canopy's trees on some samples of each ray."""
        seen = self.sight.seen.reshape(-1)
        at = self.below + canopy * self.sight.seen[0].size
        yards: NDArray[np.float64] = np.bitwise_count(seen.take(at) & within) * (_STEP - self.share)
        yards += np.bitwise_count(seen.take(at + 1) & within) * self.share
        return yards


def samples_upto(distance: NDArray[np.floating]) -> Bits:
    """Samples of a ray up to a distance in yards, 0 or more."""
    nearest = np.minimum(distance * (1.0 / _STEP) + 0.5, _SAMPLES)
    bits: Bits = _BEFORE.take(nearest.astype(np.int64))
    return bits


def _closed(seen: Bits) -> Bits:
    """Put the first ray behind the last, so that every ray has one above it."""
    return np.concatenate([seen, seen[..., :1]], axis=-1)


@dataclass(frozen=True)
class Woods:
    """The trees of a hole on a coarse raster with a wide border, ready to cast rays over.

    Parameters
    ----------
    ground : Ground
    stands : tuple of ndarray of bool (rows * width,)
        Where the trees of each canopy stand.
    side : float
        Yards of a cell.
    offset : ndarray of int64 (directions, samples)
        From the cell of a position to those along its rays.
    """

    ground: Ground
    stands: tuple[NDArray[np.bool_], ...]
    side: float
    offset: NDArray[np.int64]

    @classmethod
    def of(cls, ground: Ground) -> "Woods":
        """Lay the raster over the trees of a hole."""
        frame = ground.frame
        factor = max(1, round(_COARSE / frame.cell))
        side = factor * frame.cell
        cells = slice(factor // 2, None, factor)
        grids = [c.stands.reshape(frame.rows, frame.columns)[cells, cells] for c in ground.canopies]
        aside, ahead = _samples_of(_DIRECTIONS)
        step_column, step_row = (np.rint(way / side).astype(np.int64) for way in (aside, ahead))
        offset = step_row * _shape(ground, factor)[1] + step_column
        return cls(ground, tuple(np.pad(grid, _PAD).ravel() for grid in grids), side, offset)

    def sight_from(self, x: NDArray[np.float64], y: NDArray[np.float64]) -> Sight | None:
        """Cast rays from positions over the trees; None where there are no trees.

        ``Sight.row`` is -1 for positions that see none.
        """
        if not self.stands:
            return None
        frame = self.ground.frame
        rows, width = _shape(self.ground, round(self.side / frame.cell))
        # The middle of the first cell read; see `of`.
        first = frame.cell * (round(self.side / frame.cell) // 2 + 0.5)
        column = np.rint((x - frame.x_min - first) / self.side).astype(np.int64)
        row = np.rint((y - frame.y_min - first) / self.side).astype(np.int64)
        column = np.minimum(np.maximum(column, 0), width - 2 * _PAD - 1) + _PAD
        row = np.minimum(np.maximum(row, 0), rows - 2 * _PAD - 1) + _PAD
        start, of_start = np.unique(row * width + column, return_inverse=True)
        seen = np.stack([_cast(stands.reshape(rows, width), start, self.offset) for stands in self.stands])
        sees = (np.bitwise_or.reduce(seen, axis=(0, 2)) != _NONE)[of_start]
        number = np.where(sees, np.cumsum(sees) - 1, -1)
        return Sight(self.ground.canopies, seen[:, of_start[sees]], number)


def _shape(ground: Ground, factor: int) -> tuple[int, int]:
    """Rows and columns of the coarse raster with its border."""
    rows, columns = (
        len(range(factor // 2, n, factor)) + 2 * _PAD for n in (ground.frame.rows, ground.frame.columns)
    )
    return rows, columns


def _cast(stands: NDArray[np.bool_], start: NDArray[np.int64], offset: NDArray[np.int64]) -> Bits:
    """Read a raster at ``start`` (cells,) plus ``offset`` (directions, samples), a bit for each sample.

    From many cells samples are read eight by eight, and only where trees stand near the middle of them.
    """
    bits = np.zeros((len(start), len(offset), 8), dtype=np.uint8)
    if len(start) <= _FEW:
        seen = stands.ravel().take(start[:, None, None] + offset)
        bits[:, :, : -(-offset.shape[1] // 8)] = np.packbits(seen, axis=2, bitorder="little")
        return _closed(bits.view("<u8")[:, :, 0].astype(np.uint64))
    near, stands = maximum_filter(stands, 2 * _NEAR + 1).ravel(), stands.ravel()
    more = -offset.shape[1] % 8
    eights = np.pad(offset, ((0, 0), (0, more)), mode="edge").reshape(len(offset), -1, 8)
    for byte in range(eights.shape[1]):
        some = np.flatnonzero(near.take(start[:, None] + eights[:, byte, 4]))
        for low in range(0, len(some), _AT_ONCE):
            pair = some[low : low + _AT_ONCE]
            cell, ray = np.divmod(pair, len(offset))
            seen = stands.take(start.take(cell)[:, None] + eights[:, byte].take(ray, axis=0))
            bits.reshape(-1)[8 * pair + byte] = np.packbits(seen, bitorder="little")
    return _closed(bits.view("<u8")[:, :, 0].astype(np.uint64) & _BEFORE[offset.shape[1]])


def close_sight(ground: Ground, x: NDArray[np.float64], y: NDArray[np.float64]) -> Sight | None:
    """Cast four times as many rays from positions (n,), over the fine raster; None where there are no trees."""
    if not ground.canopies:
        return None
    aside, ahead = _samples_of(_CLOSELY)
    seen = np.empty((len(ground.canopies), len(x), _CLOSELY), dtype=np.uint64)
    for i in range(len(x)):
        at_x, at_y = x[i] + aside, y[i] + ahead
        cell, on_map = ground.frame.index(at_x, at_y), ground.frame.holds(at_x, at_y)
        for canopy, found in zip(ground.canopies, seen[:, i], strict=True):
            found[:] = _bits(canopy.stands.take(cell) & on_map)
    sees = np.bitwise_or.reduce(seen, axis=(0, 2)) != _NONE
    return Sight(ground.canopies, _closed(seen[:, sees]), np.where(sees, np.cumsum(sees) - 1, -1))


def _samples_of(directions: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Where rays all around are read, yards to the right and ahead of a position, (directions, samples).

    Every other ray is read half a step further out, so that what is read between two of them is as good as with steps
    half as long.
    """
    ray = np.arange(directions)
    angle, first = ray * (2 * np.pi / directions), np.where(ray % 2, 0.75, 0.25)
    far = (np.arange(_SAMPLES) + first[:, None]) * _STEP
    return np.sin(angle)[:, None] * far, np.cos(angle)[:, None] * far


def _bits(samples: NDArray[np.bool_]) -> Bits:
    """Pack samples (rays, samples), the nearest into the lowest bit."""
    packed = np.zeros((len(samples), 8), dtype=np.uint8)
    packed[:, : -(-_SAMPLES // 8)] = np.packbits(samples, axis=1, bitorder="little")
    return packed.view("<u8")[:, 0].astype(np.uint64)
