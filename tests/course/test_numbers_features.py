"""What lies beside a hole by numbers: in its place and of its size, to the yard."""

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from number_forms import areas, lie_at, one, read, shape, straight, with_feature

from caddiebrain.terms import Lie

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
