"""Reference points and relief areas of the Rules of Golf (2023), worked by hand to 0.1 yard.

In all of them the hole is at (0, 200) and play goes up the page. Two club-lengths are 2 x 45 in = 2.5 yd. That a
compiled hole drops balls there is tested in tests/hole/test_relief_by_hand.py.
"""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from caddiebrain.course.model import Area, Hole
from caddiebrain.course.relief import (
    CLUB_LENGTH_YD,
    TWO_CLUBS_YD,
    Edges,
    back_on_the_line,
    beside,
    crossing,
    fairway_points,
)
from caddiebrain.terms import Lie

PIN = (0.0, 200.0)
RIVER = shapely.box(-100, 100, 100, 130)  # across the hole


def near(spot, tolerance=0.1):
    return pytest.approx(spot, abs=tolerance)


def points(x, y, ways):
    heading, distance = (column[0] for column in ways)
    return np.stack([x + distance * np.sin(heading), y + distance * np.cos(heading)], axis=1)


def back(x, y, *yards):
    return points(x, y, back_on_the_line(np.array([float(x)]), np.array([float(y)]), PIN, yards))


def aside(x, y, turns=3, reach=(TWO_CLUBS_YD,)):
    return points(x, y, beside(np.array([float(x)]), np.array([float(y)]), PIN, turns, reach))


def crossed(start, rest, area):
    (place,) = crossing(np.array([start], dtype=float), np.array([rest], dtype=float), area)
    return tuple(place)


def test_two_club_lengths_of_a_45_inch_club():
    assert TWO_CLUBS_YD == 2 * CLUB_LENGTH_YD == 90 / 36


class TestCrossing:
    """17.1d: where the ball last crossed the edge of the penalty area."""

    def test_a_straight_flight(self):
        # From (0, 0) to (24, 120): the margin y = 100 is met after 100/120 of the way, at x = 20.
        assert crossed((0, 0), (24, 120), RIVER) == near((20.0, 100.0), 1e-9)

    def test_the_last_of_three_crossings(self):
        # Over one pond and into the next: the second pond's margin counts.
        ponds = shapely.MultiPolygon([shapely.box(-5, 50, 5, 60), shapely.box(-5, 80, 5, 90)])
        assert crossed((0, 0), (0, 85), ponds) == near((0.0, 80.0), 1e-9)

    def test_played_from_inside_the_nearest_edge(self):
        assert crossed((0, 110), (0, 120), RIVER) == near((0.0, 130.0), 1e-9)


class TestBackOnTheLine:
    """17.1d(2), 19.2b and 19.3: on the line from the hole through the reference point, behind it."""

    def test_straight_behind(self):
        # The crossing point (20, 100) is (20, -100) from the hole; its length is sqrt(10400) = 101.98.
        # 30 yards farther: (20, 100) + 30 * (20, -100) / 101.98 = (25.88, 70.58); 1 yard: (20.20, 99.02).
        assert back(20, 100, 1, 30) == near(np.array([(20.20, 99.02), (25.88, 70.58)]), 0.005)


class TestBeside:
    """17.1d(3), 19.2c and 19.3a: within two club-lengths, not nearer the hole."""

    def test_level_with_the_crossing_point_on_both_sides_and_straight_behind(self):
        # Reference (10, 100); the hole is at distance d = sqrt(100 + 10000) = 100.499, in direction
        # u = (-0.0995, 0.9950). A spot 2.5 yd away and as far from the hole lies 2.5^2 / (2 d) = 0.0311
        # along u and sqrt(2.5^2 - 0.0311^2) = 2.4998 to its side. Left of play is (-0.9950, -0.0995):
        # (10, 100) + 0.0311 u + 2.4998 (-0.9950, -0.0995) = (7.5096, 99.7822); right (12.4842, 100.2797).
        # Straight behind: (10, 100) - 2.5 u = (10.2488, 97.5124).
        left, behind, right = aside(10, 100)
        assert left == near((7.5096, 99.7822), 0.001)
        assert behind == near((10.2488, 97.5124), 0.001)
        assert right == near((12.4842, 100.2797), 0.001)
        assert np.hypot(left[0], left[1] - 200) == near(100.499, 0.001)

    def test_close_to_the_hole_the_whole_circle(self):
        # One yard from the hole every spot 2.5 yards off is farther from it.
        assert np.hypot(*(aside(0, 199, turns=9) - PIN).T).min() >= 1.5 - 1e-9

    @given(st.floats(-60, 60), st.floats(-50, 190))
    def test_never_nearer_the_hole_nor_too_far(self, x, y):
        spots = aside(x, y, 9, (TWO_CLUBS_YD, CLUB_LENGTH_YD))
        assert np.hypot(*(spots - (x, y)).T).max() <= 2.5 + 1e-9
        assert np.hypot(*(spots - PIN).T).min() >= np.hypot(x, y - 200) - 1e-9


class TestFairwayPoint:
    """Model Local Rule E-5: the nearest edge of the fairway, not nearer the hole."""

    def fairway(self, *shapes, more=()):
        areas = [Area(Lie.FAIRWAY, shape) for shape in shapes]
        return Edges(Hole(1, 4, 1, np.array([(0.0, 0.0), PIN]), (*areas, *more))).fairway

    def found(self, x, y, *shapes, more=()):
        edges = self.fairway(*shapes, more=more)
        place, there = fairway_points(np.array([float(x)]), np.array([float(y)]), PIN, edges)
        return tuple(place[0]) if there[0] else None

    def test_level_with_a_ball_far_right(self):
        # Ball at (60, 80), d = sqrt(60^2 + 120^2) = 134.16 from the hole. The fairway's edge straight left,
        # (15, 80), is nearer the hole (120.93), so the reference point is where the edge x = 15 meets the
        # circle: y = 200 - sqrt(134.16^2 - 15^2) = 66.68.
        assert self.found(60, 80, shapely.box(-15, 20, 15, 180)) == near((15.0, 66.68), 0.01)

    def test_straight_across_where_that_is_not_nearer_the_hole(self):
        # The hole's fairway lies left of a ball at (-10, 50): its corner (-20, 45) is 156.29 from the hole,
        # the ball 150.33. The edge x = -20 is nearest at (-20, 45), the end of it.
        assert self.found(-10, 50, shapely.box(-40, 0, -20, 45)) == near((-20.0, 45.0), 1e-9)

    def test_a_fairway_that_reaches_out_to_the_ball(self):
        # Edge x = 40 meets the circle through (60, 60), d = 152.32, at y = 200 - sqrt(152.32^2 - 40^2) = 53.03.
        assert self.found(60, 60, shapely.box(0, 0, 40, 180)) == near((40.0, 53.03), 0.01)

    def test_sand_along_the_edge_is_not_fairway(self):
        # Then the edge is x = 10: y = 200 - sqrt(134.16^2 - 10^2) = 66.21.
        sand = Area(Lie.SAND, shapely.box(10, 20, 15, 180))
        assert self.found(60, 80, shapely.box(-15, 20, 15, 180), more=(sand,)) == near((10.0, 66.21), 0.01)

    def test_no_fairway_as_far_back_as_the_ball(self):
        assert self.found(60, 0, shapely.box(-15, 100, 15, 180)) is None

    def test_the_fairway_of_another_hole_does_not_count(self):
        assert len(self.fairway(shapely.box(60, 0, 90, 180))) == 0

    @given(st.floats(-90, 90), st.floats(-20, 195))
    def test_against_a_fine_walk_along_the_edge(self, x, y):
        shape = shapely.Polygon([(-15, 20), (-5, 90), (-25, 170), (10, 185), (18, 120), (12, 15)])
        walk = shapely.get_coordinates(shapely.segmentize(shape, 0.05))
        ok = np.hypot(*(walk - PIN).T) >= np.hypot(x, y - 200)
        found = self.found(x, y, shape)
        if not shape.contains(shapely.Point(x, y)):
            assert (found is not None) or not ok.any()
            if ok.any():
                least = np.hypot(*(walk[ok] - (x, y)).T).min()
                assert least - 0.4 <= np.hypot(found[0] - x, found[1] - y) <= least + 1e-6
                assert np.hypot(found[0], found[1] - 200) >= np.hypot(x, y - 200) - 1e-6


def test_a_bunker_in_a_pond_may_be_dropped_in_and_water_may_not():
    areas = (Area(Lie.YELLOW, shapely.box(0, 0, 20, 20)), Area(Lie.SAND, shapely.box(5, 5, 10, 10)))
    edges = Edges(Hole(1, 4, 1, np.array([(0.0, 0.0), PIN]), areas))
    assert edges.may_drop(np.array([7.0, 1.0, 25.0]), np.array([7.0, 1.0, 1.0])).tolist() == [
        True,
        False,
        True,
    ]
