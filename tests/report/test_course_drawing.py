"""Drawings of what a course file was read as: sound XML, every hole and every remark, whatever the map."""

import json
import sys
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import caddiebrain as cb
from caddiebrain.cli import main
from caddiebrain.course import describe_course, load_course
from caddiebrain.report.course_drawing import draw_course, draw_read_hole

sys.path.insert(0, str(Path(__file__).parents[1] / "course"))
from course_maps import Ground, Osm, disc

SVG = "{http://www.w3.org/2000/svg}"


def parsed(text: str) -> ET.Element:
    root = ET.fromstring(text)
    assert root.tag == f"{SVG}svg"
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    return root


def words(root: ET.Element) -> str:
    return " ".join(e.text or "" for e in root.iter(f"{SVG}text"))


def boxes(root: ET.Element) -> list[tuple[float, float, float, float]]:
    """Left, top, right and bottom of the pictures of holes."""
    found = []
    for svg in root.findall(f"{SVG}svg"):
        x, y = float(svg.get("x")), float(svg.get("y"))
        wide, high = (float(svg.get(n).removesuffix("px")) for n in ("width", "height"))
        found.append((x, y, x + wide, y + high))
    return found


def test_a_sheet_shows_every_hole_of_the_demo(demo_course):
    report = describe_course(demo_course)
    root = parsed(draw_course(demo_course, report))
    places = boxes(root)
    assert len(places) == 18
    width, height = float(root.get("width")), float(root.get("height"))
    assert all(x > 0 and y > 0 and right < width and bottom < height for x, y, right, bottom in places)
    for i, (x, y, right, bottom) in enumerate(places):  # no two overlap
        assert all(
            right <= p[0] or p[2] <= x or bottom <= p[1] or p[3] <= y for j, p in enumerate(places) if j != i
        )
    said = words(root)
    for hole in report.holes:
        assert f"{hole.number} {hole.name}" in said
        assert f"par {hole.par}, {hole.length_yd:.0f} yards, stroke index {hole.stroke_index}" in said


def messy() -> Ground:
    """Two holes: one without par, fairway or tee, one long for its par; nameless water, woods and a boundary."""
    ground = Ground()
    ground.hole(1, length=400.0)
    ground.hole(2, x=300.0, length=400.0, par=3, name='Ash & "<Oak>"')
    del ground.tagged(golf="hole")["par"]
    ground.drop(golf="fairway")
    ground.drop(golf="tee")
    ground.add(disc(40, 200, 15), natural="water")
    ground.add(disc(-40, 200, 25), natural="wood")
    return ground


@pytest.mark.parametrize("kind", ["geojson", "overpass", "xml"])
def test_a_messy_map_is_drawn_with_what_was_assumed_and_what_is_missing(tmp_path, kind):
    ground = messy()
    path = tmp_path / f"map.{kind}"
    content = ground.geojson() if kind == "geojson" else getattr(Osm(ground), kind)()
    path.write_text(content if isinstance(content, str) else json.dumps(content), encoding="utf-8")
    course = load_course(path)
    report = describe_course(course)
    said = words(parsed(draw_course(course, report)))
    for hole, told in zip(course.holes, report.holes, strict=True):
        alone = words(parsed(draw_read_hole(hole, told)))
        remarks = [*(f"no {w}" for w in told.missing), *(f"odd: {w}" for w in told.doubts)]
        remarks += [f"assumed: {w}" for w in told.notes]
        for remark in remarks:
            assert " ".join(remark.split()) in " ".join(said.split())
            assert " ".join(remark.split()) in " ".join(alone.split())
    assert any(told.notes for told in report.holes)


def test_names_can_do_no_harm(demo_course):
    hole = replace(demo_course.hole(4), name='<script>alert("4")</script>\x1b[31m')
    course = replace(demo_course, name="A & <B>", holes=(hole,))
    root = parsed(draw_course(course, describe_course(course)))
    assert '<script>alert("4")</script>' in words(root)
    assert list(root.iter(f"{SVG}script")) == []
    assert "\x1b" not in words(root)


def test_from_the_command_line(tmp_path, capsys):
    course = str(cb.demo.course_path())
    sheet, folder = tmp_path / "sheet.svg", tmp_path / "holes"
    assert main(["check", course, "--draw", str(sheet)]) == 0
    assert len(boxes(parsed(sheet.read_text(encoding="utf-8")))) == 18
    capsys.readouterr()
    assert main(["check", course, "--json", "--draw", str(folder)]) == 0
    assert capsys.readouterr().out.startswith("{")
    names = [f"hole-{n:02}.svg" for n in range(1, 19)]
    assert sorted(p.name for p in folder.iterdir()) == names
    assert len(boxes(parsed((folder / names[6]).read_text(encoding="utf-8")))) == 1


@pytest.mark.parametrize("file", ["player", "records"])
def test_only_courses_are_drawn(tmp_path, capsys, file):
    records = tmp_path / "tallies.csv"
    records.write_text("club,tries,fairway\ndriver,11,6\n")
    path = cb.demo.player_path() if file == "player" else records
    assert main(["check", str(path), "--draw", str(tmp_path / "x.svg")]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert "--draw" in line
    assert file in line
    assert not (tmp_path / "x.svg").exists()


def test_pictures_of_another_kind_are_refused_and_no_directory_is_made_of_their_name(tmp_path, capsys):
    out = tmp_path / "sheet.png"
    assert main(["check", str(cb.demo.course_path()), "--draw", str(out)]) == 2
    assert "found 'sheet.png'; expected a file .svg, or a directory" in capsys.readouterr().err
    assert not out.exists()


def test_spot_heights_are_told(tmp_path, capsys):
    heath = str(Path(__file__).parents[2] / "course_specs" / "heath_by_numbers.json")
    assert main(["check", heath, "--draw", str(tmp_path / "heath.svg")]) == 0
    told = describe_course(cb.load_course(heath)).holes[1]
    assert told.heights > 0
    for text in (capsys.readouterr().out, words(parsed((tmp_path / "heath.svg").read_text("utf-8")))):
        assert f"spot heights {told.heights}" in " ".join(text.split())


def test_what_cannot_be_written_or_read_leaves_nothing_behind(tmp_path, capsys):
    course = str(cb.demo.course_path())
    for out in (tmp_path / "no" / "x.svg", tmp_path / "no" / "such"):
        assert main(["check", course, "--draw", str(out)]) == 2
        written = capsys.readouterr()
        assert len(written.err.splitlines()) == 1
        assert str(tmp_path / "no") in written.err
    broken = tmp_path / "broken.geojson"
    broken.write_text('{"type": "FeatureCollection", "features": [')
    assert main(["check", str(broken), "--draw", str(tmp_path / "holes")]) == 2
    assert [p.name for p in tmp_path.iterdir()] == ["broken.geojson"]


def test_page_and_picture_round_a_length_alike(demo_course):
    """Half a yard is told from a little less: 153.46 is 153 on both, though to a tenth it is 153.5."""
    hole = replace(demo_course.hole(1), line=np.array([[0.0, 0.0], [0.0, 153.46]]))
    hole = replace(hole, tees={"day": (0.0, 0.0)})
    course = replace(demo_course, holes=(hole,))
    said = words(parsed(draw_course(course, describe_course(course))))
    assert "1 hole, par 4, 153 yards" in said
    assert "par 4, 153 yards" in said
    assert "tees: day 153" in said
