"""networkx view, report on the whole graph, and files there and back."""

import json

import networkx as nx
import numpy as np
import pytest
from graph_zoo import TEXTBOOK, as_graph, random_graph

from caddiebrain.errors import GraphError, InputError
from caddiebrain.graph import GraphFile, StateGraph, read_graph, write_graph

FIELDS = ("choice_start", "outcome_start", "outcome_state", "outcome_prob", "outcome_strokes", "level")


def assert_same(one: StateGraph, two: StateGraph) -> None:
    for name in FIELDS:
        assert getattr(one, name).dtype == getattr(two, name).dtype
        np.testing.assert_array_equal(getattr(one, name), getattr(two, name))
    assert one.goal == two.goal
    assert list(one.states) == list(two.states)
    assert [one.choice_label(c) for c in range(one.n_choices)] == [
        two.choice_label(c) for c in range(two.n_choices)
    ]


@pytest.mark.parametrize("suffix", [".json", ".npz"])
@pytest.mark.parametrize("name", TEXTBOOK)
def test_there_and_back(name, suffix, tmp_path):
    graph = as_graph(TEXTBOOK[name])
    write_graph(graph, tmp_path / f"g{suffix}")
    assert_same(graph, read_graph(tmp_path / f"g{suffix}"))


@pytest.mark.parametrize("suffix", [".json", ".npz"])
def test_labels_may_be_tuples_or_missing(suffix, tmp_path):
    graph = random_graph(np.random.default_rng(5), 12)
    bare = StateGraph.from_arrays(*(getattr(graph, f) for f in FIELDS[:5]), goal=graph.goal)
    named = StateGraph.from_arrays(
        *(getattr(graph, f) for f in FIELDS[:5]),
        goal=graph.goal,
        state_labels=tuple(("spot", i, 0.5) for i in range(graph.n_states)),
    )
    for one in (bare, named):
        write_graph(one, tmp_path / f"g{suffix}")
        assert_same(one, read_graph(tmp_path / f"g{suffix}"))


def test_a_label_json_cannot_hold_is_refused(tmp_path):
    graph = StateGraph.from_choices({frozenset({1}): {"x": [("cup", 1.0, 1)]}})
    with pytest.raises(InputError, match="state_labels"):
        write_graph(graph, tmp_path / "g.json")


def test_a_bad_file_names_file_and_field(tmp_path):
    path = tmp_path / "g.json"
    with pytest.raises(InputError, match=r"g\.json"):
        read_graph(path)
    path.write_text("{")
    with pytest.raises(InputError, match=r"g\.json"):
        read_graph(path)
    good = json.loads(GraphFile.of(as_graph(TEXTBOOK["hardy par 3"])).model_dump_json())
    path.write_text(json.dumps({**good, "schema_version": 2, "outcome_prob": "x"}))
    with pytest.raises(InputError) as caught:
        read_graph(path)
    assert "schema_version" in str(caught.value)
    assert "outcome_prob" in str(caught.value)
    path.write_text(json.dumps({**good, "outcome_prob": [1.1, *good["outcome_prob"][1:]]}))
    with pytest.raises(GraphError, match=r"g\.json: state .* sum to"):
        read_graph(path)
    path.write_text("")
    with pytest.raises(
        InputError, match=r"g\.json: file: found nothing in it; expected a graph as JSON or npz"
    ):
        read_graph(path)
    path.write_text(json.dumps({**good, "state_labels": [{}] * len(good["choice_start"][1:])}))
    with pytest.raises(GraphError, match=r"g\.json: state_labels: found a label that can be no name"):
        read_graph(path)


def test_a_place_that_cannot_be_written_is_named_and_nothing_is_left(tmp_path):
    graph = as_graph(TEXTBOOK["hardy par 3"])
    for name in ("g.json", "g.npz"):
        with pytest.raises(
            InputError, match="file: found No such file or directory; expected a place to write"
        ):
            write_graph(graph, tmp_path / "nowhere" / name)
    kept = tmp_path / "g.json"
    write_graph(graph, kept)
    before = kept.read_bytes()
    with pytest.raises(InputError, match="state_labels"):
        write_graph(StateGraph.from_choices({frozenset({1}): {"x": [("cup", 1.0, 1)]}}), kept)
    assert [one.name for one in tmp_path.iterdir()] == ["g.json"]
    assert kept.read_bytes() == before


def test_a_bad_npz_names_what_is_missing(tmp_path):
    path = tmp_path / "g.npz"
    np.savez(path, goal=np.array(0))
    with pytest.raises(InputError, match="outcome_prob"):
        read_graph(path)
    path.write_bytes(b"PK nonsense")
    with pytest.raises(InputError, match=r"g\.npz: file: found something else, or only a part of one"):
        read_graph(path)
    write_graph(as_graph(TEXTBOOK["hardy par 3"]), path)
    with np.load(path) as held:
        arrays = dict(held)
    for change, said in (
        ({"goal": np.array("x")}, "goal: found <U1 .*; expected a whole number"),
        ({"state_labels": np.array("[")}, r"state_labels: found '\['; expected a list of labels"),
        ({"outcome_prob": arrays["outcome_prob"] * 2.0}, r"g\.npz: state .* sum to 2"),
    ):
        np.savez(path, **arrays | change)
        with pytest.raises((InputError, GraphError), match=said):
            read_graph(path)


def test_networkx_edges_are_the_outcomes():
    graph = as_graph(TEXTBOOK["small hole"])
    view = graph.to_networkx()
    assert view.number_of_edges() == graph.n_outcomes
    edges = view.get_edge_data("tee", "tee")
    assert list(edges.values()) == [{"choice": "driver", "choice_index": 0, "probability": 0.2, "strokes": 2}]
    assert nx.has_path(view, "tee", "cup")


def test_the_report_names_loops_and_what_is_never_reached():
    graph = as_graph(TEXTBOOK["small hole"])
    report = graph.check("fairway")
    assert (report.states, report.choices, report.outcomes, report.levels) == (8, 10, 19, 1)
    assert {frozenset(part) for part in report.loops} == {
        frozenset({"tee"}),
        frozenset({"rough"}),
        frozenset({"path"}),
        frozenset({"green"}),
    }
    assert report.never_reached == ("tee",)
    assert graph.check().never_reached == ("tee",)
