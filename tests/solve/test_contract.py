"""A contracted graph keeps values, score distributions and visits."""

import numpy as np
import pytest

from caddiebrain import solve
from caddiebrain.errors import UnknownError
from caddiebrain.graph import StateGraph

DROPS = StateGraph.from_choices(
    {
        "tee": {"drive": [("lands", 0.6, 1), ("fairway", 0.2, 1), ("water", 0.2, 1)]},
        "lands": {"rolls": [("bounces", 0.5, 0), ("fairway", 0.5, 0)]},
        "bounces": {"on": [("rough", 0.25, 0), ("fairway", 0.75, 0)]},
        "water": {"drop": [("rough", 1.0, 1)], "again": [("tee", 1.0, 1)]},
        "rough": {"hack": [("fairway", 0.5, 1), ("rough", 0.5, 1)]},
        "fairway": {"at it": [("cup", 0.4, 1), ("fairway", 0.6, 1)], "lay up": [("rough", 1.0, 1)]},
    }
)


def test_chance_events_go_and_the_rest_stays():
    small = solve.contract(DROPS)
    assert small.graph.states == ("tee", "water", "rough", "fairway", "cup")
    assert small.state(DROPS.index("lands")) == -1
    assert [DROPS.states[s] for s in small.states] == list(small.graph.states)
    # By hand: drive -> fairway 0.2 + 0.6 (0.5 + 0.5 * 0.75), rough 0.6 * 0.5 * 0.25, water 0.2.
    first = small.graph.choices_of("tee")[0]
    span = slice(small.graph.outcome_start[first], small.graph.outcome_start[first + 1])
    found = dict(zip(small.graph.outcome_state[span].tolist(), small.graph.outcome_prob[span], strict=True))
    assert found == pytest.approx({1: 0.2, 2: 0.075, 3: 0.725})
    assert small.graph.outcome_strokes[span].tolist() == [1, 1, 1]


def test_values_distributions_and_visits_are_unchanged(finer_plan):
    model = finer_plan.hole(1).compiled()
    small = solve.contract(model.graph, [model.tee])
    assert small.graph.n_states < 0.2 * model.graph.n_states
    whole, less = solve.fewest_strokes(model.graph), solve.fewest_strokes(small.graph)
    np.testing.assert_allclose(less.value, whole.value[small.states], atol=1e-9, rtol=0)
    np.testing.assert_allclose(small.spread @ less.value, whole.value, atol=1e-9, rtol=0)
    choice = np.where(less.choice >= 0, small.choices[less.choice], -1)
    policy = small.first_choice.copy()
    policy[small.states] = choice
    tee = small.state(model.tee)
    np.testing.assert_allclose(
        solve.score_pmf(small.graph, less.choice, tee).pmf[:15],
        solve.score_pmf(model.graph, policy, model.tee).pmf[:15],
        atol=1e-12,
        rtol=0,
    )
    np.testing.assert_allclose(
        solve.visit_frequencies(small.graph, less.choice, tee),
        solve.visit_frequencies(model.graph, policy, model.tee)[small.states],
        atol=1e-9,
        rtol=0,
    )


def test_a_start_to_keep_must_be_there():
    assert solve.contract(DROPS, ["lands"]).state(DROPS.index("lands")) >= 0
    with pytest.raises(UnknownError, match="bunker"):
        solve.contract(DROPS, ["bunker"])
