"""Drawings of holes: to scale, sound XML, told apart without colour, described in words, open to marks.

The measures are checked on the finished SVG: positions are hole yards with y turned down the page.
"""

import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest
import shapely

from caddiebrain.course.model import Area, Hole
from caddiebrain.course.picture import FINEST_YARDS_PER_INCH, picture_of_green, picture_of_hole
from caddiebrain.errors import InputError
from caddiebrain.report.drawing_style import LEGEND, OUTLINES, TEXTURES
from caddiebrain.report.hole_drawing import Ellipse, Path, Spot, Words, draw_green, draw_hole
from caddiebrain.terms import Lie

SVG = "{http://www.w3.org/2000/svg}"


def disc(x, y, radius):
    return shapely.Point(x, y).buffer(radius)


@pytest.fixture
def hole():
    """Par 4, 300 yards, with every kind of ground and a turn to the right at 200."""
    line = np.array([[0.0, 0.0], [-40.0, 190.0], [0.0, 290.0]])
    areas = (
        Area(Lie.TEE, shapely.box(-4, -6, 4, 6)),
        Area(Lie.FAIRWAY, shapely.LineString(line).buffer(16).intersection(shapely.box(-90, 100, 90, 270))),
        Area(Lie.GREEN, disc(0, 290, 13)),
        Area(Lie.SAND, disc(18, 284, 5)),
        Area(Lie.SAND, disc(-18, 190, 5)),
        Area(Lie.YELLOW, shapely.box(-70, 60, 60, 80)),
        Area(Lie.RED, shapely.box(30, 100, 45, 250)),
        Area(Lie.TREES, shapely.box(-90, 100, -72, 160), height_yd=18.0),
        Area(Lie.TREES, shapely.box(-90, 160.6, -72, 240), height_yd=12.0),
        Area(Lie.THICK, shapely.box(-70, 90, -60, 240)),
        Area(Lie.TIGHT, shapely.box(-30, 280, -14, 296)),
        Area(Lie.OUT, shapely.box(50, -50, 200, 400)),
    )
    tees, pins = {"back": (0.0, 0.0), "front": (0.0, 40.0)}, {"middle": (0.0, 290.0), "left": (-6.0, 291.0)}
    return Hole(3, 4, 5, line, areas, name='Ash & "Oak"', tees=tees, pins=pins)


def parsed(text):
    return ET.fromstring(text)


def drawn(root, name):
    return [e for e in root.iter() if name in e.get("class", "").split()]


def numbers(text):
    return np.array([float(n) for n in re.findall(r"-?\d+\.?\d*", text)])


def corners(element):
    return numbers(element.get("d")).reshape(-1, 2)


class TestScale:
    def test_the_frame_and_the_pixels_agree(self, hole):
        root = parsed(draw_hole(hole, width=320.0, margin_yd=50.0))
        left, top, width, height = numbers(root.get("viewBox"))
        assert (left, width) == (-90.0, 140.0)  # the line reaches from -40 to 0
        assert top + height == pytest.approx(30.0)
        assert top == pytest.approx(-290.0 - 30.0)
        assert root.get("width") == "320px"
        assert numbers(root.get("height"))[0] == pytest.approx(320.0 * height / width, rel=1e-3)

    def test_the_tee_is_below_the_pin(self, hole):
        root = parsed(draw_hole(hole))
        flag = next(e for e in root.iter(f"{SVG}g") if e.get("transform"))
        assert numbers(flag.get("transform")) == pytest.approx([0.0, -290.0])
        pegs = {e[0].text: (float(e.get("x")), float(e.get("y"))) for e in drawn(root, "hole3-peg")}
        assert pegs == {"back": (0.0, 0.0), "front": (0.0, -40.0)}
        cups = {e[0].text: (float(e.get("cx")), float(e.get("cy"))) for e in drawn(root, "hole3-cup")}
        assert cups == {"middle": (0.0, -290.0), "left": (-6.0, -291.0)}

    def test_areas_keep_their_size(self, hole):
        root = parsed(draw_hole(hole))
        (green,) = drawn(root, "hole3-green")
        assert shapely.Polygon(corners(green)).area == pytest.approx(disc(0, 290, 13).area, rel=0.01)

    def test_arcs_every_fifty_yards_to_the_pin(self, hole):
        root = parsed(draw_hole(hole))
        arcs = [corners(e) for e in drawn(root, "hole3-arc")]
        reach = [np.hypot(*(arc - [0.0, -290.0]).T) for arc in arcs]
        for distances in reach:
            # A chord of a 32-to-the-quadrant polygon lies at most 0.03 % inside its circle.
            assert np.ptp(distances) < 0.3
        assert {round(d.mean() / 50) for d in reach} == {1, 2, 3, 4, 5, 6}
        labels = [e.text for e in root.iter(f"{SVG}text") if e.text.isdigit()]
        assert labels == ["50", "100", "150", "200", "250", "300"]
        assert drawn(parsed(draw_hole(hole, rings=False)), "hole3-arc") == []

    def test_the_line_can_be_left_out(self, hole):
        (line,) = drawn(parsed(draw_hole(hole)), "hole3-line")
        assert corners(line) == pytest.approx(hole.line * [1, -1])
        assert drawn(parsed(draw_hole(hole, line=False)), "hole3-line") == []


class TestGreens:
    def test_three_eighths_of_an_inch_to_five_yards(self, hole):
        """Rules of Golf 2023, Rule 4.3a clarification 1: 3/8 inch to 5 yards is 1:480, and no larger."""
        assert pytest.approx(480.0) == FINEST_YARDS_PER_INCH * 36.0
        root = parsed(draw_green(hole))
        width = numbers(root.get("viewBox"))[2]
        assert root.get("width").endswith("in")
        assert numbers(root.get("width"))[0] == pytest.approx(width * (3 / 8) / 5, rel=1e-3)
        assert numbers(parsed(draw_green(hole, yards_per_inch=20.0)).get("width"))[0] == pytest.approx(
            width / 20.0, rel=1e-3
        )

    def test_a_larger_scale_is_refused(self, hole):
        with pytest.raises(InputError, match=r"yards_per_inch: found 10; expected 13\.33 or more"):
            draw_green(hole, yards_per_inch=10.0)

    def test_the_approach_comes_from_the_bottom(self, hole):
        picture = picture_of_green(hole)
        last = np.diff(picture.place(hole.line[-2:]), axis=0)[0]
        assert last == pytest.approx([0.0, -np.hypot(40.0, 100.0)])
        # Turned, not mirrored: ground right of the way in stays right of it.
        ahead = np.array([40.0, 100.0]) / np.hypot(40.0, 100.0)
        right = hole.line[-1] + 5.0 * np.array([ahead[1], -ahead[0]])
        assert picture.place([right])[0] - picture.place([hole.pin])[0] == pytest.approx([5.0, 0.0])

    def test_a_hole_without_a_green(self, hole):
        bare = replace(hole, areas=tuple(a for a in hole.areas if a.lie is not Lie.GREEN))
        with pytest.raises(InputError, match="hole 3: green: found none"):
            draw_green(bare)


class TestReadingWithoutColour:
    def test_every_kind_of_ground_is_drawn_once_and_named(self, hole):
        text = draw_hole(hole)
        root = parsed(text)
        described = root.find(f"{SVG}desc").text
        for lie, name in LEGEND.items():
            assert drawn(root, f"hole3-{lie}"), lie
            assert f"{name} (" in described
        assert "bunker (2)" in described
        assert "woods (1)" in described  # two pieces with a seam between them are one wood

    def test_textures_or_edges_differ_in_every_pair(self):
        looks = {lie: (TEXTURES.get(lie), OUTLINES.get(lie)) for lie in LEGEND}
        textured = [looks[lie] for lie in TEXTURES]
        assert len(set(textured)) == len(textured)
        assert {lie for lie in LEGEND if lie not in TEXTURES} == {Lie.TEE, Lie.FAIRWAY, Lie.GREEN}

    def test_penalty_areas_bear_their_colour_as_a_word(self, hole):
        words = [e.text for e in parsed(draw_hole(hole)).iter(f"{SVG}text")]
        assert {"yellow", "red"} <= set(words)

    def test_woods_have_scallops_and_boundaries_white_stakes(self, hole):
        root = parsed(draw_hole(hole))
        (wood,) = drawn(root, "hole3-trees")
        assert wood.get("d").count("A") > 20
        assert len(drawn(root, "hole3-stake")) == len(drawn(root, "hole3-post")) == 1


class TestOverlaps:
    def test_every_spot_is_drawn_with_the_lie_that_holds(self, hole):
        patches = picture_of_hole(hole).patches
        for i, one in enumerate(patches):
            assert all(one.shape.intersection(two.shape).area < 1e-6 for two in patches[i + 1 :])
        lies = {p.lie for p in patches if p.shape.contains(shapely.Point(-18.0, -190.0))}
        assert lies == {Lie.SAND}  # not the fairway under it

    def test_ground_outside_the_frame_is_left_out(self, hole):
        far = replace(hole, areas=(*hole.areas, Area(Lie.SAND, disc(500, 500, 9))))
        assert picture_of_hole(far).count(Lie.SAND) == picture_of_hole(hole).count(Lie.SAND) == 2


class TestMarks:
    def test_places_classes_and_order(self, hole):
        marks = [
            Spot((10.0, 200.0), css="aim", radius_yd=2.5),
            Ellipse((0.0, 150.0), along_yd=30.0, across_yd=10.0, heading_deg=90.0, css="landing"),
            Path([(0.0, 0.0), (10.0, 200.0)], css="way"),
            Path([(0, 0), (5, 0), (5, 5)], css="zone", closed=True),
            Words((0.0, 120.0), "aim <here> & there", css="note"),
        ]
        root = parsed(draw_hole(hole, marks=marks))
        (aim,), (landing,), (way,), (zone,), (note,) = (
            drawn(root, name) for name in ("aim", "landing", "way", "zone", "note")
        )
        assert (aim.get("cx"), aim.get("cy"), aim.get("r")) == ("10.0", "-200.0", "2.5")
        ring = corners(landing)
        # Heading 90: the long way lies across the page.
        assert np.ptp(ring, axis=0) == pytest.approx([60.0, 20.0], abs=0.3)
        assert ring.mean(axis=0) == pytest.approx([0.0, -150.0], abs=0.1)
        assert corners(way) == pytest.approx(np.array([[0.0, 0.0], [10.0, -200.0]]))
        assert zone.get("d").endswith("Z")
        assert note.text == "aim <here> & there"
        inside = list(root.iter())
        assert inside.index(aim) < inside.index(landing) < inside.index(way)

    def test_an_ellipse_turns_clockwise(self, hole):
        mark = Ellipse((0.0, 150.0), along_yd=30.0, across_yd=1.0, heading_deg=45.0, css="aim")
        (ring,) = (corners(e) for e in drawn(parsed(draw_hole(hole, marks=[mark])), "aim"))
        tip = ring[np.argmax(ring[:, 0])]
        assert tip == pytest.approx([30 / 2**0.5, -150 - 30 / 2**0.5], abs=0.5)


class TestOnAPage:
    def test_title_and_description_serve_readers_who_do_not_see_it(self, hole):
        root = parsed(draw_hole(hole))
        assert root.get("role") == "img"
        assert root.get("aria-labelledby") == "hole3-title hole3-desc"
        assert root.find(f"{SVG}title").text == 'Hole 3, Ash & "Oak"'
        assert root.find(f"{SVG}desc").text.startswith("Par 4, 302 yards. Tee at the bottom, pin at the top.")

    def test_two_pictures_share_a_page(self, hole):
        one, two = draw_hole(hole), draw_hole(hole, prefix="again-")
        ids = [re.findall(r' id="([^"]+)"', text) for text in (one, two)]
        assert len(set(ids[0] + ids[1])) == len(ids[0]) + len(ids[1]) == 6
        for text, own in zip((one, two), ids, strict=True):
            assert set(re.findall(r"url\(#([^)]+)\)", text)) <= set(own)
        styled = re.findall(r"\.([\w-]+)[{,]", re.search(r"<style>(.*?)</style>", two, re.DOTALL)[1])
        assert styled
        assert all(name.startswith("again-") for name in styled)

    def test_it_stands_alone(self, hole):
        text = draw_hole(hole) + draw_green(hole)
        assert "http" not in text.replace("http://www.w3.org/2000/svg", "")
        assert "<script" not in text

    @pytest.mark.parametrize("width", [0.0, -3.0, float("nan"), float("inf")])
    def test_a_width_that_is_none(self, hole, width):
        with pytest.raises(InputError, match="width"):
            draw_hole(hole, width=width)
