"""Every relief that costs strokes, where it is open and where it is the one to take; invented holes."""

from collections import Counter
from dataclasses import replace

import numpy as np
from shapely import Point, box
from single_hole import COARSE, least, plan_of, straight

from caddiebrain.course import Setup
from caddiebrain.course.model import Area, Hole
from caddiebrain.flight import Conditions
from caddiebrain.hole import HoleCompiler, player_today
from caddiebrain.round.day import day_flight
from caddiebrain.round.prepare import prepare
from caddiebrain.terms import Lie

BACK_TO_THE_TEE = "stroke and distance"


def taken_from_the_tee(hole: Hole, player, beyond: float = 0.0) -> Counter[str]:
    """Count, over the places where balls from the tee get into trouble, the relief of the lowest score.

    Places nearer the tee than ``beyond`` yards are left out.
    """
    golfer, day = player_today(player, Setup()), Conditions()
    solved = prepare(HoleCompiler(hole, golfer, day_flight(golfer, day), day, COARSE))
    model, value = solved.model, solved.expected.value
    trouble, number = model.trouble, model.numbering
    taken: Counter[str] = Counter()
    places = trouble.pair_place[trouble.pair_origin == model.tee]
    for place in places[trouble.place_y[places] > beyond]:
        worth = {BACK_TO_THE_TEE: 1.0 + value[model.tee]}
        for relief in trouble.reliefs[place]:
            kind = relief.name.split(" yd")[0].rstrip("0123456789 ")
            cost = relief.strokes + value[number.spot + relief.spot]
            worth[kind] = min(cost, worth.get(kind, np.inf))
        taken[min(worth, key=lambda kind: worth[kind])] += 1
    return taken


def test_from_a_yellow_pond_back_on_the_line_17_1d_2(demo_player):
    pond = Area(Lie.YELLOW, box(-60, 185, 60, 215))
    taken = taken_from_the_tee(straight(400.0, 4, pond), demo_player)
    assert taken.most_common(1)[0][0] == "back on the line"
    assert set(taken) <= {"back on the line", BACK_TO_THE_TEE}


def test_from_a_red_stream_beside_the_fairway_two_club_lengths_17_1d_3(demo_player):
    stream = Area(Lie.RED, box(19, 120, 27, 380))
    taken = taken_from_the_tee(straight(400.0, 4, stream), demo_player)
    assert taken.most_common(1)[0][0] == "lateral relief"


def test_on_a_par_three_over_water_back_to_the_tee_17_1d_1(demo_player):
    """The line behind the water is all thick grass; the tee is level and the same way off."""
    water, grass = Area(Lie.YELLOW, box(-70, 16, 70, 128)), Area(Lie.THICK, box(-70, -30, 70, 16))
    taken = taken_from_the_tee(straight(145.0, 3, water, grass), demo_player)
    assert taken.most_common(1)[0][0] == BACK_TO_THE_TEE


def bounds(far: float) -> tuple[Area, Area]:
    """Out of bounds on both sides."""
    return Area(Lie.OUT, box(24, -20, 90, far)), Area(Lie.OUT, box(-90, -20, -24, far))


def test_under_e5_the_fairways_edge_after_a_drive_but_the_tee_of_a_par_three(demo_player):
    drive = replace(straight(420.0, 4, *bounds(450.0)), local_rule_e5=True)
    short = replace(straight(150.0, 3, *bounds(190.0)), local_rule_e5=True)
    taken = taken_from_the_tee(drive, demo_player, beyond=200.0)
    assert taken.most_common(1)[0][0] == "fairway edge (E-5)"
    assert taken_from_the_tee(short, demo_player).most_common(1)[0][0] == BACK_TO_THE_TEE


def test_without_e5_a_ball_out_of_bounds_has_no_other_way_18_2(demo_player):
    hole = straight(420.0, 4, Area(Lie.OUT, box(24, -20, 90, 450)))
    # Nothing to choose, so no state of its own: the ball is on the tee again, two strokes later.
    assert not taken_from_the_tee(hole, demo_player)


def test_out_of_a_bunker_for_two_strokes_is_open_but_dear_19_3b(demo_player):
    """Even to a player who leaves six bunker shots in ten where they were, as many as a player may, it costs more."""
    hole = straight(400.0, 4, Area(Lie.SAND, Point(0, 372).buffer(7)))
    helpless = {"mishit": 0.6, "mishit_depth": 0.05, "mishit_depth_sd": 0.05}
    short = tuple(s.model_copy(update=helpless) if s.lie is Lie.SAND else s for s in demo_player.short_game)
    player = demo_player.model_copy(update={"short_game": short})
    options = plan_of(hole, player).options(1, (0.0, 372.0), every_aim=True)
    drop = least(options, lambda o: o.label == "drop, unplayable (two penalty strokes)")
    stroke = least(options, lambda o: not o.label.startswith("drop"))
    assert stroke.shares["sand"] > 0.4
    assert 0.3 < drop.expected - stroke.expected < 1.5
    # Two strokes and a chip or pitch: from cut grass behind the bunker.
    assert set(drop.shares) <= {"fairway", "rough"}
