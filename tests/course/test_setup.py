"""The day's set-up on invented holes."""

import numpy as np
import pytest
import shapely
from course_maps import disc, lie_at

from caddiebrain.course import Setup, hole_plane, load_course, pin_places, prepare
from caddiebrain.errors import CourseError, InputError, UnknownError
from caddiebrain.terms import Lie


@pytest.fixture
def course(ground, saved):
    """Hole 1 is straight; hole 2 turns right at 250; both have a forward tee 60 yards on, 10 to the right."""
    ground.hole(1, x=0.0).add(shapely.box(6, 56, 14, 64), golf="tee", tee="red")
    bent = shapely.LineString([(600, 0), (600, 250), (750, 350)])
    ground.hole(2, x=600.0, line=bent, par=4)
    ground.drop(golf="green").drop(golf="bunker")
    ground.add(disc(0, 400, 12), golf="green")
    ground.add(shapely.box(735, 330, 765, 370), golf="green").add(disc(720, 350, 5), golf="bunker")
    ground.add(shapely.box(606, 56, 614, 64), golf="tee", tee="red")
    ground.add(shapely.Point(2, 398), golf="pin", pin_name="cup")
    ground.add(shapely.MultiPoint([(0, 0), (0, 400)]))
    document = ground.geojson(own=True)
    spots = document["features"][-1]["geometry"]["coordinates"]
    document["features"][-1]["geometry"]["coordinates"] = [
        [*spot, z] for spot, z in zip(spots, (0.0, 9.144), strict=True)
    ]
    return load_course(saved(document))


def test_nothing_asked_nothing_moved(course):
    same = prepare(course, Setup())
    for before, after in zip(course.holes, same.holes, strict=True):
        assert np.array_equal(before.line, after.line)
        assert before.areas == after.areas


def test_the_forward_tee(course):
    hole = prepare(course, Setup(tees="Red")).hole(1)
    assert hole.tee == (0.0, 0.0)
    assert hole.length_yd == pytest.approx(np.hypot(10, 340), abs=0.05)
    # The y axis looks from (10, 60) to (0, 400): the old tee is 60 behind and 10 left of the new one.
    assert hole.tees["white"] == pytest.approx((-10.0 * 340 / 340.15 - 60 * 10 / 340.15, -59.68), abs=0.05)
    assert hole.pin == pytest.approx((0.0, 340.15), abs=0.05)
    assert lie_at(hole, 0, 0) is Lie.TEE
    assert lie_at(hole, *hole.tees["white"]) is Lie.FAIRWAY


def test_ground_stays_where_it_is_on_earth(course):
    before, after = course.hole(2), prepare(course, Setup(tees="red", pin="back")).hole(2)

    def on_earth(hole, lie):
        shape = max((area.shape for area in hole.areas if area.lie is lie), key=lambda s: s.area)
        return hole_plane(hole).to_lonlat([[shape.centroid.x, shape.centroid.y]])[0]

    for lie in (Lie.GREEN, Lie.SAND, Lie.FAIRWAY):
        assert on_earth(before, lie) == pytest.approx(on_earth(after, lie), abs=1e-9)
    assert on_earth(before, Lie.GREEN) != pytest.approx(hole_plane(after).to_lonlat([[0, 0]])[0], abs=1e-5)


def test_a_dogleg_keeps_its_turn(course):
    hole = prepare(course, Setup(tees="red")).hole(2)
    assert len(hole.line) == 3
    assert hole.length_yd == pytest.approx(np.hypot(10, 190) + np.hypot(150, 100), abs=0.1)


def test_the_back_tee_comes_back_to_where_it_was(course):
    there = prepare(course, Setup(tees="red"))
    back = prepare(there, Setup(tees="white"))
    for before, after in zip(course.holes, back.holes, strict=True):
        assert after.line == pytest.approx(before.line, abs=0.01)
        assert (after.bearing_deg - before.bearing_deg + 180) % 360 == pytest.approx(180, abs=1e-3)


def test_pin_places_on_a_round_green(course):
    # A green of radius 12 about (0, 400), pins 4 yards inside its edge: 8 from the middle. A circle drawn
    # with 24 corners is up to 0.1 yd smaller.
    hole = course.hole(1)
    places = pin_places(hole)
    assert places["middle"] == pytest.approx((0, 400), abs=0.01)
    assert places["front"] == pytest.approx((0, 392), abs=0.15)
    assert places["back"] == pytest.approx((0, 408), abs=0.15)
    assert places["left"] == pytest.approx((-8, 400), abs=0.15)
    assert places["right"] == pytest.approx((8, 400), abs=0.15)


def test_front_of_a_dogleg_is_toward_its_turn(course):
    # The green spans (735..765, 330..370) east and north; a player comes in along (150, 100).
    places = pin_places(course.hole(2))
    plane = np.array(places["front"]) - np.array(places["back"])
    line = course.hole(2).line
    way_in = line[-1] - line[-2]
    cosine = plane @ way_in / np.hypot(*plane) / np.hypot(*way_in)
    assert cosine == pytest.approx(-1.0, abs=1e-6)


def test_a_small_green_has_its_pins_halfway_to_the_edge(ground, saved):
    ground.hole(1).drop(golf="green").add(shapely.box(-3, 397, 3, 403), golf="green")
    places = pin_places(load_course(saved(ground.geojson(own=True))).hole(1))
    assert places["front"] == pytest.approx((0, 398.5), abs=0.01)


def test_pins_by_hole_and_by_coordinates(course):
    today = prepare(course, Setup(pin={1: (3.0, 404.0), 2: "front"}))
    assert today.hole(1).length_yd == pytest.approx(np.hypot(3, 404), abs=0.01)
    assert today.hole(1).pin[0] == pytest.approx(0.0, abs=1e-9)
    assert today.hole(2).length_yd < course.hole(2).length_yd


def test_a_pin_of_the_map_by_its_name_is_kept(course):
    assert "cup" in course.hole(1).pins
    assert prepare(course, Setup(pin="back")).hole(1).pins["cup"][1] < 400


def test_heights_move_with_the_hole(course):
    hole = prepare(course, Setup(tees="red")).hole(1)
    assert hole.heights[:, 2] == pytest.approx([0.0, 10.0], abs=1e-6)  # 9.144 m are 10 yards
    assert hole.heights[1, :2] == pytest.approx(hole.pin, abs=0.01)


def test_a_temporary_green(course):
    hole = prepare(course, Setup(temporary_greens={1: (5.0, 340.0)})).hole(1)
    assert hole.length_yd == pytest.approx(np.hypot(5, 340), abs=0.01)
    assert lie_at(hole, *hole.pin) is Lie.GREEN
    assert [area.lie for area in hole.areas].count(Lie.GREEN) == 1


def test_local_rule(course):
    assert prepare(course, Setup(local_rule_e5=True)).hole(1).local_rule_e5
    assert not prepare(course, Setup()).hole(1).local_rule_e5


class TestRefused:
    def test_a_pin_off_the_green_names_every_hole(self, course):
        with pytest.raises(CourseError) as caught:
            prepare(course, Setup(pin={1: (0.0, 300.0), 2: (0.0, 0.0)}))
        assert [fault.where for fault in caught.value.faults] == ["hole 1: pin", "hole 2: pin"]
        assert "0, 300, 88 yd off the green" in str(caught.value)

    @pytest.mark.parametrize(
        ("spot", "why"),
        [
            ((0.0, -50.0), "0 yd ahead of the tee"),
            ((0.0, 20.0), "20 yd ahead of the tee"),
            ((300.0, 200.0), "yd off the line of play"),
            ((20.0, 400.0), "in sand"),
            ((0.0, 300.0), "in red"),
            ((-60.0, 300.0), "in out"),
        ],
    )
    def test_a_temporary_green_where_nobody_would_cut_one(self, ground, saved, spot, why):
        ground.hole(1).add(shapely.box(-5, 290, 5, 310), golf="lateral_water_hazard")
        ground.add(shapely.box(-90, 200, -50, 400), golf="out_of_bounds")
        hole = load_course(saved(ground.geojson(own=True)))
        with pytest.raises(CourseError) as caught:
            prepare(hole, Setup(temporary_greens={1: spot}))
        (fault,) = caught.value.faults
        assert fault.where == "hole 1: temporary green"
        assert fault.found.startswith(f"{spot[0]:g}, {spot[1]:g}, ")
        assert why in fault.found

    def test_unknown_tees_name_those_there_are(self, course):
        with pytest.raises(UnknownError, match="no hole has tees 'gold'; the course has red, white"):
            prepare(course, Setup(tees="gold"))

    def test_a_hole_the_course_has_not(self, course):
        with pytest.raises(UnknownError, match="hole 3 is not on"):
            prepare(course, Setup(pin={3: "front"}))

    @pytest.mark.parametrize(
        "bad",
        [{"firmness": 1.5}, {"firmness": float("nan")}, {"pin": "centre"}, {"rough": "tall"}, {"x": 1}],
    )
    def test_values_outside_their_range(self, bad):
        with pytest.raises(InputError, match=f"set-up: {next(iter(bad))}: found .*; expected"):
            Setup(**bad)

    def test_tees_on_some_holes_only_are_noted(self, ground, saved):
        ground.hole(1).hole(2, x=300.0).add(shapely.box(6, 56, 14, 64), golf="tee", tee="red")
        course = load_course(saved(ground.geojson(own=True)))
        assert (
            "hole 2: has no tee 'red'; played from its usual tee" in prepare(course, Setup(tees="red")).notes
        )


def test_set_up_survives_json():
    setup = Setup(tees="red", pin={4: "left", 5: (1.0, 380.5)}, temporary_greens={3: (0.0, 100.0)})
    assert Setup.model_validate_json(setup.model_dump_json()) == setup
