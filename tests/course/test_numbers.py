"""Holes by numbers: the drawn ground has the lengths, widths and distances that were asked for, to the yard.

There is no outside source for such a form; its own words are the measure. Distances are checked with shapely
on the finished areas, not with the code that drew them.
"""

import json
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from caddiebrain.course.lies import PRECEDENCE
from caddiebrain.course.numbers import is_numbers, numbers_schema, read_numbers
from caddiebrain.course.read import load_course
from caddiebrain.terms import Lie

ROOT = Path(__file__).parents[2]
HEATH = ROOT / "course_specs" / "heath_by_numbers.json"


def straight(**more):
    """A plain straight hole of 400 yards, fairway 30 wide from 100 to 380."""
    hole = {
        "number": 1,
        "par": 4,
        "stroke_index": 1,
        "length": 400,
        "fairway": [{"from": 100, "to": 380, "width": 30}],
        "green": {"depth": 30, "width": 24},
    }
    return {**hole, **more}


def course_of(*holes, **more):
    data = {"format": "holes-by-numbers", "schema_version": 1, "name": "Made up", "holes": list(holes)}
    return {**data, **more}


def read(*holes, **more):
    return read_numbers(course_of(*holes, **more), "test")


def one(hole, **more):
    return read(hole, **more).holes[0]


def with_feature(**feature):
    return one(straight(features=[feature]))


def areas(hole, lie):
    return [area for area in hole.areas if area.lie is lie]


def shape(hole, lie):
    return shapely.union_all([area.shape for area in areas(hole, lie)])


def lie_at(hole, spot):
    here = {area.lie for area in hole.areas if area.shape.intersects(shapely.Point(spot))}
    return next((lie for lie in PRECEDENCE if lie in here), Lie.ROUGH)


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


SIDES = {"left": -1.0, "right": 1.0}


class TestFeatures:
    def test_water_right_210_to_260_eight_off_the_fairway(self):
        hole = with_feature(
            **{"kind": "water", "side": "right", "from": 210, "to": 260, "offset": 8, "width": 25}
        )
        (water,) = areas(hole, Lie.RED)
        assert water.shape.bounds == pytest.approx((23.0, 210.0, 48.0, 260.0), abs=0.05)
        assert water.shape.distance(shape(hole, Lie.FAIRWAY)) == pytest.approx(8.0, abs=0.5)

    @pytest.mark.parametrize(
        ("kind", "lie"),
        [
            ("bunker", Lie.SAND),
            ("yellow", Lie.YELLOW),
            ("red", Lie.RED),
            ("trees", Lie.TREES),
            ("thick", Lie.THICK),
            ("tight", Lie.TIGHT),
            ("out", Lie.OUT),
        ],
    )
    @pytest.mark.parametrize("side", SIDES)
    def test_every_kind_fills_the_box_it_was_given(self, kind, lie, side):
        hole = with_feature(**{"kind": kind, "side": side, "from": 150, "to": 230, "offset": 6, "width": 18})
        (area,) = areas(hole, lie)
        near, far = sorted((SIDES[side] * 21.0, SIDES[side] * 39.0))
        assert area.shape.bounds == pytest.approx((near, 150.0, far, 230.0), abs=0.3)
        assert area.shape.is_valid
        assert area.shape.area > 0.6 * 80 * 18

    def test_a_feature_wider_than_long(self):
        hole = with_feature(
            **{"kind": "bunker", "side": "left", "from": 220, "to": 230, "offset": 2, "width": 24}
        )
        assert areas(hole, Lie.SAND)[0].shape.bounds == pytest.approx((-41.0, 220.0, -17.0, 230.0), abs=0.1)

    def test_offset_from_the_line(self):
        feature = {"kind": "red", "side": "left", "from": 200, "to": 300, "offset": 12, "width": 30}
        hole = with_feature(**feature, offset_from="line")
        assert shape(hole, Lie.RED).bounds[2] == pytest.approx(-12.0, abs=0.05)
        assert lie_at(hole, (-14.0, 250.0)) is Lie.RED  # it may eat into the fairway

    def test_a_burn_across(self):
        hole = with_feature(**{"kind": "water", "side": "across", "from": 300, "to": 306, "width": 120})
        burn = shape(hole, Lie.YELLOW)
        assert burn.bounds == pytest.approx((-60.0, 300.0, 60.0, 306.0), abs=0.05)
        assert lie_at(hole, (0.0, 303.0)) is Lie.YELLOW

    def test_a_bunker_in_the_middle_of_the_fairway(self):
        hole = with_feature(
            **{"kind": "bunker", "side": "centre", "from": 230, "to": 240, "offset": 5, "width": 8}
        )
        assert shape(hole, Lie.SAND).bounds == pytest.approx((1.0, 230.0, 9.0, 240.0), abs=0.05)

    @pytest.mark.parametrize(("kind", "lie"), [("trees", Lie.TREES), ("thick", Lie.THICK)])
    def test_a_clump_in_the_fairway_is_no_fairway(self, kind, lie):
        hole = with_feature(**{"kind": kind, "side": "centre", "from": 200, "to": 212, "width": 10})
        assert lie_at(hole, (0.0, 206.0)) is lie

    def test_heights_and_lost_balls(self):
        feature = {"kind": "trees", "side": "left", "from": 150, "to": 300, "offset": 9, "width": 30}
        (trees,) = areas(with_feature(**feature, height=18, lost=0.3), Lie.TREES)
        assert (trees.height_yd, trees.lost) == (18.0, 0.3)
        noted = read(straight(features=[feature])).notes
        assert noted == ("hole 1: trees without a height taken for 15 yards tall",)

    def test_water_takes_its_colour_from_its_side(self):
        side = {"kind": "water", "side": "left", "from": 200, "to": 240, "offset": 5, "width": 20}
        across = {"kind": "water", "side": "across", "from": 300, "to": 320, "width": 60}
        course = read(straight(features=[side, across]))
        assert {a.lie for a in course.holes[0].areas} >= {Lie.RED, Lie.YELLOW}
        assert course.notes == (
            "hole 1: water left taken for a red penalty area",
            "hole 1: water across taken for a yellow penalty area",
        )

    def test_on_a_hole_without_a_fairway_sides_count_from_the_line(self):
        feature = {"kind": "red", "side": "left", "from": 100, "to": 140, "offset": 15, "width": 20}
        par_3 = straight(par=3, length=150, fairway=[], features=[feature])
        assert shape(one(par_3), Lie.RED).bounds[2] == pytest.approx(-15.0, abs=0.05)

    def test_inside_a_sharp_dogleg_a_wood_stays_off_the_fairway(self):
        legs = [{"length": 220}, {"length": 180, "turn_deg": -85}]
        wood = {"kind": "trees", "side": "left", "from": 60, "to": 340, "offset": 8, "width": 90}
        hole = one(straight(legs=legs, features=[wood]))
        trees = shape(hole, Lie.TREES)
        assert trees.is_valid
        assert trees.intersection(shape(hole, Lie.FAIRWAY)).area < 1.0
        straight_at_the_pin = shapely.LineString([hole.tee, hole.pin])
        assert trees.intersection(straight_at_the_pin).length > 80.0

    @pytest.mark.parametrize("turn", [-90, -55, 35, 70, 85])
    @pytest.mark.parametrize(("kind", "width"), [("out", 150), ("trees", 60), ("thick", 100)])
    def test_inside_a_dogleg_the_ground_is_of_one_piece_without_slits(self, turn, kind, width):
        legs = [{"length": 186}, {"length": 131, "turn_deg": turn}]
        inside = {"side": "right" if turn > 0 else "left", "from": 22, "to": 312, "offset": 22}
        fairway = [{"from": 66, "to": 300, "width": 31}]
        feature = {"kind": kind, "width": width} | inside
        hole = one(straight(length=317, legs=legs, fairway=fairway, features=[feature]))
        ground = shape(hole, Lie(kind))
        closed = ground.buffer(0.1, join_style="mitre").buffer(-0.1, join_style="mitre")
        assert ground.length == pytest.approx(closed.length, abs=1.0)

    def test_bunkers_around_the_green(self):
        around = [
            {"at": "front left", "gap": 4, "length": 12, "width": 7},
            {"clock": 3, "gap": 2, "length": 10, "width": 6},
            {"at": "back", "kind": "thick", "gap": 5, "length": 14, "width": 8},
        ]
        hole = one(straight(green={"depth": 30, "width": 24, "around": around}))
        green = shape(hole, Lie.GREEN)
        (first, second), (third,) = areas(hole, Lie.SAND), areas(hole, Lie.THICK)
        assert [a.shape.distance(green) for a in (first, second, third)] == pytest.approx([4, 2, 5], abs=0.3)
        (x, y), (u, v), (w, z) = (a.shape.centroid.coords[0] for a in (first, second, third))
        assert (x < -5, y < 395, u > 12, abs(v - 400) < 4, abs(w) < 4, z > 415) == (True,) * 6
        for area, width in ((first, 7), (second, 6)):
            outer = max(green.distance(shapely.Point(p)) for p in area.shape.exterior.coords)
            assert outer - area.shape.distance(green) == pytest.approx(width, abs=0.7)

    def test_the_same_numbers_draw_the_same_shapes(self):
        feature = {"kind": "red", "side": "left", "from": 200, "to": 300, "offset": 12, "width": 30}
        one_way, other_way = with_feature(**feature), with_feature(**feature)
        assert all(a.shape.equals(b.shape) for a, b in zip(one_way.areas, other_way.areas, strict=True))


@st.composite
def features(draw):
    start = draw(st.integers(60, 330))
    return {
        "kind": draw(st.sampled_from(["bunker", "red", "yellow", "trees", "thick", "tight", "out"])),
        "side": draw(st.sampled_from(["left", "right", "across", "centre"])),
        "from": start,
        "to": start + draw(st.integers(4, 60)),
        "offset": draw(st.integers(0, 25)),
        "width": draw(st.integers(3, 90)),
    }


class TestAnyNumbers:
    @settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
    @given(features())
    def test_a_feature_keeps_its_distances_to_the_yard(self, feature):
        hole = with_feature(**feature)
        lie = {"bunker": Lie.SAND}.get(feature["kind"], feature["kind"])
        (area,) = [area for area in hole.areas if area.lie == lie]
        x0, y0, x1, y1 = area.shape.bounds
        if feature["side"] in ("left", "right"):
            near = 15.0 + feature["offset"]
            low, high = sorted(
                (SIDES[feature["side"]] * near, SIDES[feature["side"]] * (near + feature["width"]))
            )
        else:
            low, high = feature["offset"] - feature["width"] / 2, feature["offset"] + feature["width"] / 2
        assert area.shape.is_valid
        assert (x0, x1) == pytest.approx((low, high), abs=1.0)
        if feature["side"] in ("left", "right"):
            assert (y0, y1) == pytest.approx((feature["from"], feature["to"]), abs=1.0)

    @settings(deadline=None, max_examples=40, suppress_health_check=[HealthCheck.too_slow])
    @given(
        st.lists(st.tuples(st.integers(40, 220), st.integers(-90, 90)), min_size=1, max_size=4),
        st.lists(features(), max_size=3),
    )
    def test_any_bends_give_sound_areas_and_a_pin_on_the_green(self, bends, things):
        legs = [{"length": size, "turn_deg": turn if i else 0} for i, (size, turn) in enumerate(bends)]
        length = sum(size for size, _ in bends)
        headings = np.radians(np.cumsum([leg["turn_deg"] for leg in legs]))
        east, north = [size for size, _ in bends] @ np.column_stack([np.sin(headings), np.cos(headings)])
        assume(np.hypot(east, north) > 35.0)  # else the green lies on the tee, which is refused
        things = [
            thing for thing in things if thing["side"] in SIDES and thing["kind"] not in ("out", "bunker")
        ]
        hole_form = straight(
            par=3,
            length=length,
            legs=legs,
            fairway=[{"from": 0.3 * length, "to": 0.9 * length, "width": 30}],
            features=[{**t, "from": 0.3 * length, "to": 0.9 * length} for t in things],
        )
        hole = one(hole_form)
        assert hole.length_yd == pytest.approx(length)
        assert lie_at(hole, hole.pin) in (Lie.GREEN, Lie.YELLOW, Lie.RED)
        assert all(area.shape.is_valid and area.shape.area > 0.0 for area in hole.areas)


@pytest.fixture(scope="module")
def heath():
    return load_course(HEATH)


class TestTheHeath:
    CARD = (
        (4, 322), (4, 375), (3, 135), (4, 341), (5, 478), (4, 398), (3, 170), (4, 289), (4, 410),
        (4, 334), (4, 421), (3, 152), (4, 356), (4, 362), (5, 502), (4, 308), (3, 188), (4, 379),
    )  # fmt: skip

    def test_its_card(self, heath):
        assert tuple((hole.par, round(hole.length_yd, 3)) for hole in heath.holes) == self.CARD
        assert (heath.par, round(heath.length_yd)) == (70, 5920)
        assert sorted(hole.stroke_index for hole in heath.holes) == list(range(1, 19))
        assert heath.notes == ()
        assert all(hole.local_rule_e5 for hole in heath.holes)

    @pytest.mark.parametrize("number", range(1, 19))
    def test_every_hole_is_whole(self, heath, number):
        hole = heath.hole(number)
        assert all(area.shape.is_valid and area.shape.area > 1.0 for area in hole.areas)
        assert lie_at(hole, hole.tee) is Lie.TEE
        assert lie_at(hole, hole.pin) is Lie.GREEN
        assert set(hole.tees) == {"back", "day", "short"}
        assert len(areas(hole, Lie.SAND)) >= 2
        if hole.par > 3:
            fairway = shape(hole, Lie.FAIRWAY)
            assert fairway.intersection(shapely.LineString(hole.line)).length > 150.0
        woods = shape(hole, Lie.TREES)
        assert woods.intersection(shape(hole, Lie.FAIRWAY)).area < 1.0

    def test_tee_sets_are_chosen_by_name(self, heath):
        day = load_course(HEATH, tees="day")
        assert day.length_yd == pytest.approx(heath.length_yd - 18 * 14, abs=0.5)

    def test_it_is_told_apart_by_its_content(self, tmp_path):
        copy = tmp_path / "course.geojson"
        copy.write_text(HEATH.read_text(encoding="utf-8"), encoding="utf-8")
        assert load_course(copy).par == 70
        assert is_numbers(json.loads(HEATH.read_text(encoding="utf-8")))
        assert [is_numbers(other) for other in ([], {"format": "other"}, None)] == [False] * 3


def test_schema_names_its_dialect_and_every_field():
    schema = numbers_schema()
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    hole = schema["$defs"]["HoleForm"]["properties"]
    assert {"number", "par", "length", "legs", "fairway", "features", "green"} <= set(hole)
    assert "from" in schema["$defs"]["Feature"]["properties"]  # as files spell it
    json.dumps(schema)
