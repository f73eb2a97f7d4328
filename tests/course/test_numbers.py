"""Holes by numbers: the drawn ground has the lengths, widths and distances that were asked for, to the yard.

There is no outside source for such a form; its own words are the measure. Distances are checked with shapely
on the finished areas, not with the code that drew them.
"""

import json

import numpy as np
import pytest
import shapely
from number_forms import lie_at, one, shape, straight

from caddiebrain.course.numbers import numbers_schema
from caddiebrain.terms import Lie


class TestTheLine:
    def test_a_straight_hole_runs_up_the_page(self):
        hole = one(straight())
        assert hole.line == pytest.approx(np.array([[0.0, 0.0], [0.0, 400.0]]))
        assert hole.length_yd == pytest.approx(400.0)
        assert (hole.par, hole.stroke_index, hole.number) == (4, 1, 1)

    def test_legs_turn_where_they_say(self):
        legs = [{"length": 240}, {"length": 160, "turn_deg": 60}]
        hole = one(straight(legs=legs, bearing_deg=350))
        first, second = np.diff(hole.line, axis=0)
        assert np.hypot(*first) == pytest.approx(240.0)
        assert np.hypot(*second) == pytest.approx(160.0)
        headings = np.degrees(np.arctan2([first[0], second[0]], [first[1], second[1]]))
        assert headings[1] - headings[0] == pytest.approx(60.0)  # right is clockwise
        # By the law of cosines tee and pin are sqrt(240^2 + 160^2 + 240*160) = sqrt(121600) yards apart.
        assert hole.pin == pytest.approx((0.0, 121600**0.5))
        # The first leg looks along 350 degrees, the y axis that much farther right.
        assert (hole.bearing_deg - 350.0) % 360.0 == pytest.approx(-headings[0])

    def test_a_left_turn_puts_the_corner_to_the_right(self):
        hole = one(straight(legs=[{"length": 200}, {"length": 200, "turn_deg": -40}]))
        assert hole.line[1, 0] > 30.0

    def test_metres(self):
        hole = one(straight(), units="metres")
        assert hole.length_yd == pytest.approx(400 / 0.9144)
        assert np.ptp(shapely.get_coordinates(shape(hole, Lie.GREEN))[:, 1]) == pytest.approx(30 / 0.9144)

    def test_tees_stand_ahead_of_the_longest(self):
        hole = one(straight(tees={"Long": 0, "short": 60}))
        assert hole.tees == {"long": (0.0, 0.0), "short": (0.0, 60.0)}
        assert lie_at(hole, (0.0, 60.0)) is lie_at(hole, (0.0, 0.0)) is Lie.TEE

    def test_climb_gives_heights_that_rise_along_the_line(self):
        hole = one(straight(climb=8))
        x, y, z = hole.heights.T
        assert z[np.argmin(np.hypot(x, y))] == pytest.approx(0.0, abs=0.7)
        assert z[np.argmin(np.hypot(x, y - 400.0))] == pytest.approx(8.0)
        middle = np.abs(y - 210.0) < 1.0
        assert z[middle] == pytest.approx(np.full(3, 8.0 * 210 / 400), abs=0.05)
        assert one(straight()).heights is None

    def test_climbs_of_legs_add_up(self):
        legs = [{"length": 200, "climb": -6}, {"length": 200, "turn_deg": 20, "climb": 10}]
        z = one(straight(legs=legs)).heights[:, 2]
        assert z.max() == pytest.approx(4.0)
        assert z.min() == pytest.approx(-6.0, abs=0.7)


class TestGround:
    def test_the_fairway_keeps_its_width_and_place(self):
        rows = [
            {"at": 110, "width": 24},
            {"from": 180, "to": 220, "width": 40, "offset": 5},
            {"at": 260, "width": 20, "offset": -4},
            {"at": 380, "width": 30},
        ]
        fairway = shape(one(straight(fairway=rows)), Lie.FAIRWAY)
        assert fairway.bounds[1] == pytest.approx(110.0, abs=0.01)
        assert fairway.bounds[3] == pytest.approx(380.0, abs=0.01)
        for s, left, right in ((180, -15, 25), (200, -15, 25), (220, -15, 25), (260, -14, 6)):
            across = fairway.intersection(shapely.LineString([(-90, s), (90, s)]))
            assert across.bounds[0] == pytest.approx(left, abs=0.6)
            assert across.bounds[2] == pytest.approx(right, abs=0.6)

    def test_the_green_has_its_depth_and_width(self):
        green = shape(one(straight()), Lie.GREEN)
        x0, y0, x1, y1 = green.bounds
        assert (x1 - x0, y1 - y0) == pytest.approx((24.0, 30.0))
        assert (y0 + y1) / 2 == pytest.approx(400.0)

    def test_a_turned_green_lies_askew(self):
        green = shape(one(straight(green={"depth": 36, "width": 16, "turn_deg": 30})), Lie.GREEN)
        xy = shapely.get_coordinates(green) - [0.0, 400.0]
        ahead = np.array([0.5, 3**0.5 / 2])  # 30 degrees right of the line
        assert np.ptp(xy @ ahead) == pytest.approx(36.0)
        assert np.ptp(xy @ [ahead[1], -ahead[0]]) == pytest.approx(16.0)

    def test_pins_by_the_sheet(self):
        green = {
            "depth": 30,
            "width": 24,
            "pins": {"Friday": {"front": 8, "left": 6}, "sunday": {"front": 22, "right": 5}},
        }
        hole = one(straight(green=green))
        assert set(hole.pins) == {"middle", "friday", "sunday"}
        outline = shape(hole, Lie.GREEN)
        for name, front, side in (("friday", 8, "left"), ("sunday", 22, "right")):
            x, y = hole.pins[name]
            assert y == pytest.approx(400 - 15 + front)
            edge = outline.intersection(shapely.LineString([(-50, y), (50, y)])).bounds
            gap = x - edge[0] if side == "left" else edge[2] - x
            assert gap == pytest.approx(6 if side == "left" else 5)

    def test_ends_of_the_line(self):
        hole = one(straight())
        assert lie_at(hole, hole.tee) is Lie.TEE
        assert lie_at(hole, hole.pin) is Lie.GREEN
        assert lie_at(hole, (0.0, 60.0)) is Lie.ROUGH
        assert lie_at(hole, (0.0, 250.0)) is Lie.FAIRWAY


def test_schema_names_its_dialect_and_every_field():
    schema = numbers_schema()
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    hole = schema["$defs"]["HoleForm"]["properties"]
    assert {"number", "par", "length", "legs", "fairway", "features", "green"} <= set(hole)
    assert "from" in schema["$defs"]["Feature"]["properties"]  # as files spell it
    json.dumps(schema)
