"""Broken and hostile files of every kind: one clear error, in bounded time and memory, and nothing fetched.

Hostile cases: entity expansion and external entities (CWE-776, CWE-611), deep nesting (CWE-674), files and
polygons of enormous size (CWE-400).
"""

import codecs
import copy
import json
import os
import socket
import tracemalloc

import numpy as np
import pytest
import shapely
from course_maps import Ground, Osm
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from caddiebrain.course import load_course
from caddiebrain.course.source import MAX_BYTES, MAX_PARTS
from caddiebrain.errors import CaddieError, CourseError


def everything():
    """One hole with a feature of every kind."""
    ground = Ground().hole(1, dist="366")
    ground.add(shapely.box(30, 100, 60, 200).difference(shapely.box(40, 120, 50, 130)), natural="water")
    ground.tagged(natural="water")["name"] = "Éire Löch"
    woods = shapely.MultiPolygon([shapely.box(-60, 0, -40, 90), shapely.box(-60, 200, -40, 300)])
    ground.add(woods, natural="wood", height="12 m", lost="0.1")
    ground.add(shapely.Point(25, 60), natural="tree", diameter_crown="6")
    ground.add(shapely.LineString([(30, 20), (60, 20)]), waterway="stream", width="2")
    ground.add(shapely.LineString([(80, -50), (80, 200), (90, 450)]), golf="out_of_bounds")
    ground.add(shapely.LineString([(-90, 450), (-90, -50)]), natural="coastline")
    ground.add(shapely.Point(2, 402), golf="pin", pin_name="back")
    ground.add(shapely.Point(0, 60), golf="tee", tee="red")
    ground.add(shapely.Point(0, 200), ele="31.5")
    return ground.add(shapely.box(-95, -60, 95, 460), leisure="golf_course", name="Fuzz Park")


GROUND = everything()
NUMBERS = {
    "format": "holes-by-numbers",
    "schema_version": 1,
    "name": "One hole",
    "holes": [{"number": 1, "par": 3, "stroke_index": 1, "length": 150, "green": {"depth": 28, "width": 22}}],
}
KINDS = {
    "own": json.dumps(GROUND.geojson(own=True), ensure_ascii=False),
    "geojson": json.dumps(GROUND.geojson(), ensure_ascii=False),
    "out geom": json.dumps(Osm(GROUND).overpass(geom=True), ensure_ascii=False),
    "out body": json.dumps(Osm(GROUND).overpass(), ensure_ascii=False),
    "xml": Osm(GROUND).xml(),
    "numbers": json.dumps(NUMBERS, ensure_ascii=False),
}
ALL = pytest.mark.parametrize("kind", KINDS)


@pytest.fixture(autouse=True)
def no_network(monkeypatch):
    def refuse(*args, **kwargs):
        raise AssertionError("a course file must not open a connection")

    monkeypatch.setattr(socket, "socket", refuse)


def complaint(path, **options):
    with pytest.raises(CaddieError) as caught:
        load_course(path, **options)
    text = str(caught.value)
    assert all(line.startswith(f"{path}: ") and "; expected " in line for line in text.splitlines())
    return text


def outcome(path):
    """The complaint about a file; None where it gives a course."""
    try:
        assert load_course(path).holes
    except CaddieError as error:
        return str(error)
    return None


@ALL
def test_whole(saved, kind):
    assert len(load_course(saved(KINDS[kind])).holes) == 1


@ALL
@pytest.mark.parametrize("share", [0.05, 0.3, 0.5, 0.77, 0.95])
def test_cut_off_in_the_middle(saved, kind, share):
    data = KINDS[kind].encode()
    text = complaint(saved(data[: int(len(data) * share)]))
    assert len(text.splitlines()) == 1
    assert "it looks cut off" in text or "is not UTF-8" in text


@ALL
def test_cut_off_by_one_character(saved, kind):
    assert "it looks cut off" in complaint(saved(KINDS[kind][:-1]))


@ALL
def test_utf_16(saved, kind):
    """JSON between systems is UTF-8 (RFC 8259, 8.1); XML says its encoding itself."""
    path = saved(codecs.BOM_UTF16_LE + KINDS[kind].encode("utf-16-le"))
    if kind == "xml":
        assert len(load_course(path).holes) == 1
    else:
        assert "the encoding: found UTF-16 text; expected UTF-8" in complaint(path)


@pytest.mark.parametrize("kind", ["own", "geojson", "out geom", "out body", "xml"])
def test_latin_1(saved, kind):
    text = complaint(saved(KINDS[kind].encode("latin-1")))
    assert "0xc9" in text or "not well-formed" in text or "invalid token" in text


def test_latin_1_xml_that_says_so(saved):
    text = '<?xml version="1.0" encoding="ISO-8859-1"?>' + KINDS["xml"]
    course = load_course(saved(text.encode("latin-1")))
    assert any(area.name == "Éire Löch" for area in course.hole(1).areas)


def test_an_encoding_nobody_knows(saved):
    text = complaint(saved('<?xml version="1.0" encoding="klingon"?><osm/>'))
    assert "encoding" in text


@ALL
def test_a_byte_order_mark_does_no_harm(saved, kind):
    assert len(load_course(saved(codecs.BOM_UTF8 + KINDS[kind].encode())).holes) == 1


@pytest.mark.parametrize("content", [b"", b"   \n\t ", codecs.BOM_UTF8, b"\0" * 1000])
def test_empty(saved, content):
    assert "found an empty file" in complaint(saved(content))


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("hello", "a file that begins with 'hello'"),
        ("[]", "JSON, a list"),
        ("[1, 2]", "JSON, a list"),
        ("{}", "JSON, an object with nothing in it"),
        ('{"a": 1}', "JSON, an object with a"),
        ('{"holes": []}', 'a course by numbers ("format": "holes-by-numbers")'),
        (
            '{"format": "hole-by-numbers", "holes": []}',
            """format: found 'hole-by-numbers'; expected "holes-by-numbers" for a course by numbers""",
        ),
        ('{"type": "FeatureCollection"}', "features: found nothing; expected a list of features"),
        ('{"type": "FeatureCollection", "features": {}}', "features: found an object of 0"),
        ('{"type": "FeatureCollection", "features": []}', "golf=hole: found 0 features of use"),
        ('{"type": "FeatureCollection", "features": [7]}', "feature 1: found 7; expected a Feature object"),
        ('{"elements": 3}', "elements: found int"),
        ('{"elements": []}', "golf=hole: found 0 features of use"),
        ('{"elements": [{"type": "way"}]}', "element 1: found an object without an id"),
        ('{"elements": [{"type": "node", "id": 1, "lat": 95, "lon": 0}]}', "node/1: found lat 95, lon 0"),
        ("<osm></osm>", "golf=hole: found 0 features of use"),
        ("<gpx></gpx>", "a GPS track"),
        ("<kml></kml>", "KML"),
        ("<html></html>", "XML with <html>"),
        ("<osmChange></osmChange>", "a file of changes"),
        ('<osm><node id="x" lat="1" lon="1"/></osm>', "<node>: found id 'x'"),
        ('<osm><node id="1" lat="abc" lon="1"/></osm>', "node/1: found lat abc, lon 1"),
        ("<osm><node></osm>", "line 1"),
        ('{"type": "FeatureCollection", "features": [NaN]}', "the value NaN"),
        ('{"a": ' + "9" * 5000 + "}", "finite numbers"),
    ],
)
def test_not_a_course(saved, content, says):
    assert says in complaint(saved(content))


def test_broken_json_says_where(saved):
    text = complaint(saved('{"type": "FeatureCollection",\n "features": [}'))
    assert "line 2 column 15: found broken JSON (Expecting value); expected JSON" in text


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"\x1f\x8b\x08\x00rest", "a gzip archive"),
        (b"PK\x03\x04rest", "a zip archive"),
        (b"\0\0\0\x0d\n\tOSMHeader\x18", "OSM data in PBF"),
        (b"\x89PNG\r\n", "a picture"),
        (bytes(range(128, 256)), "a file that begins with"),
    ],
)
def test_other_kinds_of_file(saved, content, says):
    assert says in complaint(saved(content))


def test_no_such_file_a_folder_a_pipe(tmp_path):
    assert "found no such file" in complaint(tmp_path / "nowhere.geojson")
    assert "found a folder" in complaint(tmp_path)
    os.mkfifo(tmp_path / "pipe")
    assert "expected a course file" in complaint(tmp_path / "pipe")


class TestHostile:
    def bounded(self, path, megabytes, **options):
        tracemalloc.start()
        try:
            text = complaint(path, **options)
            assert tracemalloc.get_traced_memory()[1] < megabytes * 2**20
        finally:
            tracemalloc.stop()
        return text

    def test_entity_expansion(self, saved):
        """A billion laughs: ten levels of tenfold expansion."""
        levels = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10 if n else "lol"}">' for n in range(10))
        text = f'<?xml version="1.0"?><!DOCTYPE osm [{levels}]><osm><node id="1" v="&l9;"/></osm>'
        assert "found a document type declaration" in self.bounded(saved(text), 5)

    def test_quadratic_blow_up(self, saved):
        text = f'<!DOCTYPE osm [<!ENTITY a "{"x" * 100_000}">]><osm>{"&a;" * 10_000}</osm>'
        assert "found a document type declaration" in self.bounded(saved(text), 10)

    def test_external_entities_are_not_opened(self, saved, tmp_path):
        secret = tmp_path / "secret"
        secret.write_text("the secret")
        for place in (secret.as_uri(), "http://127.0.0.1:9/x"):
            text = f'<!DOCTYPE osm [<!ENTITY x SYSTEM "{place}">]><osm><tag k="&x;"/></osm>'
            answer = self.bounded(saved(text), 5)
            assert "found a document type declaration" in answer
            assert "the secret" not in answer
        text = f'<!DOCTYPE osm SYSTEM "{secret.as_uri()}"><osm/>'
        assert "found a document type declaration" in self.bounded(saved(text), 5)

    @pytest.mark.parametrize("depth", [1_000, 100_000])
    def test_deep_json(self, saved, depth):
        """How deep is too deep differs between Python versions; 100,000 levels are for all of them."""
        told = self.bounded(saved("[" * depth + "]" * depth), 30)
        assert "nested too deep" in told or depth == 1_000
        nested = '{"type":"GeometryCollection","geometries":[' * depth + "]}" * depth
        told = self.bounded(saved(nested), 60)
        assert "nested too deep" in told or depth == 1_000
        deep = json.dumps(GROUND.geojson()).replace('"ref": "1"', '"ref": ' + "[" * depth + "]" * depth, 1)
        if depth == 100_000:
            assert "nested too deep" in self.bounded(saved(deep), 60)

    def test_geometry_collections_within_collections(self, saved):
        document = GROUND.geojson()
        for _ in range(20):
            geometry = document["features"][0]["geometry"]
            document["features"][0]["geometry"] = {"type": "GeometryCollection", "geometries": [geometry]}
        assert "expected a geometry of RFC 7946" in complaint(saved(document))

    def test_deep_xml(self, saved):
        assert "XML nested too deep" in self.bounded(saved("<osm>" + "<a>" * 1_000_000), 20)

    def test_a_polygon_of_ten_million_positions(self, saved):
        ring = "[0,0]," * 9_999_999 + "[0,0]"
        text = '{"type":"Polygon","coordinates":[[' + ring + "]]}"
        answer = self.bounded(saved(text), 150)
        assert "found about 10,000,003 positions and objects; expected a map of one golf course" in answer

    def test_a_file_too_large_to_be_looked_at(self, tmp_path):
        path = tmp_path / "huge.osm"
        with path.open("wb") as stream:
            stream.write(b"<osm>")
            stream.truncate(4 * 2**30)
        answer = self.bounded(path, MAX_BYTES / 2**20 * 1.5)
        assert (
            "found more than 96 MB; expected a map of one golf course: export only its bounding box" in answer
        )

    def test_long_names_do_not_fill_the_screen(self, saved):
        document = GROUND.geojson(own=True)
        document["features"][0]["properties"]["name"] = "x" * 1_000_000
        document["features"][0]["properties"]["par"] = "y" * 1_000_000
        assert len(complaint(saved(document))) < 500

    def test_numbers_as_text_are_not_run(self, saved):
        document = GROUND.geojson(own=True)
        document["features"][0]["properties"]["par"] = "__import__('os').getcwd()"
        assert "par: found" in complaint(saved(document))

    def test_a_relation_of_itself(self, saved):
        document = Osm(GROUND).overpass()
        members = [
            {"type": "relation", "ref": 999999, "role": ""},
            {"type": "way", "ref": 999999, "role": ""},
        ]
        tags = {"type": "multipolygon", "natural": "wood"}
        document["elements"].append({"type": "relation", "id": 999999, "members": members, "tags": tags})
        course = load_course(saved(document))
        assert any("relation/999999 (natural=wood)" in note for note in course.notes)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.sampled_from(sorted(KINDS)),
    st.lists(st.tuples(st.floats(0, 1, exclude_max=True), st.integers(0, 255)), min_size=1, max_size=6),
)
def test_random_damage_never_ends_in_a_traceback(tmp_path, kind, damage):
    data = bytearray(KINDS[kind].encode())
    for place, value in damage:
        data[int(place * len(data))] = value
    path = tmp_path / "damaged"
    path.write_bytes(data)
    assert outcome(path) is None or outcome(path).startswith(str(path))


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_random_values_in_random_places_never_end_in_a_traceback(tmp_path, data):
    document = json.loads(KINDS[data.draw(st.sampled_from(["own", "geojson", "out geom", "out body"]))])
    junk = st.sampled_from(
        [
            None,
            True,
            -1,
            0,
            1e300,
            "",
            "x",
            [],
            {},
            [[]],
            [None],
            {"type": "Point"},
            [[[]]],
            "7;8",
            float("-0.0"),
        ]
    )
    for _ in range(data.draw(st.integers(1, 3))):
        spot = document
        while True:
            keys = list(spot) if isinstance(spot, dict) else list(range(len(spot)))
            key = data.draw(st.sampled_from(keys))
            if not isinstance(spot[key], dict | list) or not spot[key] or data.draw(st.booleans()):
                spot[key] = copy.deepcopy(data.draw(junk))
                break
            spot = spot[key]
    path = tmp_path / "damaged"
    path.write_text(json.dumps(document))
    assert outcome(path) is None or outcome(path).startswith(str(path))


def test_limits_are_above_a_city():
    """50 MB of positions of 24 characters: the limits let a city's extract in."""
    assert MAX_BYTES > 50 * 2**20
    assert MAX_PARTS > 50 * 2**20 / 24
    assert np.isfinite(MAX_PARTS)


def test_errors_are_course_errors(saved):
    with pytest.raises(CourseError):
        load_course(saved(""))


class TestTooMuchOfAThing:
    """Files within the limits of size whose geometry would take hours: refused, with what would do."""

    def zigzag(self, corners):
        """An outline of slanted teeth whose boxes all overlap: as slow to check as outlines get."""
        k = np.arange(corners // 2)
        teeth = np.empty((len(k) * 2, 2))
        low, high = np.column_stack([k * 1e-3, 0 * k]), np.column_stack([k * 1e-3 + 50, 0 * k + 100])
        teeth[0::4], teeth[1::4], teeth[2::4], teeth[3::4] = low[::2], high[::2], high[1::2], low[1::2]
        return shapely.Polygon(np.vstack([teeth, [[k[-1] * 1e-3, -1], [0, -1]]]))

    def test_one_golf_feature_of_too_many_corners(self, saved):
        ground = Ground().hole(1).add(self.zigzag(12_000), golf="bunker")
        for own in (True, False):
            text = complaint(saved(ground.geojson(own=own)))
            assert "feature 6 (golf=bunker): found 12,003 positions; expected at most 10,000" in text

    def test_all_together(self, saved):
        ground = Ground().hole(1)
        for _ in range(30):
            ground.add(self.zigzag(8_000), golf="rough")
        assert "positions around the holes; expected at most 200,000" in complaint(saved(ground.geojson()))

    def test_an_outline_at_random(self, saved):
        """Thousands of crossings are not mended one by one."""
        rng = np.random.default_rng(3)
        ground = Ground().hole(1).add(shapely.Polygon(rng.uniform(30, 60, (2_000, 2))), natural="wood")
        assert "feature 6 (natural=wood): found self-intersection" in complaint(saved(ground.geojson()))

    def test_a_very_fine_sea_is_cut_down(self, saved):
        angle = np.linspace(0, 2 * np.pi, 100_000, endpoint=False)
        sea = shapely.Polygon(np.column_stack([50 + 8e4 + 8e4 * np.cos(angle), 8e4 * np.sin(angle)]))
        course = load_course(saved(Ground().hole(1).add(sea, natural="water").geojson()))
        water = next(area.shape for area in course.hole(1).areas if area.lie == "yellow")
        assert water.contains(shapely.Point(60, 10))
        assert not water.contains(shapely.Point(45, 10))
        assert shapely.get_num_coordinates(water) < 2_000

    @pytest.mark.parametrize("what", ["tee", "green", "pin"])
    def test_thousands_of_marks(self, saved, what):
        ground = Ground().hole(1)
        for k in range(1_001):
            shape = (
                shapely.Point(k * 0.01, 0)
                if what != "green"
                else shapely.box(50, k * 0.1, 51, k * 0.1 + 0.05)
            )
            ground.add(shape, golf=what)
        assert f"{what}s; expected at most 1,000 on one course" in complaint(saved(ground.geojson()))

    def test_thousands_of_lines(self, saved):
        ground = Ground()
        for k in range(2_001):
            ground.add(shapely.LineString([(k, 0), (k, 400)]), golf="hole", ref=1)
        assert "found 2,001 hole lines on 0 golf courses" in complaint(saved(ground.geojson()))

    def test_thousands_of_faults(self, saved):
        document = Ground().hole(1).geojson()
        document["features"] += [3] * 5_000
        text = complaint(saved(document))
        assert len(text.splitlines()) == 501
        assert "the rest: found 4,500 more faults; expected the first ones mended" in text

    def test_a_wheel_of_ways(self, saved):
        """Every way ends at one node, so that each step has every other to choose from."""
        document = Osm(Ground().hole(1)).overpass()
        members = []
        for k in range(20_000):
            number = 10_000_000 + 3 * k
            spots = [(0.0, 0.0), (1e-5 * k, 1e-4)]
            nodes = [9_999_999, number + 1, number + 2, 9_999_999]
            for ref, (lon, lat) in zip(nodes[1:3], spots, strict=True):
                document["elements"].append({"type": "node", "id": ref, "lon": lon, "lat": lat})
            document["elements"].append({"type": "way", "id": number, "nodes": nodes, "tags": {}})
            members.append({"type": "way", "ref": number, "role": "outer"})
        document["elements"].append({"type": "node", "id": 9_999_999, "lon": 0.0, "lat": 0.0})
        tags = {"type": "multipolygon", "natural": "wood"}
        document["elements"].append({"type": "relation", "id": 5, "members": members, "tags": tags})
        course = load_course(saved(document))
        assert any("relation/5 (natural=wood): 20,000 rings; left out" in note for note in course.notes)


class TestPositionsFarOff:
    def test_a_corner_of_a_green_half_a_world_away(self, saved):
        document = Ground().hole(1).geojson()
        document["features"][3]["geometry"]["coordinates"][0][5] = [100.0, 56.2]
        text = complaint(saved(document))
        assert (
            "feature 4 (golf=green): found positions 103 degrees apart; expected a shape on the course"
            in text
        )

    def test_a_hole_half_a_world_long(self, saved):
        document = Ground().hole(1).geojson()
        document["features"][0]["geometry"]["coordinates"][0] = [-3.1, 40.0]
        assert "feature 1 (golf=hole, ref 1): found" in complaint(saved(document))

    def test_a_short_one(self, saved):
        ground = Ground().hole(1, length=25.0)
        assert "found a hole of 25 yards; expected 30 to 1200 yards" in complaint(saved(ground.geojson()))
