"""One invented map in every format people get OpenStreetMap data in: each gives the same course.

Formats: GeoJSON (RFC 7946); Overpass JSON, ``out geom`` and ``out body``; OSM XML, API 0.6 (OpenStreetMap
wiki). Multipolygons come in two to five pieces, in any order and direction (Relation:multipolygon).
"""

import copy
import itertools
import json
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from course_maps import Ground, Osm, disc, lie_at

from caddiebrain.course import load_course
from caddiebrain.course.rings import area_of_rings, join_rings
from caddiebrain.terms import Lie


@pytest.fixture
def full():
    """Three holes with a lake that has an island, woods in two parts, a stream, trees and a boundary."""
    ground = Ground()
    for number, par in ((1, 4), (2, 4), (3, 3)):
        ground.hole(number, x=300.0 * number, length=380.0 if par == 4 else 170.0, par=par)
    lake = shapely.Polygon(disc(340, 200, 30).exterior.coords, [disc(340, 200, 10).exterior.coords])
    ground.add(lake, natural="water", name="Otter Lake")
    woods = shapely.MultiPolygon([shapely.box(380, 50, 400, 90), shapely.box(400, 250, 440, 300)])
    ground.add(woods, landuse="forest")
    ground.add(shapely.LineString([(880, 60), (930, 60)]), waterway="stream", width="2 m")
    ground.add(shapely.Point(575, 200), natural="tree", height="12")
    ground.add(shapely.LineString([(640, 100), (640, 200)]), natural="tree_row")
    ground.add(shapely.LineString([(270, -50), (270, 450)]), golf="out_of_bounds")
    ground.add(shapely.Point(602, 381), golf="pin")
    ground.add(shapely.box(200, -100, 1000, 500), leisure="golf_course", name="Otter Park")
    ground.add(shapely.box(590, 100, 610, 140), golf="cartpath")
    return ground


FORMATS = {
    "geojson": lambda ground: ground.geojson(),
    "out geom": lambda ground: Osm(ground).overpass(geom=True),
    "out body": lambda ground: Osm(ground, pieces=3).overpass(),
    "xml": lambda ground: Osm(ground, pieces=5).xml(),
}


@pytest.mark.parametrize("form", FORMATS)
@pytest.mark.parametrize("name", ["map.geojson", "map.txt"])
def test_every_format_gives_the_same_course(full, saved, form, name):
    course = load_course(saved(FORMATS[form](full), name))
    assert (course.name, len(course.holes), course.par) == ("Otter Park", 3, 11)
    assert [round(hole.length_yd) for hole in course.holes] == [380, 381, 170]
    first, second, third = course.holes
    assert lie_at(first, 40, 180) is Lie.YELLOW
    assert lie_at(first, 40, 200) is None  # the island is rough
    assert lie_at(first, 90, 70) is Lie.TREES
    assert lie_at(first, 120, 275) is Lie.TREES
    assert lie_at(first, -35, 200) is Lie.OUT
    assert lie_at(first, -25, 200) is None
    assert lie_at(second, -25.5, 202) is Lie.TREES
    assert lie_at(second, 40, 150) is Lie.TREES
    assert lie_at(third, 5, 60.9) is Lie.YELLOW
    assert lie_at(third, 5, 61.3) is None  # a stream 2 m wide reaches 1.09 yd to either side
    tree = next(a for a in second.areas if a.lie is Lie.TREES and a.shape.contains(shapely.Point(-25.5, 200)))
    assert tree.height_yd == pytest.approx(12 / 0.9144)
    assert second.pins == {"pin 1": pytest.approx((0, 381), abs=0.1)}
    assert not any(area.lie is Lie.OUT for area in third.areas)


def test_tags_in_other_places_of_a_geojson(full, saved):
    """Some exporters nest tags, some put all but a few in one text, some write closed areas as lines."""
    plain = load_course(saved(full.geojson()))
    nested, hstore, lines = full.geojson(), full.geojson(), full.geojson()
    for row in nested["features"]:
        row["properties"] = {"type": "way", "id": 1, "tags": row["properties"]}
    for row in hstore["features"]:
        tags = row["properties"]
        text = ",".join(f'"{key}"=>"{value}"' for key, value in tags.items())
        row["properties"] = {"osm_id": "1", "other_tags": text}
    for row in lines["features"]:
        if row["geometry"]["type"] == "Polygon" and len(row["geometry"]["coordinates"]) == 1:
            row["geometry"] = {"type": "LineString", "coordinates": row["geometry"]["coordinates"][0]}
    for document in (nested, hstore, lines):
        course = load_course(saved(document))
        for hole, other in zip(course.holes, plain.holes, strict=True):
            assert [a.lie for a in hole.areas] == [a.lie for a in other.areas]
            assert hole.par == other.par


def test_old_spellings(saved):
    ground = Ground().hole(1)
    old = {"tee": "tee_box", "fairway": "faiway", "green": "putting_green", "bunker": "sand_trap"}
    for _, tags in ground.rows:
        tags["golf"] = old.get(tags["golf"], tags["golf"])
    hole = load_course(saved(ground.geojson())).hole(1)
    lies = [lie_at(hole, *spot) for spot in ((0, 0), (0, 200), (0, 400), (20, 400))]
    assert lies == [Lie.TEE, Lie.FAIRWAY, Lie.GREEN, Lie.SAND]


def lake_with_an_island(relation_tags, outer_tags, inner_tags):
    """One hole and a lake of two ways; returns the map and a way of reading it in every form of elements."""
    ground = Ground().hole(1)
    osm = Osm(ground)
    lake = shapely.Polygon(disc(50, 200, 30).exterior.coords, [disc(50, 200, 10).exterior.coords])
    lake = shapely.transform(lake, ground.plane.to_lonlat)
    outer = osm.way(lake.exterior.coords, outer_tags)
    inner = osm.way(lake.interiors[0].coords, inner_tags)
    tags = {"type": "multipolygon"} | relation_tags
    osm.relations[next(osm.ids)] = ([(outer, "outer"), (inner, "inner")], tags)
    return osm


def elements_of(osm):
    return osm.overpass(), osm.overpass(geom=True), osm.xml()


@pytest.mark.parametrize(
    "tagged", [("outer",), ("relation",), ("relation", "outer")], ids=lambda where: " and ".join(where)
)
@pytest.mark.parametrize("island", [None, Lie.TREES])
def test_a_multipolygon_tagged_on_itself_or_on_its_outer_way(saved, tagged, island):
    """In the style before 2013 tags stand on the outer way, and the relation has only its type."""
    water = {"natural": "water"}
    osm = lake_with_an_island(
        water if "relation" in tagged else {},
        water if "outer" in tagged else {},
        {"natural": "wood"} if island else {},
    )
    for document in elements_of(osm):
        hole = load_course(saved(document)).hole(1)
        assert lie_at(hole, 50, 220) is Lie.YELLOW
        assert lie_at(hole, 50, 200) is island


@pytest.mark.parametrize("tags", [{"type": "site", "name": "Club"}, {"landuse": "grass"}])
def test_a_relation_of_something_else_takes_nothing_from_its_members(full, saved, tags):
    osm = Osm(full)
    ways = [number for number, (_, way) in osm.ways.items() if way.get("golf") in ("green", "fairway")]
    osm.relations[next(osm.ids)] = ([(way, "") for way in ways], {"type": "multipolygon"} | tags)
    for document in elements_of(osm):
        holes = load_course(saved(document)).holes
        assert [lie_at(hole, *hole.pin) for hole in holes] == [Lie.GREEN] * 3


@pytest.mark.parametrize("repeated", [("way",), ("node",), ("relation",), ("node", "way", "relation")])
def test_elements_that_come_again_without_tags(full, saved, repeated):
    """'out body; >; out skel qt;' prints what relations and ways are made of a second time, bare."""
    document = Osm(full).overpass()
    bare = [{k: v for k, v in row.items() if k != "tags"} for row in document["elements"]]
    document["elements"] += [row for row in bare if row["type"] in repeated]
    told = load_course(saved(document))
    plain = load_course(saved(Osm(full).overpass()))
    assert [len(hole.areas) for hole in told.holes] == [len(hole.areas) for hole in plain.holes]
    root = ElementTree.fromstring(Osm(full).xml())
    for element in [element for element in root if element.tag in repeated]:
        again = copy.deepcopy(element)
        for tag in again.findall("tag"):
            again.remove(tag)
        root.append(again)
    told = load_course(saved(ElementTree.tostring(root, encoding="unicode")))
    assert [len(hole.areas) for hole in told.holes] == [len(hole.areas) for hole in plain.holes]


class TestMissingPieces:
    def test_a_golf_way_without_its_nodes_is_a_fault(self, saved):
        osm = Osm(Ground().hole(1))
        number, (refs, _) = next((n, w) for n, w in osm.ways.items() if w[1].get("golf") == "green")
        del osm.nodes[refs[3]]
        with pytest.raises(Exception, match=rf"way/{number} \(golf=green\): found 1 of its 25 nodes missing"):
            load_course(saved(osm.xml()))

    def test_a_wood_cut_by_the_rim_is_left_out_with_a_note(self, saved):
        ground = Ground().hole(1).add(shapely.box(30, 100, 60, 200), natural="wood")
        osm = Osm(ground)
        number, (refs, _) = next((n, w) for n, w in osm.ways.items() if w[1].get("natural"))
        del osm.nodes[refs[1]]
        course = load_course(saved(osm.overpass()))
        assert any(f"way/{number} (natural=wood)" in note for note in course.notes)
        assert lie_at(course.hole(1), 45, 150) is None

    def test_a_relation_without_one_of_its_ways(self, saved):
        ground = Ground().hole(1)
        ground.add(shapely.MultiPolygon([disc(50, 200, 30), disc(50, 300, 10)]), golf="lateral_water_hazard")
        osm = Osm(ground)
        members = next(iter(osm.relations.values()))[0]
        del osm.ways[members[0][0]]
        with pytest.raises(Exception, match="1 of its 4 ways missing"):
            load_course(saved(osm.xml()))

    def test_overpass_with_middles_only(self, saved):
        document = Osm(Ground().hole(1)).overpass(geom=True)
        for row in document["elements"]:
            row.pop("geometry", None)
            row.pop("nodes", None)
            row["center"] = {"lat": 56.0, "lon": -3.0}
        with pytest.raises(Exception, match="only its middle; expected 'out geom' or 'out body'"):
            load_course(saved(document))

    def test_deleted_elements_of_an_editor_are_not_there(self, saved):
        text = Osm(Ground().hole(1).add(disc(50, 200, 5), golf="bunker")).xml()
        spot = text.rindex("<way")
        text = text[: spot + 4] + ' action="delete"' + text[spot + 4 :]
        assert lie_at(load_course(saved(text)).hole(1), 50, 200) is None


class TestRings:
    """Ring assembly on small cases whose answer is plain."""

    def test_pieces_in_any_order_and_direction(self):
        rings, loose = join_rings([[1, 2, 3], [5, 4, 3], [1, 6, 5]])
        assert loose == 0
        assert len(rings) == 1
        assert set(rings[0]) == {1, 2, 3, 4, 5, 6}
        assert rings[0][0] == rings[0][-1]

    def test_two_rings_that_touch_at_a_node(self):
        rings, loose = join_rings([[1, 2, 3, 7], [7, 4, 1], [7, 8, 9], [9, 10, 7]])
        assert loose == 0
        assert sorted(sorted(set(ring)) for ring in rings) == [[1, 2, 3, 4, 7], [7, 8, 9, 10]]

    def test_loose_ends_are_counted(self):
        rings, loose = join_rings([[1, 2, 3], [3, 4, 5]])
        assert (rings, loose) == ([], 2)

    def test_a_whole_ring_is_one_piece(self):
        rings, loose = join_rings([[1, 2, 3, 1]])
        assert (rings, loose) == ([[1, 3, 2, 1]], 0)

    def test_an_island_in_a_lake_on_an_island(self):
        squares = [shapely.box(-r, -r, r, r) for r in (4.0, 3.0, 2.0, 1.0)]
        rings = [np.array(square.exterior.coords) for square in squares]
        for order in ([0, 1, 2, 3], [3, 1, 0, 2]):
            shape = area_of_rings([rings[i] for i in order])
            assert shape.is_valid
            assert shape.area == pytest.approx(64 - 36 + 16 - 4)

    def test_no_rings(self):
        assert area_of_rings([]) is None


def test_ring_assembly_agrees_with_a_reference_library():
    """Random stars with holes, cut into pieces: the same ground as GEOS builds from the linework."""
    rng = np.random.default_rng(7)
    for _ in range(30):
        angle = np.sort(rng.uniform(0, 2 * np.pi, 25))
        radius = rng.uniform(5, 10, 25)
        outer = np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])
        inner = 0.2 * outer[::-1]
        pieces, ids, lines = [], {}, []
        for ring in (outer, inner):
            first = len(ids)
            ids |= {first + i: spot for i, spot in enumerate(ring)}
            names = [*range(first, first + 25), first]
            cuts = [0, *sorted(rng.choice(np.arange(1, 25), 4, replace=False)), 25]
            pieces += [names[a : b + 1][:: rng.choice([1, -1])] for a, b in itertools.pairwise(cuts)]
        rng.shuffle(order := list(range(len(pieces))))
        pieces = [pieces[i] for i in order]
        lines = [shapely.LineString([ids[n] for n in piece]) for piece in pieces]
        rings, loose = join_rings(pieces)
        assert loose == 0
        ours = area_of_rings([np.array([ids[n] for n in ring]) for ring in rings])
        reference = shapely.build_area(shapely.MultiLineString(lines))
        assert ours.symmetric_difference(reference).area == pytest.approx(0.0, abs=1e-9)


def test_json_of_ids_as_large_as_openstreetmap_has(saved):
    osm = Osm(Ground().hole(1))
    text = json.dumps(osm.overpass())
    assert len(load_course(saved(text)).holes) == 1
