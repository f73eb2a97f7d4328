"""Choices among trees and around corners, each on an invented hole.

The holes are laid out so that the right choice is clear to a golfer; the margins are those of the model.
"""

import re

import numpy as np
import pytest
from shapely import LineString, Point, Polygon, box
from single_hole import least, plan_of, straight, turns_of

import caddiebrain as cb
from caddiebrain.course.model import Area, Hole
from caddiebrain.flight import Conditions
from caddiebrain.hole import GridSpec
from caddiebrain.hole.crossings import Arc, Crossings, Flights
from caddiebrain.hole.ground import CODE, survey
from caddiebrain.hole.sight import Woods
from caddiebrain.hole.trees import stopped_high
from caddiebrain.round.options import Option
from caddiebrain.round.results import shares_of
from caddiebrain.terms import Lie, Shape


def punch(option: Option) -> bool:
    return option.label.startswith("punch")


# -- a gap five yards wide ---------------------------------------------------------------------------------

BALL, PIN = (-34.0, 262.0), (0.0, 400.0)


def wood_with_gap(width: float) -> Hole:
    """Woods 28 yards high on the left; the ball is three yards inside them, the gap leads straight to the pin."""
    wood = Polygon([(-75, 190), (-31, 190), (-31, 268), (-16, 276), (-16, 350), (-75, 350)])
    gap = LineString([BALL, PIN]).buffer(width / 2, cap_style="flat")
    kind = {"height_yd": 28.0, "canopy_gap_yd": 5.0}
    return straight(400.0, 4, Area(Lie.TREES, wood.difference(gap), "wood", **kind))


@pytest.fixture(scope="module")
def scratch():
    return cb.Level(handicap_index=0).player()


def from_the_wood(hole, player):
    return plan_of(hole, player).options(1, BALL, lie="trees", every_aim=True)


@pytest.fixture(scope="module")
def gap_choices(demo_player, scratch):
    hole = wood_with_gap(5.0)
    return {name: from_the_wood(hole, p) for name, p in (("demo", demo_player), ("scratch", scratch))}


def test_from_trees_with_a_gap_one_player_punches_out_and_another_takes_it(gap_choices):
    out = least(gap_choices["demo"])
    assert punch(out)
    # More sideways than forward, to open ground.
    assert out.aim_deg > 30.0
    assert out.shares.get("trees", 0.0) < 0.3
    through = least(gap_choices["scratch"])
    assert through.club
    assert through.aim_deg == pytest.approx(np.rad2deg(np.arctan2(34, 138)), abs=2.0)
    margins = {
        name: least(of, punch).expected - least(of, lambda o: bool(o.club)).expected
        for name, of in gap_choices.items()
    }
    assert margins["demo"] < -0.03
    assert margins["scratch"] > 0.05


def test_the_gap_is_a_matter_of_width(demo_player):
    wide = least(from_the_wood(wood_with_gap(12.0), demo_player))
    assert wide.club
    assert wide.aim_deg == pytest.approx(np.rad2deg(np.arctan2(34, 138)), abs=5.0)


def test_every_way_out_of_the_wood_is_weighed(gap_choices):
    found = gap_choices["demo"]
    punches = np.array([o.aim_deg for o in found if punch(o)])
    assert np.ptp(punches % 360.0) > 300.0
    assert any(o.height == "low" for o in found)
    assert any(o.height == "high" for o in found)
    assert any(o.label.startswith("drop, unplayable") for o in found)


# -- a corner ----------------------------------------------------------------------------------------------


def dogleg() -> Hole:
    """A hole that turns left at 210 by 40 degrees; tall woods on the inside up to 175, and along the right."""
    turn = np.deg2rad(40.0)
    end = np.array([-180.0 * np.sin(turn), 210.0 + 180.0 * np.cos(turn)])
    line = np.array([[0.0, 0.0], [0.0, 210.0], end])
    way = LineString([(0, 120), (0, 210), line[1] + 0.9 * (end - line[1])])
    kind = {"height_yd": 35.0, "canopy_gap_yd": 8.0}
    areas = (
        Area(Lie.GREEN, Point(end).buffer(12)),
        Area(Lie.FAIRWAY, way.buffer(17)),
        Area(Lie.TREES, box(-130, 40, -6, 175), "inside", **kind),
        Area(Lie.TREES, box(10, 20, 90, 300), "outside", **kind),
    )
    return Hole(1, 4, 1, line, areas)


@pytest.fixture(scope="module")
def drawer():
    """A scratch player with a practised draw: as far and as straight on average as the straight drive."""
    few = ("driver", "6-iron", "8-iron", "pitching wedge", "sand wedge")
    player = cb.Level(handicap_index=0, clubs=few).player()
    drive, *rest = player.patterns
    draw = drive.model_copy(update={"shape": Shape.DRAW, "curve_yd": -28.0, "apex_yd": 0.92 * drive.apex_yd})
    return player.model_copy(update={"patterns": (drive, draw, *rest)})


def tee_shots(player, conditions=None):
    options = plan_of(dogleg(), player, conditions).options(1, (0.0, 0.0), lie="tee", every_aim=True)
    scores = {o.label: o.expected for o in sorted(options, key=lambda o: -o.expected)}
    return least(options), scores


def test_around_a_corner_the_draw_beats_the_straight_ball_and_a_cross_wind_reverses_it(drawer):
    best, still = tee_shots(drawer)
    assert best.label == "driver draw"
    assert still["driver"] - still["driver draw"] > 0.03
    # The hole plays north; a wind from the east bends every ball to the left, the draw too far.
    best, east = tee_shots(drawer, Conditions(wind_mph=20, wind_from_deg=90))
    assert best.label == "driver"
    assert east["driver draw"] - east["driver"] > 0.04
    # From the west it straightens the draw and pushes the straight ball into the woods on the right.
    best, west = tee_shots(drawer, Conditions(wind_mph=10, wind_from_deg=270))
    assert best.label == "driver draw"
    assert west["driver"] - west["driver draw"] > still["driver"] - still["driver draw"]
    # The fade bends the wrong way.
    assert still["driver fade"] > still["driver draw"] + 0.1


def test_a_ball_pushed_by_the_wind_bows_around_or_into_trees():
    """A 150-yard shot that lands on its line, drifting 25 yards: half way it is 7.4 yards upwind of the line."""
    wood = Area(Lie.TREES, box(-14, 60, -4.5, 90), height_yd=60.0, canopy_base_yd=0.5, canopy_gap_yd=5.0)
    sight = Woods.of(survey(straight(400.0, 4, wood), GridSpec())).sight_from(np.zeros(1), np.zeros(1))
    arc, one = Arc(np.array([150.0]), np.array([30.0]), np.array([0.6])), np.zeros(1, np.int64)
    still, right, left = (
        stopped_high(
            sight,
            one,
            one,
            np.array([0, 1]),
            np.zeros((1, 1)),
            Crossings.of(sight.canopies, Flights(arc, np.zeros(1), d), np.full((1, 1), 150.0)),
        ).chance.sum()
        for d in (None, np.array([25.0 / 150.0]), np.array([-25.0 / 150.0]))
    )
    assert right > 0.8
    assert left < 0.01
    assert still < 0.5 * right


# -- no way out --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("half_width", [14.0, 17.0, 24.0])
def test_between_woods_tee_shots_end_in_them_as_often_as_played_out(demo_player, half_width):
    """However the woods' edges lie to the rays that are cast: those from the tee are close enough."""
    kind = {"height_yd": 28.0, "canopy_gap_yd": 8.0, "trunk_gap_yd": 20.0}
    woods = [box(-80, 60, -half_width, 340), box(half_width, 60, 80, 340)]
    hole = straight(400.0, 4, *(Area(Lie.TREES, wood, "wood", **kind) for wood in woods))
    plan = plan_of(hole, demo_player, grid=GridSpec())
    model, best = plan.hole(1).solved.model, plan.hole(1).solved.expected
    (shares,) = shares_of(model, best.choice[[model.tee]])
    _, turns = turns_of(plan, 5000)
    _, _, y, lie = turns[1]
    there = ((lie == CODE[Lie.TREES]) | (y == 0.0)).sum() / 5000  # some are played again from the tee
    assert there > 0.05
    assert shares["trees"] == pytest.approx(there, abs=0.02)


def test_deep_in_a_jungle_the_ball_is_unplayable(demo_player):
    """Trees as dense as a hedge all round, open ground ten yards back: Rule 19.2b beats every stroke."""
    jungle = box(-80, 230, -14, 300)
    kind = {"height_yd": 30.0, "canopy_base_yd": 0.5, "canopy_gap_yd": 1.0, "trunk_gap_yd": 1.0}
    hole = straight(400.0, 4, Area(Lie.TREES, jungle, "jungle", **kind))
    options = plan_of(hole, demo_player).options(1, (-40.0, 240.0), lie="trees", every_aim=True)
    best = least(options)
    assert re.fullmatch(r"drop, unplayable, \d+ yards back \(one penalty stroke\)", best.label)
    # Back on the line from the hole; a lateral drop does not reach open ground.
    assert best.shares == {"rough": pytest.approx(1.0)}
    assert best.expected < least(options, lambda o: not o.label.startswith("drop")).expected - 0.1
