"""A look at a graph as a whole, through networkx: what loops, what is never reached."""

from collections.abc import Hashable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import networkx
import numpy as np

from caddiebrain.graph.validate import Tables, refuse

if TYPE_CHECKING:
    from caddiebrain.graph.state_graph import StateGraph

__all__ = ["GraphReport", "report", "to_networkx"]


@dataclass(frozen=True)
class GraphReport:
    """What a sound graph looks like from above.

    Attributes
    ----------
    states, choices, outcomes : int
        Sizes.
    levels : int
        Longest run of zero-stroke outcomes.
    loops : tuple of tuple of hashable
        Strongly connected parts, by label: states that play can leave and come back to, largest part first.
    never_reached : tuple of hashable
        States play cannot come to from the start; without a start, states no other state leads to.
    """

    states: int
    choices: int
    outcomes: int
    levels: int
    loops: tuple[tuple[Hashable, ...], ...]
    never_reached: tuple[Hashable, ...]


def report(graph: "StateGraph", start: Hashable | None = None) -> GraphReport:
    """Check a graph again and describe it; see ``StateGraph.check``."""
    refuse(
        Tables.of(
            graph.choice_start,
            graph.outcome_start,
            graph.outcome_state,
            graph.outcome_prob,
            graph.outcome_strokes,
            graph.goal,
            graph.state_labels,
            graph.choice_labels,
        )
    )
    links = _links(graph)
    parts = [
        p for p in networkx.strongly_connected_components(links) if len(p) > 1 or links.has_edge(*(2 * [*p]))
    ]
    parts.sort(key=lambda p: (-len(p), min(p)))
    if start is None:
        missed = {s for s in links if all(p == s for p in links.predecessors(s))} - {graph.goal}
    else:
        first = graph.index(start)
        missed = set(links) - networkx.descendants(links, first) - {first}
    return GraphReport(
        states=graph.n_states,
        choices=graph.n_choices,
        outcomes=graph.n_outcomes,
        levels=int(graph.level.max(initial=0)),
        loops=tuple(tuple(graph.states[s] for s in sorted(p)) for p in parts),
        never_reached=tuple(graph.states[s] for s in sorted(missed)),
    )


def _links(graph: "StateGraph") -> "networkx.DiGraph":
    """Return the graph of state indices with one edge where any outcome can happen."""
    source = np.repeat(graph.choice_state, np.diff(graph.outcome_start)).astype(np.int64)
    pairs = np.unique((source * graph.n_states + graph.outcome_state)[graph.outcome_prob > 0.0])
    links = networkx.DiGraph()
    links.add_nodes_from(range(graph.n_states))
    links.add_edges_from(
        zip((pairs // graph.n_states).tolist(), (pairs % graph.n_states).tolist(), strict=True)
    )
    return links


def to_networkx(graph: "StateGraph") -> "networkx.MultiDiGraph":
    """Return an edge per outcome; see ``StateGraph.to_networkx``."""
    view = networkx.MultiDiGraph(goal=graph.states[graph.goal])
    view.add_nodes_from(graph.states)
    for c, state in enumerate(graph.choice_state.tolist()):
        name = graph.choice_label(c)
        for i in range(int(graph.outcome_start[c]), int(graph.outcome_start[c + 1])):
            view.add_edge(
                graph.states[state],
                graph.states[int(graph.outcome_state[i])],
                choice=name,
                choice_index=c,
                probability=float(graph.outcome_prob[i]),
                strokes=int(graph.outcome_strokes[i]),
            )
    return view
