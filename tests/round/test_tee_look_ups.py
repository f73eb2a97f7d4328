"""Look-ups on the tee in play, which the plan has, and beside it, where choices are worked out anew."""

import pytest


def test_every_aim_on_the_tee_is_what_the_plan_was_solved_with(three_plan):
    hole = three_plan.hole(2)
    every = three_plan.options(2, hole.hole.tee, standing=1, every_aim=True)
    best = three_plan.options(2, hole.hole.tee, standing=1)
    assert len(every) > 3 * len(best)
    assert best == hole.tee_options(standing=1)
    by_label = {}
    for option in every:
        by_label.setdefault(option.label, option)  # best first
    assert set(by_label) == {o.label for o in best}
    assert all(by_label[o.label] == o for o in best)
    assert min(o.expected for o in every) == pytest.approx(hole.expected_score, abs=1e-9)
    assert all(sum(o.shares.values()) == pytest.approx(1.0, abs=1e-9) for o in every)


def test_a_ball_teed_up_elsewhere_is_weighed_like_any_other(three_plan):
    """The fewer points off the tee in play cost little: two yards to the side the hole plays alike."""
    hole = three_plan.hole(2)
    x, y = hole.hole.tee
    beside = three_plan.options(2, (x + 2.0, y), lie="tee")
    on = {o.label: o.expected for o in three_plan.options(2, (x, y))}
    assert {o.label for o in beside} == set(on)
    gaps = [abs(o.expected - on[o.label]) for o in beside if o.expected < beside[0].expected + 0.5]
    assert len(gaps) >= 2
    assert max(gaps) < 0.03
