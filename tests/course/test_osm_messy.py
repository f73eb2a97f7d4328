"""Holes, tees and pins as people tag them: each slip gives a course with a note, or a complaint that names the feature.

The slips are those the OpenStreetMap wiki warns of (Key:golf, Tag:golf=hole) or that tags leave open, since
golf tagging was never voted on. All maps are invented.
"""

import numpy as np
import pytest
import shapely
from course_maps import disc, lie_at
from map_reading import complaint, noted, read

from caddiebrain.course import load_course
from caddiebrain.terms import Lie


class TestPar:
    @pytest.mark.parametrize(
        ("length", "par"),
        # Rules of Handicapping, par by length, men: par 3 to 260 yd, par 4 240 to 490, par 5 450 to 710.
        # In an overlap its middle divides: 250 and 470.
        [(150, 3), (239, 3), (261, 4), (400, 4), (449, 4), (491, 5), (600, 5), (705, 5), (248, 3), (252, 4)],
    )
    def test_by_the_published_bands(self, ground, saved, length, par):
        ground.hole(1, length=float(length))
        del ground.tagged(golf="hole")["par"]
        course = read(ground, saved)
        assert course.hole(1).par == par
        assert noted(course, f"hole 1: no par on the map; par {par} by its length")

    def test_only_in_the_name(self, ground, saved):
        ground.hole(1, length=500.0, name="1 The Elbow (Par 4)")
        del ground.tagged(golf="hole")["par"]
        course = read(ground, saved)
        assert course.hole(1).par == 4
        assert noted(course, "hole 1: par 4 taken from its name")

    def test_by_tee(self, ground, saved):
        ground.hole(1, length=450.0, tee="red", par__red=5, par__white=4)
        del ground.tagged(golf="hole")["par"]
        assert read(ground, saved).hole(1).par == 5

    def test_that_is_none(self, ground, saved):
        course = read(ground.hole(1, par="unknown"), saved)
        assert course.hole(1).par == 4
        assert noted(course, "par=unknown is no par")


class TestNumbers:
    def test_zero_is_a_practice_hole(self, ground, saved):
        for number in range(1, 10):
            ground.hole(number, x=260.0 * number)
        ground.hole(0, x=-260.0, length=100.0, handicap="")
        course = read(ground, saved)
        assert [hole.number for hole in course.holes] == list(range(1, 10))
        assert noted(course, "ref 0 is no hole of the course")

    def test_the_only_line_without_a_number_is_the_missing_hole(self, ground, saved):
        for number in range(1, 10):
            ground.hole(number, x=260.0 * number)
        ground.tagged(golf="hole", ref=7)["ref"] = "0"
        course = read(ground, saved)
        assert [hole.number for hole in course.holes] == list(range(1, 10))
        assert noted(course, "hole 7: taken to be")

    def test_a_line_without_a_number_is_the_missing_hole_before_one_that_says_zero(self, ground, saved):
        for number in range(1, 10):
            ground.hole(number, x=260.0 * number)
        ground.hole(0, x=-260.0, length=100.0, handicap="")
        del ground.tagged(golf="hole", ref=7)["ref"]
        course = read(ground, saved)
        assert [hole.number for hole in course.holes] == list(range(1, 10))
        assert course.hole(7).length_yd == pytest.approx(400, abs=0.1)
        assert noted(course, "hole 7: taken to be")
        assert noted(course, "ref 0 is no hole of the course")

    def test_none_at_all(self, ground, saved):
        for number in (1, 2, 3):
            ground.hole(number, x=260.0 * number)
        for _, tags in ground.rows:
            tags.pop("ref", None)
        course = read(ground, saved)
        assert [hole.number for hole in course.holes] == [1, 2, 3]
        assert noted(course, "numbered in the order of the file")

    def test_some(self, ground, saved):
        for number in range(1, 7):
            ground.hole(number, x=260.0 * number)
        for number in (2, 3, 4):
            del ground.tagged(golf="hole", ref=number)["ref"]
        text = complaint(ground, saved)
        assert text.count("found no ref; expected ref with the hole's number") == 3

    def test_with_a_zero_or_in_the_name(self, ground, saved):
        ground.hole("01").hole(2, x=260.0, name="Hole 2 - Par 4")
        del ground.tagged(golf="hole", ref=2)["ref"]
        assert [hole.number for hole in read(ground, saved).holes] == [1, 2]

    def test_two_numbers_on_one_line(self, ground, saved):
        """Nine greens played twice: "1;10" with the stroke indexes and pars of both."""
        for number in range(1, 10):
            ground.hole(
                f"{number};{number + 9}", x=260.0 * number, par="4;5", handicap=f"{number};{number + 9}"
            )
        course = read(ground, saved)
        assert [hole.number for hole in course.holes] == list(range(1, 19))
        assert (course.hole(3).par, course.hole(12).par, course.hole(12).stroke_index) == (4, 5, 12)
        assert course.hole(3).length_yd == course.hole(12).length_yd
        assert course.hole(12).tees.keys() == course.hole(3).tees.keys()

    def test_drawn_twice(self, ground, saved):
        ground.hole(1)
        ground.add(shapely.LineString([(3, 395), (1, 5)]), golf="hole", ref=1)
        course = read(ground, saved)
        assert len(course.holes) == 1
        assert noted(course, "hole 1: drawn 2 times")

    def test_the_same_on_a_line_without_a_green(self, ground, saved):
        ground.hole(1).hole(2, x=260.0)
        ground.add(shapely.LineString([(700, 0), (700, 300)]), golf="hole", ref=2)
        course = read(ground, saved)
        assert course.hole(2).length_yd == pytest.approx(400, abs=0.1)
        assert noted(
            course, "hole 2: its number is also on feature 11 (golf=hole, ref 2), which has no green"
        )

    def test_the_same_on_two_holes(self, ground, saved):
        ground.hole(1).hole(2, x=260.0).hole(2, x=520.0)
        assert "hole 2: found ref 2 on feature 6 (golf=hole, ref 2) and feature 11 (golf=hole, ref 2)" in (
            complaint(ground, saved)
        )

    def test_a_hole_missing_between_others(self, ground, saved):
        ground.hole(1).hole(3, x=260.0)
        assert "hole 2: found no line with this number" in complaint(ground, saved)
        course = read(ground, saved, partial=True)
        assert [hole.number for hole in course.holes] == [1, 3]
        assert noted(course, "hole 2: found no line with this number")

    def test_an_unusual_count(self, ground, saved):
        for number in range(1, 8):
            ground.hole(number, x=260.0 * number)
        assert noted(read(ground, saved), "7 holes; most courses have 9 or 18")

    def test_numbers_beyond_eighteen(self, ground, saved):
        assert "found hole number 21; expected a number from 1 to 18" in complaint(ground.hole(21), saved)


class TestStrokeIndex:
    def test_missing_ones_are_assigned_by_length_for_the_par(self, ground, saved):
        for number, length in ((1, 350.0), (2, 440.0), (3, 400.0)):
            ground.hole(number, x=260.0 * number, length=length)
            del ground.tagged(golf="hole", ref=number)["handicap"]
        course = read(ground, saved)
        assert [hole.stroke_index for hole in course.holes] == [3, 1, 2]
        assert noted(course, "no stroke index for every hole")

    def test_given_ones_stay(self, ground, saved):
        ground.hole(1, handicap=1).hole(2, x=260.0, handicap="x").hole(3, x=520.0, handicap=1)
        course = read(ground, saved)
        assert course.hole(1).stroke_index == 1
        assert sorted(hole.stroke_index for hole in course.holes) == [1, 2, 3]
        assert noted(course, "hole 3: stroke index '1', which hole 1 has too")


class TestLines:
    def test_backward(self, ground, saved):
        ground.hole(1, line=shapely.LineString([(0, 400), (40, 200), (0, 0)]))
        course = read(ground, saved)
        assert noted(course, "hole 1: its line was drawn from green to tee; turned round")
        hole = course.hole(1)
        assert lie_at(hole, 0, 0) is Lie.TEE
        assert lie_at(hole, *hole.pin) is Lie.GREEN
        assert hole.line[1] == pytest.approx((40, 200), abs=0.01)

    def test_backward_without_a_tee_on_the_map(self, ground, saved):
        ground.hole(1, line=shapely.LineString([(0, 400), (0, 0)])).drop(golf="tee")
        assert noted(read(ground, saved), "turned round")

    def test_forward_among_close_neighbours(self, ground, saved):
        """The last green is 22 yards from this tee, and the next tee 20 yards from this green."""
        ground.hole(1)
        ground.add(disc(34, 0, 12), golf="green").add(shapely.box(15, 415, 25, 425), golf="tee")
        assert not noted(read(ground, saved), "turned round")

    @pytest.mark.parametrize("short", [30.0, 90.0, 115.0])
    def test_that_stops_short_of_the_green(self, ground, saved, short):
        ground.hole(1, line=shapely.LineString([(0, 0), (0, 388 - short)]))
        course = read(ground, saved)
        assert course.hole(1).length_yd == pytest.approx(400, abs=0.1)
        assert noted(course, f"hole 1: its line stops {short:.0f} yd short of the green")

    def test_that_ends_beside_its_green(self, ground, saved):
        ground.hole(1, line=shapely.LineString([(0, 0), (50, 400)]))
        course = read(ground, saved)
        assert course.hole(1).pin[1] == pytest.approx(400, abs=0.1)
        assert noted(course, "hole 1: its line ends 38 yd from the nearest green")

    def test_that_runs_past_its_green(self, ground, saved):
        ground.hole(1, line=shapely.LineString([(0, 0), (0, 405), (0, 420)]))
        hole = read(ground, saved).hole(1)
        assert hole.line == pytest.approx(np.array([[0, 0], [0, 400]]), abs=0.01)

    def test_without_a_green(self, ground, saved):
        ground.hole(1).hole(2, x=260.0).drop(golf="green")
        text = complaint(ground, saved)
        assert text.count("found no green at the end of the line") == 2

    def test_without_a_green_in_part(self, ground, saved):
        ground.hole(1).hole(2, x=400.0)
        ground.rows = [r for r in ground.rows if not (r[1]["golf"] == "green" and r[0].bounds[0] > 200)]
        assert "feature 6 (golf=hole, ref 2): found no green" in complaint(ground, saved)
        course = read(ground, saved, partial=True)
        assert [hole.number for hole in course.holes] == [1]
        assert noted(course, "feature 6 (golf=hole, ref 2)")

    def test_with_a_vertex_drawn_twice(self, ground, saved):
        ground.hole(1, line=shapely.LineString([(0, 0), (0, 0), (0, 200), (0, 400), (0, 400)]))
        ground.add(shapely.box(-5, -35, 5, -25), golf="tee", tee="blue")
        hole = read(ground, saved).hole(1)
        assert list(hole.tees) == ["blue", "white"]
        assert hole.length_yd == pytest.approx(430, abs=0.1)

    def test_in_two_pieces(self, ground, saved):
        document = ground.hole(1).geojson()
        spots = document["features"][0]["geometry"]["coordinates"]
        middle = [(a + b) / 2 for a, b in zip(*spots, strict=True)]
        document["features"][0]["geometry"] = {
            "type": "MultiLineString",
            "coordinates": [[spots[0], middle], [middle, spots[1]]],
        }
        assert load_course(saved(document)).hole(1).length_yd == pytest.approx(400, abs=0.1)

    def test_no_lines_at_all(self, ground, saved):
        ground.hole(1).drop(golf="hole")
        assert "golf=hole: found 4 features of use, none of them a hole line" in complaint(ground, saved)

    def test_as_areas(self, ground, saved):
        ground.hole(1).drop(golf="hole").add(shapely.box(-20, -10, 20, 420), golf="hole", ref=1)
        assert "golf=hole: found" in complaint(ground, saved)


class TestTeesAndPins:
    def several(self, ground):
        ground.hole(1, length=400.0)
        ground.add(shapely.box(-5, -35, 5, -25), golf="tee", tee="blue")
        ground.add(shapely.box(3, 55, 13, 65), golf="tee", tee="red")
        ground.add(shapely.Point(0, 110), golf="tee", colour="Green")
        return ground

    def test_the_longest_that_suits_the_par(self, ground, saved):
        course = read(self.several(ground), saved)
        assert list(course.hole(1).tees) == ["blue", "white", "red", "green"]
        assert course.hole(1).length_yd == pytest.approx(430, abs=0.1)
        assert noted(course, "hole 1: 4 tees (blue, white, red, green); played from 'blue'")

    def test_a_longer_tee_that_does_not_suit_the_par(self, ground, saved):
        # 500 yards is beyond the band of a par 4 (490).
        self.several(ground).add(shapely.box(-5, -105, 5, -95), golf="tee", tee="gold")
        assert read(ground, saved).hole(1).length_yd == pytest.approx(430, abs=0.1)

    def test_that_suits_the_second_par_of_a_line_with_two(self, ground, saved):
        ground.hole("1;10", length=480.0, par="4;5", handicap="1;10")
        ground.add(shapely.box(-5, -35, 5, -25), golf="tee", tee="blue")
        course = read(ground, saved, partial=True)
        # 510 yards is beyond the band of a par 4 (490) and within that of a par 5.
        assert [round(hole.length_yd) for hole in course.holes] == [480, 510]

    def test_that_suits_a_par_in_the_name(self, ground, saved):
        ground.hole(1, length=480.0, name="1 (par 4)")
        ground.add(shapely.box(-5, -35, 5, -25), golf="tee", tee="blue")
        del ground.tagged(golf="hole")["par"]
        assert read(ground, saved).hole(1).length_yd == pytest.approx(480, abs=0.1)

    def test_chosen(self, ground, saved):
        course = read(self.several(ground), saved, tees="Green")
        assert course.hole(1).length_yd == pytest.approx(290, abs=0.1)
        assert course.hole(1).tees["green"] == (0.0, 0.0)
        assert course.hole(1).tees["blue"] == pytest.approx((0, -140), abs=0.1)

    def test_chosen_but_nowhere(self, ground, saved):
        text = complaint(self.several(ground), saved, tees="gold")
        assert "the tees: found 'gold'; expected one of: blue, green, red, white" in text

    def test_chosen_but_not_on_every_hole(self, ground, saved):
        self.several(ground).hole(2, x=260.0)
        course = read(ground, saved, tees="red")
        assert noted(course, "hole 2: has no tee 'red'; played from the longest, 'white'")

    def test_none(self, ground, saved):
        course = read(ground.hole(1).drop(golf="tee"), saved)
        assert course.hole(1).length_yd == pytest.approx(400, abs=0.1)
        assert noted(course, "hole 1: no tee on the map")

    @pytest.mark.parametrize(
        ("names", "told"),
        [
            (("White", "Red"), ["white", "red"]),
            (("White Tee", "Red tees"), ["white", "red"]),
            (("1st tee", "Tee"), ["tee 1", "tee 2"]),
        ],
    )
    def test_by_their_names(self, ground, saved, names, told):
        ground.hole(1).add(shapely.box(-5, 55, 5, 65), golf="tee", name=names[1])
        tags = ground.tagged(golf="tee", tee="white")
        tags["name"] = names[0]
        del tags["tee"]
        assert list(read(ground, saved).hole(1).tees) == told

    def test_without_names(self, ground, saved):
        ground.hole(1).add(shapely.box(-5, 55, 5, 65), golf="tee")
        del ground.tagged(golf="tee", tee="white")["tee"]
        assert list(read(ground, saved).hole(1).tees) == ["tee 1", "tee 2"]

    def test_of_the_next_hole_is_not_ours(self, ground, saved):
        ground.hole(1).hole(2, x=60.0, length=380.0)
        course = read(ground, saved)
        assert [list(hole.tees) for hole in course.holes] == [["white"], ["white"]]
        assert lie_at(course.hole(1), 60, 0) is Lie.FAIRWAY  # a tee that is not in play is cut grass

    def test_several_pins(self, ground, saved):
        ground.hole(1)
        ground.add(shapely.Point(3, 408), golf="pin").add(shapely.Point(-2, 396), golf="pin")
        ground.add(shapely.Point(300, 396), golf="pin")
        hole = read(ground, saved).hole(1)
        assert list(hole.pins) == ["pin 1", "pin 2"]
        assert hole.length_yd == pytest.approx((2**2 + 396**2) ** 0.5, abs=0.05)  # nearest to the line's end

    def test_pins_of_a_shared_green_by_their_numbers(self, ground, saved):
        """Both lines end in the middle of one green; only the numbers tell whose flag is whose."""
        ground.hole(1).drop(golf="green").add(disc(0, 400, 30), golf="green", ref="1;2")
        ground.add(shapely.LineString([(0, 800), (0, 400)]), golf="hole", ref=2, par=4)
        ground.add(shapely.Point(12, 410), golf="pin", ref="1").add(shapely.Point(-8, 390), golf="pin", ref=2)
        first, second = read(ground, saved).holes
        assert first.length_yd == pytest.approx(np.hypot(12, 410), abs=0.1)
        assert second.length_yd == pytest.approx(np.hypot(8, 410), abs=0.1)
        ground.add(shapely.Point(2, 402), golf="pin")  # whose it is nothing tells
        assert [len(hole.pins) for hole in read(ground, saved).holes] == [2, 2]

    def test_the_old_pin_tag(self, ground, saved):
        ground.hole(1).add(shapely.Point(5, 404), leisure="golf_pin")
        assert read(ground, saved).hole(1).length_yd == pytest.approx((5**2 + 404**2) ** 0.5, abs=0.05)
