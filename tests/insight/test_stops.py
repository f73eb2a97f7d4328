"""Where a tee shot stops in a crosswind, on a hole that bends: one number in the book, on the card, in the picture."""

from dataclasses import replace

import matplotlib as mpl
import numpy as np
import pytest
from shapely import LineString, Point, box

import caddiebrain as cb
from caddiebrain.cli.places import note_trees
from caddiebrain.course.model import Area, Course, Hole
from caddiebrain.flight import Conditions
from caddiebrain.insight.among_trees import trees_note
from caddiebrain.insight.book import book_of
from caddiebrain.insight.spots import spot_of
from caddiebrain.insight.stops import row_of, tee_stop, trouble_aside
from caddiebrain.report.book_cover import cover_page
from caddiebrain.report.book_hole import hole_page
from caddiebrain.report.carry_text import carry_page
from caddiebrain.report.insight_text import as_text
from caddiebrain.terms import Lie
from tests.conftest import COARSE, open_hole

mpl.use("Agg")


@pytest.fixture(scope="module")
def plan(demo_player):
    """A par 4 that turns right by 45 degrees, woods 60 yards left of its first leg, and the wind from the left."""
    line = np.array([[0.0, 0.0], [0.0, 230.0], [110.0, 340.0]])
    areas = (
        Area(Lie.GREEN, Point(110, 340).buffer(12)),
        Area(Lie.FAIRWAY, LineString(line).buffer(20, cap_style="flat")),
        Area(Lie.TREES, box(-100, 100, -45, 300)),
    )
    course = Course("Bend", (Hole(1, 4, 1, line, areas),))
    day = Conditions(wind_mph=15, wind_from_deg=course.holes[0].bearing_deg + 270.0)
    return cb.plan_round(course, demo_player, target=5, grid=COARSE, conditions=day)


@pytest.fixture(scope="module")
def card(plan):
    """A card with the plan's own tee shot: cards choose among aims by themselves."""
    made, best = cb.carry_card(plan, 0), plan.hole(1).tee_choice
    (line,) = made.holes
    tee = line.tee.model_copy(update={"label": best.label, "aim_deg": best.aim_deg})
    line = line.model_copy(update={"tee": tee, "instead": None})
    return cb.price_card(plan, made.model_copy(update={"holes": (line,)}))


def to_pin(plan, xy):
    px, py = plan.hole(1).hole.pin
    return float(np.hypot(px - xy[0], py - xy[1]))


def test_the_stop_is_downwind_of_the_aim(plan):
    one = plan.hole(1)
    stop = tee_stop(one.compiler, row_of(one, one.tee_choice))
    aim = one.tee_choice.aim_xy
    assert stop.at[0] - aim[0] > 8.0
    assert to_pin(plan, stop.at) == pytest.approx(stop.leaves_yd, abs=3.0)
    assert stop.leaves_low < stop.leaves_yd < to_pin(plan, aim) - 5.0


def test_book_card_and_picture_leave_the_same(plan, card):
    (page,), (line,) = book_of(plan).holes, card.holes
    assert line.tee.label == page.tee.label
    assert line.tee.aim_deg == pytest.approx(plan.hole(1).tee_choice.aim_deg)
    assert line.leaves_yd == pytest.approx(page.tee.leaves_yd)
    assert f"{page.tee.leaves_yd:.0f} left: " in line.words
    drawn = [text.get_text() for text in plan.hole(1).draw().texts]
    label = f"{page.tee.label}\n{page.tee.total_yd:.0f} yards\nleaves {page.tee.leaves_yd:.0f}"
    assert label in drawn


def test_what_a_second_shot_leaves_is_measured_where_it_stops_too(demo_player):
    course = Course("Long", (open_hole(540.0, 5),))
    day = Conditions(wind_mph=20, wind_from_deg=course.holes[0].bearing_deg + 225.0)
    plan = cb.plan_round(course, demo_player, target=5, grid=COARSE, conditions=day)
    (page,) = book_of(plan).holes
    onward = [shot for shot in page.after if shot.leaves_yd > 0.0]
    assert onward
    for shot in onward:
        spots = [s for s in page.spots if s.to_pin_yd == shot.to_pin_yd and s.lie == shot.lie]
        found = [c for s in spots for c in s.choices if (c.label, c.aim) == (shot.label, shot.aim_words)]
        assert any(shot.leaves_yd == pytest.approx(to_pin(plan, c.oval[:2]), abs=0.1) for c in found)
        assert all(abs(shot.leaves_yd - to_pin(plan, c.aim_xy)) > 0.5 for c in found)


def test_the_page_says_which_side_of_the_aim_and_what_is_there(plan):
    (page,) = book_of(plan).holes
    left, right = (
        page.miss.model_copy(update={"better": side, "there": "woods"}) for side in ("left", "right")
    )
    for miss, said in (
        (left, "Better <b>left</b> of this aim ("),
        (left, "Woods are left."),
        (right, "Better <b>right</b> of this aim ("),
        (right.model_copy(update={"there": "out of bounds"}), "Out of bounds is right."),
        (page.miss.model_copy(update={"better": "", "there": ""}), "are much alike."),
    ):
        assert said in hole_page(page.model_copy(update={"miss": miss}), plan.hole(1).hole, 5, "")


def test_what_is_on_the_better_side_is_seen_on_the_map(plan):
    one = plan.hole(1)
    stop = replace(tee_stop(one.compiler, row_of(one, one.tee_choice)), at=(0.0, 220.0))
    assert trouble_aside(one.compiler, stop, "left") == "woods"
    assert trouble_aside(one.compiler, stop, "right") == ""


def test_what_costs_nothing_is_not_minus_nothing(card):
    (line,) = card.holes
    dear = line.model_copy(update={"expected": line.plan_expected - 0.002})
    assert "-0.00" not in as_text(carry_page(card.model_copy(update={"holes": (dear,)})), 100)


def test_who_says_trees_where_there_are_none_is_told_where_there_are(plan):
    note = trees_note(spot_of(plan, 1, None, 200.0, "trees", 0, 0))
    assert note.startswith("hole 1: the map has no trees at ")
    x, y = (float(v) for v in note.rpartition("--at ")[2].split(","))
    there = spot_of(plan, 1, (x, y), None, None, 0, 0)
    assert there.lie is Lie.TREES
    assert there.to_pin == pytest.approx(200.0, abs=1.0)
    assert trees_note(there) == ""
    assert trees_note(spot_of(plan, 1, None, 200.0, "rough", 0, 0)) == ""
    assert trees_note(spot_of(plan, 1, None, 30.0, "trees", 0, 0)).endswith("none 30 yards from the pin")


def test_the_note_goes_to_standard_error(plan, capsys):
    note_trees(plan, 1, None, 200.0, Lie.TREES)
    note_trees(plan, 1, None, 200.0, Lie.ROUGH)
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("caddiebrain: note: hole 1: the map has no trees") == 1


@pytest.mark.parametrize(("mph", "held"), [(15.0, "the wind and for your own bias"), (0.0, "your own bias")])
def test_the_cover_says_what_the_aims_hold(plan, mph, held):
    cover = book_of(plan).cover.model_copy(update={"wind_mph": mph})
    assert f"Aims of full shots allow for {held}: do not allow for " in cover_page(cover)
