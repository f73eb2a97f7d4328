"""Looking for rules does not end at the first one that turns out to save nothing, and no rule goes round in circles."""

import numpy as np
import pytest
from shapely import Point, box

import caddiebrain as cb
from caddiebrain.course.model import Area, Hole
from caddiebrain.flight import Conditions
from caddiebrain.hole import GridSpec, HoleCompiler
from caddiebrain.insight import PlayKind, Situation
from caddiebrain.insight.carry_catalogue import plays_for
from caddiebrain.insight.carry_cells import areas
from caddiebrain.insight.carry_choose import CardMaker
from caddiebrain.insight.carry_hole import card_hole
from caddiebrain.insight.carry_program import pick_rules
from caddiebrain.insight.carry_ways import open_ways
from caddiebrain.report.carry_text import carry_page
from caddiebrain.report.insight_text import as_text
from caddiebrain.round.day import day_flight
from caddiebrain.terms import Lie


class Misled(CardMaker):
    """Promises much of a rule that costs strokes: an unplayable ball among trees, however near."""

    def gains(self, card):
        found = super().gains(card).copy()
        at = next(i for i, play in enumerate(self.plays) if play.kind is PlayKind.UNPLAYABLE)
        cells = [list(a.cells) for a in self.areas if a.situations == (Situation.TREES,)]
        found[at, cells[0]] = 50.0
        return found


def test_a_rule_that_saves_nothing_is_set_aside_and_another_found(three_plan):
    plays = plays_for(three_plan.player)
    holes = tuple(card_hole(hole, plays) for hole in three_plan.holes)
    honest, _ = CardMaker(holes, plays).make(2)
    misled, _ = Misled(holes, plays).make(2)
    assert [len(card.rules) for card in misled] == [0, 1, 2]
    assert misled[-1].total == pytest.approx(honest[-1].total, abs=0.02)


def test_rules_that_were_refused_are_not_picked():
    some = tuple(a for a in areas() if a.situations == (Situation.GREEN,))
    gains = np.full((2, max(c for a in some for c in a.cells) + 1), -np.inf)
    for area in some:
        gains[:, list(area.cells)] = np.array([[1.0], [0.5]])
    (first,), _ = pick_rules(some, gains, 1)
    (second,), _ = pick_rules(some, gains, 1, {(first.area, first.play)})
    assert (second.area, second.play) != (first.area, first.play)
    assert second.saves < first.saves


def test_a_ball_on_short_grass_is_not_punched_about_on_it(demo_player):
    """Behind trees that close the way on, ten yards nearer the middle of the fairway are not worth a stroke."""
    fairway = Area(Lie.FAIRWAY, box(-16, 120, 16, 200))
    wood = Area(Lie.TREES, box(-60, 212, 60, 330), height_yd=18.0, canopy_gap_yd=1.0, trunk_gap_yd=1.0)
    hole = Hole(
        1,
        4,
        1,
        np.array([[0.0, 0.0], [0.0, 400.0]]),
        (Area(Lie.GREEN, Point(0, 400).buffer(12)), fairway, wood),
    )
    grid = GridSpec(lattice=16.0, sparse_lattice=24.0, near_lattice=9.0)
    compiler = HoleCompiler(hole, demo_player, day_flight(demo_player, Conditions()), Conditions(), grid)
    x, y = np.array([14.0, 30.0]), np.array([194.0, 170.0])  # just on the fairway, and in the rough beside it
    sight = compiler.woods.sight_from(x, y)
    assert sight is not None
    _, _, good = open_ways(compiler.ground, sight, (x, y, sight.row[:2]), 110.0, True)
    assert good.tolist() == [False, True]


def test_a_card_without_rules_does_not_announce_any(three_plan):
    bare, full = (as_text(carry_page(cb.carry_card(three_plan, rules=n)), 100) for n in (0, 1))
    assert "Rules; beside each" in full
    assert "Otherwise" in full
    assert "beside each" not in bare
    assert "Otherwise" not in bare
    assert bare.splitlines()[1].startswith("No rules and a line for each hole cost ")
    assert "    Putts: to stop a foot past the hole." in bare
