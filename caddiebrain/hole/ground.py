"""The ground of one hole as a raster: the lie of every cell, trees, heights, and where a ball rests."""

from dataclasses import dataclass, fields
from functools import cached_property
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import RBFInterpolator
from scipy.spatial import cKDTree

from caddiebrain.course.lies import PRECEDENCE
from caddiebrain.course.model import Hole
from caddiebrain.course.relief import Edges
from caddiebrain.hole.grid import GridSpec
from caddiebrain.hole.raster import Frame, fill
from caddiebrain.terms import Lie

__all__ = ["CODE", "LIES", "PENALTY", "SPECIAL", "Canopy", "Ground", "survey"]

LIES: tuple[Lie, ...] = tuple(Lie)
CODE: dict[Lie, int] = {lie: i for i, lie in enumerate(LIES)}
PENALTY = (CODE[Lie.YELLOW], CODE[Lie.RED])
SPECIAL = (CODE[Lie.GREEN], CODE[Lie.YELLOW], CODE[Lie.RED], CODE[Lie.OUT])
"""Lies that are no place for an ordinary stroke: the green has its own states, the others cost strokes."""

_BEHIND_TEE = 15.0
_CANOPIES_MOST = 16
"""Canopies of different height that are told apart; with more of them heights are put in so many classes."""
Stands = dict[tuple[float, float, float, float], NDArray[np.bool_]]
"""Where trees stand, by top, base, gap and trunk gap."""
_NEAR_SPOTS = 24
"""Spot heights that a place takes its height from."""
_BROAD = 0.1
"""Spots whose spread across is less than this share of that along stand in a row."""
_STEPS = 16
"""Cells around each that are looked through; few rolls are longer."""
_CATCHES = np.array([code in (CODE[Lie.SAND], *PENALTY) for code in range(len(LIES))])


@dataclass(frozen=True)
class Canopy:
    """Trees of one height on a raster of ``frame``: True where they stand."""

    stands: NDArray[np.bool_]
    top: float
    base: float
    gap: float
    trunk_gap: float


@dataclass(frozen=True)
class Ground:
    """Raster of a hole.

    Parameters
    ----------
    lie : ndarray of uint8, shape (cells,)
        Index into ``LIES``.
    lost : ndarray of float32, shape (cells,)
        Chance that a ball at rest here is not found.
    height : ndarray of float32 or None
        Height above the tee in yards; None on level ground.
    """

    hole: Hole
    grid: GridSpec
    frame: Frame
    lie: NDArray[np.uint8]
    lost: NDArray[np.float32]
    canopies: tuple[Canopy, ...]
    height: NDArray[np.float32] | None

    def __getstate__(self) -> dict[str, Any]:
        # What follows from the fields is quickly made again.
        return {f.name: getattr(self, f.name) for f in fields(self)}

    @cached_property
    def catches(self) -> NDArray[np.bool_]:
        """Cells in which a rolling ball stays: sand and penalty areas."""
        caught: NDArray[np.bool_] = _CATCHES[self.lie]
        return caught

    @cached_property
    def clear(self) -> NDArray[np.uint8]:
        """How far, along either axis, a ball may roll from anywhere in a cell and not be caught, in cells.

        Flat, (4, cells): for ways to the right and onward, to the left and onward, to the right and back, to the left
        and back.
        """
        cells = self.catches.reshape(self.frame.rows, -1)
        return np.stack(
            [_clear(cells[::back, ::left])[::back, ::left] for back in (1, -1) for left in (1, -1)]
        ).ravel()

    @cached_property
    def gates(self) -> NDArray[np.bool_]:
        """Whether either cell beside a piece of line between cells catches a ball.

        Flat: lines between rows, (rows + 1, columns), then lines between columns, (columns + 1, rows).
        """
        cells = self.catches.reshape(self.frame.rows, -1)
        lines = []
        for along in (cells, cells.T):
            edged = np.pad(along, ((1, 1), (0, 0)))
            lines.append((edged[:-1] | edged[1:]).ravel())
        return np.concatenate(lines)

    @cached_property
    def loses(self) -> bool:
        """Whether a ball can be lost anywhere."""
        return bool(self.lost.any())

    @cached_property
    def along_line(self) -> NDArray[np.float64]:
        """Points (n, 2) every 2 yards along the line of play."""
        line = self.hole.line
        along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
        at = np.append(np.arange(0.0, along[-1], 2.0), along[-1])
        return np.stack([np.interp(at, along, line[:, 0]), np.interp(at, along, line[:, 1])], axis=1)

    def lie_at(self, x: NDArray[np.floating], y: NDArray[np.floating]) -> NDArray[np.uint8]:
        """Lie codes of positions in the hole's yards."""
        return self.lie.take(self.frame.index(x, y))

    def height_at(self, x: NDArray[np.floating], y: NDArray[np.floating]) -> NDArray[np.float32]:
        """Heights above the tee, yards; only where the ground is not level."""
        if self.height is None:
            return np.zeros(np.broadcast(x, y).shape, dtype=np.float32)
        return self.height[self.frame.index(x, y)]

    def from_pin(self, x: NDArray[np.floating], y: NDArray[np.floating]) -> NDArray[np.floating]:
        """Distance to the pin, yards."""
        px, py = self.hole.pin
        distance: NDArray[np.floating] = np.hypot(x - px, y - py)
        return distance

    def from_line(self, x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
        """Distance to the line of play, yards."""
        least = np.full(len(x), np.inf)
        for (ax, ay), (bx, by) in pairwise(np.asarray(self.hole.line, dtype=np.float64)):
            dx, dy = bx - ax, by - ay
            share = np.clip(((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy), 0.0, 1.0)
            np.minimum(least, np.hypot(x - ax - share * dx, y - ay - share * dy), out=least)
        return least

    @cached_property
    def edges(self) -> Edges:
        """Exact edges of the areas."""
        return Edges(self.hole)


def _clear(catches: NDArray[np.bool_]) -> NDArray[np.uint8]:
    """How many squares around their first cell, each a cell wider, have no catch; the first alone counts for none."""
    # Columns are shifted in one piece, so that the last one looks at the next row as well: never too far.
    reached, clear = catches.flatten(), np.zeros(catches.size, dtype=np.uint8)
    wide = catches.shape[1]
    for _ in range(_STEPS):
        reached[:-wide] |= reached[wide:]
        reached[:-1] |= reached[1:]
        clear += ~reached
    return clear.reshape(catches.shape)


def survey(hole: Hole, grid: GridSpec) -> Ground:
    """Lay the raster over a hole and paint its areas by the order of precedence."""
    frame = _frame(hole, grid)
    lie = np.full(frame.size, CODE[Lie.ROUGH], dtype=np.uint8)
    lost = np.zeros(frame.size, dtype=np.float32)
    rank = {kind: i for i, kind in enumerate(PRECEDENCE)}
    stands: Stands = {}
    for area in sorted(hole.areas, key=lambda a: -rank[a.lie]):
        inside = fill(area.shape, frame)
        if not inside.any():
            continue
        # A ball that ends on another tee is played as from the fairway.
        lie[inside] = CODE[Lie.FAIRWAY if area.lie is Lie.TEE else area.lie]
        lost[inside] = area.lost
        if area.lie is Lie.TREES and area.height_yd > 0:
            kind = (area.height_yd, area.canopy_base_yd, area.canopy_gap_yd, area.trunk_gap_yd)
            stands[kind] = stands.get(kind, np.zeros(frame.size, dtype=bool)) | inside
    open_ground = np.isin(lie, [CODE[Lie.FAIRWAY], CODE[Lie.GREEN], CODE[Lie.SAND], CODE[Lie.TIGHT]])
    canopies = tuple(Canopy(trees & ~open_ground, *kind) for kind, trees in sorted(_alike(stands).items()))
    return Ground(hole, grid, frame, lie, lost, canopies, _heights(hole, frame))


def _alike(stands: Stands) -> Stands:
    """Take trees of much the same height together where a map gives nearly every tree one of its own.

    Every canopy is looked through by itself. Heights are put in classes of even width; a class is as high as its
    trees are on average, weighed by the ground they cover.
    """
    if len(stands) <= _CANOPIES_MOST:
        return stands
    tops = np.array([kind[0] for kind in stands])
    width = np.ptp(tops) / _CANOPIES_MOST
    classes: dict[tuple[float, ...], list[tuple[float, NDArray[np.bool_]]]] = {}
    for (top, *rest), trees in stands.items():
        step = min(int((top - tops.min()) / width), _CANOPIES_MOST - 1) if width else 0
        classes.setdefault((step, *rest), []).append((top, trees))
    joined: Stands = {}
    for (_, base, gap, trunk_gap), members in classes.items():
        cells = [np.count_nonzero(trees) for _, trees in members]
        top = float(np.average([top for top, _ in members], weights=cells))
        joined[top, base, gap, trunk_gap] = np.logical_or.reduce([trees for _, trees in members])
    return joined


def _frame(hole: Hole, grid: GridSpec) -> Frame:
    corners = np.concatenate([hole.line, [hole.tee]])
    low = corners.min(axis=0) - grid.margin
    high = corners.max(axis=0) + grid.margin
    low[1] = max(low[1], corners[:, 1].min() - _BEHIND_TEE)
    # Borders on whole multiples of the coarsest spot, so that halving cells keeps the same ground.
    low = np.floor(low / 4.0) * 4.0
    high = np.ceil(high / 4.0) * 4.0
    columns, rows = np.rint((high - low) / grid.cell).astype(int)
    return Frame(float(low[0]), float(low[1]), int(columns), int(rows), grid.cell)


def _heights(hole: Hole, frame: Frame) -> NDArray[np.float32] | None:
    """Spread the map's spot heights over the raster with a smooth surface."""
    if hole.heights is None or len(hole.heights) == 0 or np.ptp(hole.heights[:, 2]) < 1e-6:
        return None
    spots = np.asarray(hole.heights, dtype=float)
    coarse = max(1, round(10.0 / frame.cell))
    columns = np.arange(0, frame.columns + coarse, coarse)
    rows = np.arange(0, frame.rows + coarse, coarse)
    gx, gy = np.meshgrid(frame.x_min + columns * frame.cell, frame.y_min + rows * frame.cell)
    values = _surface(spots, np.stack([gx.ravel(), gy.ravel()], axis=1)).reshape(gx.shape)
    values = np.clip(values, spots[:, 2].min(), spots[:, 2].max())
    fine = _enlarge(values, coarse)[: frame.rows, : frame.columns]
    tee = frame.index(np.array([hole.tee[0]]), np.array([hole.tee[1]]))
    flat = fine.astype(np.float32).ravel()
    heights: NDArray[np.float32] = flat - flat[tee]
    return heights


def _surface(spots: NDArray[np.float64], places: NDArray[np.float64]) -> NDArray[np.float64]:
    """Heights (n,) of places (n, 2) from spot heights (m, 3): a thin plate through the nearest of them.

    A thin plate also takes a slope from its spots. Spots in a row, as along the line of a hole, show none to the
    side; there heights are taken from the distances to the spots alone.
    """
    near = min(_NEAR_SPOTS, len(spots))
    _, nearest = cKDTree(spots[:, :2]).query(places, k=np.arange(1, near + 1))
    group = spots[nearest, :2] - spots[nearest, :2].mean(axis=1, keepdims=True)
    across, along = np.linalg.eigvalsh(np.einsum("nki,nkj->nij", group, group)).T
    broad = bool(((across >= (_BROAD * _BROAD) * along) & (along > 0.0)).all())
    surface = RBFInterpolator(
        spots[:, :2],
        spots[:, 2],
        neighbors=near,
        kernel="thin_plate_spline" if broad else "linear",
        degree=1 if broad else 0,
        smoothing=1e-6,
    )
    heights: NDArray[np.float64] = surface(places)
    return heights


def _enlarge(values: NDArray[np.float64], factor: int) -> NDArray[np.float64]:
    """Bilinear enlargement of a grid of corner values to its cells."""
    steps = (np.arange(factor) + 0.5) / factor
    along = values[:-1, None, :] * (1 - steps)[None, :, None] + values[1:, None, :] * steps[None, :, None]
    along = along.reshape(-1, values.shape[1])
    across = along[:, :-1, None] * (1 - steps) + along[:, 1:, None] * steps
    return across.reshape(along.shape[0], -1)
