"""Hostile files and random damage: one clear error, in bounded time and memory, and nothing fetched.

Hostile cases: entity expansion and external entities (CWE-776, CWE-611), deep nesting (CWE-674), files and
polygons of enormous size (CWE-400).
"""

import copy
import json
import tracemalloc

import numpy as np
import pytest
import shapely
from broken_files import GROUND, KINDS, complaint, outcome
from course_maps import Ground, Osm
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from caddiebrain.course import load_course
from caddiebrain.course.source import MAX_BYTES, MAX_PARTS

pytestmark = pytest.mark.usefixtures("no_network")


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
        assert "expected a geometry of RFC 7946" in complaint(saved(document), lines=2)

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
        text = complaint(saved(document), lines=501)
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
