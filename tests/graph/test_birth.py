"""Every fault is refused where a graph is born, by name; sound graphs come back with the author's names."""

import copy
import pickle

import numpy as np
import pytest
from graph_zoo import TEXTBOOK, as_graph

from caddiebrain.errors import GraphError, UnknownError
from caddiebrain.graph import StateGraph

CUP = ("cup", 1.0, 1)

BAD_CHOICES = {
    "sum too high": (
        {"a": {"x": [("cup", 0.6, 1), ("a", 0.5, 1)]}},
        ["'a', choice 'x'", "sum to 1.1", "within 1e-09"],
    ),
    "sum too low": (
        {"a": {"x": [("cup", 0.6, 1), ("a", 0.4 - 1e-8, 1)]}},
        ["'a', choice 'x'", "sum to 0.99999999"],
    ),
    "negative": (
        {"a": {"x": [("cup", 1.5, 1), ("a", -0.5, 1)]}},
        ["outcome 1", "probability -0.5", "0 to 1"],
    ),
    "nan": ({"a": {"x": [("cup", float("nan"), 1)]}}, ["'a', choice 'x', outcome 0", "probability nan"]),
    "infinite": ({"a": {"x": [("cup", float("inf"), 1)]}}, ["'a', choice 'x'", "sum to inf"]),
    "half a stroke": ({"a": {"x": [("cup", 1.0, 0.5)]}}, ["strokes 0.5", "whole number, 0 to 255"]),
    "strokes back": ({"a": {"x": [("cup", 1.0, -1)]}}, ["strokes -1", "whole number"]),
    "256 strokes": ({"a": {"x": [("cup", 1.0, 256)]}}, ["strokes 256"]),
    "no choice": ({"a": {"x": [CUP]}, "b": {}}, ["state 'b' has no choice"]),
    "no outcome": ({"a": {"x": [CUP], "y": []}}, ["'a', choice 'y' has no outcome"]),
    "nowhere": ({"a": {"x": [("moon", 1.0, 1)]}}, ["outcome 0", "'moon'", "not a state"]),
    "not a row": ({"a": {"x": [("cup", 1.0)]}}, ["outcome 0", "expected (next state, probability, strokes)"]),
    "goal plays on": (
        {"a": {"x": [CUP]}, "cup": {"y": [("a", 1.0, 1)]}},
        ["'cup' is the goal and has choices"],
    ),
    "itself free": ({"a": {"x": [("a", 0.5, 0), ("cup", 0.5, 1)]}}, ["circle through state 'a'"]),
    "free circle": (
        {
            "a": {"x": [("b", 1.0, 0)]},
            "b": {"y": [("a", 0.5, 0), ("cup", 0.5, 1)]},
            "c": {"z": [("a", 1.0, 0)]},
        },
        ["circle through state 'a', state 'b'"],
    ),
    "cut off": (
        {"a": {"x": [CUP]}, "b": {"y": [("c", 1.0, 1)]}, "c": {"z": [("b", 1.0, 1)]}},
        ["state 'b': state 'cup' cannot be reached", "state 'c': state 'cup' cannot be reached"],
    ),
    "way home of chance 0": (
        {"a": {"x": [("cup", 0.0, 1), ("a", 1.0, 1)]}},
        ["state 'a': state 'cup' cannot be reached"],
    ),
}


@pytest.mark.parametrize("name", BAD_CHOICES)
def test_a_fault_is_named(name):
    choices, parts = BAD_CHOICES[name]
    with pytest.raises(GraphError) as caught:
        StateGraph.from_choices(choices)
    for part in parts:
        assert part in str(caught.value)


@pytest.mark.parametrize(
    ("choices", "goal", "said"),
    [
        ([("a", "x")], "cup", "choices: found list; expected a mapping, {state: {choice: [(next state,"),
        ({"a": [CUP]}, "cup", "state 'a': found list; expected a mapping of its choices"),
        ({"a": {"x": None}}, "cup", "state 'a', choice 'x': found None; expected a list of (next state,"),
        ({"a": {"x": "cup"}}, "cup", "state 'a', choice 'x': found 'cup'; expected a list of (next state,"),
        ({"a": {"x": [CUP]}}, ["cup"], "goal: found ['cup']; expected the name of a state"),
    ],
)
def test_what_has_not_the_form_of_a_graph_is_told_the_form(choices, goal, said):
    with pytest.raises(GraphError) as caught:
        StateGraph.from_choices(choices, goal)
    assert said in str(caught.value)


def test_what_merely_leads_into_a_circle_is_not_blamed():
    with pytest.raises(GraphError) as caught:
        StateGraph.from_choices(BAD_CHOICES["free circle"][0])
    assert "state 'c'" not in str(caught.value)


def test_every_fault_is_reported_at_once():
    choices = {
        "a": {"x": [("cup", 0.7, 1)], "y": [("moon", 1.0, 1)]},
        "b": {},
        "c": {"z": [("cup", 1.0, -2)]},
        "d": {"w": [("cup", float("nan"), 1)]},
    }
    with pytest.raises(GraphError) as caught:
        StateGraph.from_choices(choices)
    for part in ("sum to 0.7", "'moon'", "'b' has no choice", "strokes -2", "probability nan"):
        assert part in str(caught.value)


def test_a_long_list_of_faults_is_cut_and_counted():
    with pytest.raises(GraphError) as caught:
        StateGraph.from_choices({i: {"x": [("cup", 0.5, 1)]} for i in range(40)})
    assert str(caught.value).count("sum to 0.5") == 12
    assert "28 more" in str(caught.value)


def test_the_tolerance_of_a_sum_is_one_in_a_billion():
    row = [("cup", 0.5, 1), ("a", 0.5 + 0.9e-9, 1)]
    assert StateGraph.from_choices({"a": {"x": row}}).n_outcomes == 2
    with pytest.raises(GraphError):
        StateGraph.from_choices({"a": {"x": [("cup", 0.5, 1), ("a", 0.5 + 1.1e-9, 1)]}})


ARRAYS = {
    "choice_start": [0, 1, 1],
    "outcome_start": [0, 2],
    "outcome_state": [0, 1],
    "outcome_prob": [0.5, 0.5],
    "outcome_strokes": [1, 1],
}

BAD_ARRAYS = {
    "state beyond": ({"outcome_state": [0, 2]}, "state index 2; expected 0 to 1"),
    "state before": ({"outcome_state": [-1, 1]}, "state index -1"),
    "state between": ({"outcome_state": [0.5, 1]}, "state index 0.5"),
    "offsets fall": ({"choice_start": [0, 2, 1]}, "choice_start: expected offsets that rise from 0 to 1"),
    "offsets end late": ({"outcome_start": [0, 3]}, "outcome_start: expected offsets that rise from 0 to 2"),
    "offsets between": ({"outcome_start": [0.0, 1.5]}, "outcome_start: found fractions"),
    "one too few": ({"outcome_prob": [1.0]}, "outcome_prob: found 1 entries; expected 2"),
    "no numbers": ({"outcome_prob": ["a", "b"]}, "outcome_prob: found 1 axes"),
    "a table": ({"outcome_prob": [[0.5, 0.5]]}, "outcome_prob: found 2 axes"),
    "goal beyond": ({"goal": 2}, "goal: found 2"),
    "labels short": ({"state_labels": ("a",)}, "state_labels: found 1 labels; expected 2"),
    "labels twice": ({"state_labels": ("a", "a")}, "'a' is given twice"),
    "choice labels long": ({"choice_labels": ("a", "b")}, "choice_labels: found 2 labels; expected 1"),
}


@pytest.mark.parametrize("name", BAD_ARRAYS)
def test_arrays_that_do_not_fit_are_named(name):
    change, part = BAD_ARRAYS[name]
    with pytest.raises(GraphError) as caught:
        StateGraph.from_arrays(**{"goal": 1, **ARRAYS, **change})
    assert part in str(caught.value)


def test_labels_both_ways():
    graph = as_graph(TEXTBOOK["small hole"])
    assert list(graph.states) == ["tee", "fairway", "short", "rough", "path", "green", "tap", "cup"]
    assert [graph.index(label) for label in graph.states] == list(range(8))
    assert [graph.choice_label(c) for c in graph.choices_of("tee")] == ["driver", "iron"]
    assert [graph.choice_label(c) for c in graph.choices_of("green")] == ["lag", "charge"]
    assert list(graph.choices_of("cup")) == []
    assert graph.choice_label(-1) is None
    for nobody in ("moon", ["tee"]):
        with pytest.raises(UnknownError, match="no state"):
            graph.index(nobody)
    for nothing in (graph.n_choices, -2, "driver"):
        with pytest.raises(UnknownError, match="no choice"):
            graph.choice_label(nothing)


def test_without_labels_the_indices_are_the_names():
    graph = StateGraph.from_arrays(**ARRAYS, goal=1)
    assert (list(graph.states), graph.index(1), graph.choice_label(0)) == ([0, 1], 1, 0)
    assert repr(graph) == "StateGraph(2 states, 1 choices, 2 outcomes, goal=1)"


def test_arrays_cannot_be_changed_and_inputs_stay_writable():
    prob = np.array([0.5, 0.5])
    graph = StateGraph.from_arrays(**{**ARRAYS, "outcome_prob": prob}, goal=1)
    with pytest.raises(ValueError, match="read-only"):
        graph.outcome_prob[0] = 1.0
    assert prob.flags.writeable


def test_nor_those_of_a_copy_or_a_pickle():
    graph = StateGraph.from_arrays(**ARRAYS, goal=1)
    for again in (copy.deepcopy(graph), pickle.loads(pickle.dumps(graph))):
        assert not again.outcome_prob.flags.writeable
        assert not again.level.flags.writeable


def test_levels_count_the_longest_run_of_free_outcomes():
    graph = StateGraph.from_choices(
        {
            "a": {"x": [CUP]},
            "b": {"x": [("a", 1.0, 0)], "y": [CUP]},
            "c": {"x": [("a", 0.5, 0), ("b", 0.5, 0)]},
            "d": {"x": [("c", 0.0, 0), ("a", 1.0, 1)]},
        }
    )
    assert graph.level.tolist() == [0, 1, 2, 0, 0]


def test_a_long_run_of_free_outcomes_is_no_circle():
    chain = {i: {"x": [(i - 1 if i else "cup", 1.0, 0 if i else 1)]} for i in range(2000)}
    assert StateGraph.from_choices(chain).level.max() == 1999


def test_the_goal_may_stand_anywhere_and_the_same_outcome_twice():
    graph = StateGraph.from_choices({"end": {}, "a": {"x": [("end", 0.5, 1), ("end", 0.5, 1)]}}, goal="end")
    assert (graph.goal, graph.n_outcomes) == (0, 2)


def test_restrict_keeps_names_and_tells_where_choices_stood():
    graph = as_graph(TEXTBOOK["small hole"])
    keep = np.array([graph.choice_label(c) not in {"driver", "lag"} for c in range(graph.n_choices)])
    smaller, kept = graph.restrict(keep)
    assert kept.tolist() == np.flatnonzero(keep).tolist()
    assert [smaller.choice_label(c) for c in range(smaller.n_choices)] == [
        graph.choice_label(c) for c in kept
    ]
    for new, old in enumerate(kept):
        a, b = (slice(*g.outcome_start[[c, c + 1]]) for g, c in ((smaller, new), (graph, old)))
        assert smaller.outcome_prob[a].tolist() == graph.outcome_prob[b].tolist()
        assert smaller.outcome_state[a].tolist() == graph.outcome_state[b].tolist()
        assert smaller.outcome_strokes[a].tolist() == graph.outcome_strokes[b].tolist()


def test_restrict_refuses_to_leave_a_state_without_a_choice():
    graph = as_graph(TEXTBOOK["small hole"])
    with pytest.raises(GraphError, match="'tap' has no choice"):
        graph.restrict([graph.choice_label(c) != "putt" for c in range(graph.n_choices)])
    with pytest.raises(GraphError, match="mask"):
        graph.restrict([True])
    with pytest.raises(GraphError, match=r"of int64; expected \(10,\) of bool"):
        graph.restrict(range(graph.n_choices))  # running indices, of which all but 0 would count as true
