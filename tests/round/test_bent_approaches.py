"""Shapes a player has no pattern for, on the way to the green: taken where trees ask for a curve, else left alone.

Invented holes. From 150 yards a wood reaches the straight line to the pin 20 yards on, another stands six yards to the
right of it, and right of the green is water: a straight ball through the middle of the gap is on its way to the water.
"""

from collections.abc import Sequence

import numpy as np
import pytest
from shapely import Point, box
from single_hole import least, plan_of

import caddiebrain as cb
from caddiebrain.course.model import Area, Hole
from caddiebrain.hole import GridSpec, Kind
from caddiebrain.round import RoundPlan
from caddiebrain.round.options import Option
from caddiebrain.terms import Height, Lie, Shape

BALL, LENGTH = (0.0, 250.0), 400.0
HEDGE = {"height_yd": 60.0, "canopy_base_yd": 0.5, "canopy_gap_yd": 1.0, "trunk_gap_yd": 1.0}


def approach(*areas: Area) -> Hole:
    """A par 4 with fairway up to 125 yards from a round green, and on it what is given."""
    green = Area(Lie.GREEN, Point(0, LENGTH).buffer(12))
    fairway = Area(Lie.FAIRWAY, box(-16, 150, 16, 275))
    return Hole(1, 4, 1, np.array([[0.0, 0.0], [0.0, LENGTH]]), (green, fairway, *areas))


POND_RIGHT = Area(Lie.RED, box(12, 350, 70, 430), "pond")
CORNER = approach(
    Area(Lie.TREES, box(-70, 270, 0, 290), "left wood", **HEDGE),
    Area(Lie.TREES, box(6, 270, 70, 290), "right wood", **HEDGE),
    POND_RIGHT,
)
OPEN = {
    "water right": approach(POND_RIGHT),
    "water left": approach(Area(Lie.RED, box(-70, 350, -8, 430), "pond")),
    "sand short and left of the pin": approach(Area(Lie.SAND, box(-20, 378, -2, 390), "trap")),
}


@pytest.fixture(scope="module")
def straight_hitter():
    """A scratch player who has straight shots alone on record."""
    return cb.Level(handicap_index=0).player()


@pytest.fixture(scope="module")
def corner_plan(straight_hitter):
    # With 754 points a shot: with few, the best of many aims is the one that its points flatter.
    return plan_of(CORNER, straight_hitter, grid=GridSpec(points=(610, 144)))


def bent(option: Option) -> bool:
    return option.shape in ("draw", "fade")


def margin(options: Sequence[Option]) -> float:
    """What the best bent shot gains on the best other choice, strokes."""
    return least(options, lambda o: not bent(o)).expected - least(options, bent).expected


def bent_clubs(plan: RoundPlan, chosen: bool) -> set[str]:
    """Clubs that the plan bends in a derived shape off the tee: where it chooses to, or in all it worked out."""
    model, choice = plan.hole(1).solved.model, plan.hole(1).solved.expected.choice
    patterns, table = model.compiler.player.patterns, model.table
    if chosen:
        table = table.take(choice[model.numbering.node : model.numbering.spot] - model.first_choice)
    shots = [patterns[i] for i in table.index[(table.node > 0) & (table.kind == Kind.FULL)]]
    return {p.club for p in shots if p.derived and p.height is Height.STOCK}


def test_a_derived_iron_is_bent_around_a_corner_of_trees(corner_plan):
    options = corner_plan.options(1, BALL, lie="fairway")
    assert least(options).label == "8-iron draw"
    assert margin(options) > 0.05
    # The draw goes through the gap and comes back to the pin: it meets less trees and less water.
    lost = {o.label: o.shares.get("trees", 0.0) + o.shares.get("red", 0.0) for o in options}
    assert lost["8-iron draw"] < lost["8-iron"] - 0.05
    assert lost["8-iron draw"] < lost["8-iron fade"] - 0.05


def test_the_plan_itself_bends_irons_there(corner_plan):
    assert any("iron" in club for club in bent_clubs(corner_plan, chosen=True))


@pytest.mark.parametrize("name", OPEN)
def test_without_trees_in_the_way_no_iron_is_bent(name, straight_hitter, demo_player):
    """Water and sand alone: what a practised swing is surer by is more than a curve at the landing is worth."""
    for player in (straight_hitter, demo_player):
        plan = plan_of(OPEN[name], player)
        assert not bent_clubs(plan, chosen=False)
        options = plan.options(1, BALL, lie="fairway")
        assert {"draw", "fade"} <= {o.shape for o in options if "8-iron" in o.club}
        derived = [o for o in options if bent(o) and not o.shots]
        others = [o for o in options if o not in derived]
        assert least(derived).expected - least(others).expected > 0.05


def test_a_shape_of_the_players_own_needs_no_trees(demo_player):
    """Practised as well as the straight ball it is in the plan wherever the club is."""
    iron = next(p for p in demo_player.patterns if p.club == "8-iron")
    fade = iron.model_copy(update={"shape": Shape.FADE, "curve_yd": 8.0})
    player = demo_player.model_copy(update={"patterns": (*demo_player.patterns, fade)})
    options = plan_of(OPEN["water left"], player).options(1, BALL, lie="fairway")
    scores = {o.label: o.expected for o in options}
    assert abs(scores["8-iron fade"] - scores["8-iron"]) < 0.03
    assert scores["8-iron draw"] > scores["8-iron fade"] + 0.05
