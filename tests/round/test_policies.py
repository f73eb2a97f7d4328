"""What must hold for any plan: policies in order, chances in order, par arithmetic."""

import pickle
from dataclasses import replace

import numpy as np
import pytest

import caddiebrain as cb
from caddiebrain.hole import GridSpec


@pytest.mark.parametrize("name", ["three_plan", "demo_plan"])
def test_no_target_is_served_better_by_the_expected_policy(name, request):
    plan = request.getfixturevalue(name)
    behind = [plan.chance_expected_policy(total) - plan.chance(total) for total in range(160)]
    assert max(behind) <= 1e-14  # rounding, also where the chance is next to none


def test_the_least_chance_of_a_round_is_kept(demo_plan):
    # What the mean policy does with luck, the target policy does at least as often: to a part in 10^12 of the chance.
    pmf = demo_plan.score_pmf("expected")
    luckiest = np.flatnonzero(pmf > 1e-200)[0]
    assert pmf[luckiest] < 1e-20
    for total in range(luckiest, 75):
        assert demo_plan.chance(total) >= demo_plan.chance_expected_policy(total) * (1.0 - 1e-12)


def test_chances_rise_with_the_target(three_plan):
    chances = [three_plan.chance(total) for total in range(0, 60)]
    assert chances[0] == 0.0
    assert chances[-1] == pytest.approx(1.0, abs=1e-6)
    assert np.diff(chances).min() >= -1e-12


def test_chances_rise_with_strokes_left_at_every_place(three_plan):
    for hole in three_plan.holes:
        assert np.diff(hole.chances.value, axis=0).min() >= -1e-12


def test_distributions_are_whole_and_their_mean_is_the_expected_score(three_plan):
    for policy in ("expected", "target"):
        assert three_plan.score_pmf(policy).sum() == pytest.approx(1.0, abs=1e-9)
    pmf = three_plan.score_pmf("expected")
    assert (pmf * np.arange(len(pmf))).sum() == pytest.approx(three_plan.expected_score, abs=1e-6)


def test_the_target_policys_distribution_holds_the_chance_it_was_built_for(three_plan):
    assert three_plan.score_pmf("target")[:14].sum() == pytest.approx(three_plan.chance(), abs=1e-9)
    assert (
        three_plan.expected_score
        <= (three_plan.score_pmf("target") * np.arange(len(three_plan.score_pmf("target")))).sum() + 1e-9
    )


def test_a_plan_hands_over_both_distributions_and_no_more_than_them(three_holes, demo_player, monkeypatch):
    grid = GridSpec(cell=4.0, spot=8.0, near_spot=4.0, lattice=24.0, near_lattice=12.0)
    short = replace(three_holes, holes=three_holes.holes[:1])
    plan = cb.plan_round(short, demo_player, target=4, grid=grid)
    monkeypatch.delattr("caddiebrain.round.plan.total_pmf")
    assert plan.score_pmf("target").sum() == pytest.approx(1.0, abs=1e-9)
    # What the flow of the distribution makes ready is a third as large as the graph, and nobody's afterwards.
    assert "outcome_column" not in vars(plan.holes[0].solved.model.graph)


def test_what_a_plan_hands_out_cannot_be_written_into_it(three_plan):
    before = three_plan.chance_expected_policy(13)
    for plan in (three_plan, pickle.loads(pickle.dumps(three_plan))):
        for pmf in (plan.score_pmf("expected"), plan.score_pmf("target"), plan.hole(1).score_pmf):
            with pytest.raises(ValueError, match="read-only"):
                pmf /= 2.0
        # Another target needs other holes: answers on the tee and off it would be of two targets.
        with pytest.raises(AttributeError, match="target: a plan does not change"):
            plan.target = 12
        assert (plan.target, plan.chance_expected_policy(13)) == (13, before)


def test_standing_is_par_arithmetic(three_plan):
    # Par 12 for 13: one over. After a bogey on the par 4 nothing is left over par for the par 3 and the par 5.
    assert three_plan.strokes_left(1, 0) == 13
    assert three_plan.strokes_left(2, 1) == 13 - 5
    assert three_plan.strokes_left(3, 0) == 13 - 7
    assert type(three_plan.strokes_left(3, np.int64(0))) is int


def test_a_worse_standing_never_has_the_better_chance(three_plan):
    chances = [max(o.chance for o in three_plan.hole(2).tee_options(standing=s)) for s in range(-2, 4)]
    assert np.diff(chances).max() <= 1e-12


def test_the_best_choice_of_a_standing_has_the_chance_of_its_tee(three_plan):
    hole = three_plan.hole(1)
    assert hole.tee_options(standing=0)[0].chance == pytest.approx(three_plan.chance(), abs=1e-9)
    assert min(o.expected for o in hole.tee_options()) == pytest.approx(hole.expected_score, abs=1e-9)


def test_seventy_nine_on_a_par_seventy_two_is_seven_over(demo_plan):
    # Seven bogeys and eleven pars make 79; a triple and a double leave two (arithmetic).
    assert demo_plan.course.par == 72
    assert demo_plan.strokes_left(1, 0) == 79
    par_of_the_last_hole = demo_plan.holes[-1].par
    assert demo_plan.strokes_left(18, 0) - par_of_the_last_hole == 79 - 72 == 7
    assert demo_plan.strokes_left(18, 3 + 2) - par_of_the_last_hole == 7 - 5 == 2
    assert np.diff([demo_plan.chance(t) for t in range(65, 110)]).min() >= -1e-12
