"""Ground that a map draws as lines and points: ditches, culverts, spot heights, and outlines that are none.

Tags as the OpenStreetMap wiki has them (Key:waterway, Key:tunnel, Key:ele, Key:golf). All maps are invented.
"""

import pytest
import shapely
from course_maps import Osm, lie_at
from map_reading import noted

from caddiebrain.course import load_course
from caddiebrain.terms import Lie

FORMATS = {
    "geojson": lambda ground: ground.geojson(),
    "out geom": lambda ground: Osm(ground).overpass(geom=True),
    "out body": lambda ground: Osm(ground).overpass(),
    "xml": lambda ground: Osm(ground).xml(),
}
every_format = pytest.mark.parametrize("form", FORMATS)
DITCH = shapely.LineString([(30, 250), (60, 252), (90, 250)])


@every_format
@pytest.mark.parametrize(
    ("golf", "lie"), [("lateral_water_hazard", Lie.RED), ("water_hazard", Lie.YELLOW), (None, Lie.YELLOW)]
)
def test_a_ditch_is_a_penalty_area_of_the_colour_it_has(ground, saved, form, golf, lie):
    ground.hole(1).add(DITCH, waterway="ditch", width="3", **({"golf": golf} if golf else {}))
    assert lie_at(load_course(saved(FORMATS[form](ground))).hole(1), 60, 252) is lie


@pytest.mark.parametrize("lie", [Lie.RED, Lie.SAND])
def test_a_stream_may_name_its_lie(ground, saved, lie):
    ground.hole(1).add(DITCH, waterway="stream", lie=lie.value)
    assert lie_at(load_course(saved(ground.geojson(own=True))).hole(1), 60, 252) is lie


@every_format
@pytest.mark.parametrize(
    ("tunnel", "lie"), [("culvert", None), ("yes", None), ("flooded", None), ("no", Lie.YELLOW)]
)
def test_a_stream_below_ground_changes_nothing(ground, saved, form, tunnel, lie):
    ground.hole(1).add(DITCH, waterway="stream", tunnel=tunnel)
    assert lie_at(load_course(saved(FORMATS[form](ground))).hole(1), 60, 252) is lie


@every_format
@pytest.mark.parametrize("tags", [{}, {"natural": "peak", "name": "The Knoll"}])
def test_points_with_a_height_are_spot_heights(ground, saved, form, tags):
    ground.hole(1).add(shapely.Point(0, 200), ele="45.72", **tags)
    heights = load_course(saved(FORMATS[form](ground))).hole(1).heights
    assert heights.round(3).tolist() == [[0.0, 200.0, 50.0]]


@every_format
def test_an_outline_that_does_not_close_is_a_complaint(ground, saved, form):
    ground.hole(1).add(DITCH, golf="bunker")
    text = complaint_of(FORMATS[form](ground), saved)
    assert (
        "(golf=bunker): found an outline that is not closed; expected an outline that ends where it" in text
    )


@every_format
def test_one_that_is_no_golf_feature_is_left_out(ground, saved, form):
    ground.hole(1).add(DITCH, natural="wood")
    assert noted(load_course(saved(FORMATS[form](ground))), "(natural=wood): an outline that is not closed")


@every_format
@pytest.mark.parametrize("tags", [{"golf": "bunker"}, {"golf": "out_of_bounds"}, {"natural": "water"}])
def test_a_point_for_an_area_is_left_out_and_said(ground, saved, form, tags):
    course = load_course(saved(FORMATS[form](ground.hole(1).add(shapely.Point(20, 200), **tags))))
    sort = next("=".join(row) for row in tags.items())
    assert noted(course, f"({sort}): a point, so not known how far it reaches; left out")


def test_in_a_course_file_of_ours_both_are_faults(ground, saved):
    ground.hole(1).add(shapely.Point(20, 200), natural="water").add(DITCH, natural="wood")
    text = complaint_of(ground.geojson(own=True), saved)
    assert "(natural=water): found a point; expected an outline" in text
    assert "(natural=wood): found an outline that is not closed" in text


def test_a_single_tree_stands_on_the_fairway_and_a_wood_does_not(ground, saved):
    ground.hole(1).add(shapely.Point(5, 250), natural="tree")
    ground.add(shapely.LineString([(-20, 300), (-8, 300)]), natural="tree_row")
    ground.add(shapely.box(-40, 200, 40, 240), natural="wood")
    hole = load_course(saved(ground.geojson())).hole(1)
    places = [lie_at(hole, *spot) for spot in ((5, 250), (5, 256), (-10, 300), (0, 220), (30, 220))]
    assert places == [Lie.TREES, Lie.FAIRWAY, Lie.TREES, Lie.FAIRWAY, Lie.TREES]
    assert lie_at(load_course(saved(ground.geojson(own=True))).hole(1), 5, 250) is Lie.TREES


def complaint_of(document, saved):
    with pytest.raises(ValueError, match="found") as caught:
        load_course(saved(document))
    return str(caught.value)
