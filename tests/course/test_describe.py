"""What is told of a course: what lies along each hole, what is missing or odd, what was assumed."""

import pytest
import shapely
from course_maps import Ground, disc

from caddiebrain import demo
from caddiebrain.course import describe_course, load_course
from caddiebrain.terms import Lie


class TestReport:
    @pytest.fixture
    def report(self, saved):
        ground = Ground().hole(1).hole(2, x=260.0, length=200.0, name="Short").drop(golf="tee")
        ground.add(shapely.box(30, 100, 60, 200), natural="water")
        del ground.tagged(golf="hole", ref=2)["par"]
        return describe_course(load_course(saved(ground.geojson())))

    def test_hole_by_hole(self, report):
        first, second = report.holes
        assert (first.par, first.length_yd, first.turns) == (4, 400.0, 0)
        assert first.areas[Lie.YELLOW] == 1
        assert first.tees == {"tee": 400.0}
        assert (first.green_depth_yd, first.green_width_yd) == pytest.approx((24, 24), abs=0.3)
        assert second.name == "Short"
        assert second.notes == ("no par on the map; par 3 by its length, 200 yd",)
        assert "every hole: no tee on the map; played from the start of its line" in report.notes

    def test_what_is_missing_and_what_looks_odd(self, saved):
        ground = Ground().hole(1, length=540.0).drop(golf="fairway").drop(golf="green")
        ground.add(disc(0, 540, 3), golf="green")
        hole = describe_course(load_course(saved(ground.geojson()))).holes[0]
        assert hole.missing == ("fairway",)
        assert hole.doubts[0] == "540 yd is unusual for a par 4"
        assert "square yards" in hole.doubts[1]

    def test_as_json(self, report):
        assert type(report).model_validate_json(report.model_dump_json()) == report


class TestNeighbours:
    """Holes 120 yards apart: each is told of by its own ground."""

    def side_by_side(self, holes=9):
        ground = Ground()
        for number in range(1, holes + 1):
            ground.hole(number, x=120.0 * (number - 1))
        return ground

    def report(self, saved, ground):
        return describe_course(load_course(saved(ground.geojson())))

    def test_no_fairway_anywhere(self, saved):
        report = self.report(saved, self.side_by_side().drop(golf="fairway"))
        assert [hole.missing for hole in report.holes] == [("fairway",)] * 9
        assert all(Lie.FAIRWAY not in hole.areas for hole in report.holes)

    def test_no_fairway_on_one(self, saved):
        ground = self.side_by_side()
        fifth = [row for row in ground.rows if row[1]["golf"] == "fairway"][4]
        ground.rows.remove(fifth)
        assert [h.number for h in self.report(saved, ground).holes if h.missing] == [5]

    def test_every_piece_is_told_once(self, saved):
        for hole in self.report(saved, self.side_by_side()).holes:
            assert hole.areas == {Lie.TEE: 1, Lie.GREEN: 1, Lie.FAIRWAY: 1, Lie.SAND: 1}
            assert hole.missing == ()

    def test_what_is_told_narrows_nothing_that_is_played(self, saved):
        first = load_course(saved(self.side_by_side().geojson())).hole(1)
        assert sum(area.lie is Lie.FAIRWAY for area in first.areas) == 4  # the second's tee and green, too

    def test_tees_out_of_play_are_tees(self, saved):
        ground = Ground().hole(1).drop(golf="fairway")
        ground.add(shapely.box(-4, 120, 4, 130), golf="tee", tee="red")
        (hole,) = self.report(saved, ground).holes
        assert hole.areas[Lie.TEE] == 2
        assert hole.missing == ("fairway",)

    def test_a_fairway_that_crosses_is_not_the_holes_own(self, saved):
        ground = Ground().hole(1).drop(golf="fairway").add(shapely.box(-300, 200, 300, 232), golf="fairway")
        assert self.report(saved, ground).holes[0].missing == ("fairway",)

    def test_a_par_three_needs_none(self, saved):
        ground = Ground().hole(1, length=170.0, par=3).drop(golf="fairway")
        assert self.report(saved, ground).holes[0].missing == ()

    @pytest.mark.parametrize("length", [31, 45, 100])
    def test_a_hole_too_short_for_its_par(self, saved, length):
        ground = Ground().hole(1, length=float(length)).drop(golf="fairway")
        assert self.report(saved, ground).holes[0].missing == ("fairway",)

    def test_the_demo_course(self):
        """Its first hole has three tees, one fairway and five bunkers of its own."""
        report = describe_course(demo.course())
        first = report.holes[0].areas
        assert (first[Lie.TEE], first[Lie.FAIRWAY], first[Lie.SAND]) == (3, 1, 5)
        assert not any(hole.missing for hole in report.holes)


class TestAssumed:
    """What a map leaves open is said, once for the course where it is the same everywhere."""

    def notes(self, saved, ground, **options):
        report = describe_course(load_course(saved(ground.geojson()), **options))
        return report.notes, [hole.notes for hole in report.holes]

    def test_the_colour_of_water(self, saved):
        ground = Ground().hole(1).hole(2, x=260.0)
        for x in (30, 60, 290):
            ground.add(shapely.box(x, 100, x + 20, 200), natural="water")
        ground.add(shapely.LineString([(-40, 20), (-40, 90)]), waterway="stream")
        general, _ = self.notes(saved, ground)
        assert general.count("water without a colour taken for yellow penalty areas") == 1

    def test_water_of_a_told_colour(self, saved):
        ground = Ground().hole(1).add(shapely.box(30, 100, 60, 200), golf="lateral_water_hazard")
        ground.add(shapely.box(-60, 100, -30, 200), golf="water_hazard")
        general, _ = self.notes(saved, ground)
        assert not any("water" in note for note in general)

    def test_the_height_of_trees(self, saved):
        ground = Ground().hole(1).hole(2, x=260.0).add(shapely.Point(25, 60), natural="tree")
        ground.add(shapely.box(-60, 100, -30, 200), natural="wood", height="12")
        general, _ = self.notes(saved, ground)
        assert general.count("trees without a height taken for 15 yards tall") == 1
        ground.drop(natural="tree")
        assert not any("trees" in note for note in self.notes(saved, ground)[0])

    def test_out_of_bounds(self, saved):
        none = "no out of bounds on the map; nothing is played as out"
        ground = Ground().hole(1).hole(2, x=260.0)
        assert self.notes(saved, ground)[0].count(none) == 1
        ground.add(shapely.LineString([(-60, -50), (-60, 450)]), golf="out_of_bounds")
        assert none not in self.notes(saved, ground)[0]

    def test_which_of_several_pins(self, saved):
        ground = Ground().hole(1).hole(2, x=260.0)
        ground.add(shapely.Point(2, 401), golf="pin", pin_name="back")
        ground.add(shapely.Point(-4, 394), golf="pin")
        _, holes = self.notes(saved, ground)
        assert holes == [("2 pins (back, pin 2); played to 'back'",), ()]

    def test_the_same_on_every_hole_is_said_once(self, saved):
        ground = Ground().hole(1).hole(2, x=260.0)
        for x in (0.0, 260.0):
            ground.add(shapely.Point(x, 401), golf="pin", pin_name="back")
            ground.add(shapely.Point(x, 394), golf="pin", pin_name="front")
        general, holes = self.notes(saved, ground)
        assert "every hole: 2 pins (back, front); played to 'back'" in general
        assert holes == [(), ()]

    @pytest.mark.parametrize(("par", "said"), [("4/5", ("par=4/5 read as 4",)), ("4", ())])
    def test_two_pars(self, saved, par, said):
        ground = Ground().hole(1, par=par).hole(2, x=260.0)
        assert self.notes(saved, ground)[1] == [said, ()]

    def test_two_pars_of_two_holes(self, saved):
        ground = Ground().hole(1, length=480.0)
        ground.tagged(golf="hole").update(ref="1;2", par="4;5", handicap="1;2")
        assert not any("read as" in note for note in load_course(saved(ground.geojson())).notes)

    def test_ours_says_what_is_out_and_where_the_pin_is(self, saved):
        ground = (
            Ground().hole(1).add(shapely.Point(2, 401), golf="pin").add(shapely.Point(0, 394), golf="pin")
        )
        assert load_course(saved(ground.geojson(own=True))).notes == ()
