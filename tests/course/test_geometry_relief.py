"""Relief under the Rules of Golf (2023): every geometry worked by hand, drop points to 0.1 yard.

In all of them the hole is at (0, 200) and play goes up the page. Two club-lengths are 2 x 45 in = 2.5 yd.
"""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from caddiebrain.course.relief import (
    CLUB_LENGTH_YD,
    back_line,
    back_on_the_line,
    crossing_point,
    fairway_drop,
    lateral_area,
    lateral_drop,
    penalty_area_relief,
    stroke_and_distance,
    unplayable_relief,
)

PIN = (0.0, 200.0)
RIVER = shapely.box(-100, 100, 100, 130)  # across the hole
BROOK = shapely.box(10, 0, 25, 300)  # along its right side
BUNKER = shapely.box(-5, 150, 5, 160)
TENTH = 0.1


def near(spot, tolerance=TENTH):
    return pytest.approx(spot, abs=tolerance)


def test_two_club_lengths_of_a_45_inch_club():
    assert 2 * CLUB_LENGTH_YD == 90 / 36


def test_14_6_replay_from_the_spot_of_the_last_stroke():
    relief = stroke_and_distance((3.0, 40.0))
    assert (relief.rule, relief.spot, relief.penalty, relief.replay) == ("14.6", (3.0, 40.0), 1, True)


class TestCrossingPoint:
    """17.1d: where the ball last crossed the edge of the penalty area."""

    def test_a_straight_flight(self):
        # From (0, 0) to (24, 120): the margin y = 100 is met after 100/120 of the way, at x = 20.
        assert crossing_point([(0, 0), (24, 120)], RIVER) == near((20.0, 100.0))

    def test_the_last_of_two_crossings(self):
        # Over one pond and into the next: the second margin counts.
        ponds = shapely.MultiPolygon([shapely.box(-5, 50, 5, 60), shapely.box(-5, 80, 5, 90)])
        assert crossing_point([(0, 0), (0, 85)], ponds) == near((0.0, 80.0))

    def test_a_ball_that_rolls_back_in(self):
        # Flies over the river to y = 140, rolls back to y = 120: crossed last at the far margin, y = 130.
        assert crossing_point([(0, 0), (0, 140), (0, 120)], RIVER) == near((0.0, 130.0))

    def test_a_step_that_ends_on_the_margin(self):
        assert crossing_point([(0, 0), (0, 100), (0, 110)], RIVER) == near((0.0, 100.0))

    def test_a_step_that_goes_on_inside(self):
        assert crossing_point([(0, 0), (0, 110), (0, 120)], RIVER) == near((0.0, 100.0))

    def test_none_from_inside_and_none_across(self):
        assert crossing_point([(0, 110), (0, 120)], RIVER) is None
        assert crossing_point([(0, 0), (0, 150)], RIVER) is None

    def test_out_of_the_river_and_back_in(self):
        assert crossing_point([(0, 110), (0, 90), (0, 105)], RIVER) == near((0.0, 100.0))


class TestBackOnTheLine:
    """17.1d(2) and 19.2b: on the line from the hole through the reference point, behind it."""

    def test_straight_behind(self):
        # The crossing point (20, 100) is (20, -100) from the hole; its length is sqrt(10400) = 101.98.
        # 30 yards farther: (20, 100) + 30 * (20, -100) / 101.98 = (25.88, 70.58).
        assert back_on_the_line((20, 100), PIN, back_yd=30) == near((25.88, 70.58))

    def test_with_no_wish_the_drop_is_at_the_reference_point(self):
        assert back_on_the_line((20, 100), PIN) == near((20.0, 100.0))

    def test_water_behind_is_skipped(self):
        # Crossed the far margin: the line back from (0, 130) runs over the river down to its near margin.
        assert back_on_the_line((0, 130), PIN, barred=RIVER) == near((0.0, 100.0))

    def test_the_line_is_in_two_pieces_around_a_ditch(self):
        ditch = shapely.box(-100, 60, 100, 70)
        line = back_line((0, 100), PIN, barred=ditch, farthest_yd=80)
        assert [part.length for part in shapely.get_parts(line)] == near([30.0, 40.0])
        assert back_on_the_line((0, 100), PIN, back_yd=35, barred=ditch) == near((0.0, 60.0))

    def test_none_where_the_line_has_no_ground(self):
        assert back_on_the_line((0, 130), PIN, barred=shapely.box(-500, -500, 500, 130)) is None

    def test_a_ball_in_the_hole_has_no_line(self):
        assert back_on_the_line(PIN, PIN) is None


class TestLateral:
    """17.1d(3) and 19.2c: within two club-lengths, not nearer the hole."""

    def test_level_with_the_crossing_point_away_from_the_water(self):
        # Reference (10, 100); the hole is at distance d = sqrt(100 + 10000) = 100.499, in direction
        # u = (-0.0995, 0.9950). A spot 2.5 yd away and as far from the hole lies 2.5^2 / (2 d) = 0.0311
        # along u and sqrt(2.5^2 - 0.0311^2) = 2.4998 to its side. Left of play is (-0.9950, -0.0995):
        # (10, 100) + 0.0311 u + 2.4998 (-0.9950, -0.0995) = (7.5096, 99.7822).
        spot = lateral_drop((10, 100), PIN, barred=BROOK)
        assert spot == near((7.51, 99.78))
        assert np.hypot(spot[0] - 10, spot[1] - 100) == near(2.5, 0.001)
        assert np.hypot(spot[0], spot[1] - 200) == near(100.499, 0.001)

    def test_the_relief_area_is_half_a_disc_less_the_water(self):
        # Far from the hole the circle about it is nearly straight: half a disc of radius 2.5 is 9.817 sq yd.
        # Along a margin that runs to the hole only its left half is left: 4.909.
        assert lateral_area((0, 100), PIN).area == near(9.817, 0.1)
        assert lateral_area((0, 100), PIN, barred=shapely.box(0, 0, 25, 300)).area == near(4.909, 0.1)

    def test_both_level_spots_in_the_water(self):
        # A narrow spit: only ground straight behind (0, 100) is dry; the nearest allowed spot to the hole.
        spit = shapely.box(-50, 90, 50, 300).difference(shapely.box(-1, 90, 1, 100))
        assert lateral_drop((0, 100), PIN, barred=spit)[1] == near(100.0)

    def test_no_dry_ground_no_lateral_relief(self):
        assert lateral_drop((0, 100), PIN, barred=shapely.box(-50, 50, 50, 150)) is None

    def test_a_shorter_longest_club(self):
        # 43 inches: two club-lengths are 86/36 = 2.389 yd.
        spot = lateral_drop((0, 100), PIN, club_length_yd=43 / 36)
        assert np.hypot(spot[0], spot[1] - 100) == near(2.389, 0.001)

    @given(st.floats(-60, 60), st.floats(-50, 190))
    def test_never_nearer_the_hole_nor_too_far(self, x, y):
        spot = lateral_drop((x, y), PIN, barred=BROOK)
        if spot is not None:
            assert np.hypot(spot[0] - x, spot[1] - y) <= 2.5 + 1e-3
            assert np.hypot(spot[0], spot[1] - 200) >= np.hypot(x, y - 200) - 0.02
            assert BROOK.buffer(-1e-6).distance(shapely.Point(spot)) > 0


class TestPenaltyArea:
    def test_17_1d_yellow_has_two_ways(self):
        # Flight (0, 0) -> (24, 120) crosses at (20, 100), see above; the tee is replayed from (0, 0).
        options = penalty_area_relief([(0, 0), (24, 120)], RIVER, PIN, red=False)
        assert [(o.rule, o.penalty) for o in options] == [("17.1d(1)", 1), ("17.1d(2)", 1)]
        assert options[0].spot == (0.0, 0.0)
        assert options[0].replay
        assert options[1].spot == near((20.0, 100.0))

    def test_17_1d_red_adds_lateral(self):
        # A slice from (0, 0) to (15, 150) meets x = 10 at y = 100: lateral as worked out above.
        options = penalty_area_relief([(0, 0), (15, 150)], BROOK, PIN, red=True)
        assert [o.rule for o in options] == ["17.1d(1)", "17.1d(2)", "17.1d(3)"]
        assert options[2].spot == near((7.51, 99.78))

    def test_back_on_the_line_leaves_the_brook_behind_the_crossing(self):
        # From the hole through (10, 100) the line runs on at x = (200 - y) / 10, inside the brook until the
        # brook ends at y = 0, where x = 20.
        options = penalty_area_relief([(0, 0), (15, 150)], BROOK, PIN, red=True)
        assert options[1].spot == near((20.0, 0.0))

    def test_a_drop_out_of_bounds_is_not_offered(self):
        options = penalty_area_relief(
            [(0, 0), (15, 150)], BROOK, PIN, red=True, out=shapely.box(-50, 50, 10, 150)
        )
        assert [o.rule for o in options] == ["17.1d(1)", "17.1d(2)"]

    def test_played_from_inside_only_the_replay_is_known(self):
        assert [o.rule for o in penalty_area_relief([(0, 105), (0, 120)], RIVER, PIN, red=True)] == [
            "17.1d(1)"
        ]


class TestUnplayable:
    def test_19_2(self):
        # Ball at (30, 100): from the hole (30, -100), length 104.40; 10 yd back: (32.87, 90.42).
        options = unplayable_relief((30, 100), (0, 0), PIN, back_yd=10)
        assert [(o.rule, o.penalty) for o in options] == [("19.2a", 1), ("19.2b", 1), ("19.2c", 1)]
        assert options[0].spot == (0, 0)
        assert options[1].spot == near((32.87, 90.42))
        # Level: u = (-0.2873, 0.9578), right of play (0.9578, 0.2873), along 0.0299:
        # (30, 100) + 0.0299 u + 2.4998 (0.9578, 0.2873) = (32.3858, 100.7469).
        assert options[2].spot == near((32.39, 100.75))

    def test_19_3_in_a_bunker_two_ways_stay_in_it(self):
        # Ball at (4, 155): the line from the hole leaves the sand at y = 150, (4, -45) * 50/45 + (0, 200):
        # x = 4.444. Asked for 3 yd back: 3 * (4, -45) / 45.177 = (0.2656, -2.988): (4.27, 152.01).
        options = unplayable_relief((4, 155), (0, 0), PIN, bunker=BUNKER, back_yd=3)
        assert [(o.rule, o.penalty) for o in options] == [
            ("19.2a", 1),
            ("19.3a", 1),
            ("19.3a", 1),
            ("19.3b", 2),
        ]
        assert options[1].spot == near((4.27, 152.01))
        # Right of it the level spot would be at x = 6.5, outside the sand; left: (4, 155) - 2.49 across.
        assert options[2].spot == near((1.51, 154.85))
        assert options[3].spot == near((4.44, 150.0))

    def test_19_3_no_sand_that_far_back(self):
        options = unplayable_relief((4, 155), (0, 0), PIN, bunker=BUNKER, back_yd=30)
        assert [o.rule for o in options] == ["19.2a", "19.3a", "19.3b"]


class TestFairwayDrop:
    """Model Local Rule E-5: two strokes, at the edge of the fairway, not nearer the hole."""

    FAIRWAY = shapely.box(-15, 20, 15, 180)

    def test_level_with_a_ball_far_right(self):
        # Ball at (60, 80), d = sqrt(60^2 + 120^2) = 134.16 from the hole. The fairway's edge straight left,
        # (15, 80), is nearer the hole (120.93), so the reference point is where the edge x = 15 meets the
        # circle: y = 200 - sqrt(134.16^2 - 15^2) = 66.68. From there two club-lengths to the fairway side of
        # the line from the hole: across (0.9938, 0.1118), so (15, 66.68) - 2.5 * (0.9938, 0.1118).
        relief = fairway_drop((60, 80), PIN, [self.FAIRWAY])
        assert (relief.rule, relief.penalty) == ("E-5", 2)
        assert relief.spot == near((12.52, 66.40))
        assert np.hypot(relief.spot[0], relief.spot[1] - 200) >= 134.16

    def test_the_nearest_fairway_where_it_is_no_nearer_the_hole(self):
        # A fairway that bends toward the ball: its corner (40, 60) is nearest to (60, 60) and the edge is
        # level with it: hole to ball sqrt(60^2 + 140^2) = 152.3; hole to edge point must not be less.
        relief = fairway_drop((60, 60), PIN, [shapely.box(0, 0, 40, 180)])
        # Edge x = 40 meets the circle at y = 200 - sqrt(152.32^2 - 40^2) = 53.03.
        # Across there: (146.97, -40)/152.32 -> side (-0.9649, -0.2626): (40, 53.03) + 2.5 * side.
        assert relief.spot == near((37.59, 52.37))

    def test_the_drop_is_in_the_general_area(self):
        # Sand along the fairway's edge: the nearest fairway outside it counts (x = 10), see above:
        # y = 200 - sqrt(134.16^2 - 10^2) = 66.21.
        sand = shapely.box(10, 20, 15, 180)
        relief = fairway_drop((60, 80), PIN, [self.FAIRWAY], barred=sand)
        assert relief.spot == near((7.51, 66.03))

    def test_no_fairway_as_far_back_as_the_ball(self):
        assert fairway_drop((60, 0), PIN, [shapely.box(-15, 100, 15, 180)]) is None
