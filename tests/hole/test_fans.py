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
from caddiebrain.terms import Height, Lie, Shape


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


def test_derived_shapes_are_laid_out_from_the_tee_and_where_trees_are_on_the_way():
    """A wood 10 yards right of the line of play, 180 to 220 yards out: on the way for those short of it alone."""
    compiler = compiled(Conditions(), trees(box(10, 180, 40, 220)))
    places, patterns = compiler.places, compiler.player.patterns
    shaped = [i for i, p in enumerate(patterns) if p.derived and p.height is Height.STOCK]
    table = compiler.candidates()
    bent = table.take((table.kind == Kind.FULL) & np.isin(table.index, shaped))
    nodes = np.unique(bent.node)
    assert nodes[0] == 0
    y, x = places.y[nodes[1:]], places.x[nodes[1:]]
    assert (y < 220.0).all()
    # Eight degrees to either side of the way are looked at: 220 yards from the pin a good 30 yards.
    assert (np.abs(x) < 80.0).all()
    before = (places.y > 50.0) & (places.y < 160.0) & (np.abs(places.x - 12.0) < 10.0)
    assert before.sum() > 4
    assert set(np.flatnonzero(before)) <= set(nodes)
    # Away from the tee the middle aim alone, of the line of play and of the way to the pin; and no look at wedges.
    kinds, count = np.unique(np.stack([bent.node, bent.index]), axis=1, return_counts=True)
    assert count[kinds[0] > 0].max() <= 2
    assert not any("wedge" in patterns[i].club for i in bent.index)


def test_on_the_tee_a_derived_shape_has_half_the_aims_of_a_straight_ball():
    compiler = compiled(Conditions())
    table, patterns = compiler.candidates(nodes=np.zeros(1, dtype=np.int64)), compiler.player.patterns
    aims = Counter(table.index[table.kind == Kind.FULL].tolist())
    wood = {
        p.shape: aims[i] for i, p in enumerate(patterns) if p.club == "3-wood" and p.height is Height.STOCK
    }
    assert wood[Shape.STRAIGHT] > 15
    assert wood[Shape.DRAW] == wood[Shape.FADE] == wood[Shape.STRAIGHT] // 2
