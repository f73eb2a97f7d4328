"""Fans of aims: that their parts make the whole, and that they are laid about the line a ball comes down on."""

from collections import Counter

import numpy as np
import pytest
from shapely import box
from small_holes import COARSE, straight_hole, trees

from caddiebrain import demo
from caddiebrain.course import Setup
from caddiebrain.flight import Conditions
from caddiebrain.hole import ChoiceTable, HoleCompiler, Kind, player_today
from caddiebrain.hole.ground import CODE
from caddiebrain.hole.points import mixture_points
from caddiebrain.hole.propose import Fan
from caddiebrain.round.day import day_flight
from caddiebrain.terms import Lie


def compiled(conditions: Conditions, *areas) -> HoleCompiler:
    player = player_today(demo.player(), Setup())
    return HoleCompiler(straight_hole(*areas), player, day_flight(player, conditions), conditions, COARSE)


def listed(table: ChoiceTable) -> Counter[tuple[float, ...]]:
    columns = table.node, table.kind, table.index, table.heading.round(9), table.distance.round(6)
    return Counter(zip(*(column.tolist() for column in columns), strict=True))


def test_the_middle_and_the_rest_are_all_choices_once(monkeypatch):
    monkeypatch.setattr(
        "caddiebrain.hole.compile.barred", lambda sight, table, *_: np.zeros(len(table), bool)
    )
    wooded = compiled(Conditions(), trees(box(-60, 60, -22, 330)))
    every, middle, rest = (wooded.candidates(which) for which in (Fan.EVERY, Fan.MIDDLE, Fan.REST))
    assert listed(middle) + listed(rest) == listed(every)
    nodes = wooded.numbering.nodes
    counts = {name: np.bincount(t.node, minlength=nodes) for name, t in (("all", every), ("few", middle))}
    assert counts["few"].min() > 0
    assert 20 < counts["few"][0] < 0.4 * counts["all"][0]
    assert len(middle) < 0.5 * len(every)


@pytest.mark.parametrize("from_deg", [90.0, 270.0, 200.0])
def test_the_middle_of_a_fan_brings_the_ball_down_on_the_line_in_the_wind(from_deg):
    compiler = compiled(Conditions(wind_mph=20.0, wind_from_deg=from_deg))
    places, points = compiler.places, mixture_points(377, 89)
    table = compiler.candidates(Fan.MIDDLE)
    code = CODE[Lie.FAIRWAY]
    swings = {s.index: s for s in compiler.arsenal.full[code]}
    (px, py) = compiler.hole.pin
    node = np.flatnonzero((places.lie == code) & (np.hypot(px - places.x, py - places.y) < 120.0))[0]
    wanted = np.arctan2(px - places.x[node], py - places.y[node])
    rows = table.take((table.node == node) & (table.kind == Kind.FULL))
    assert len(rows) > 3
    off = []
    for index, heading in zip(rows.index, rows.heading, strict=True):
        swing = swings[int(index)]
        if swing.reach_yd < np.hypot(px - places.x[node], py - places.y[node]):
            continue  # not meant for the pin
        balls = swing.offsets(points, compiler.wind_bins(swing, np.array([heading])))
        solid = np.broadcast_to(points.solid, balls.along.shape)
        turn = np.arctan2(balls.across[solid].mean(), balls.along[solid].mean())
        off.append(heading + turn - wanted)
    assert off
    assert np.abs(off).max() < np.deg2rad(0.1)
