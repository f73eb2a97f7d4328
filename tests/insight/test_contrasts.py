"""Shots worked out in parts and many swings at once, against the same shots compiled whole and swing by swing."""

from dataclasses import replace

import numpy as np
import pytest

from caddiebrain.flight import Conditions
from caddiebrain.hole import GridSpec, HoleCompiler, Kind
from caddiebrain.hole.arsenal import arsenal_of
from caddiebrain.hole.full_shots import full_blocks
from caddiebrain.hole.points import mixture_points
from caddiebrain.hole.short_shots import short_blocks
from caddiebrain.hole.short_swings import ShortNumbers
from caddiebrain.hole.swing_set import SwingSet
from caddiebrain.insight.better import passes_of, with_arsenal
from caddiebrain.insight.contrasts import contrasts_of
from caddiebrain.insight.row_worth import RowWorth, spent
from caddiebrain.insight.skills import skills_of
from caddiebrain.round.day import day_flight

COARSE = GridSpec(lattice=20.0, sparse_lattice=30.0, near_lattice=12.0, points=(55, 13), tee_points=(144, 34))
POINTS = mixture_points(55, 13)


def sums(blocks, rows: int, kept: np.ndarray) -> np.ndarray:
    """What the fixed states of each row's outcomes add up to, a number made up for each; trouble counts by lot."""
    found = np.full(rows, np.nan)
    for block in blocks:
        worth = np.where(block.state >= 0, kept[np.maximum(block.state, 0)], 7.0) + 3.0 * block.strokes
        found[block.rows] = (block.prob * worth).sum(axis=1)
    return found


HILL = np.array(
    [[-60.0, 0.0, 0.0], [60.0, 0.0, 2.0], [-60.0, 420.0, 9.0], [60.0, 420.0, 4.0], [0.0, 200.0, 12.0]]
)


@pytest.mark.parametrize("wind", [0.0, 14.0])
@pytest.mark.parametrize(("number", "heights"), [(1, None), (2, None), (3, HILL)])
def test_many_swings_at_once_are_what_they_are_one_by_one(three_plan, wind, number, heights):
    old, day = three_plan.hole(number).compiler, Conditions(wind_mph=wind, wind_from_deg=250.0)
    flight = day_flight(old.player, day)
    hole, arsenal = replace(old.hole, heights=heights), arsenal_of(old.player, flight, day)
    compiler = HoleCompiler(hole, old.player, flight, day, COARSE, arsenal=arsenal)
    assert (compiler.ground.height is not None) == (heights is not None)
    table, places, number_ = compiler.candidates(), compiler.places, compiler.numbering
    lie = places.lie[table.node]
    code = int(lie[table.node > 0][0])
    swings = compiler.arsenal.full[code]
    place = {s.index: i for i, s in enumerate(swings)}
    table = table.take((lie == code) & (table.kind == Kind.FULL))
    table = table.take(np.arange(0, len(table), max(1, len(table) // 3000)))
    played = np.array([place[int(i)] for i in table.index])
    assert len(set(played.tolist())) > 3
    assert len({s.pattern.curve_yd for s in swings}) > 1

    def scene():
        return compiler.scene(places.x, places.y, number_.node + np.arange(number_.nodes), compiler.sight)

    kept = np.random.default_rng(1).uniform(size=number_.trouble)
    every = np.arange(len(table))
    solid, mishit = (
        sums(full_blocks(scene(), table, every, played, SwingSet.of(swings, POINTS, part)), len(table), kept)
        for part in (True, False)
    )
    for i, swing in enumerate(swings):
        rows = np.flatnonzero(played == i)
        if len(rows) == 0:
            continue
        alone, only = SwingSet.of([swing], POINTS), np.zeros(len(rows), dtype=np.int64)
        whole = sums(full_blocks(scene(), table, rows, only, alone), len(table), kept)[rows]
        np.testing.assert_allclose(
            (1.0 - swing.mishit) * solid[rows] + swing.mishit * mishit[rows], whole, atol=1e-9
        )


@pytest.mark.parametrize("number", [1, 2, 3])
def test_many_short_shots_at_once_are_what_they_are_one_by_one(three_plan, number):
    compiler = three_plan.hole(number).compiler
    table, places, number_ = compiler.candidates(), compiler.places, compiler.numbering
    kept = np.random.default_rng(2).uniform(size=number_.trouble)
    shots = compiler.player.short_game

    def scene():
        return compiler.scene(places.x, places.y, number_.node + np.arange(number_.nodes), compiler.sight)

    for kind, low in ((Kind.SHORT, False), (Kind.PUNCH, True)):
        some = table.take(table.kind == kind)
        some = some.take(np.arange(0, len(some), max(1, len(some) // 500)))
        # Which shot a row plays is of no matter here.
        played = np.arange(len(some)) % len(shots)
        found = sums(
            short_blocks(
                scene(), some, np.arange(len(some)), ShortNumbers.of(shots).some(played), POINTS, None, low
            ),
            len(some),
            kept,
        )
        for i, shot in enumerate(shots):
            rows = np.flatnonzero(played == i)
            whole = sums(short_blocks(scene(), some, rows, shot, POINTS, None, low), len(some), kept)
            np.testing.assert_allclose(found[rows], whole[rows], atol=1e-6)


def whole_worth(worth: RowWorth, table) -> np.ndarray:
    """Worth of a table's rows, all compiled whole."""
    scene, compiler = worth.scene(), worth.compiler
    return worth.of(
        scene, [(len(table), compiler.blocks(scene, table, compiler.places.lie[table.node], False))]
    )[0]


# Where balls cross into water the compiler takes crossing points together, those of the rows at hand.
@pytest.mark.parametrize(("number", "atol"), [(1, 2e-4), (2, 1e-9)])
def test_parts_tell_better_from_worse_as_whole_shots_do(three_plan, number, atol):
    hole = three_plan.hole(number)
    model, places = hole.solved.model, hole.compiler.places
    kept = spent(hole.solved.expected.value[: model.numbering.spot], hole.chances.value[:0])
    rows = hole.solved.expected.choice[model.numbering.node : model.numbering.spot] - model.first_choice
    table = model.table.take(rows)
    lie, now = places.lie[table.node], kept[0, model.numbering.node + table.node]
    skills = skills_of(three_plan.player)
    day, firmness = three_plan.conditions, three_plan.setup.firmness
    up, down = (passes_of(hole.compiler, skills, [b] * len(skills), day, firmness) for b in (0.05, -0.05))
    kinds, largest = set(), 0.0
    for pair in contrasts_of(hole.compiler, list(zip(up, down, strict=True))):
        worth = RowWorth(hole.compiler, kept)
        scene = worth.scene()
        parts = list(pair.of(hole.compiler, scene, table, lie))
        found = np.zeros((len(table), 1))
        for part, value in zip(parts, worth.of(scene, [(p.size, p.blocks) for p in parts]), strict=True):
            assert np.all(found[part.rows] == 0.0)
            found[part.rows] = part.steps(value, now)
            kinds.add((part.both, len(part.rows) > 0))
        sides = [
            whole_worth(RowWorth(with_arsenal(hole.compiler, one.arsenal), kept), table)
            for one in (pair.up, pair.down)
        ]
        whole = 0.5 * (sides[0] - sides[1])
        np.testing.assert_allclose(
            found, np.where(pair.up.skill_of(table)[:, None] >= 0, whole, 0.0), atol=atol
        )
        largest = max(largest, np.abs(found).max())
    assert largest > 0.01
    assert {(True, True), (False, True)} <= kinds
