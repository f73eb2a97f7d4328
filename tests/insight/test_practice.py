"""Practice priorities against plans made anew for better players."""

import numpy as np
import pytest

import caddiebrain as cb
from caddiebrain import solve
from caddiebrain.errors import InputError, UnknownError
from caddiebrain.insight.better import passes_of, with_arsenal
from caddiebrain.insight.hours import USUAL_CURVE, LearningCurve, split_hours
from caddiebrain.insight.practice import practice_priorities
from caddiebrain.insight.row_worth import RowWorth, spent
from caddiebrain.insight.skills import room, skills_of
from caddiebrain.round.chain import Finish, chain_hole
from caddiebrain.round.prepare import SolvedHole
from tests.conftest import FINER, settled


def arsenal_for(plan, skill, share: float):
    first = plan.holes[0].compiler
    (one,) = passes_of(first, [skill], [share], plan.conditions, plan.setup.firmness)
    return one.arsenal, skill.better(first.player, share)


def solved_again(plan, skill, share: float) -> tuple[float, float]:
    """Expected score and chance of the target of a better player, all choices open, on the plan's own table."""
    arsenal, better = arsenal_for(plan, skill, share)
    expected, after = 0.0, Finish.end_of_round()
    for hole in reversed(plan.holes):
        compiler = with_arsenal(hole.compiler, arsenal)
        compiler.player = better
        model = compiler.build(hole.table)
        found = solve.fewest_strokes(model.graph)
        expected += found.value[model.tee]
        ready = SolvedHole(model, found, solve.choice_values(model.graph, found.value), np.ones(1))
        after = chain_hole(ready, after).start
    return expected, float(after.at(plan.target))


def same_swings(plan, skill, share: float) -> float:
    """Expected score of a better player who swings and aims as the plan says; putts and relief are chosen anew."""
    arsenal, better = arsenal_for(plan, skill, share)
    expected = 0.0
    for hole in plan.holes:
        model = hole.solved.model
        first, last = model.numbering.node, model.numbering.spot
        rows = hole.solved.expected.choice[first:last] - model.first_choice
        compiler = with_arsenal(hole.compiler, arsenal)
        compiler.player = better
        again = compiler.build(model.table.take(rows))
        expected += solve.fewest_strokes(again.graph).value[again.tee]
    return expected


def found_for(plan, skill, share: float):
    probe = share / 0.3 if skill.length else share
    report = practice_priorities(plan, efforts={skill.name: share}, probe=probe)
    return next(p for p in report.priorities if p.skill == skill.name)


def named(player, name: str):
    return next(s for s in skills_of(player) if s.name == name)


@pytest.mark.parametrize(
    ("name", "share"),
    [
        ("mishits of full shots", 0.05),
        ("full shots of 140 to 170 yards", 0.05),
        ("driver: length", 0.004),
        ("lag putting (pace)", 0.05),
        ("short putts (aim)", 0.05),
    ],
)
def test_derivatives_match_plans_made_anew(finer_plan, name, share):
    # Plans for a better and for a worse player, everything chosen anew. Left out here: clubs hit a few times a
    # round, where another best choice of aim moves the coarse plan by more than a hundredth of their small gains.
    skill = named(finer_plan.player, name)
    found = found_for(finer_plan, skill, share)
    up, down = solved_again(finer_plan, skill, share), solved_again(finer_plan, skill, -share)
    assert found.strokes == pytest.approx((up[0] - down[0]) / 2, rel=0.01)
    assert found.chance == pytest.approx((up[1] - down[1]) / 2, rel=0.01)


@pytest.mark.parametrize(
    "name",
    [
        "driver: direction",
        "driver: length",
        "mishits of full shots",
        "full shots under 110 yards",
        "full shots of 110 to 140 yards",
        "full shots of 140 to 170 yards",
        "full shots of 170 yards and more",
        "short game from the fairway",
        "short game from the rough",
        "bunker play",
    ],
)
def test_derivatives_match_the_same_swings_by_a_better_player(three_plan, name):
    skill, share = named(three_plan.player, name), 0.05
    step = (same_swings(three_plan, skill, share) - same_swings(three_plan, skill, -share)) / 2
    assert found_for(three_plan, skill, share).strokes == pytest.approx(step, rel=0.01, abs=1e-6)


def test_nothing_changed_is_nothing_gained_and_asking_twice_changes_nothing(three_plan):
    one = practice_priorities(three_plan)
    assert practice_priorities(three_plan) == one
    assert all(p.chance >= 0.0 for p in one.priorities)
    chance = [p.chance for p in one.priorities]
    assert chance == sorted(chance, reverse=True)
    assert type(one).model_validate_json(one.model_dump_json()) == one


def test_words_count_rounds(three_plan):
    first = practice_priorities(three_plan).priorities[0]
    every = round(1 / first.chance)
    assert f"one more round in {every} under 14" in first.words
    assert f"{100 * first.improvement:.2g} % " in first.words


def player_with(demo_player, long: float, short: float) -> cb.Player:
    """The demo player with long-game and short-game errors multiplied, long mishits even more."""
    patterns = tuple(
        p.model_copy(
            update={
                "line_sd_deg": p.line_sd_deg * long,
                "carry_sd": p.carry_sd * long,
                "mishit": min(0.6, p.mishit * long**3),
            }
        )
        for p in demo_player.patterns
    )
    shots = tuple(
        s.model_copy(
            update={
                "depth_sd": min(0.6, s.depth_sd * short),
                "depth_sd_floor_yd": s.depth_sd_floor_yd * short,
                "line_sd_deg": s.line_sd_deg * short,
                "mishit": min(0.6, s.mishit * short),
            }
        )
        for s in demo_player.short_game
    )
    return demo_player.model_copy(update={"patterns": patterns, "short_game": shots, "posterior": None})


LONG = ("driver", "full shots", "mishits")
SHORT = ("short game", "bunker")


def test_the_weak_part_is_what_to_practise_and_making_plans_anew_agrees(three_holes, demo_player):
    strong_long = cb.plan_round(three_holes, player_with(demo_player, 0.7, 2.5), target=13, grid=FINER)
    strong_short = cb.plan_round(three_holes, player_with(demo_player, 1.4, 0.55), target=14, grid=FINER)
    for plan, weak, strong in ((strong_long, SHORT, LONG), (strong_short, LONG, SHORT)):
        report = practice_priorities(plan, weekly_hours=3.0)
        swings = [p for p in report.priorities if p.skill.startswith(LONG + SHORT)]
        assert swings[0].skill.startswith(weak)
        hours = {row.skill: row.hours for row in report.hours.skills}
        assert sum(h for s, h in hours.items() if s.startswith(weak)) > sum(
            h for s, h in hours.items() if s.startswith(strong)
        )
        # The best of the weak part beats the best of the strong one when both plans are made anew.
        by_name = {s.name: s for s in skills_of(plan.player)}
        best = [next(p for p in swings if p.skill.startswith(side)) for side in (weak, strong)]
        gains = [solved_again(plan, by_name[p.skill], p.improvement)[1] - plan.chance() for p in best]
        assert gains[0] > gains[1] > 0.0
        for p, gain in zip(best, gains, strict=True):
            assert p.chance == pytest.approx(
                gain, rel=0.15
            )  # a tenth is not a small step; choosing anew adds


def test_skills_follow_the_player(demo_player):
    names = [s.name for s in skills_of(demo_player)]
    assert len(set(names)) == len(names)
    assert {"driver: direction", "driver: length", "lag putting (pace)", "short putts (aim)"} <= set(names)
    for skill in skills_of(demo_player):
        assert skill.better(demo_player, 0.1) != demo_player
    no_driver = demo_player.model_copy(
        update={"patterns": tuple(p for p in demo_player.patterns if p.club != "driver")}
    )
    longest = max(no_driver.patterns, key=lambda p: p.carry_yd).club
    longer = next(s for s in skills_of(no_driver) if s.length).better(no_driver, 0.1)
    changed = {p.club for p, q in zip(no_driver.patterns, longer.patterns, strict=True) if p != q}
    assert changed == {longest}


# Where balls cross into water the compiler takes crossing points together, those of the rows at hand.
@pytest.mark.parametrize(("number", "atol"), [(1, 5e-4), (2, 1e-9)])
def test_rows_are_worth_what_the_plan_says(three_plan, number, atol):
    hole = three_plan.hole(number)
    model = hole.solved.model
    kept = spent(hole.solved.expected.value[: model.numbering.spot], hole.chances.value)
    rows_worth, lie = RowWorth(hole.compiler, kept), hole.compiler.places.lie[model.table.node]
    scene = rows_worth.scene()
    (worth,) = rows_worth.of(
        scene, [(len(model.table), hole.compiler.blocks(scene, model.table, lie, screen=False))]
    )
    rows = slice(model.first_choice, model.first_choice + len(model.table))
    again = hole.compiler.build(model.table)
    value = settled(again, hole.solved.expected.value[: model.numbering.trouble])
    strokes = cb.solve.choice_values(again.graph, value)[again.first_choice :][: len(model.table)]
    np.testing.assert_allclose(-worth[:, 0], strokes, atol=1e-9)
    graph = model.graph
    wet = np.add.reduceat(graph.outcome_state >= model.numbering.trouble, graph.outcome_start[:-1])[rows] > 0
    assert wet.any() == (number == 1)
    np.testing.assert_allclose(-worth[~wet, 0], hole.solved.choice_strokes[rows][~wet], atol=1e-9)
    tee = np.flatnonzero(model.table.node == 0)
    np.testing.assert_allclose(worth[tee, 1:].T, hole.chances.tee, atol=atol)


def test_room_is_the_gap_to_the_best(demo_player):
    best = cb.Level(handicap_index=-4.0).player()
    putting = named(demo_player, "short putts (aim)")
    assert room(demo_player, putting, best) == pytest.approx(
        1 - best.putting.aim_sd_deg / demo_player.putting.aim_sd_deg
    )
    assert all(room(best, skill, best) == 0.0 for skill in skills_of(best) if not skill.length)
    wild = player_with(demo_player, 2.0, 1.0)
    for name in ("driver: direction", "full shots of 140 to 170 yards"):
        assert room(wild, named(wild, name), best) > room(demo_player, named(demo_player, name), best)


def test_hours_go_where_the_next_one_brings_most():
    curve = LearningCurve(hours=(0.0, 1.0, 3.0), share=(0.0, 0.6, 1.0))
    split = split_hours({"a": 0.05, "b": 0.02, "c": -0.01}, 2.0, {"a": curve, "b": curve})
    # By hand: the first hour of a is worth 0.030, of b 0.012; later hours of a 0.010 each, of b 0.004.
    assert [(row.skill, row.hours) for row in split.skills] == [("a", 1.0), ("b", 1.0)]
    assert split.gain == pytest.approx(0.042)
    assert split.status == "proven"
    more = split_hours({"a": 0.05, "b": 0.02, "c": -0.01}, 10.0, {"a": curve, "b": curve})
    assert more.gain == pytest.approx(0.07)  # nothing is spent on what does harm
    assert {row.skill for row in more.skills} == {"a", "b"}


def test_a_curve_is_what_it_says():
    assert [USUAL_CURVE.at(h) for h in (0.0, 0.25, 2.0, 9.0)] == pytest.approx([0.0, 0.2, 1.0, 1.3])


@pytest.mark.parametrize(
    ("hours", "share", "named"),
    [
        ((0.0, 1.0, 2.0), (0.0, 0.2, 0.9), "flatten"),
        ((0.0, 1.0), (0.1, 0.5), "starts at"),
        ((0.0, 1.0, 1.0), (0.0, 0.5, 0.6), "must rise"),
        ((0.0, 1.0, 2.0), (0.0, 0.5), "one share for each hour"),
    ],
)
def test_bad_curves_are_named(hours, share, named):
    with pytest.raises(ValueError, match=named):
        LearningCurve(hours=hours, share=share)


def test_bad_input_is_named(three_plan):
    with pytest.raises(UnknownError, match="no skill 'yips'"):
        practice_priorities(three_plan, efforts={"yips": 0.1})
    with pytest.raises(InputError, match="driver: length"):
        practice_priorities(three_plan, efforts={"driver: length": -0.1})
    with pytest.raises(InputError, match="probe"):
        practice_priorities(three_plan, probe=0.0)
    for hours in (0.0, "4"):
        with pytest.raises(InputError, match=f"weekly_hours: found {hours!r:.1}"):
            practice_priorities(three_plan, weekly_hours=hours)
    with pytest.raises(
        InputError, match="efforts: found list object; expected a mapping of skills to shares"
    ):
        practice_priorities(three_plan, efforts=["putting"])
    with pytest.raises(UnknownError, match="yips"):
        split_hours({"a": 0.1}, 2.0, {"yips": USUAL_CURVE})
