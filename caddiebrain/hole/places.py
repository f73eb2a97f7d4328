"""Where decisions are made (nodes) and where balls rest (spots), and the interpolation between the two.

A spot is a small square of one lie. Its value is the bilinear mean of the four nodes around it that stand for
the same lie, so a lie's edge is as sharp as the raster while decisions are worked out on a wide lattice. In the
decision graph a spot is a state with one free outcome set: interpolation is a chance event, not an
approximation outside the model.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt
from scipy.sparse import csr_array

from caddiebrain.hole.ground import CODE, SPECIAL, Ground
from caddiebrain.hole.ways import MOWN, SHORT_GRASS, puttable
from caddiebrain.terms import Lie

__all__ = ["NO_SPOT", "Places", "putt_distances", "settle"]

NO_SPOT = -1

# fmt: off
_PUTTS_FT = np.array([
    0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4, 5, 6, 7, 8, 9, 10, 12, 14, 16, 18, 20, 23, 26, 30, 35, 40, 46, 53, 60, 70,
    80, 95, 110, 130, 150, 180,
], dtype=float)
# fmt: on


def putt_distances() -> NDArray[np.float64]:
    """Distances, in feet, at which putting is worked out."""
    return _PUTTS_FT


@dataclass(frozen=True)
class Places:
    """Nodes and spots of a hole.

    Parameters
    ----------
    x, y : ndarray (nodes,)
        Position of each node, yards; the tee is node 0.
    lie : ndarray of uint8 (nodes,)
    putts : ndarray of bool (nodes,)
        Nodes that stand for ground off the green from which a ball can be putted, and for no other.
    spot_of_cell : ndarray of int32 (cells,)
        Spot of a raster cell, ``NO_SPOT`` where the lie is special.
    spot_x, spot_y, spot_lie : ndarray (spots,)
    spot_node : ndarray of int32 (spots, 4)
    spot_weight : ndarray (spots, 4)
        Bilinear weights, each row sums to 1.
    putt_bins : int
        Number of putting-distance bins of ``grid.putt_step_ft``, the first centred on 0 feet.
    """

    x: NDArray[np.float64]
    y: NDArray[np.float64]
    lie: NDArray[np.uint8]
    putts: NDArray[np.bool_]
    spot_of_cell: NDArray[np.int32]
    spot_x: NDArray[np.float64]
    spot_y: NDArray[np.float64]
    spot_lie: NDArray[np.uint8]
    spot_node: NDArray[np.int32]
    spot_weight: NDArray[np.float64]
    putt_bins: int

    def to_nodes(self, spots: NDArray[np.integer] | slice = slice(None)) -> csr_array:
        """Weights of the nodes in some spots, or all, (spots, nodes)."""
        weight, node = self.spot_weight[spots], self.spot_node[spots]
        start = np.arange(
            0, weight.size + 1, weight.shape[1], dtype=node.dtype
        )  # one type keeps scipy from copying
        return csr_array((weight.ravel(), node.ravel(), start), shape=(len(weight), len(self.x)))


def settle(ground: Ground) -> Places:
    """Cut the playable ground into spots and lay the lattices of nodes under them."""
    spot_of_cell, spot_x, spot_y, spot_lie, scale = _spots(ground)
    keys, weights = _corners(ground, spot_x, spot_y, spot_lie, scale)
    unique, node = np.unique(keys.ravel(), return_inverse=True)
    x, y, lie, at_scale = _unpack(ground, unique)
    nodes = x, y, lie, at_scale
    x, y = _moved(ground, nodes, (spot_x, spot_y), node.reshape(keys.shape), weights)
    tee = ground.hole.tee
    return Places(
        x=np.concatenate([[tee[0]], x]),
        y=np.concatenate([[tee[1]], y]),
        lie=np.concatenate([[CODE[Lie.TEE]], lie]).astype(np.uint8),
        putts=np.concatenate([[False], at_scale == _COLLAR]),
        spot_of_cell=spot_of_cell,
        spot_x=spot_x,
        spot_y=spot_y,
        spot_lie=spot_lie,
        spot_node=(node.reshape(keys.shape) + 1).astype(np.int32),
        spot_weight=weights,
        putt_bins=round(_PUTTS_FT[-1] / ground.grid.putt_step_ft) + 1,
    )


def _moved(
    ground: Ground,
    nodes: tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.uint8], NDArray[np.int64]],
    spots: tuple[NDArray[np.float64], NDArray[np.float64]],
    node: NDArray[np.int64],
    weight: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Move nodes that stand where the spots they serve do not to the middle of those spots.

    A corner of the lattice may lie beyond the edge of its lie. On open ground that does no harm; but a ball in the
    rough beside a wood must not be worth what it would be ten yards inside, nor one among trees what it would be
    in the open, and from the edge of a green one does not putt as from on it.

    Parameters
    ----------
    nodes : (x, y, lie, scale), each an ndarray (nodes,)
    spots : (x, y), each an ndarray (spots,)
    node, weight : ndarray (spots, 4)
        Which nodes stand for each spot, and how much.
    """
    x, y, lie, scale = nodes
    wrong = (scale == _COLLAR) & ~MOWN[ground.lie_at(x, y)]
    wooded = np.zeros(ground.frame.size, dtype=bool)
    for canopy in ground.canopies:
        wooded |= canopy.stands
    if wooded.any():
        wrong |= wooded[ground.frame.index(x, y)] != (lie == CODE[Lie.TREES])
    if not wrong.any():
        return x, y
    total = np.bincount(node.ravel(), weight.ravel(), len(x))
    middle = [
        np.bincount(node.ravel(), (weight * at[:, None]).ravel(), len(x)) / np.maximum(total, 1e-12)
        for at in spots
    ]
    wrong &= total > 1e-9
    return np.where(wrong, middle[0], x), np.where(wrong, middle[1], y)


def _scales(ground: Ground) -> NDArray[np.int64]:
    """Scale of every cell: near the pin, puttable there, open ground, the edge of a wood, or seldom played from."""
    grid, hole, frame = ground.grid, ground.hole, ground.frame
    x, y = frame.centres()
    from_pin = ground.from_pin(x, y)
    from_tee = np.hypot(x - hole.tee[0], y - hole.tee[1])
    beyond = (from_pin > grid.near_radius) & (from_tee > np.hypot(*np.subtract(hole.pin, hole.tee)))
    wood = ground.lie == CODE[Lie.TREES]
    seldom = (from_tee < _SELDOM_YD) | beyond | (ground.from_line(x, y) > grid.wide)
    if wood.any():
        # Off the map there is more wood: its border is no edge.
        inside = np.pad(wood.reshape(frame.rows, frame.columns), 1, mode="edge")
        depth = distance_transform_edt(inside)[1:-1, 1:-1].ravel() * frame.cell
        seldom |= depth > _DEEP_YD
    scale = np.where(seldom, _SPARSE, np.where(wood, _EDGE, _OPEN))
    scale = np.where(from_pin < grid.near_radius, _NEAR, scale)
    short = np.flatnonzero((scale == _NEAR) & np.isin(ground.lie, SHORT_GRASS))
    scale[short[puttable(ground, x[short], y[short])]] = _COLLAR
    return scale


def _spots(
    ground: Ground,
) -> tuple[NDArray[np.int32], NDArray[np.float64], NDArray[np.float64], NDArray[np.uint8], NDArray[np.int64]]:
    grid, frame = ground.grid, ground.frame
    x, y = frame.centres()
    scale = _scales(ground)
    side = np.where((scale == _NEAR) | (scale == _COLLAR), grid.near_spot, grid.spot)
    column = ((x - frame.x_min) / side).astype(np.int64)
    row = ((y - frame.y_min) / side).astype(np.int64)
    key = ((ground.lie.astype(np.int64) * _SCALES + scale) * 8192 + row) * 8192 + column
    playable = ~np.isin(ground.lie, SPECIAL)
    unique, inverse = np.unique(key[playable], return_inverse=True)
    count = np.bincount(inverse)
    spot_of_cell = np.full(frame.size, NO_SPOT, dtype=np.int32)
    spot_of_cell[playable] = inverse
    spot_x = np.bincount(inverse, x[playable]) / count
    spot_y = np.bincount(inverse, y[playable]) / count
    lie, scales = np.divmod(unique // (8192 * 8192), _SCALES)
    return spot_of_cell, spot_x, spot_y, lie.astype(np.uint8), scales


_SPAN = 4096
_OPEN, _NEAR, _SPARSE, _EDGE, _COLLAR = range(5)
_SCALES = 5
_DEEP_YD = 14.0
"""Further than this inside a wood few balls come to rest."""
_SELDOM_YD = 110.0
"""Nearer the tee than this, and further than ``near_radius`` past the pin, few balls come to rest."""


def _corners(
    ground: Ground,
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    lie: NDArray[np.uint8],
    scale: NDArray[np.int64],
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Keys of the four lattice corners around each spot, with bilinear weights."""
    px, py = ground.hole.pin
    step = _steps(ground)[scale]
    # Lattices are anchored at the pin, offset by half a step so that no node sits in the hole.
    gx, gy = (x - px) / step + 0.5, (y - py) / step + 0.5
    i, j = np.floor(gx).astype(np.int64), np.floor(gy).astype(np.int64)
    fx, fy = gx - i, gy - j
    di = np.array([0, 1, 0, 1])
    dj = np.array([0, 0, 1, 1])
    kind = lie.astype(np.int64) * _SCALES + scale
    column = i[:, None] + di + _SPAN // 2
    row = j[:, None] + dj + _SPAN // 2
    key = (kind[:, None] * _SPAN + row) * _SPAN + column
    wx = np.where(di == 0, 1 - fx[:, None], fx[:, None])
    wy = np.where(dj == 0, 1 - fy[:, None], fy[:, None])
    return key, wx * wy


def _steps(ground: Ground) -> NDArray[np.float64]:
    """Lattice spacing of each scale."""
    grid = ground.grid
    return np.array(
        [grid.lattice, grid.near_lattice, grid.sparse_lattice, grid.wood_lattice, grid.collar_lattice]
    )


def _unpack(
    ground: Ground, key: NDArray[np.int64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.uint8], NDArray[np.int64]]:
    px, py = ground.hole.pin
    kind, rest = np.divmod(key, _SPAN * _SPAN)
    row, column = np.divmod(rest, _SPAN)
    step = _steps(ground)[kind % _SCALES]
    x = px + (column - _SPAN // 2 - 0.5) * step
    y = py + (row - _SPAN // 2 - 0.5) * step
    return x, y, (kind // _SCALES).astype(np.uint8), kind % _SCALES
