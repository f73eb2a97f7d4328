"""Course files of our own: read strictly, written whole, and read back as they were."""

import json
import stat
from dataclasses import replace

import numpy as np
import pytest
import shapely
from course_maps import drawn, lie_at

from caddiebrain import demo
from caddiebrain.course import Course, Hole, course_to_geojson, load_course, write_course
from caddiebrain.errors import CourseError
from caddiebrain.terms import Lie


class TestThereAndBack:
    @pytest.fixture
    def pair(self, tmp_path):
        hole = drawn()
        course = Course("Elm Links", (hole,))
        return hole, load_course(write_course(course, tmp_path / "elm.geojson")).hole(7)

    def test_the_card(self, pair):
        before, after = pair
        for name in ("number", "par", "stroke_index", "name", "local_rule_e5"):
            assert getattr(before, name) == getattr(after, name)

    def test_places_to_the_millimetre(self, pair):
        before, after = pair
        mm = 0.002 / 0.9144  # positions carry 8 decimals of a degree: 1.1 mm
        assert after.line == pytest.approx(before.line, abs=mm)
        assert after.heights == pytest.approx(before.heights, abs=mm)
        assert after.origin_lonlat == pytest.approx(before.origin_lonlat, abs=1e-8)
        assert after.bearing_deg == pytest.approx(before.bearing_deg, abs=1e-3)
        for mine, other in ((before.tees, after.tees), (before.pins, after.pins)):
            assert mine.keys() == other.keys()
            for name in mine:
                assert other[name] == pytest.approx(mine[name], abs=mm)

    def test_the_ground(self, pair):
        before, after = pair
        assert len(after.areas) == len(before.areas)
        for mine in before.areas:
            other = next(area for area in after.areas if area.lie is mine.lie)
            assert other.shape.symmetric_difference(mine.shape).area < 0.01 * shapely.length(mine.shape)
            for name in ("name", "height_yd", "canopy_base_yd", "canopy_gap_yd", "trunk_gap_yd", "lost"):
                value = getattr(mine, name)
                assert getattr(other, name) == (
                    value if isinstance(value, str) else pytest.approx(value, abs=1e-3)
                )

    def test_nothing_had_to_be_assumed(self, tmp_path):
        assert load_course(write_course(Course("Elm", (drawn(),)), tmp_path / "x")).notes == ()


class TestWriting:
    def test_rfc_7946(self):
        """Sections 3.1.6 (rings closed, exterior counter-clockwise, holes clockwise), 4 (lon lat) and 5 (bbox)."""
        document = json.loads(json.dumps(course_to_geojson(Course("Elm", (drawn(),)))))
        assert document["type"] == "FeatureCollection"
        west, south, east, north = document["bbox"]
        for feature in document["features"]:
            assert feature["type"] == "Feature"
            assert isinstance(feature["properties"], dict)
            geometry = feature["geometry"]
            assert "crs" not in feature
            for x, y in shapely.get_coordinates(shapely.geometry.shape(geometry)):
                assert west <= x <= east
                assert south <= y <= north
            polygons = {"Polygon": [geometry["coordinates"]], "MultiPolygon": geometry["coordinates"]}
            for polygon in polygons.get(geometry["type"], []):
                for index, ring in enumerate(polygon):
                    assert len(ring) >= 4
                    assert ring[0] == ring[-1]
                    assert shapely.LinearRing(ring).is_ccw == (index == 0)

    def test_shared_ground_is_written_once(self, ground, saved, tmp_path):
        course = load_course(saved(ground.hole(1).hole(2, x=60.0).geojson(own=True)))
        document = course_to_geojson(course)
        bunkers = [f for f in document["features"] if f["properties"].get("golf") == "bunker"]
        assert sorted(f["properties"]["hole"] for f in bunkers) == ["1;2", "1;2"]

    def test_unbound_ground_belongs_to_whoever_plays_beside_it(self, ground, saved, tmp_path):
        apart = load_course(saved(ground.hole(1).hole(2, x=60.0).geojson(own=True)))
        alone = [
            Hole(**{**vars(hole), "areas": tuple(a for a in hole.areas if abs(a.shape.centroid.x) < 30)})
            for hole in apart.holes
        ]
        assert lie_at(alone[0], 60, 200) is None
        together = load_course(write_course(Course("x", tuple(alone)), tmp_path / "x.geojson", bind=False))
        assert lie_at(together.hole(1), 60, 200) is Lie.FAIRWAY

    def test_whole_or_not_at_all(self, tmp_path, monkeypatch):
        target = tmp_path / "elm.geojson"
        target.write_text("before")

        def fail(*args):
            raise OSError(28, "No space left on device")

        monkeypatch.setattr("os.replace", fail)
        with pytest.raises(CourseError, match="No space left on device"):
            write_course(Course("Elm", (drawn(),)), target)
        assert target.read_text() == "before"
        assert [path.name for path in tmp_path.iterdir()] == ["elm.geojson"]

    def test_a_folder_that_is_not_there(self, tmp_path):
        with pytest.raises(CourseError, match="a place that can be written to"):
            write_course(Course("Elm", (drawn(),)), tmp_path / "no" / "elm.geojson")

    def test_readable_by_others(self, tmp_path):
        """A new file has the rights that any new file of the user has, not those of a private part file."""
        plain = tmp_path / "plain"
        plain.touch()
        path = write_course(Course("Elm", (drawn(),)), tmp_path / "elm.geojson")
        assert stat.S_IMODE(path.stat().st_mode) == stat.S_IMODE(plain.stat().st_mode)


class TestOurProperties:
    def test_heights_of_trees_in_three_units(self, ground, saved):
        ground.hole(1)
        for x, tags in ((30, {"height_ft": 60}), (60, {"height_m": 18.288}), (90, {"height_yd": 20})):
            ground.add(shapely.box(x, 100, x + 10, 200), natural="wood", **tags)
        areas = [a for a in load_course(saved(ground.geojson(own=True))).hole(1).areas if a.lie is Lie.TREES]
        assert [a.height_yd for a in areas] == pytest.approx([20.0, 20.0, 20.0])

    def test_lost_and_lie(self, ground, saved):
        ground.hole(1).add(shapely.box(30, 100, 40, 200), golf="rough", lie="thick", lost=0.25)
        areas = load_course(saved(ground.geojson(own=True))).hole(1).areas
        assert [(a.lie, a.lost) for a in areas if a.lie is Lie.THICK] == [(Lie.THICK, 0.25)]

    def test_ground_bound_to_a_hole(self, ground, saved):
        ground.hole(1).hole(2, x=60.0).add(shapely.box(25, 100, 35, 200), natural="water", hole=2)
        course = load_course(saved(ground.geojson(own=True)))
        assert lie_at(course.hole(1), 30, 150) is None
        assert lie_at(course.hole(2), -30, 150) is Lie.YELLOW

    def test_local_rule_on_a_hole_and_on_the_course(self, ground, saved):
        ground.hole(1, local_rule_e5="yes").hole(2, x=260.0)
        assert [h.local_rule_e5 for h in load_course(saved(ground.geojson(own=True))).holes] == [True, False]
        course = load_course(saved(ground.geojson(own=True, local_rule_e5=True)))
        assert [h.local_rule_e5 for h in course.holes] == [True, True]

    def test_the_course_names_its_tees(self, ground, saved):
        ground.hole(1).add(shapely.box(-5, 55, 5, 65), golf="tee", tee="red")
        assert load_course(saved(ground.geojson(own=True))).hole(1).length_yd == pytest.approx(400, abs=0.1)
        red = load_course(saved(ground.geojson(own=True, tees="red")))
        assert red.hole(1).length_yd == pytest.approx(340, abs=0.1)

    def test_a_line_that_starts_between_the_tees(self, ground, saved):
        """The line has the last word on where the hole is played from."""
        ground.hole(1, line=shapely.LineString([(0, 30), (0, 400)]))
        hole = load_course(saved(ground.geojson(own=True))).hole(1)
        assert hole.length_yd == pytest.approx(370, abs=0.1)
        assert hole.tees == {"drawn": (0.0, 0.0), "white": pytest.approx((0.0, -30.0), abs=0.1)}
        assert lie_at(hole, 0, 0) is Lie.TEE

    def test_a_hole_property_that_names_no_hole(self, ground, saved):
        ground.hole(1).add(shapely.box(30, 100, 40, 200), natural="water", hole="yes")
        assert lie_at(load_course(saved(ground.geojson(own=True))).hole(1), 35, 150) is Lie.YELLOW

    def test_heights_of_the_ground(self, ground, saved):
        ground.hole(1).add(shapely.Point(0, 200), ele=45.72).add(shapely.Point(20, 400), ele="-9.144")
        ground.tagged(golf="green")["ele"] = "91.44 m"
        heights = load_course(saved(ground.geojson(own=True))).hole(1).heights
        assert sorted(set(heights[:, 2].round(6))) == [-10.0, 50.0, 100.0]
        low = heights[heights[:, 2] < 0][0]
        assert low[:2] == pytest.approx([20, 400], abs=0.01)

    def test_level_ground_has_no_heights(self, ground, saved):
        assert load_course(saved(ground.hole(1).geojson(own=True))).hole(1).heights is None


def test_courses_are_equal_where_all_of_their_ground_is():
    course, again = demo.course(), demo.course()
    assert course == again
    assert hash(course) == hash(again)
    assert len({*course.holes, *again.holes}) == len(course.holes)
    hole = course.holes[0]
    bent = hole.line.copy()
    bent[-1, 1] += 1e-9
    for other in (
        replace(hole, line=bent),
        replace(hole, heights=np.zeros((2, 3))),
        replace(hole, areas=hole.areas[:-1]),
        "hole",
    ):
        assert hole != other
    assert replace(hole, line=hole.line.tolist(), areas=list(hole.areas)) == hole
