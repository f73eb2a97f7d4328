"""Relief from good lies under a wall of trees, in plans and of balls that are played; invented holes."""

from collections import Counter

import numpy as np
import pytest
from shapely import Point, box
from single_hole import Ints, plan_of

from caddiebrain import solve
from caddiebrain.course.model import Area, Hole
from caddiebrain.hole import ChoiceTable, GridSpec, Kind
from caddiebrain.hole.drops import WAYS
from caddiebrain.hole.ground import CODE, LIES
from caddiebrain.hole.play import HolePlay
from caddiebrain.player import Player
from caddiebrain.player.model import PuttingSkill, ShortShot, ShotPattern
from caddiebrain.round.advice import Advice
from caddiebrain.round.simulate import decisions_of
from caddiebrain.terms import Lie

DENSE = {"height_yd": 10.0, "canopy_base_yd": 0.5, "canopy_gap_yd": 1.0, "trunk_gap_yd": 1.0}


def walled(*areas: Area, wall: tuple[float, float] = (157.0, 172.0)) -> Hole:
    """A par 4 that a wall of trees crosses 157 yards from the tee, 10 yards high and too dense to fly through."""
    ground = (
        Area(Lie.GREEN, Point(0, 320).buffer(12)),
        Area(Lie.FAIRWAY, box(-30, 178, 30, 306)),
        Area(Lie.TREES, box(-90, wall[0], 90, wall[1]), "wall", **DENSE),
        *areas,
    )
    return Hole(1, 4, 1, np.array([[0.0, 0.0], [0.0, 320.0]]), ground)


def iron_and_pitch(**iron: float) -> Player:
    """A player with one full shot, which never rolls, a pitch, and a putter."""
    full = {"carry_sd": 0.02, "line_sd_deg": 1.5, "mishit": 0.0, "rollout_yd": 0.0} | iron
    pitch = ShortShot(name="pitch", lie=Lie.FAIRWAY, longest_yd=100.0, depth_sd=0.1, line_sd_deg=3.0)
    putting = PuttingSkill(aim_sd_deg=1.5, pace_sd=0.1)
    return Player(patterns=(ShotPattern(club="iron", **full),), short_game=(pitch,), putting=putting)


WATER_BEHIND = (Area(Lie.YELLOW, box(-90, 20, 90, 109)), Area(Lie.SAND, box(-30, 110, 30, 156)))
WATER_BETWEEN = (Area(Lie.YELLOW, box(-90, 104, 90, 132)), Area(Lie.FAIRWAY, box(-30, 60, 30, 104)))


def played(plan, balls: int) -> tuple[Ints, Counter[str]]:
    """Play balls out with the plan's advice near trees: their strokes; and how often a ball is played or dropped."""
    hole, made = plan.hole(1), Counter()

    def watch(who, x, y, lie, choice):
        made["from the tee"] += np.count_nonzero(y == 0.0) / balls
        for row in np.flatnonzero(choice.kind == Kind.DROP):
            made[f"{WAYS[choice.index[row]].rule} from {LIES[lie[row]]}"] += 1 / balls

    decisions = decisions_of(hole, target=False)
    strokes = HolePlay(hole.compiler).play(
        decisions,
        np.zeros(balls, dtype=np.int64),
        np.random.default_rng(3),
        adviser=Advice(hole, decisions),
        watcher=watch,
    )
    return strokes, made


def drops_planned(plan) -> Counter[str]:
    """How often a ball comes to each drop of the plan for the average."""
    solved = plan.hole(1).solved
    model, choice = solved.model, solved.expected.choice
    seen = solve.expected_visits(model.graph, choice, model.tee)
    number, found = model.numbering, Counter()
    nodes = np.arange(number.nodes)
    table = model.table.take(choice[number.node + nodes] - model.first_choice)
    for node in nodes[table.kind == Kind.DROP]:
        lie = LIES[model.compiler.places.lie[node]]
        found[f"{WAYS[table.index[node]].rule} from {lie}"] += seen[number.node + node]
    return found


@pytest.mark.parametrize(
    ("areas", "drop"),
    [
        pytest.param(WATER_BEHIND, "19.3a from sand", id="19.3a"),
        pytest.param(WATER_BETWEEN, "19.2b from rough", id="19.2b"),
    ],
)
def test_the_plan_drops_back_from_under_a_wall_and_so_do_balls_that_are_played(areas, drop, monkeypatch):
    """Tee shots end ten yards short of the wall; no stroke but a low one leaves, and behind is water.

    Thirty yards back in the bunker, or across the water, the wall is flown over.
    """
    sure = iron_and_pitch(carry_yd=147.0, carry_sd=0.01, line_sd_deg=1.0)
    plan = plan_of(walled(*areas), sure, grid=GridSpec())
    planned = drops_planned(plan)
    assert planned[drop] > 0.9
    expected = plan.hole(1).expected_score
    strokes, made = played(plan, 4000)
    assert made[drop] == pytest.approx(planned[drop], abs=0.03)
    # The sampling error of 4,000 balls is 0.01; the rest is the lattice's, beside a wall.
    assert strokes.mean() == pytest.approx(expected, abs=0.04)
    monkeypatch.setattr(
        "caddiebrain.hole.compile.seldom_drops",
        lambda *ball: ChoiceTable.of(np.zeros(0, dtype=np.int64), Kind.DROP, 0),
    )
    without = plan_of(walled(*areas), sure, grid=GridSpec())
    assert without.hole(1).expected_score > expected + 0.05


def test_out_of_rough_that_trees_shut_in_balls_go_back_as_often_as_computed_19_2a():
    """A pocket of rough before a wall, trees on both sides and water behind, where a mishit from the tee ends."""
    pocket = (
        Area(Lie.TREES, box(-90, 95, -14, 117), "left", **DENSE),
        Area(Lie.TREES, box(14, 95, 90, 117), "right", **DENSE),
        Area(Lie.YELLOW, box(-90, 5, 90, 95)),
    )
    mishits = {"mishit": 0.15, "mishit_carry": 0.53, "mishit_carry_sd": 0.04}
    plan = plan_of(
        walled(*pocket, wall=(117.0, 160.0)), iron_and_pitch(carry_yd=200.0, **mishits), grid=GridSpec()
    )
    solved = plan.hole(1).solved
    model, trouble = solved.model, solved.model.trouble
    seen = solve.expected_visits(model.graph, solved.expected.choice, model.tee)
    strokes, made = played(plan, 4000)
    assert made["from the tee"] == pytest.approx(seen[model.tee], abs=0.02)
    # The sampling error of 4,000 balls is 0.02.
    assert strokes.mean() == pytest.approx(plan.hole(1).expected_score, abs=0.05)
    pair = model.numbering.trouble + len(trouble.relieved) + np.arange(len(trouble.pair_place))
    again = solved.expected.choice[pair] == model.graph.choice_start[pair + 1] - 1
    rough = trouble.place_lie[trouble.pair_place] == CODE[Lie.ROUGH]
    assert seen[pair][again & rough].sum() > 0.04
