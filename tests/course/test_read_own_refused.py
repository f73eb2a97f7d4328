"""Course files of our own that are refused: each in one clear line."""

import json

import pytest
import shapely
from course_maps import disc, drawn

from caddiebrain.course import Course, course_to_geojson, load_course
from caddiebrain.errors import CourseError


def complaint(document, saved, **options):
    with pytest.raises(CourseError) as caught:
        load_course(saved(document), **options)
    return str(caught.value)


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
