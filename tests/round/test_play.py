"""Rounds played ball by ball against what the plan computes; the long comparison is in test_trust.py."""

from copy import copy
from dataclasses import replace

import numpy as np
import pytest

import caddiebrain as cb
from caddiebrain.course.model import Course
from caddiebrain.errors import InputError, UnknownError
from caddiebrain.hole import GridSpec
from caddiebrain.hole.strokes import putt_once
from caddiebrain.player.model import PuttingSkill
from caddiebrain.player.putting import holing_chance
from caddiebrain.round.simulate import play_rounds


@pytest.fixture(scope="module")
def played(three_plan):
    return {p: play_rounds(three_plan, 6000, np.random.default_rng(3), p) for p in ("expected", "target")}


def test_played_scores_are_near_the_computed_ones(three_plan, played):
    for hole, scores in zip(three_plan.holes, played["expected"].scores.T, strict=True):
        # Three standard errors, and 0.06 for the coarse grid of this plan.
        slack = 3 * scores.std() / np.sqrt(len(scores)) + 0.06
        assert scores.mean() == pytest.approx(hole.expected_score, abs=slack)


def test_played_distribution_is_near_the_computed_one(three_plan, played):
    pmf = three_plan.score_pmf("expected")
    share = np.bincount(played["expected"].totals, minlength=len(pmf))[: len(pmf)] / 6000
    assert np.abs(np.cumsum(share) - np.cumsum(pmf)).max() < 0.04


def test_playing_for_the_target_reaches_it_as_often_as_computed(three_plan, played):
    assert played["target"].chance(13) == pytest.approx(three_plan.chance(), abs=0.03)
    assert three_plan.chance() >= three_plan.chance_expected_policy()


def test_the_same_seed_plays_the_same_rounds(three_plan):
    a, b = (play_rounds(three_plan, 50, np.random.default_rng(1)).scores for _ in range(2))
    assert (a == b).all()
    assert a.shape == (50, 3)
    assert (a >= 1).all()


def test_arguments_that_make_no_sense_are_refused(three_plan):
    with pytest.raises(UnknownError, match="no policy"):
        play_rounds(three_plan, 5, np.random.default_rng(0), "lucky")
    with pytest.raises(InputError, match="1 or more"):
        play_rounds(three_plan, 0, np.random.default_rng(0))


@pytest.mark.parametrize("feet", [3.0, 8.0, 20.0])
def test_sampled_putts_drop_as_often_as_the_published_model_says(feet):
    skill = PuttingSkill(aim_sd_deg=1.020, pace_sd=0.080)  # Gelman 2019, tour
    n = 60_000
    holed, leave = putt_once(skill, np.full(n, feet), np.full(n, 1.0), np.random.default_rng(2))
    chance = float(holing_chance(skill, feet))
    assert holed.mean() == pytest.approx(chance, abs=4 * np.sqrt(chance * (1 - chance) / n))
    assert (leave[~holed] > 0).all()


def test_what_is_not_of_its_kind_is_named(three_plan, three_holes, demo_player):
    with pytest.raises(InputError) as caught:
        cb.plan_round("course.json", cb.Level(handicap_index=9.0), target=90, conditions={"wind_mph": 10})
    assert str(caught.value).splitlines() == [
        "plan: course: found 'course.json'; expected a Course, such as load_course(path) reads",
        "plan: player: found Level object; expected a Player, such as load_player(path) reads or level.player() makes",
        "plan: conditions: found dict object; expected Conditions(wind_mph=..., ...)",
    ]
    for target in ("90", 12.5, 2, True):
        with pytest.raises(InputError, match=f"^plan: target: found {target!r}; expected a whole number"):
            cb.plan_round(three_holes, demo_player, target=target)


def test_courses_put_together_by_a_program_are_looked_at(three_holes, demo_player):
    hole = three_holes.holes[1]
    for holes, said in (
        ((hole, replace(hole)), "holes: found hole 2 2 times; expected a number of its own for each"),
        ((hole, 3), r"holes: found int object; expected Hole\(...\)"),
        (
            (replace(hole, line=[[0.0, 0.0]]),),
            r"hole 2: line: found shape \(1, 2\); expected two or more points",
        ),
    ):
        with pytest.raises(cb.InputError, match=f"^plan: {said}"):
            cb.plan_round(replace(three_holes, holes=holes), demo_player, 9)
    for wrong, said in (
        ({"grid": "fine"}, "grid: found 'fine'"),
        ({"progress": 3}, "progress: found 3; expected a f"),
    ):
        with pytest.raises(cb.InputError, match=f"^plan: {said}"):
            cb.plan_round(three_holes, demo_player, 13, **wrong)


def test_a_par_three_played_twice_is_two_holes(three_holes, demo_player):
    hole = three_holes.holes[1]
    grid = GridSpec(
        lattice=16.0, sparse_lattice=24.0, near_lattice=9.0, points=(55, 13), tee_points=(144, 34)
    )
    course = Course("Twice", [hole, replace(hole, number=3)])  # a list will do
    plan = cb.plan_round(course, demo_player, 7, grid=grid, workers=1)
    assert (plan.strokes_left(2, 0), plan.strokes_left(3, 0)) == (7, 4)
    assert plan.hole(2).expected_score == pytest.approx(plan.hole(3).expected_score, abs=1e-9)
    both = np.convolve(plan.hole(2).score_pmf, plan.hole(3).score_pmf)
    assert plan.score_pmf() == pytest.approx(both[: len(plan.score_pmf())])


def test_strokes_that_are_not_whole_are_named(three_plan):
    half = r"^hole 1: standing: found 2\.5; expected whole strokes over par before the hole"
    for ask in (
        lambda: three_plan.hole(1).tee_options(standing=2.5),
        lambda: three_plan.options(1, to_pin=150, standing=2.5),
        lambda: three_plan.strokes_left(1, 2.5),
        lambda: cb.press(three_plan, 1, standing=2.5),
        lambda: cb.compare(three_plan, 1, "driver", "4-hybrid", standing=2.5),
    ):
        with pytest.raises(InputError, match=half):
            ask()
    with pytest.raises(
        InputError, match=r"^hole 1: strokes_on_hole: found '1'; expected whole strokes, 0 to 30"
    ):
        three_plan.options(1, to_pin=150, strokes_on_hole="1")


def test_a_record_gives_lengths_to_a_hundredth(three_plan):
    plan = copy(three_plan.hole(1))
    plan.hole = replace(plan.hole, line=np.array([[0.0, 0.0], [1.0 / 3.0, 200.0], [0.0, 390.0]]))
    assert plan.length_yd != round(plan.length_yd, 2)
    assert plan.record().length_yd == round(plan.length_yd, 2) == 390.0
