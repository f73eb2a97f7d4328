"""Broken files of every kind: one clear error, and nothing fetched."""

import codecs
import os

import pytest
from broken_files import KINDS, complaint
from course_maps import Ground

from caddiebrain.course import load_course
from caddiebrain.errors import CourseError

pytestmark = pytest.mark.usefixtures("no_network")
ALL = pytest.mark.parametrize("kind", KINDS)


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


@ALL
@pytest.mark.parametrize("code", ["utf-16-le", "utf-16-be", "utf-32-le", "utf-32-be"])
@pytest.mark.parametrize("mark", [True, False])
def test_wide_characters(saved, kind, code, mark):
    """Text of two or four bytes a character is called that: of letters A to Z alone, too, and without a mark."""
    text = KINDS[kind].encode("ascii", "ignore").decode()
    path = saved((("\ufeff" if mark else "") + text).encode(code))
    if kind == "xml" and code.startswith("utf-16"):
        assert len(load_course(path).holes) == 1
        return
    name = code[:6].upper()
    assert f"the encoding: found {name} text; expected UTF-8; save the file as UTF-8" in complaint(path)


def test_a_value_that_is_no_number_names_its_feature(saved):
    text = KINDS["own"].replace('"golf": "pin"', '"golf": "pin", "x": [NaN, 1, NaN]')
    feature = "feature 12 (golf=pin)"
    assert complaint(saved(text)) == f"{saved(text)}: {feature}: found the value NaN; expected finite numbers"
    text = KINDS["out body"].replace('"tags": {"golf": "hole"', '"x": Infinity, "tags": {"golf": "hole"')
    assert "(golf=hole, ref 1): found the value Infinity; expected finite numbers" in complaint(saved(text))


def test_the_word_itself_does_no_harm(saved):
    assert load_course(saved(KINDS["own"].replace("Éire Löch", "NaN Infinity"))).holes


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
        ('{"elements": 3}', "elements: found int"),
        ('{"elements": []}', "golf=hole: found 0 features of use"),
        ("<osm></osm>", "golf=hole: found 0 features of use"),
        ("<gpx></gpx>", "a GPS track"),
        ("<kml></kml>", "KML"),
        ("<html></html>", "XML with <html>"),
        ("<osmChange></osmChange>", "a file of changes"),
        ('{"type": "FeatureCollection", "features": [NaN]}', "feature 1: found the value NaN"),
        ('{"type": "FeatureCollection", "bbox": [0, -Infinity]}', "bbox[1]: found the value -Infinity"),
        ('{"holes": [{"par": 3}, {"length": NaN}]}', "holes[1].length: found the value NaN"),
        ("NaN", "a file that begins with 'NaN'"),
        ('{"a": ' + "9" * 5000 + "}", "finite numbers"),
    ],
)
def test_not_a_course(saved, content, says):
    assert says in complaint(saved(content))


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ('{"type": "FeatureCollection", "features": [7]}', "feature 1: found 7; expected a Feature object"),
        ('{"elements": [{"type": "way"}]}', "element 1: found an object without an id"),
        ('{"elements": [{"type": "node", "id": 1, "lat": 95, "lon": 0}]}', "node/1: found lat 95, lon 0"),
        ('<osm><node id="x" lat="1" lon="1"/></osm>', "<node>: found id 'x'"),
        ('<osm><node id="1" lat="abc" lon="1"/></osm>', "node/1: found lat abc, lon 1"),
        ("<osm><node></osm>", "line 1"),
    ],
)
def test_a_fault_and_what_follows_from_it(saved, content, says):
    assert says in complaint(saved(content), lines=2)


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


def test_errors_are_course_errors(saved):
    with pytest.raises(CourseError):
        load_course(saved(""))


class TestPositionsFarOff:
    def test_a_corner_of_a_green_half_a_world_away(self, saved):
        document = Ground().hole(1).geojson()
        document["features"][3]["geometry"]["coordinates"][0][5] = [100.0, 56.2]
        text = complaint(saved(document), lines=2)
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
