"""Ball unplayable (Rule 19) as a choice: drops for one penalty stroke from sand, thick grass and trees."""

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole.choices import ChoiceTable, Kind
from caddiebrain.hole.ground import CODE, Ground
from caddiebrain.hole.places import NO_SPOT, Places
from caddiebrain.terms import Lie

__all__ = ["unplayable_drops"]

_TWO_CLUBS = 2.5
_BACK = np.array([8.0, 16, 24, 32, 48, 64, 90])
_TURNS = 8


def unplayable_drops(
    ground: Ground,
    places: Places,
    node: NDArray[np.int64],
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    lie: NDArray[np.uint8],
) -> ChoiceTable:
    """Drops open to a ball at each position, other than stroke and distance.

    Lateral within two club-lengths not nearer the hole, and back on the line from the hole (Rule 19.2b, c), where
    the ball comes to a better kind of lie. From a bunker a drop back on the line outside it costs two strokes
    (Rule 19.3b); drops inside the same bunker gain nothing and are left out.
    """
    trees, thick, sand = CODE[Lie.TREES], CODE[Lie.THICK], CODE[Lie.SAND]
    tables = []
    for codes, back, strokes in (((trees, thick), False, 1), ((trees, thick), True, 1), ((sand,), True, 2)):
        at = np.flatnonzero((lie == codes[0]) | (lie == codes[-1]))
        if at.size:
            tables.append(_drops(ground, places, node[at], x[at], y[at], lie[at], back, strokes))
    empty = ChoiceTable.of(np.zeros(0, dtype=np.int64), Kind.DROP, 0)
    return ChoiceTable.join(tables) if tables else empty


def _drops(
    ground: Ground,
    places: Places,
    node: NDArray[np.int64],
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    lie: NDArray[np.uint8],
    back: bool,
    strokes: int,
) -> ChoiceTable:
    px, py = ground.hole.pin
    away = np.arctan2(x - px, y - py)
    if back:
        turn, reach = away[:, None] + np.zeros(len(_BACK)), np.broadcast_to(_BACK, (len(x), len(_BACK)))
    else:
        # A shade under two club-lengths keeps the drop inside the relief area whatever the rounding.
        turn = away[:, None] + np.arange(_TURNS) * (2 * np.pi / _TURNS)
        reach = np.full(turn.shape, _TWO_CLUBS - 0.05)
    at_x, at_y = x[:, None] + reach * np.sin(turn), y[:, None] + reach * np.cos(turn)
    cell = ground.frame.index(at_x, at_y)
    spot = places.spot_of_cell[cell]
    not_nearer = ground.from_pin(at_x, at_y) >= ground.from_pin(x, y)[:, None] - 1e-6
    better = (ground.lie[cell] != lie[:, None]) & (ground.lie[cell] != CODE[Lie.SAND])
    on_map = ground.frame.holds(at_x, at_y)
    row, column = np.nonzero((spot != NO_SPOT) & on_map & not_nearer & better)
    return ChoiceTable.of(node[row], Kind.DROP, spot[row, column], 0.0, float(strokes))
