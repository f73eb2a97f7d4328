"""Latitude and longitude exchanged: refused where the card and the greens say so, and no sound course ever."""

import json

import numpy as np
import pytest
import shapely
from course_maps import Ground, disc

from caddiebrain import demo
from caddiebrain.course import load_course
from caddiebrain.course.features import Feature
from caddiebrain.course.projection import TangentPlane
from caddiebrain.course.swapped import told_by_lengths
from caddiebrain.course.tags import Kind
from caddiebrain.errors import CourseError


def exchanged(document):
    def swap(value):
        return (
            [value[1], value[0], *value[2:]]
            if isinstance(value[0], float)
            else [swap(part) for part in value]
        )

    for row in document["features"]:
        row["geometry"]["coordinates"] = swap(row["geometry"]["coordinates"])
    return document


def demo_document(*tags_left_out):
    document = json.loads(demo.course_path().read_text(encoding="utf-8"))
    document.pop("bbox", None)
    for row in document["features"]:
        for tag in tags_left_out:
            row["properties"].pop(tag, None)
    return document


def refused(saved, document):
    path = saved(document)
    with pytest.raises(CourseError) as caught:
        load_course(path)
    (line,) = str(caught.value).splitlines()
    return line.removeprefix(f"{path}: ")


class TestTheDemoCourse:
    """At 47 degrees north and 31 west it reads 8243 yards instead of 6471."""

    def test_by_its_pars(self, saved):
        assert refused(saved, exchanged(demo_document("dist"))) == (
            "coordinates: found 8 of 18 holes with a length unusual for their par, with latitude and longitude "
            "exchanged none; expected longitude then latitude; they look swapped"
        )

    def test_by_its_lengths(self, saved):
        assert refused(saved, exchanged(demo_document())) == (
            "coordinates: found hole lengths 32% off their dist, with latitude and longitude exchanged 0%; "
            "expected longitude then latitude; they look swapped"
        )

    def test_as_a_map(self, saved):
        document = demo_document("dist", "hole", "lie")
        del document["caddiebrain"]
        assert "they look swapped" in refused(saved, exchanged(document))

    @pytest.mark.parametrize("left_out", [(), ("dist",), ("dist", "par")])
    def test_as_it_is(self, saved, left_out):
        assert len(load_course(saved(demo_document(*left_out))).holes) == 18

    def test_nothing_to_tell_by(self, saved):
        assert len(load_course(saved(exchanged(demo_document("dist", "par")))).holes) == 18


def drawn(rng, lonlat, pars, lengths, *, exchange=False, dist=None):
    """Hole lines any way round the compass, and greens of any shape a green has, as read from a file."""
    plane = TangentPlane(*lonlat)
    lines, greens = [], []
    for place, (par, length) in enumerate(zip(pars, lengths, strict=True)):
        tee, way = rng.uniform(-900, 900, 2), rng.uniform(0, 2 * np.pi)
        pin = tee + length * np.array([np.cos(way), np.sin(way)])
        green = shapely.affinity.scale(disc(0, 0, 12), np.exp(rng.normal(0, 0.3)), 1.0)
        green = shapely.affinity.rotate(green, rng.uniform(0, 180))
        shapes = [shapely.LineString([tee, pin]), shapely.affinity.translate(green, *pin)]
        placed = [shapely.transform(shape, plane.to_lonlat) for shape in shapes]
        line, green = (
            shapely.transform(shape, lambda xy: xy[:, ::-1]) if exchange else shape for shape in placed
        )
        tags = {"golf": "hole", "par": str(par)} | ({"dist": f"{dist(length, rng):.1f} yd"} if dist else {})
        lines.append(Feature(f"line {place}", tags, Kind.HOLE, line))
        greens.append(Feature(f"green {place}", {}, Kind.GREEN, green))
    return lines, greens


USUAL = {3: (120, 220), 4: (290, 450), 5: (470, 560)}
SHORT = {3: (60, 130), 4: (170, 290), 5: (330, 480)}
"""Of its par 4 and 5 most are outside the bands."""


def card(rng, kind, holes=18):
    pars = np.array([3] * holes if kind == "par 3" else rng.choice([3, 4, 4, 4, 5], holes))
    bands = SHORT if kind != "usual" else USUAL
    return pars, [rng.uniform(*bands[int(par)]) for par in pars]


PLACES = [(-3.0, 56.2), (-31.4, 47.2), (12.0, -33.0), (145.0, -38.0), (-80.0, 28.0), (18.0, 62.0), (0.5, 0.5)]


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("kind", ["usual", "short", "par 3"])
def test_no_sound_course_is_refused(place, kind):
    """Courses of short par 4s, too, half of which are outside the bands and would fit them stretched."""
    rng = np.random.default_rng(5)
    for holes in (9, 18) * 10:
        pars, lengths = card(rng, kind, holes)
        assert told_by_lengths(*drawn(rng, place, pars, lengths)) == ""


@pytest.mark.parametrize("place", PLACES)
def test_nor_one_whose_tagged_lengths_are_off(place):
    """From other tees, or metres taken for yards."""
    rng = np.random.default_rng(6)
    for off in (0.8, 0.9144, 1.0936, 1.2):
        for _ in range(6):
            pars, lengths = card(rng, "usual")
            course = drawn(
                rng, place, pars, lengths, dist=lambda yards, r, off=off: yards * off * r.normal(1, 0.05)
            )
            assert told_by_lengths(*course) == ""


@pytest.mark.parametrize(
    ("place", "by_pars_least"), [((-3.0, 56.2), 0.9), ((-31.4, 47.2), 0.4), ((18.0, 62.0), 0.9)]
)
def test_an_exchanged_one_is(place, by_pars_least):
    """Tagged lengths tell; the bands of pars are wide, and tell the better the farther from the equator."""
    rng = np.random.default_rng(7)
    by_pars, by_lengths = [], []
    for _ in range(20):
        pars, lengths = card(rng, "usual")
        by_pars.append(told_by_lengths(*drawn(rng, place, pars, lengths, exchange=True)) != "")
        course = drawn(rng, place, pars, lengths, exchange=True, dist=lambda yards, r: yards)
        by_lengths.append(told_by_lengths(*course) != "")
    assert np.mean(by_lengths) > 0.9
    assert np.mean(by_pars) >= by_pars_least


def test_greens_alone_or_pars_alone_do_not_tell():
    rng = np.random.default_rng(8)
    lines, greens = drawn(rng, PLACES[0], *card(rng, "usual"), exchange=True)
    plain = drawn(np.random.default_rng(8), PLACES[0], *card(np.random.default_rng(8), "usual"))[1]
    assert told_by_lengths(lines, greens)
    assert told_by_lengths(lines, plain) == ""
    assert told_by_lengths(lines, []) == ""


def test_a_course_of_par_threes_that_runs_east(saved):
    """Stretched by four fifths its holes would still be par 3s."""
    ground = Ground()
    for number in range(1, 10):
        x = 200.0 * number
        ground.hole(number, par=3, line=shapely.LineString([(x, 0), (x + 90, 0)]), length=30.0)
    ground.rows = [row for row in ground.rows if row[1]["golf"] == "hole"]
    for number in range(1, 10):
        ground.add(disc(200.0 * number + 90, 0, 8), golf="green")
    assert len(load_course(saved(ground.geojson())).holes) == 9
