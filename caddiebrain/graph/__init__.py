"""Finite decision tables: states, choices, outcomes with probabilities and whole strokes."""

from caddiebrain.graph.files import GraphFile, read_graph, write_graph
from caddiebrain.graph.state_graph import Choices, StateGraph

__all__ = ["Choices", "GraphFile", "StateGraph", "read_graph", "write_graph"]
