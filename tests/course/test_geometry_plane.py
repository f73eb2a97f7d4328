"""Plane geometry of this room: frames, lines of play, cutting to a box, the far side of a boundary."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from caddiebrain.course.clip import clip_area, clip_line
from caddiebrain.course.geometry import Frame, far_side, play_line, right_side, side_strip

BOX = (0.0, 0.0, 10.0, 10.0)
YARDS = st.floats(-500, 500)


class TestFrame:
    def test_axes(self):
        # From (3, 4) looking east: a spot 10 east and 2 south of the origin is 10 ahead and 2 right.
        frame = Frame.between((3, 4), (103, 4))
        assert frame.to_local([[13, 2]])[0] == pytest.approx([2, 10])

    @given(YARDS, YARDS, YARDS, YARDS, YARDS, YARDS)
    def test_there_and_back(self, x0, y0, x1, y1, x, y):
        frame = Frame.between((x0, y0), (x1, y1))
        assert frame.to_plane(frame.to_local([[x, y]]))[0] == pytest.approx([x, y], abs=1e-6)


class TestPlayLine:
    LINE = np.array([[0.0, 0.0], [0.0, 200.0], [100.0, 300.0], [100.0, 400.0]])

    def test_turns_between_stay(self):
        line = play_line(self.LINE, (10.0, 60.0), (100.0, 390.0))
        assert line == pytest.approx(np.array([[10, 60], [0, 200], [100, 300], [100, 390]]))

    def test_turns_behind_the_tee_and_beyond_the_pin_go(self):
        assert len(play_line(self.LINE, (20.0, 230.0), (100.0, 390.0))) == 3
        assert len(play_line(self.LINE, (0.0, 0.0), (90.0, 280.0))) == 3


class TestClip:
    @given(
        st.lists(st.tuples(st.floats(-20, 30), st.floats(-20, 30)), min_size=3, max_size=12),
        st.lists(st.tuples(st.floats(0.01, 9.99), st.floats(0.01, 9.99)), min_size=5, max_size=5),
    )
    def test_areas_against_a_reference_library(self, corners, spots):
        """Inside the box the cut area covers the same ground as GEOS says, spot by spot."""
        shape = shapely.MultiPoint(corners).convex_hull
        if shape.geom_type != "Polygon" or shape.area < 1e-6:
            return
        cut = clip_area(shape, BOX)
        reference = shape.intersection(shapely.box(*BOX))
        assert (cut.area if cut else 0.0) == pytest.approx(reference.area, abs=1e-9)
        for spot in spots:
            point = shapely.Point(spot)
            if reference.boundary.distance(point) > 1e-9:
                assert (cut is not None and cut.contains(point)) == reference.contains(point)

    def test_prongs_and_cut_outs(self):
        comb = shapely.Polygon([(-5, 1), (20, 1), (20, 2), (12, 2), (12, 4), (20, 4), (20, 5), (-5, 5)])
        ring = comb.union(shapely.box(1, 5, 9, 9)).difference(shapely.box(2, 6, 3, 7))
        cut = clip_area(ring, BOX)
        assert cut.area == pytest.approx(ring.intersection(shapely.box(*BOX)).area)

    def test_nothing_left(self):
        assert clip_area(shapely.box(20, 20, 30, 30), BOX) is None

    def test_lines(self):
        line = shapely.LineString([(-30, 5), (-5, 5), (5, 5), (30, 5), (30, 40), (5, 40), (5, 5)])
        runs = clip_line(line, BOX)
        inside = shapely.union_all(runs).intersection(shapely.box(*BOX))
        assert inside.length == pytest.approx(line.intersection(shapely.box(*BOX)).length)
        assert [len(run.coords) for run in runs] == [3, 2]


class TestFarSide:
    PLAY = shapely.LineString([(0, 0), (0, 400)])

    def beyond(self, line, depth):
        return far_side(line, side_strip(line, depth), self.PLAY)

    def test_a_boundary_that_crosses_the_line_of_play(self):
        """Out is where less of the hole is: beyond a boundary across the last third."""
        out = self.beyond(shapely.LineString([(-100, 300), (100, 300)]), 150.0)
        assert out.contains(shapely.Point(0, 310))
        assert not out.contains(shapely.Point(0, 290))

    def test_a_zigzag(self):
        line = shapely.LineString([(50, -50), (70, 50), (50, 150), (90, 250), (50, 350), (50, 450)])
        out = self.beyond(line, 150.0)
        for y in range(-40, 440, 20):
            edge = shapely.LineString([(0, y), (400, y)]).intersection(line).coords[0][0]
            assert out.contains(shapely.Point(edge + 1, y))
            assert not out.contains(shapely.Point(edge - 1, y))

    def test_one_that_curls_back(self):
        """A boundary around the back of the green: out on its outside all along."""
        hook = shapely.LineString([(60, 0), (60, 450), (-60, 450), (-60, 300)])
        out = self.beyond(hook, 100.0)
        for spot, is_out in (((70, 200), True), ((50, 200), False), ((0, 460), True), ((-70, 380), True)):
            assert out.contains(shapely.Point(spot)) is is_out
        assert not out.contains(shapely.Point(-50, 380))

    def test_a_boundary_that_doubles_back_on_itself(self):
        line = shapely.LineString([(50, 0), (50, 200), (50, 100), (50, 400)])
        assert self.beyond(line, 100.0).contains(shapely.Point(60, 250))


def test_right_side_of_a_directed_line():
    strip = right_side(shapely.LineString([(0, 0), (0, 100)]), 10.0)
    assert strip.contains(shapely.Point(5, 50))
    assert strip.area == pytest.approx(1000.0)
