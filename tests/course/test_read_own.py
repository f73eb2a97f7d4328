"""Course files of our own: read strictly, written whole, and read back as they were."""

import json
import stat
from dataclasses import replace

import numpy as np
import pytest
import shapely
from course_maps import Ground, disc, lie_at

from caddiebrain import demo
from caddiebrain.course import (
    Area,
    Course,
    Hole,
    course_to_geojson,
    describe_course,
    load_course,
    write_course,
)
from caddiebrain.errors import CourseError
from caddiebrain.terms import Lie


def complaint(document, saved, **options):
    with pytest.raises(CourseError) as caught:
        load_course(saved(document), **options)
    return str(caught.value)


def drawn():
    """A hole with one area of every lie, each with all it can carry."""
    areas = [
        Area(Lie.TEE, disc(0, 0, 5)),
        Area(Lie.FAIRWAY, shapely.box(-15, 150, 15, 370), name="landing"),
        Area(Lie.TIGHT, shapely.box(-8, 350, 8, 380)),
        Area(Lie.ROUGH, shapely.box(-40, 0, 40, 420)),
        Area(Lie.THICK, shapely.box(40, 0, 60, 420), lost=0.12),
        Area(Lie.SAND, disc(20, 400, 6), name="the pit"),
        Area(Lie.TREES, shapely.box(-80, 0, -60, 400), "elms", 22.5, 3.0, 8.0, 30.0, 0.2),
        Area(Lie.GREEN, disc(5, 395, 14)),
        Area(Lie.YELLOW, disc(-30, 200, 20).difference(disc(-30, 200, 8))),
        Area(Lie.RED, shapely.MultiPolygon([disc(30, 100, 5), disc(30, 150, 5)])),
        Area(Lie.OUT, shapely.box(90, -50, 200, 500)),
    ]
    line = np.array([[0.0, 0.0], [-20.0, 240.0], [0.0, 396.0]])
    return Hole(
        number=7,
        par=4,
        stroke_index=11,
        line=line,
        areas=tuple(areas),
        bearing_deg=303.2,
        origin_lonlat=(17.3, -33.4),
        name="Elms",
        tees={"white": (0.0, 0.0), "red": (4.0, 60.0)},
        pins={"middle": (0.0, 396.0), "back": (4.0, 404.0)},
        heights=np.array([[0.0, 0.0, 30.0], [0.0, 400.0, 41.5]]),
        local_rule_e5=True,
    )


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


class TestRefused:
    """Each of these is one clear line: the file, the feature, what was found, what would do."""

    def test_a_hole_without_a_green(self, ground, saved):
        text = complaint(ground.hole(1).drop(golf="green").geojson(own=True), saved)
        assert text.endswith(
            "course.geojson: feature 1 (golf=hole, ref 1): found no green at the end of the line; "
            "expected an area golf=green within 25 yd of it"
        )

    def test_a_reversed_line(self, ground, saved):
        text = complaint(ground.hole(1, line=shapely.LineString([(0, 400), (0, 0)])).geojson(own=True), saved)
        assert "feature 1 (golf=hole, ref 1): found a line that begins at a green" in text
        assert "\n" not in text

    def test_a_polygon_that_crosses_itself(self, ground, saved):
        bow = shapely.Polygon([(30, 100), (60, 200), (30, 200), (60, 100)])
        text = complaint(ground.hole(1).add(bow, golf="bunker", name="Bow").geojson(own=True), saved)
        assert "feature 6 (golf=bunker, name Bow): found self-intersection at lon lat -3.09" in text

    def test_even_a_small_crossing(self, ground, saved):
        spike = shapely.Polygon([(30, 100), (60, 100), (60, 200), (45, 200), (45, 230), (45, 200), (30, 200)])
        assert "feature 6" in complaint(ground.hole(1).add(spike, golf="bunker").geojson(own=True), saved)

    def swapped(self, document, which=None):
        def swap(value):
            return [value[1], value[0]] if isinstance(value[0], float) else [swap(part) for part in value]

        for index, row in enumerate(document["features"]):
            if which is None or index == which:
                row["geometry"]["coordinates"] = swap(row["geometry"]["coordinates"])
        return document

    def test_one_feature_swapped(self, ground, saved):
        text = complaint(self.swapped(ground.hole(1).hole(2, x=260.0).geojson(own=True), 3), saved)
        assert "feature 4 (golf=green): found a place near [56.203" in text
        assert "latitude and longitude look swapped" in text

    def test_all_swapped_beyond_90_degrees(self, ground, saved):
        document = ground.hole(1).geojson(own=True)
        for row in document["features"]:
            text = json.dumps(row["geometry"]["coordinates"]).replace("-3.", "-123.")
            row["geometry"]["coordinates"] = json.loads(text)
        text = complaint(self.swapped(document), saved)
        assert "latitude and longitude look swapped" in text
        assert "longitude then latitude" in text

    def test_all_swapped_against_the_files_own_box(self, tmp_path, saved):
        document = course_to_geojson(Course("Elm", (drawn(),)))
        text = complaint(self.swapped(json.loads(json.dumps(document))), saved)
        assert text.endswith(
            "coordinates: found [latitude, longitude] in every feature, by the file's bbox; "
            "expected longitude then latitude in WGS84 degrees"
        )

    def test_all_swapped_against_the_card(self, ground, saved):
        """Without a box: the lengths that the card gives fit only the other way round."""
        ground.hole(1, line=shapely.LineString([(0, 0), (200, 346)]), dist=365.4)
        ground.rows = [r for r in ground.rows if r[1]["golf"] not in ("green", "fairway")]
        ground.add(disc(200, 346, 12), golf="green")
        document = ground.geojson(own=True)
        assert load_course(saved(document)).notes == ()
        text = complaint(self.swapped(document), saved)
        assert "look swapped" in text

    @pytest.mark.parametrize(
        ("change", "says"),
        [
            ({"par": 7}, "par: found '7'; expected 3, 4, 5 or 6"),
            ({"par": "x"}, "par: found 'x'; expected 3, 4, 5 or 6"),
            ({"handicap": 19}, "handicap: found '19'; expected a stroke index from 1 to 18, each once"),
            ({"handicap": 2}, "handicap: found '2', which hole 1 has too"),
            ({"ref": ""}, "found no ref; expected ref with the hole's number, 1 to 18"),
            ({"ref": "1"}, "hole 1: found ref 1 on feature 1"),
            ({"ref": "4"}, "hole 2: found no line with this number"),
        ],
    )
    def test_cards(self, ground, saved, change, says):
        ground.hole(1, handicap=2).hole(2, x=260.0, **{"handicap": 5} | change)
        assert says in complaint(ground.geojson(own=True), saved)

    @pytest.mark.parametrize(
        ("tags", "says"),
        [
            ({"lie": "mud"}, "lie: found 'mud'; expected one of tee, fairway"),
            ({"lost": "often"}, "lost: found 'often'; expected a chance from 0 to 1"),
            ({"lost": "1.2"}, "lost: found '1.2'; expected a chance from 0 to 1"),
            ({"lost": "nan"}, "lost: found 'nan'; expected a chance from 0 to 1"),
            (
                {"natural": "wood", "height_m": "-3"},
                "height_m: found '-3'; expected a length up to 150 yards",
            ),
            (
                {"natural": "wood", "height_m": "900"},
                "height_m: found '900'; expected a length up to 150 yards",
            ),
        ],
    )
    def test_properties(self, ground, saved, tags, says):
        ground.hole(1).add(
            shapely.box(30, 100, 40, 200), **({"golf": "rough"} if "natural" not in tags else {}), **tags
        )
        assert says in complaint(ground.geojson(own=True), saved)

    def test_a_tee_out_of_bounds(self, ground, saved):
        ground.hole(1).add(shapely.box(-20, -20, 20, 20), golf="out_of_bounds")
        assert "feature 1 (golf=hole, ref 1): found its tee out of bounds" in (
            complaint(ground.geojson(own=True), saved)
        )

    @pytest.mark.parametrize(
        ("geometry", "says"),
        [
            (None, "found no geometry; expected a Point, a line or an area"),
            ({"type": "Circle"}, "found 'Circle'; expected a geometry of RFC 7946"),
            ({"type": "Polygon"}, "found Polygon with coordinates nothing; expected a list of positions"),
            ({"type": "Polygon", "coordinates": [[[0, 0], [1, 1], [0, 0]]]}, "found a ring of 3 positions"),
            (
                {"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [1, 1], [0, 1]]]},
                "a ring that is not closed",
            ),
            ({"type": "Polygon", "coordinates": [[0, 0], [1, 1]]}, "expected a list of at least 3 positions"),
            ({"type": "Polygon", "coordinates": [[["a", "b"]] * 4]}, "that is not two numbers"),
            ({"type": "Polygon", "coordinates": [[[0, 0], [1], [1, 1], [0, 0]]]}, "that is not two numbers"),
            ({"type": "Point", "coordinates": {"lon": 1}}, "expected a list of positions"),
            ({"type": "Point", "coordinates": [200.0, 10.0]}, "found position [200, 10]"),
            ({"type": "LineString", "coordinates": [[1e400, 1.0], [0.0, 0.0]]}, "not finite"),
            ([], "found a list of 0; expected a geometry of RFC 7946"),
        ],
    )
    def test_geometries(self, ground, saved, geometry, says):
        document = ground.hole(1).geojson(own=True)
        document["features"][4]["geometry"] = geometry
        text = complaint(json.dumps(document).replace("Infinity", "1e400"), saved)
        assert "feature 5 (golf=bunker)" in text
        assert says in text

    @pytest.mark.parametrize(
        ("member", "says"),
        [
            ({"schema_version": 2}, "caddiebrain.schema_version: found 2; expected 1"),
            ({}, "caddiebrain.schema_version: found nothing; expected 1"),
            ([], "caddiebrain: found a list of 0; expected an object"),
            ({"schema_version": 1, "nane": "x"}, "caddiebrain.nane: found 'x'; expected only name, tees"),
            ({"schema_version": 1, "name": 3}, "caddiebrain.name: found 3; expected a str"),
        ],
    )
    def test_markers(self, ground, saved, member, says):
        document = ground.hole(1).geojson() | {"caddiebrain": member}
        assert says in complaint(document, saved)

    def test_every_fault_is_told_at_once(self, ground, saved):
        ground.hole(1, par=9).hole(2, x=260.0).hole(3, x=520.0, handicap=44)
        ground.rows = [r for r in ground.rows if not (r[1]["golf"] == "green" and 200 < r[0].bounds[0] < 300)]
        ground.add(shapely.Polygon([(30, 100), (60, 200), (30, 200), (60, 100)]), golf="bunker")
        text = complaint(ground.geojson(own=True), saved)
        assert len(text.splitlines()) == 4
        for words in (
            "par: found '9'",
            "ref 2): found no green",
            "handicap: found '44'",
            "self-intersection",
        ):
            assert words in text

    def test_nothing_left_is_an_error_even_in_part(self, ground, saved):
        ground.hole(1).add(shapely.box(-20, -20, 20, 20), golf="out_of_bounds")
        assert "tee out of bounds" in complaint(ground.geojson(own=True), saved, partial=True)

    def test_the_error_knows_its_faults(self, ground, saved):
        with pytest.raises(CourseError) as caught:
            load_course(saved(ground.hole(1, par=9).geojson(own=True)))
        fault = caught.value.faults[0]
        assert (fault.where, fault.found) == ("feature 1 (golf=hole, ref 1): par", "'9'")


def test_a_feature_or_a_bare_geometry_is_no_course(ground, saved):
    row = ground.hole(1).geojson()["features"][0]
    assert "no green at the end" in complaint(row, saved)
    assert "none of them a hole line" in complaint(row["geometry"], saved)


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
        assert second.notes == (
            "no tee on the map; played from the start of its line",
            "no par on the map; par 3 by its length, 200 yd",
        )

    def test_what_is_missing_and_what_looks_odd(self, saved):
        ground = Ground().hole(1, length=540.0).drop(golf="fairway").drop(golf="green")
        ground.add(disc(0, 540, 3), golf="green")
        hole = describe_course(load_course(saved(ground.geojson()))).holes[0]
        assert hole.missing == ("fairway",)
        assert hole.doubts[0] == "540 yd is unusual for a par 4"
        assert "square yards" in hole.doubts[1]

    def test_as_json(self, report):
        assert type(report).model_validate_json(report.model_dump_json()) == report


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
