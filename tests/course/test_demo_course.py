"""The demo course is what its description says: a believable par 72 with every kind of trouble in its place.

The course is invented; the figures here are its own card and the wishes it was drawn to.
"""

import json
from itertools import pairwise

import numpy as np
import pytest
import shapely

from caddiebrain.course.lies import PRECEDENCE
from caddiebrain.course.projection import METRES_PER_YARD
from caddiebrain.course.read import load_course
from caddiebrain.course.write import hole_plane
from caddiebrain.demo import course_path
from caddiebrain.terms import Lie

CARD = {
    1: (4, 368, 13), 2: (5, 515, 7), 3: (4, 398, 3), 4: (3, 161, 17), 5: (4, 429, 1), 6: (4, 296, 15),
    7: (4, 389, 5), 8: (3, 187, 11), 9: (5, 500, 9), 10: (4, 396, 4), 11: (4, 352, 16), 12: (3, 168, 12),
    13: (5, 528, 8), 14: (4, 383, 6), 15: (4, 429, 2), 16: (3, 146, 18), 17: (4, 340, 14), 18: (5, 486, 10),
}  # fmt: skip
"""Number -> par, yards, stroke index."""
NUMBERS = sorted(CARD)
LONG_HOLES = [n for n in NUMBERS if CARD[n][0] > 3]


@pytest.fixture(scope="module")
def course():
    return load_course(course_path())


@pytest.fixture(scope="module")
def document():
    return json.loads(course_path().read_text(encoding="utf-8"))


def lies_at(hole, spots):
    """The lie a ball has at each spot, by the order of precedence; plain rough under no area."""
    points, found = shapely.points(spots), np.full(len(spots), Lie.ROUGH, dtype=object)
    for lie in reversed(PRECEDENCE):
        for area in hole.areas:
            if area.lie is lie:
                found[shapely.intersects(area.shape, points)] = lie
    return found


def lie_at(hole, spot):
    return lies_at(hole, [spot])[0]


def ground(hole, *lies):
    return shapely.union_all([area.shape for area in hole.areas if area.lie in lies])


def own(hole, lie):
    """The ground of one lie that belongs to this hole rather than to a neighbour: nearest to its line."""
    line = shapely.LineString(hole.line)
    parts = [area.shape for area in hole.areas if area.lie is lie]
    return shapely.union_all([part for part in parts if part.distance(line) < 3.0])


def along(hole, s, d=0.0):
    """The spot s yards along the line and d to the right of it; a row for each if d are several."""
    line = shapely.LineString(hole.line)
    spot = np.array(line.interpolate(s).coords[0])
    ahead = np.array(line.interpolate(s + 0.5).coords[0]) - np.array(line.interpolate(s - 0.5).coords[0])
    ahead /= np.hypot(*ahead)
    return spot + np.multiply.outer(d, [ahead[1], -ahead[0]])


def stretch(hole, start, end):
    return shapely.ops.substring(shapely.LineString(hole.line), start, end)


def first_from_line(hole, s, lie, side):
    """Yards from the line, to one side (+1 right), at which a lie begins; None within 60 yards."""
    away = np.arange(0.0, 60.0, 0.25)
    return next(iter(away[lies_at(hole, along(hole, s, side * away)) == lie]), None)


def fairway_width(hole, s):
    across = lies_at(hole, along(hole, s, np.arange(-40.0, 40.0, 0.25)))
    return 0.25 * np.count_nonzero(across == Lie.FAIRWAY)


class TestTheCard:
    def test_holes_and_pars(self, course):
        card = {h.number: (h.par, round(h.length_yd), h.stroke_index) for h in course.holes}
        assert card == CARD
        assert course.par == 72
        assert 6300 <= course.length_yd <= 6600
        assert course.notes == ()

    def test_four_short_and_four_long_holes_two_of_each_on_either_nine(self, course):
        for nine in (course.holes[:9], course.holes[9:]):
            pars = [hole.par for hole in nine]
            assert (pars.count(3), pars.count(4), pars.count(5)) == (2, 5, 2)

    def test_stroke_indexes_are_odd_out_and_even_home(self, course):
        assert sorted(h.stroke_index for h in course.holes) == list(range(1, 19))
        assert all(h.stroke_index % 2 == (h.number <= 9) for h in course.holes)

    def test_lengths_in_the_file_agree_with_its_lines(self, course, document):
        rows = [f["properties"] for f in document["features"] if f["properties"].get("golf") == "hole"]
        tagged = {int(row["ref"]): float(row["dist"]) / METRES_PER_YARD for row in rows}
        for hole in course.holes:
            assert tagged[hole.number] == pytest.approx(hole.length_yd, abs=0.1)

    def test_three_tee_sets_everywhere_each_shorter_than_the_last(self, course):
        for hole in course.holes:
            assert list(hole.tees) == ["long", "club", "forward"]
            assert hole.tees["long"] == pytest.approx(hole.tee, abs=0.05)
            to_pin = [np.hypot(*np.subtract(spot, hole.pin)) for spot in hole.tees.values()]
            assert to_pin == sorted(to_pin, reverse=True)


class TestTheFile:
    def test_small_and_rounded_and_marked_as_ours(self, document):
        assert course_path().stat().st_size < 600_000
        assert document["caddiebrain"]["schema_version"] == 1
        for feature in document["features"]:
            shape = shapely.geometry.shape(feature["geometry"])
            xy = shapely.get_coordinates(shape)
            assert np.allclose(xy, np.round(xy, 7), rtol=0, atol=1e-12)

    def test_every_outline_is_sound_and_light(self, document):
        for feature in document["features"]:
            shape = shapely.geometry.shape(feature["geometry"])
            assert shape.is_valid
            if shape.geom_type == "Polygon":
                assert shape.exterior.is_simple
                assert shape.exterior.is_ccw  # RFC 7946, section 3.1.6
                assert len(shapely.get_coordinates(shape)) <= 54


@pytest.mark.parametrize("number", NUMBERS)
class TestEveryHole:
    def test_areas_are_sound(self, course, number):
        assert all(area.shape.is_valid and area.shape.area > 1.0 for area in course.hole(number).areas)

    def test_from_a_tee_to_a_pin(self, course, number):
        hole = course.hole(number)
        assert lie_at(hole, hole.tee) is Lie.TEE
        assert lie_at(hole, hole.pin) is Lie.GREEN
        assert all(lie_at(hole, pin) is Lie.GREEN for pin in hole.pins.values())
        assert set(hole.pins) == {"front", "middle", "back", "left", "right"}

    def test_the_green_is_of_a_usual_size(self, course, number):
        (green,) = [area.shape for area in course.hole(number).areas if area.lie is Lie.GREEN]
        box = shapely.minimum_rotated_rectangle(green)
        sides = sorted(np.hypot(*np.diff(shapely.get_coordinates(box), axis=0).T)[:2])
        assert 17.0 <= sides[0] <= sides[1] <= 34.0
        ring = np.vstack([shapely.get_coordinates(green), shapely.get_coordinates(green)[:1]])
        assert len(ring) > 12  # round, not a box

    def test_the_next_tee_is_a_short_walk(self, course, number):
        if number in (9, 18):
            return
        here, following = course.hole(number), course.hole(number + 1)
        tee = hole_plane(here).to_yards([following.origin_lonlat])[0]
        assert 20.0 < np.hypot(*(tee - here.pin)) < 130.0

    def test_sand_by_the_green_hugs_it(self, course, number):
        hole = course.hole(number)
        green = own(hole, Lie.GREEN)
        gaps = [a.shape.distance(green) for a in hole.areas if a.lie is Lie.SAND]
        close = [gap for gap in gaps if gap < 15.0]
        assert 1 <= len(close) <= 5
        assert all(1.5 < gap < 8.0 for gap in close)

    def test_woods_leave_fairway_green_bunkers_and_tees_free(self, course, number):
        hole = course.hole(number)
        woods = ground(hole, Lie.TREES)
        for lie in (Lie.FAIRWAY, Lie.GREEN, Lie.TEE, Lie.SAND):
            assert woods.intersection(own(hole, lie)).area < 1.0

    def test_the_ball_leaves_the_tee_unhindered(self, course, number):
        hole = course.hole(number)
        flight = stretch(hole, 0.0, min(150.0, hole.length_yd)).buffer(9.0)
        assert ground(hole, Lie.TREES, Lie.OUT).intersection(flight).area < 1.0


@pytest.mark.parametrize("number", LONG_HOLES)
class TestFairways:
    def test_rough_before_it_and_grass_at_two_hundred(self, course, number):
        hole = course.hole(number)
        begins = next(s for s in range(90, 200) if lie_at(hole, along(hole, s)) is Lie.FAIRWAY)
        assert 98 <= begins <= 145
        assert lie_at(hole, along(hole, 200.0)) is Lie.FAIRWAY

    def test_widths_are_usual(self, course, number):
        hole = course.hole(number)
        widest = max(fairway_width(hole, s) for s in range(170, 241, 10))
        assert 30.0 <= widest <= 50.0

    def test_no_two_holes_share_a_fairway(self, course, number):
        hole = course.hole(number)
        others = [a.shape for a in hole.areas if a.lie is Lie.FAIRWAY and a.shape.area > 400.0]
        for i, shape in enumerate(others):
            assert all(shape.intersection(other).area < 1.0 for other in others[i + 1 :])


class TestWhatTheCourseIsFor:
    def test_the_seventh_is_too_narrow_for_a_driver(self, course):
        hole = course.hole(7)
        assert all(17.0 <= fairway_width(hole, s) <= 23.0 for s in (230, 245, 260))
        assert all(36.0 <= fairway_width(hole, s) <= 46.0 for s in (180, 200, 208))
        for s in (230, 245, 260):
            assert 15.0 < first_from_line(hole, s, Lie.OUT, +1) < 20.0
            assert 13.0 < first_from_line(hole, s, Lie.TREES, -1) < 20.0
        for s in (180, 200):
            assert first_from_line(hole, s, Lie.OUT, +1) > 29.0
            assert first_from_line(hole, s, Lie.TREES, -1) > 26.0

    def test_the_last_tempts_in_two_over_water(self, course):
        hole = course.hole(18)
        pond = ground(hole, Lie.YELLOW)
        wet = [s for s in np.arange(200.0, 486.0, 0.5) if lie_at(hole, along(hole, s)) is Lie.YELLOW]
        assert 405.0 <= min(wet) <= max(wet) <= 450.0
        assert 190.0 <= max(wet) - 250.0 <= 205.0  # to carry, from where a good drive ends
        assert lie_at(hole, along(hole, 385.0)) is Lie.FAIRWAY  # room to lay up
        assert own(hole, Lie.GREEN).distance(pond) > 3.0

    def test_the_sixth_is_short_and_the_fourth_index_is_long(self, course):
        assert course.hole(6).length_yd < 305.0
        assert sum(hole.par == 4 and hole.length_yd > 425.0 for hole in course.holes) == 2

    def test_the_tenth_bends_around_tall_trees(self, course):
        hole = course.hole(10)
        assert hole.line[:, 0].max() > 35.0  # the corner, to the right of the straight line
        straight = shapely.LineString([hole.tee, hole.pin])
        tall = [a for a in hole.areas if a.lie is Lie.TREES and a.height_yd > 25.0]
        assert sum(a.shape.intersection(straight).length for a in tall) > 60.0

    def test_the_twelfth_has_sand_short_and_water_left(self, course):
        hole = course.hole(12)
        assert any(lie_at(hole, along(hole, s)) is Lie.SAND for s in range(136, 152))
        water = ground(hole, Lie.RED)
        green = own(hole, Lie.GREEN)
        assert 2.0 < water.distance(green) < 8.0
        assert shapely.get_coordinates(water)[:, 0].max() < shapely.get_coordinates(green)[:, 0].min()

    def test_out_of_bounds_is_near_on_two_holes_at_least(self, course):
        reach = [
            first_from_line(course.hole(n), s, Lie.OUT, side) for n, s, side in ((7, 245, 1), (13, 250, -1))
        ]
        assert all(d is not None and d < 36.0 for d in reach)
        assert sum(any(area.lie is Lie.OUT for area in hole.areas) for hole in course.holes) >= 6

    def test_a_red_brook_runs_along_the_third(self, course):
        hole = course.hole(3)
        edges = [first_from_line(hole, s, Lie.RED, +1) for s in range(60, 390, 15)]
        assert all(d is not None and 15.0 < d < 36.0 for d in edges)

    def test_a_yellow_pond_lies_across_the_fourteenth(self, course):
        hole = course.hole(14)
        pond = ground(hole, Lie.YELLOW)
        assert all(lie_at(hole, along(hole, 325.0, d)) is Lie.YELLOW for d in range(-30, 31, 10))
        assert pond.distance(own(hole, Lie.GREEN)) > 15.0

    def test_the_eleventh_is_wide_open(self, course):
        hole = course.hole(11)
        assert ground(hole, Lie.TREES).distance(stretch(hole, 100.0, 340.0)) > 38.0
        assert fairway_width(hole, 220.0) > 44.0
        assert (
            sum(a.lie is Lie.SAND and a.shape.distance(stretch(hole, 150, 300)) < 40 for a in hole.areas) == 0
        )

    def test_the_second_and_the_fifth_are_lined_with_trees(self, course):
        for number in (2, 5):
            hole = course.hole(number)
            sides = [first_from_line(hole, s, Lie.TREES, side) for s in (200, 240, 280) for side in (-1, 1)]
            assert all(d is not None and 25.0 < d < 45.0 for d in sides)

    def test_trees_have_heights_and_thick_woods_lose_balls(self, course):
        woods = [area for hole in course.holes for area in hole.areas if area.lie is Lie.TREES]
        assert all(10.0 < area.height_yd < 30.0 for area in woods)
        assert max(area.lost for area in woods) >= 0.25
        assert min(area.lost for area in woods) >= 0.05

    def test_holes_keep_apart(self, course):
        site = hole_plane(course.hole(1))
        lines = [
            shapely.LineString(site.to_yards(hole_plane(hole).to_lonlat(hole.line))) for hole in course.holes
        ]
        for i, line in enumerate(lines):
            assert all(not line.crosses(other) for other in lines[i + 1 :])
        mids = [shapely.ops.substring(line, 0.25, 0.75, normalized=True) for line in lines]
        for i, line in enumerate(mids):
            assert all(line.distance(other) > 65.0 for other in mids[i + 1 :])

    def test_nines_begin_and_end_at_the_house(self, course):
        site = hole_plane(course.hole(1))
        ends = [course.hole(1).tee, course.hole(10).tee, course.hole(9).pin, course.hole(18).pin]
        planes = [hole_plane(course.hole(n)) for n in (1, 10, 9, 18)]
        places = [site.to_yards(p.to_lonlat([xy]))[0] for p, xy in zip(planes, ends, strict=True)]
        for one, other in pairwise(places):
            assert np.hypot(*(one - other)) < 220.0
