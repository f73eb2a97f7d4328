"""Finite decision tables: states, choices, outcomes with probabilities and whole strokes."""

from caddiebrain.graph.state_graph import Choices, StateGraph

__all__ = ["Choices", "StateGraph"]
