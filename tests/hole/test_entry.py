"""Where balls cross into water, against walks followed one by one."""

import math

import numpy as np
from shapely import Point, box
from small_holes import code, straight_hole

from caddiebrain.course.model import Area
from caddiebrain.hole.entry import EntryTable
from caddiebrain.hole.grid import GridSpec
from caddiebrain.hole.ground import survey
from caddiebrain.terms import Lie


def walked_back(ground, water, column, row, turn):
    """Cell before the first one that is dry, in the way of ``turn`` (radians from the y axis), or the map's last."""
    frame, cell, paces = ground.frame, (column, row), 0
    while True:
        paces += 1
        there = (
            math.floor(0.5 + paces * math.sin(turn)) + column,
            math.floor(0.5 + paces * math.cos(turn)) + row,
        )
        if not (0 <= there[0] < frame.columns and 0 <= there[1] < frame.rows):
            return cell
        cell = there
        if not water[cell[1] * frame.columns + cell[0]]:
            return cell


def test_every_ball_in_water_is_walked_back_to_the_first_dry_cell():
    lake = Point(20, 150).buffer(18).difference(Point(22, 150).buffer(4))
    to_the_edge = box(-500, 80, -10, 95)
    hole = straight_hole()
    wet = tuple(Area(Lie.RED, shape) for shape in (lake, to_the_edge))
    ground = survey(type(hole)(1, 4, 1, hole.line, (*hole.areas, *wet)), GridSpec())
    table, frame = EntryTable.of(ground), ground.frame
    water = ground.lie == code(Lie.RED)
    cells = np.flatnonzero(water)
    rng = np.random.default_rng(5)
    some = rng.choice(cells, 600)
    turn = rng.integers(0, 32, 600) * (2 * math.pi / 32)
    found = table.crossing(some.astype(np.int32), np.sin(turn), np.cos(turn))
    for cell, angle, entry in zip(some, turn, found, strict=True):
        row, column = divmod(int(cell), frame.columns)
        there = walked_back(ground, water, column, row, angle)
        assert entry == there[1] * frame.columns + there[0]
    assert np.count_nonzero(water[found])  # walks that leave the map end in the water
