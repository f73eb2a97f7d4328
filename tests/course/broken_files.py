"""One course in every kind of file, to be broken by tests, and what reading it then says."""

import json

import pytest
import shapely
from course_maps import Ground, Osm

from caddiebrain.course import load_course
from caddiebrain.errors import CaddieError


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


def complaint(path, lines=1, **options):
    """What reading a file says, which is one line unless a test says that there is more to mend."""
    with pytest.raises(CaddieError) as caught:
        load_course(path, **options)
    text = str(caught.value)
    assert all(line.startswith(f"{path}: ") and "; expected " in line for line in text.splitlines())
    assert len(text.splitlines()) == lines, text
    return text


def outcome(path):
    """The complaint about a file; None where it gives a course."""
    try:
        assert load_course(path).holes
    except CaddieError as error:
        return str(error)
    return None
