"""Greens, ground and boundaries as people draw them: each slip gives a course with a note, or a complaint.

The slips are those the OpenStreetMap wiki warns of (Key:golf, Tag:golf=hole) or that tags leave open, since
golf tagging was never voted on. All maps are invented.
"""

import json

import pytest
import shapely
from course_maps import Ground, disc, lie_at
from map_reading import complaint, noted, read

from caddiebrain.course import load_course
from caddiebrain.course.tags import length_yd
from caddiebrain.terms import Lie

NOTHING_OUT = "no out of bounds on the map; nothing is played as out"


class TestGreens:
    def test_one_for_two_holes(self, ground, saved):
        ground.hole(1)
        ground.hole(2, x=20.0, line=shapely.LineString([(20, 800), (20, 405)]), tee="yellow")
        ground.rows = [r for r in ground.rows if r[1]["golf"] not in ("green", "tee", "fairway")]
        ground.add(shapely.box(-12, 388, 40, 412), golf="green")
        ground.add(shapely.box(-5, -5, 5, 5), golf="tee").add(shapely.box(15, 795, 25, 805), golf="tee")
        ground.add(shapely.Point(0, 400), golf="pin").add(shapely.Point(30, 402), golf="pin")
        course = read(ground, saved)
        assert course.hole(1).pins.keys() == course.hole(2).pins.keys() == {"pin 1"}
        assert course.hole(1).length_yd == pytest.approx(400, abs=0.1)
        assert course.hole(2).length_yd == pytest.approx((10**2 + 398**2) ** 0.5, abs=0.1)
        assert all(lie_at(hole, *hole.pin) is Lie.GREEN for hole in course.holes)

    def test_of_another_hole_plays_as_fairway(self, ground, saved):
        """Rule 13.1f: a ball on a wrong green must be lifted and dropped off it."""
        ground.hole(1).hole(2, x=70.0)
        course = read(ground, saved)
        assert lie_at(course.hole(1), 70, 400) is Lie.FAIRWAY
        assert lie_at(course.hole(2), -70, 400) is Lie.FAIRWAY

    def test_for_practice_and_without_a_hole(self, ground, saved):
        ground.hole(1)
        ground.add(disc(60, 0, 10), golf="green", name="Putting green")
        ground.add(disc(-60, 30, 10), golf="practice_green").add(disc(-60, 80, 10), golf="green")
        ground.add(shapely.box(40, 100, 90, 300), golf="driving_range")
        course = read(ground, saved)
        hole = course.hole(1)
        assert [lie_at(hole, *xy) for xy in ((60, 0), (-60, 30), (-60, 80), (60, 200))] == [None] * 4
        assert noted(course, "a green without a hole; left out")
        assert noted(course, "not used, as they do not change how the ball lies: 3 practice ground")

    def test_a_practice_green_at_the_tee_does_not_turn_the_line(self, ground, saved):
        ground.hole(1).add(disc(0, -20, 12), golf="green", practice="yes")
        course = read(ground, saved)
        assert not noted(course, "turned round")
        assert lie_at(course.hole(1), *course.hole(1).pin) is Lie.GREEN


class TestGround:
    def test_fairway_in_pieces_and_shared(self, ground, saved):
        ground.hole(1).hole(2, x=90.0).drop(golf="fairway")
        ground.add(shapely.box(-15, 100, 15, 200), golf="fairway")
        ground.add(shapely.box(-15, 220, 105, 380), golf="fairway")
        course = read(ground, saved)
        first, second = course.holes
        assert [lie_at(first, 0, y) for y in (150, 210, 300)] == [Lie.FAIRWAY, None, Lie.FAIRWAY]
        assert lie_at(second, 0, 300) is Lie.FAIRWAY
        assert lie_at(first, 90, 300) is Lie.FAIRWAY

    def test_out_of_reach(self, ground, saved):
        ground.hole(1).add(shapely.box(135, 0, 160, 400), natural="wood")
        assert lie_at(read(ground, saved).hole(1), 140, 200) is None

    @pytest.mark.parametrize(
        ("tags", "lie"),
        [
            ({"natural": "water"}, Lie.YELLOW),
            ({"golf": "water_hazard", "natural": "water"}, Lie.YELLOW),
            ({"golf": "lateral_water_hazard", "natural": "water"}, Lie.RED),
            ({"natural": "wood"}, Lie.TREES),
            ({"landuse": "forest"}, Lie.TREES),
            ({"natural": "scrub"}, Lie.THICK),
            ({"golf": "rough"}, Lie.ROUGH),
            ({"golf": "rough", "lie": "thick"}, Lie.THICK),
            ({"golf": "fairway", "lie": "tight"}, Lie.TIGHT),
            ({"golf": "bunker", "natural": "sand"}, Lie.SAND),
            ({"natural": "sand"}, Lie.SAND),
            ({"golf": "out_of_bounds"}, Lie.OUT),
            ({"leisure": "golf_course"}, None),
            ({"golf": "clubhouse"}, None),
            ({"building": "yes"}, None),
        ],
    )
    def test_lies(self, ground, saved, tags, lie):
        ground.hole(1).add(shapely.box(30, 200, 60, 250), **tags)
        assert lie_at(read(ground, saved).hole(1), 45, 225) is lie

    def test_woods_and_their_numbers(self, ground, saved):
        ground.hole(1).add(shapely.box(30, 200, 60, 250), natural="wood")
        ground.add(shapely.box(-60, 200, -30, 250), natural="wood", height="18 ft")
        ground.add(shapely.Point(30, 300), natural="tree", diameter_crown="10")
        areas = [a for a in read(ground, saved).hole(1).areas if a.lie is Lie.TREES]
        assert [round(a.height_yd, 3) for a in areas] == [15.0, 6.0, 15.0]
        assert [a.lost for a in areas] == [0.08, 0.08, 0.0]
        assert areas[2].shape.area == pytest.approx(3.1416 * (5 / 0.9144) ** 2, rel=0.03)

    def test_a_course_as_large_wood_is_cut_down(self, ground, saved):
        big = shapely.box(-3000, -3000, 3000, 3000).difference(shapely.box(-40, -20, 40, 420))
        ground.hole(1).add(big, landuse="forest")
        hole = read(ground, saved).hole(1)
        wood = next(a.shape for a in hole.areas if a.lie is Lie.TREES)
        assert wood.bounds == pytest.approx((-200, -200, 200, 600), abs=0.5)
        assert lie_at(hole, 41, 200) is Lie.TREES
        assert lie_at(hole, 35, 200) is None

    def test_a_small_twist_is_mended(self, ground, saved):
        spike = shapely.Polygon([(30, 100), (60, 100), (60, 200), (45, 200), (45, 230), (45, 200), (30, 200)])
        assert not spike.is_valid
        course = read(ground.hole(1).add(spike, golf="water_hazard"), saved)
        assert noted(course, "its outline crosses itself; mended")
        assert lie_at(course.hole(1), 45, 150) is Lie.YELLOW

    def test_a_large_one_is_not(self, ground, saved):
        bow = shapely.Polygon([(30, 100), (60, 200), (30, 200), (60, 100)])
        ground.hole(1).add(bow, natural="water")
        assert "feature 6 (natural=water): found self-intersection at lon lat" in complaint(ground, saved)
        course = read(ground, saved, partial=True)
        assert noted(course, "feature 6 (natural=water)")
        assert lie_at(course.hole(1), 45, 180) is None

    def test_one_on_the_other_side_of_town_is_nobodys_business(self, ground, saved):
        bow = shapely.Polygon([(3000, 100), (3030, 200), (3000, 200), (3030, 100)])
        assert read(ground.hole(1).add(bow, natural="water"), saved).notes == (NOTHING_OUT,)


class TestOutOfBounds:
    def test_a_line_is_out_on_the_side_away_from_play(self, ground, saved):
        ground.hole(1).hole(2, x=100.0).add(shapely.LineString([(50, -20), (50, 450)]), golf="out_of_bounds")
        course = read(ground, saved)
        # Between two holes: out is the other hole's ground for each.
        assert lie_at(course.hole(1), 60, 200) is Lie.OUT
        assert lie_at(course.hole(1), 40, 200) is None
        assert lie_at(course.hole(2), -60, 200) is Lie.OUT
        assert lie_at(course.hole(2), -40, 200) is None

    @pytest.mark.parametrize("backward", [False, True])
    def test_a_bent_line(self, ground, saved, backward):
        corner = shapely.LineString([(50, -50), (50, 300), (80, 450), (-80, 450)])
        ground.hole(1).add(corner.reverse() if backward else corner, golf="out_of_bounds")
        hole = read(ground, saved).hole(1)
        for spot, lie in (
            ((60, 200), Lie.OUT),
            ((40, 200), None),
            ((70, 300), Lie.OUT),
            ((0, 460), Lie.OUT),
            ((0, 440), None),
            ((60, 440), None),
            ((-100, 200), None),
        ):
            assert lie_at(hole, *spot) is lie, spot

    def test_it_reaches_150_yards(self, ground, saved):
        ground.hole(1).add(shapely.LineString([(50, -50), (50, 450)]), golf="out_of_bounds")
        out = next(a for a in read(ground, saved).hole(1).areas if a.lie is Lie.OUT)
        assert out.shape.bounds == pytest.approx((50, -50, 200, 450), abs=0.1)

    def test_a_closed_boundary_around_the_course(self, ground, saved):
        ring = shapely.box(-50, -50, 50, 450)
        for shape in (ring, shapely.LineString(ring.exterior.coords)):
            course = read(Ground().hole(1).add(shape, golf="out_of_bounds"), saved)
            assert lie_at(course.hole(1), 60, 200) is Lie.OUT
            assert lie_at(course.hole(1), 40, 200) is None

    def test_a_closed_one_beside_the_hole(self, ground, saved):
        course = read(ground.hole(1).add(shapely.box(50, 100, 90, 300), golf="out_of_bounds"), saved)
        assert lie_at(course.hole(1), 60, 200) is Lie.OUT
        assert lie_at(course.hole(1), 95, 200) is None

    def test_the_golf_course_area_is_no_boundary(self, ground, saved):
        ground.hole(1).add(shapely.box(-50, -50, 50, 450), leisure="golf_course", name="Oak Bay")
        course = read(ground, saved)
        assert course.name == "Oak Bay"
        assert lie_at(course.hole(1), 60, 200) is None


class TestCoast:
    def test_water_lies_to_the_right_of_a_coastline(self, ground, saved):
        """OpenStreetMap wiki, Tag:natural=coastline: land on the left, water on the right."""
        ground.hole(1).add(shapely.LineString([(50, -200), (50, 600)]), natural="coastline")
        hole = read(ground, saved).hole(1)
        assert lie_at(hole, 60, 200) is Lie.YELLOW
        assert lie_at(hole, 40, 200) is None


class TestSeveralCourses:
    def two(self, ground):
        for name, x in (("North Dunes", 0.0), ("South Dunes", 2000.0)):
            ground.hole(1, x=x).hole(2, x=x + 260.0)
            ground.add(shapely.box(x - 100, -100, x + 400, 500), leisure="golf_course", name=name)
        return ground

    def test_are_told_apart_or_asked_for(self, ground, saved):
        text = complaint(self.two(ground), saved)
        assert "found 2 courses: North Dunes (2 holes); South Dunes (2 holes)" in text

    def test_by_part_of_the_name(self, ground, saved):
        course = read(self.two(ground), saved, course="south")
        assert (course.name, len(course.holes)) == ("South Dunes", 2)

    def test_by_a_name_that_is_not_there(self, ground, saved):
        text = complaint(self.two(ground), saved, course="west")
        assert "part of the name of one of: North Dunes, South Dunes" in text

    def test_a_whole_name_is_meant_before_a_part_of_another(self, ground, saved):
        self.two(ground).tagged(name="South Dunes")["name"] = "North Dunes Short"
        assert read(ground, saved, course="north dunes").name == "North Dunes"
        assert "one of: North Dunes, North Dunes Short" in complaint(ground, saved, course="north")

    def test_on_the_ground_of_one_club(self, ground, saved):
        """Key:golf:course:name tells the holes of several courses apart where one outline holds them all."""
        for number in (1, 2):
            ground.hole(number, x=260.0 * number, golf__course__name="Oak")
            ground.hole(number, x=260.0 * (number + 2), golf__course__name="Elm")
        ground.add(shapely.box(0, -100, 1500, 500), leisure="golf_course", name="Tree Club")
        assert "found 2 courses: Tree Club, Oak (2 holes); Tree Club, Elm" in complaint(ground, saved)
        course = read(ground, saved, course="elm")
        assert (course.name, len(course.holes)) == ("Tree Club, Elm", 2)

    def test_by_the_letters_of_their_numbers(self, ground, saved):
        for number in (1, 2):
            ground.hole(f"R{number}", x=260.0 * number, handicap=number)
            ground.hole(f"B {number}", x=260.0 * (number + 2), handicap=number)
        assert "found 2 courses: R (2 holes); B (2 holes)" in complaint(ground, saved)
        course = read(ground, saved, course="b")
        assert [(hole.number, hole.stroke_index) for hole in course.holes] == [(1, 1), (2, 2)]

    def test_one_line_by_itself_is_no_course(self, ground, saved):
        ground.hole(1).hole(2, x=260.0).add(shapely.LineString([(700, 0), (700, 80)]), golf="hole", ref="P1")
        course = read(ground, saved)
        assert [hole.number for hole in course.holes] == [1, 2]
        assert noted(course, "hole 1: its number is also on")

    def test_letters_alone_are_no_courses(self, ground, saved):
        for number in (1, 2):
            ground.hole(f"H{number}", x=260.0 * number, handicap=number)
        assert len(read(ground, saved).holes) == 2

    def test_by_the_name_of_the_holes(self, ground, saved):
        ground.hole(1, name="Lake 1").hole(2, x=260.0, name="Lake 2").hole(1, x=520.0, name="Hill 1")
        assert len(read(ground, saved, course="Lake").holes) == 2


def test_a_tagged_length_that_the_line_does_not_have(ground, saved):
    # Tag:golf=hole: dist is in metres unless a unit is written; 400 yd are 365.76 m.
    assert read(ground.hole(1, dist="366"), saved).notes == (NOTHING_OUT,)
    assert read(Ground().hole(1, dist="400 yd"), saved).notes == (NOTHING_OUT,)
    course = read(Ground().hole(1, dist="310"), saved)
    assert noted(course, "hole 1: measures 400 yd from the tee in play, the map's dist says 339 yd")


def test_a_length_for_each_number_of_a_line(ground, saved):
    ground.hole("1;10", par="4;4", handicap="1;10", dist="366;310")
    course = read(ground, saved, partial=True)
    assert not noted(course, "hole 1: measures")
    assert noted(course, "hole 10: measures 400 yd from the tee in play, the map's dist says 339 yd")


@pytest.mark.parametrize(
    ("text", "yards"),
    # Key:height: metres unless a unit is written; feet and inches as 12'6".
    [
        ("9.144", 10.0),
        ("9,144 m", 10.0),
        ("9,1 m", 9.1 / 0.9144),
        ("1,200 ft", 400.0),
        ("30'", 10.0),
        ("12'6\"", 12.5 / 3),
        ("12' 6\"", 12.5 / 3),
        ("12'6", None),
        ("tall", None),
    ],
)
def test_lengths_as_people_write_them(text, yards):
    assert length_yd(text) == (yards if yards is None else pytest.approx(yards))


def test_an_open_outline_is_closed_with_a_note(ground, saved):
    document = ground.hole(1).add(shapely.box(30, 100, 60, 200), golf="bunker").geojson()
    del document["features"][-1]["geometry"]["coordinates"][0][-1]
    course = load_course(saved(document))
    assert noted(course, "its outline was open; closed")
    assert lie_at(course.hole(1), 45, 150) is Lie.SAND


def test_a_course_astride_the_180th_meridian(saved):
    ground = Ground()
    document = ground.hole(1).hole(2, x=260.0).geojson()

    def shift(value):
        if isinstance(value[0], float):
            return [(value[0] + 3.1 - 0.001 + 180.0 + 180.0) % 360.0 - 180.0, value[1]]
        return [shift(part) for part in value]

    for row in document["features"]:
        row["geometry"]["coordinates"] = shift(row["geometry"]["coordinates"])
    text = json.dumps(document)
    assert "[-179.9" in text
    assert "[179.9" in text
    course = load_course(saved(text))
    assert [round(hole.length_yd) for hole in course.holes] == [400, 400]
