"""The outline of a course as its boundary, where that is asked for. All maps are invented.

A boundary's own line is in bounds' edge: all ground beyond it is out (definition of out of bounds, Rules of Golf).
"""

import json

import numpy as np
import pytest
import shapely
from course_maps import Ground, Osm, lie_at
from map_reading import complaint, noted, read

import caddiebrain as cb
from caddiebrain.batch.job import course_of
from caddiebrain.cli.app import main
from caddiebrain.course import load_course
from caddiebrain.errors import CourseError
from caddiebrain.service.answers import _course
from caddiebrain.service.asks import PlanAsk
from caddiebrain.service.settings import ServiceSettings
from caddiebrain.terms import Lie

OUTLINE = shapely.box(-50, -50, 50, 450)
ASKED = {"out_beyond_outline": True}


def with_outline(ground, shape=OUTLINE, **tags):
    return ground.hole(1).add(shape, leisure="golf_course", name="Oak Bay", **tags)


class TestTheOutlineIsTheBoundary:
    def test_where_it_is_asked_for(self, ground, saved):
        course = read(with_outline(ground), saved, **ASKED)
        spots = ((60, 200), (-60, 200), (0, 460), (0, -60), (40, 200), (0, 440))
        assert [lie_at(course.hole(1), *spot) for spot in spots] == [Lie.OUT] * 4 + [None] * 2
        out = next(a.shape for a in course.hole(1).areas if a.lie is Lie.OUT)
        assert out.bounds == pytest.approx((-200, -200, 200, 600), abs=0.1)
        assert noted(course, "out of bounds beyond the outline of the course, feature 6 (name Oak Bay)")
        assert not noted(course, "nothing is played as out")

    def test_not_otherwise_and_then_the_option_is_named(self, ground, saved):
        course = read(with_outline(ground), saved)
        assert lie_at(course.hole(1), 60, 200) is None
        assert noted(course, "nothing is played as out; --out-beyond-outline makes the outline")
        assert not noted(read(Ground().hole(1), saved), "--out-beyond-outline")

    def test_where_the_outline_itself_says_so(self, ground, saved):
        with_outline(ground, out_beyond_outline="yes")
        for own in (False, True):
            course = load_course(saved(ground.geojson(own=own)))
            assert lie_at(course.hole(1), 60, 200) is Lie.OUT
        ground.tagged(leisure="golf_course")["out_beyond_outline"] = "perhaps"
        text = complaint(ground, saved)
        assert "out_beyond_outline: found 'perhaps'; expected yes or no" in text
        ground.tagged(leisure="golf_course")["out_beyond_outline"] = "no"
        assert lie_at(read(ground, saved).hole(1), 60, 200) is None

    @pytest.mark.parametrize("form", ["geom", "body", "xml"])
    def test_in_every_format(self, ground, saved, form):
        osm = Osm(with_outline(ground, OUTLINE.difference(shapely.box(20, 100, 30, 120))))
        document = osm.xml() if form == "xml" else osm.overpass(geom=form == "geom")
        hole = load_course(saved(document), **ASKED).hole(1)
        assert [lie_at(hole, *spot) for spot in ((60, 200), (25, 110), (40, 200))] == [Lie.OUT, Lie.OUT, None]

    def test_of_two_parts_neither_is_out(self, ground, saved):
        """A road between two halves is out of bounds, the other half is not."""
        halves = shapely.MultiPolygon([OUTLINE, shapely.box(60, -50, 160, 450)])
        hole = read(with_outline(ground, halves), saved, **ASKED).hole(1)
        assert [lie_at(hole, x, 200) for x in (40, 55, 100, 170)] == [None, Lie.OUT, None, Lie.OUT]

    def test_what_is_drawn_as_out_stays_so(self, ground, saved):
        with_outline(ground).add(shapely.box(20, 100, 40, 200), golf="out_of_bounds")
        hole = read(ground, saved, **ASKED).hole(1)
        assert [lie_at(hole, x, 150) for x in (30, 45, 60)] == [Lie.OUT, None, Lie.OUT]


class TestOfSeveralCourses:
    def test_the_one_that_is_read(self, ground, saved):
        for name, x in (("North", 0.0), ("South", 2000.0)):
            ground.hole(1, x=x).hole(2, x=x + 80.0)
            ground.add(shapely.box(x - 50, -50, x + 130, 450), leisure="golf_course", name=name)
        for name in ("North", "South"):
            course = read(ground, saved, course=name, **ASKED)
            assert lie_at(course.hole(1), -60, 200) is Lie.OUT
            assert [lie_at(course.hole(2), x, 200) for x in (-60, 40, 60)] == [None, None, Lie.OUT]
            assert noted(course, f"(name {name})")

    def test_a_short_course_inside_anothers_outline(self, ground, saved):
        ground.hole(1).hole(2, x=80.0).hole(1, x=400.0, golf__course__name="Short")
        ground.add(shapely.box(-50, -50, 600, 500), leisure="golf_course", name="Long")
        ground.add(shapely.box(370, -20, 430, 420), leisure="golf_course", name="Short")
        hole = read(ground, saved, course="short", **ASKED).hole(1)
        assert [lie_at(hole, x, 200) for x in (25, 35)] == [None, Lie.OUT]
        hole = read(ground, saved, course="long", **ASKED).hole(1)
        assert [lie_at(hole, x, 200) for x in (-40, -60)] == [None, Lie.OUT]

    def test_the_property_of_another_course_is_none_of_its_business(self, ground, saved):
        for name, x in (("North", 0.0), ("South", 300.0)):
            ground.hole(1, x=x)
            shape = shapely.box(x - 50, -50, x + 50, 450)
            ground.add(shape, leisure="golf_course", name=name, out_beyond_outline=str(name == "South"))
        assert lie_at(read(ground, saved, course="north").hole(1), -60, 200) is None
        assert lie_at(read(ground, saved, course="south").hole(1), -60, 200) is Lie.OUT


class TestNoSuchBoundary:
    def test_no_outline(self, ground, saved):
        text = complaint(ground.hole(1), saved, **ASKED)
        assert "the outline of the course: found none around the holes; expected a closed outline" in text
        assert noted(read(ground, saved, partial=True, **ASKED), "none around the holes")

    def test_an_outline_elsewhere(self, ground, saved):
        with_outline(ground, shapely.box(100, -50, 200, 450))
        assert "found none around the holes" in complaint(ground, saved, **ASKED)

    @pytest.mark.parametrize("form", ["geojson", "geom", "body", "xml"])
    def test_one_that_is_not_closed(self, ground, saved, form):
        with_outline(ground, shapely.LineString(OUTLINE.exterior.coords[:-1]))
        osm = Osm(ground)
        forms = {"geojson": ground.geojson, "xml": osm.xml, "body": osm.overpass}
        document = forms.get(form, lambda: osm.overpass(geom=True))()
        with pytest.raises(CourseError) as caught:
            load_course(saved(document), **ASKED)
        assert "(name Oak Bay): found an outline that is not closed; expected a closed" in str(caught.value)
        assert load_course(saved(document)).hole(1).par == 4

    def test_one_of_whose_ways_some_are_missing(self, ground, saved):
        osm = Osm(with_outline(ground, OUTLINE.difference(shapely.box(20, 100, 30, 120))))
        document = osm.overpass()
        relation = next(row for row in document["elements"] if row["type"] == "relation")
        gone = relation["members"][0]["ref"]
        document["elements"] = [row for row in document["elements"] if row["id"] != gone]
        with pytest.raises(CourseError, match="an outline that is not closed"):
            load_course(saved(document), **ASKED)

    @pytest.mark.parametrize(
        ("shape", "part"),
        [
            (shapely.box(-50, -3, 50, 450), "its tee not inside"),
            (shapely.box(-50, -50, 50, 405), "its green not inside"),
            (shapely.box(-50, 20, 50, 450), "its line and tee not inside"),
            (OUTLINE.difference(shapely.box(-50, 100, 50, 110)), "its line not inside"),
            (OUTLINE.difference(shapely.box(-2, 100, 2, 110)), "its line not inside"),
        ],
    )
    def test_one_that_a_hole_runs_through(self, ground, saved, shape, part):
        text = complaint(with_outline(ground, shape), saved, **ASKED)
        assert f"feature 1 (golf=hole, ref 1): found {part} the outline of the course, feature 6" in text

    def test_such_a_hole_is_left_out_of_a_map_with_faults(self, ground, saved):
        ground.hole(2, x=80.0)
        with_outline(ground, shapely.box(-50, -50, 60, 450))
        course = read(ground, saved, partial=True, **ASKED)
        assert [hole.number for hole in course.holes] == [1]
        assert noted(course, "its line and tee and green not inside the outline")

    def test_a_tee_drawn_half_a_yard_over_the_edge_is_on_the_course(self, ground, saved):
        shape = shapely.box(-50, -4.5, 50, 450)
        assert lie_at(read(with_outline(ground, shape), saved, **ASKED).hole(1), 0, -6) is Lie.OUT

    def test_a_course_by_numbers_has_none(self):
        with pytest.raises(CourseError, match="found none in a course by numbers; expected a map with one"):
            load_course("course_specs/heath_by_numbers.json", **ASKED)

    def test_too_many_corners(self, ground, saved):
        turn = np.linspace(0, 2 * np.pi, 4000, endpoint=False)
        radius = np.where(np.arange(4000) % 2, 400.0, 410.0)
        toothed = np.stack([radius * np.sin(turn), 200.0 + radius * np.cos(turn)], axis=1)
        with_outline(ground, shapely.Polygon(toothed))
        assert "corners of boundaries" in complaint(ground, saved, **ASKED)


class TestAskedOfAProgram:
    @pytest.fixture
    def file(self, ground, tmp_path):
        path = tmp_path / "oak.geojson"
        path.write_text(json.dumps(with_outline(ground).geojson()), encoding="utf-8")
        return path

    def test_check_says_so_and_draws_it(self, file, tmp_path, capsys):
        assert main(("check", str(file))) == 0
        assert "--out-beyond-outline" in capsys.readouterr().out
        pages = []
        for name, asked in (("plain", ()), ("out", ("--out-beyond-outline",))):
            sheet = tmp_path / f"{name}.svg"
            assert main(("check", str(file), "--draw", str(sheet), *asked)) == 0
            pages.append((capsys.readouterr().out, sheet.read_text(encoding="utf-8")))
        assert "out of bounds beyond the outline of the course" in " ".join(pages[1][0].split())
        assert ["hole1-ground hole1-out" in sheet for _, sheet in pages] == [False, True]
        assert ["out of bounds beyond" in page for page, _ in pages] == [False, True]

    def test_a_fault_is_one_line_and_exit_code_2(self, ground, tmp_path, capsys):
        path = tmp_path / "plain.geojson"
        path.write_text(json.dumps(Ground().hole(1).geojson()), encoding="utf-8")
        for verb in (("check", str(path)), ("plan", "--course", str(path))):
            assert main((*verb, "--out-beyond-outline")) == 2
            captured = capsys.readouterr()
            assert not captured.out
            assert "the outline of the course: found none around the holes" in captured.err
            assert len(captured.err.strip().splitlines()) == 1

    def test_jobs_and_requests_ask_too(self, file):
        course = json.loads(file.read_text(encoding="utf-8"))
        for source in (file, course):
            for asked, lie in ((True, Lie.OUT), (False, None)):
                job = cb.PlanJob(source, cb.Level(11.0), 4, out_beyond_outline=asked)
                assert lie_at(course_of(job).hole(1), 60, 200) is lie
        for asked, lie in ((True, Lie.OUT), (False, None), (None, None)):
            ask = PlanAsk(course=course, out_beyond_outline=asked)
            assert lie_at(_course(ask, ServiceSettings()).hole(1), 60, 200) is lie
