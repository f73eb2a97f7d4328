"""Every relief that costs strokes, where it is open and where it is the one to take; invented holes."""

from collections import Counter
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from shapely import Point, box
from single_hole import least, plan_of, straight, turns_of

from caddiebrain import solve
from caddiebrain.course import Setup
from caddiebrain.course.model import Area, Hole
from caddiebrain.errors import InputError
from caddiebrain.flight import Conditions
from caddiebrain.hole import HoleCompiler, player_today
from caddiebrain.hole.ground import CODE
from caddiebrain.round.day import day_flight
from caddiebrain.round.prepare import prepare
from caddiebrain.round.replay import REPLAY
from caddiebrain.terms import Lie
from tests.conftest import COARSE

BACK_TO_THE_TEE = "stroke and distance"


def compiler_of(hole: Hole, player) -> HoleCompiler:
    golfer, day = player_today(player, Setup()), Conditions()
    return HoleCompiler(hole, golfer, day_flight(golfer, day), day, COARSE)


def helpless_in_sand(player):
    """A player who leaves six bunker shots in ten where they were, as many as a player may."""
    helpless = {"mishit": 0.6, "mishit_depth": 0.05, "mishit_depth_sd": 0.05}
    short = tuple(s.model_copy(update=helpless) if s.lie is Lie.SAND else s for s in player.short_game)
    return player.model_copy(update={"short_game": short})


def taken_from_the_tee(hole: Hole, player, beyond: float = 0.0) -> Counter[str]:
    """Count, over the places where balls from the tee get into trouble, the relief of the lowest score.

    Places nearer the tee than ``beyond`` yards are left out.
    """
    solved = prepare(compiler_of(hole, player))
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
    """Even to a player who hardly gets out it costs more."""
    hole = straight(400.0, 4, Area(Lie.SAND, Point(0, 372).buffer(7)))
    options = plan_of(hole, helpless_in_sand(demo_player)).options(1, (0.0, 372.0), every_aim=True)
    drop = least(
        options,
        lambda o: (
            o.label.startswith("drop, unplayable, ") and o.label.endswith(" yards back (two penalty strokes)")
        ),
    )
    stroke = least(options, lambda o: not o.label.startswith("drop"))
    assert stroke.shares["sand"] > 0.4
    assert 0.3 < drop.expected - stroke.expected < 1.5
    # Two strokes and a chip or pitch: from cut grass behind the bunker.
    assert set(drop.shares) <= {"fairway", "rough"}


# -- back to where it was played -------------------------------------------------------------------------


def wooded(player, gap: float, *woods: tuple[float, float, float, float]) -> HoleCompiler:
    """A par 4 with woods, as boxes, through which a ball flies ``gap`` yards on average."""
    kind = {"height_yd": 30.0, "canopy_base_yd": 0.5, "canopy_gap_yd": gap, "trunk_gap_yd": gap}
    hole = straight(400.0, 4, *(Area(Lie.TREES, box(*wood), "jungle", **kind) for wood in woods))
    return compiler_of(hole, player)


@pytest.fixture(scope="module")
def jungle(demo_player):
    """A jungle from 60 yards on, too deep for any drop to reach open ground."""
    return wooded(demo_player, 1.0, (-80, 60, -14, 340))


@pytest.fixture(scope="module")
def jungle_solved(jungle):
    return prepare(jungle)


def test_deep_in_a_jungle_the_plan_goes_back_to_where_it_was_played_19_2a(jungle_solved):
    """A state for the place and where the ball came from: the better of playing on and a stroke with that place."""
    model, value = jungle_solved.model, jungle_solved.expected.value
    trouble, number = model.trouble, model.numbering
    assert set(trouble.place_lie) == {CODE[Lie.TREES], CODE[Lie.ROUGH]}
    assert {relief.name for of_place in trouble.reliefs for relief in of_place} == {"as it lies"}
    pair = value[number.trouble + len(trouble.relieved) + np.arange(len(trouble.pair_place))]
    (spot,) = np.array([[relief.spot for relief in of_place] for of_place in trouble.reliefs]).T
    lies, back = value[number.spot + spot][trouble.pair_place], 1.0 + value[trouble.pair_origin]
    assert pair == pytest.approx(np.minimum(lies, back), abs=1e-9)
    from_tee = trouble.pair_origin == model.tee
    assert (back < lies - 0.3)[from_tee].any()
    assert (back > lies)[from_tee].any()


def test_balls_that_may_as_well_go_back_are_all_told_apart(jungle, jungle_solved, monkeypatch):
    """Where the coarse graph says that going back is no use, it is none: with every ball told apart nothing gains."""
    expected = jungle_solved.expected.value[jungle_solved.model.tee]
    known = jungle_solved.model.compiler
    table = jungle_solved.model.table
    monkeypatch.setattr("caddiebrain.hole.resolve.NEARLY", 3.0)
    every = known.build(table)
    assert len(every.trouble.pair_place) > 3 * len(jungle_solved.model.trouble.pair_place)
    assert solve.fewest_strokes(every.graph).value[every.tee] == pytest.approx(expected, abs=1e-4)
    played_on = jungle.build(table)
    assert len(played_on.trouble.pair_place) == 0
    assert solve.fewest_strokes(played_on.graph).value[played_on.tee] > expected + 0.005


def test_played_out_in_true_positions_balls_go_back_as_often_as_computed_19_3a(demo_player):
    """A short hole for a player whose bunker shots stay in the bunker six times in ten: better a wedge from the tee."""
    boxes = ((-35, 60, 35, 83), (-35, 83, -12, 115), (12, 83, 35, 115))
    hole = straight(95.0, 3, *(Area(Lie.SAND, box(*where)) for where in boxes))
    plan = plan_of(hole, helpless_in_sand(demo_player))
    solved = plan.hole(1).solved
    model, value = solved.model, solved.expected.value
    tee_shots = solve.expected_visits(model.graph, solved.expected.choice, model.tee)[model.tee]
    assert tee_shots > 1.02
    for golfer, expected in ((model.compiler, tee_shots), (model.compiler.knowing(None), 1.0)):
        strokes, turns = turns_of(plan, 5000, golfer)
        # Two or three times the sampling error of 5,000 balls.
        assert sum((y == 0.0).sum() for _, _, y, _ in turns) / 5000 == pytest.approx(expected, abs=0.006)
        assert strokes.mean() == pytest.approx(value[model.tee], abs=0.04)


@pytest.fixture(scope="module")
def jungle_plan(jungle, demo_player):
    return plan_of(jungle.hole, demo_player)


@pytest.fixture(scope="module")
def wood_edge_plan(demo_player):
    """A par 4 with a wood whose edge runs beside the fairway."""
    kind = {"height_yd": 25.0, "canopy_base_yd": 1.0, "canopy_gap_yd": 4.0, "trunk_gap_yd": 4.0}
    return plan_of(straight(400.0, 4, Area(Lie.TREES, box(-60, 200, -17, 340), "edge", **kind)), demo_player)


def test_stroke_and_distance_is_weighed_where_the_player_says_it_came_from_19_2a(jungle_plan):
    spot = {"lie": "trees", "strokes_on_hole": 1}
    without = jungle_plan.options(1, (-42.0, 200.0), **spot)
    with_it = jungle_plan.options(1, (-42.0, 200.0), played_from=(0.0, 0.0), **spot)
    (again,) = [o for o in with_it if o.label == REPLAY]
    assert with_it == jungle_plan.options(1, (-42.0, 200.0), played_from="tee", **spot)
    assert tuple(o for o in with_it if o.label != REPLAY) == without
    hole = jungle_plan.hole(1)
    # One penalty stroke, then the tee with the fewest strokes there are; one stroke of the target less.
    assert again.expected == pytest.approx(1.0 + hole.expected_score, abs=1e-9)
    left = jungle_plan.target - 1 - 1
    assert again.chance == pytest.approx(max(hole.chances.tee[left - hole.chances.least]), abs=1e-9)
    assert again.shares == {"stroke and distance": 1.0}
    assert again.aim_xy == pytest.approx((0.0, 0.0), abs=1e-9)
    # Deep in a jungle nothing is as good.
    assert with_it[0].label == REPLAY
    assert again.expected < least(without).expected - 0.3


def test_a_look_up_lists_drops_where_the_rules_put_them_19_2b_c(wood_edge_plan):
    # The ball is (-18, -194) from the hole, 194.83 yards. 8 yards back: (-18, 206) + 8 (-18, -194) / 194.83 =
    # (-18.74, 198.03), in front of the wood. Level right, toward the fairway: 0.0160 yards along (0.0924, 0.9957)
    # and 2.4999 along (0.9957, -0.0924), (-15.51, 205.79).
    every = wood_edge_plan.options(1, (-18.0, 206.0), lie="trees", strokes_on_hole=1, every_aim=True)
    places = {o.label.partition(" (")[0]: [] for o in every}
    for option in every:
        places[option.label.partition(" (")[0]].append(option.aim_xy)
    (back,) = places["drop, unplayable, 8 yards back"]
    assert back == pytest.approx((-18.74, 198.03), abs=0.1)
    beside = places["drop, unplayable, within two club-lengths"]
    assert any(place == pytest.approx((-15.51, 205.79), abs=0.1) for place in beside)


def test_a_look_up_in_a_bunker_lists_both_drops_in_it_and_they_are_never_best_19_3a(demo_player):
    """A stroke for sand again, at five places of a short and a long bunker."""
    hole = straight(400.0, 4, Area(Lie.SAND, box(-8, 352, 8, 372)), Area(Lie.SAND, box(18, 200, 30, 240)))
    plan = plan_of(hole, helpless_in_sand(demo_player))
    for ball in ((-3.0, 356.0), (0.0, 370.0), (6.0, 362.0), (20.0, 238.0), (28.0, 204.0)):
        options = plan.options(1, ball, strokes_on_hole=1, every_aim=True)
        inside = [o for o in options if "in the bunker" in o.label]
        assert {"club-lengths" in o.label for o in inside} == {True, False}
        as_it_lies = least(options, lambda o: not o.label.startswith("drop"))
        assert min(o.expected for o in inside) > as_it_lies.expected + 0.5
        assert max(o.chance for o in inside) < max(o.chance for o in options)


def test_a_look_up_in_rough_behind_a_wood_lists_both_drops_19_2b_c(wood_edge_plan):
    """In front of trees; on open ground nothing is listed."""
    hemmed = wood_edge_plan.options(1, (-30.0, 196.0), strokes_on_hole=1)
    drops = [o for o in hemmed if o.label.startswith("drop")]
    assert {"club-lengths" in o.label for o in drops} == {True, False}
    open_ground = wood_edge_plan.options(1, (0.0, 250.0), strokes_on_hole=1)
    assert not any(o.label.startswith("drop") for o in open_ground)


def test_balls_that_are_played_again_are_where_they_were_to_the_inch_14_6_18_2(demo_player):
    """Out of bounds on both sides: the tee shot and later ones are played again from their own places."""
    plan = plan_of(straight(420.0, 4, *bounds(450.0)), demo_player)
    _, turns = turns_of(plan, 4000)
    way: dict[int, list[tuple[float, float]]] = {}
    for who, x, y, _ in turns:
        for ball, *place in zip(who.tolist(), x.tolist(), y.tolist(), strict=True):
            way.setdefault(ball, []).append(tuple(place))
    again = [a for places in way.values() for a, b in pairwise(places) if a == b]
    assert sum(place == (0.0, 0.0) for place in again) > 20
    assert sum(place != (0.0, 0.0) for place in again) > 20
    # On the tee nothing else is near: who does not leave it was sent back to the very place.
    on_tee = [p for places in way.values() for p in places[1:] if np.hypot(*p) < 1.0]
    assert set(on_tee) == {(0.0, 0.0)}


def test_of_each_relief_the_best_place_is_listed(wood_edge_plan):
    """One drop beside the ball (19.2c) and one back on the line (19.2b); every place where every aim is asked for."""
    spot = {"lie": "trees", "strokes_on_hole": 1}
    listed = [o for o in wood_edge_plan.options(1, (-18.0, 206.0), **spot) if "drop" in o.label]
    every = wood_edge_plan.options(1, (-18.0, 206.0), every_aim=True, **spot)
    every = [o for o in every if "drop" in o.label]
    assert len({"club-lengths" in o.label for o in listed}) == len(listed) == 2
    assert len(every) > 2
    for option in listed:
        same = [o for o in every if ("club-lengths" in o.label) == ("club-lengths" in option.label)]
        assert option.chance >= max(o.chance for o in same) - 1e-3


def test_going_back_from_a_good_place_is_never_best_18_1(jungle_plan):
    options = jungle_plan.options(1, (0.0, 250.0), strokes_on_hole=1, played_from=(0.0, 0.0))
    assert options[-1].label == REPLAY


def test_going_back_to_a_place_on_the_hole_costs_its_value_and_a_stroke(jungle_plan):
    ball, before = (-42.0, 330.0), (0.0, 240.0)
    options = jungle_plan.options(1, ball, lie="trees", strokes_on_hole=2, played_from=before)
    (again,) = [o for o in options if o.label == REPLAY]
    there = least(jungle_plan.options(1, before, strokes_on_hole=1, every_aim=True))
    # The plan's own value of the spot, interpolated; a look-up finds a little more than that.
    assert again.expected == pytest.approx(1.0 + there.expected, abs=0.05)


@pytest.mark.parametrize("place", [(0.0, 9000.0), (float("nan"), 0.0), "green", 3, (1.0, "x")])
def test_a_ball_was_played_from_somewhere(jungle_plan, place):
    with pytest.raises(InputError, match="played_from"):
        jungle_plan.options(1, (-42.0, 200.0), lie="trees", played_from=place)


@pytest.mark.parametrize(
    ("lie", "instead"), [("red", "from where it is dropped"), ("green", "by their length")]
)
def test_a_ball_no_full_shot_is_played_from_is_told_what_would_do(jungle_plan, lie, instead):
    with pytest.raises(InputError, match=instead):
        jungle_plan.options(1, (0.0, 250.0), lie=lie)
