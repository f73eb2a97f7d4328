"""Contract checks that anyone may run: on a graph of their own, a solver, a course, a player, a plan.

Each check looks at everything it can before it raises, and names every clause that is broken.
"""

from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING, Any

import numpy as np
from shapely import Point as Spot

from caddiebrain.course.model import Area, Course, Hole
from caddiebrain.graph import Choices, StateGraph
from caddiebrain.player import Player, ShotPattern
from caddiebrain.player.shapes import club_lengths
from caddiebrain.solve import Status
from caddiebrain.terms import Lie

if TYPE_CHECKING:
    from caddiebrain.round import RoundPlan

__all__ = [
    "ContractError",
    "check_budget_solver",
    "check_course",
    "check_graph",
    "check_plan",
    "check_player",
    "check_solver",
]

_EXACT = 1e-9
_NETWORKX_OUTCOMES = 100_000

_ZOO: tuple[tuple[str, Choices, float, tuple[float, ...]], ...] = (
    (
        "a putt holed once in four",
        {"start": {"putt": [("cup", 0.25, 1), ("start", 0.75, 1)]}},
        4.0,
        (0.0, 1 / 4, 7 / 16, 37 / 64),
    ),
    (
        "stroke and distance",
        {"start": {"shot": [("cup", 0.5, 1), ("start", 0.5, 2)]}},
        3.0,
        (0.0, 0.5, 0.5, 0.75, 0.75, 0.875),
    ),
    (
        "a free drop before the stroke",
        {
            "start": {"shot": [("drop", 1.0, 1)]},
            "drop": {"left": [("near", 1.0, 0)], "right": [("far", 1.0, 0)]},
            "near": {"shot": [("cup", 0.5, 1), ("far", 0.5, 1)]},
            "far": {"shot": [("cup", 1.0, 2)]},
        },
        3.0,
        (0.0, 0.0, 0.5, 1.0),
    ),
    (
        "the average and the chance want different choices",
        {
            "start": {"bold": [("cup", 0.25, 1), ("cup", 0.75, 5)], "safe": [("cup", 1.0, 2)]},
        },
        2.0,
        (0.0, 0.25, 1.0),
    ),
    (
        "two states that lead to each other",
        {
            "start": {"over": [("far", 0.5, 1), ("cup", 0.5, 1)]},
            "far": {"back": [("start", 0.5, 1), ("cup", 0.5, 1)], "long way": [("cup", 1.0, 3)]},
        },
        2.0,
        (0.0, 0.5, 0.75, 0.875),
    ),
)
"""Name, choices, fewest expected strokes from ``start``, and its best chance within 0, 1, 2, ... strokes."""


class ContractError(AssertionError):
    """A thing does not keep its contract; ``broken`` names every clause that failed."""

    def __init__(self, thing: str, broken: Iterable[str]) -> None:
        self.thing = thing
        self.broken = tuple(broken)
        super().__init__(f"{thing}: " + "; ".join(self.broken))

    def __reduce__(self) -> tuple[type["ContractError"], tuple[str, tuple[str, ...]]]:
        return type(self), (self.thing, self.broken)


def _demand(thing: str, broken: Iterable[str]) -> None:
    clauses = tuple(broken)
    if clauses:
        raise ContractError(thing, clauses)


def check_graph(graph: StateGraph) -> None:
    """Check a state graph, labels and all; small graphs against their networkx view too.

    Raises
    ------
    ContractError
        With every clause that is broken.
    GraphError
        If the graph's own check refuses it.
    """
    graph.check()
    _demand("graph", _graph_faults(graph))


def _graph_faults(graph: StateGraph) -> Iterator[str]:
    labels = list(graph.states)
    if len(set(labels)) != graph.n_states:
        yield f"{graph.n_states} states have {len(set(labels))} different labels"
    elif any(graph.index(label) != i for i, label in enumerate(labels)):
        yield "index() does not lead back from every label to its state"
    sums = np.add.reduceat(graph.outcome_prob, graph.outcome_start[:-1]) if graph.n_choices else np.zeros(0)
    if not np.allclose(sums, 1.0, rtol=0.0, atol=_EXACT):
        yield f"a choice's probabilities sum to {sums[np.argmax(np.abs(sums - 1.0))]:.12g}"
    open_choices = np.diff(graph.choice_start)
    if open_choices[graph.goal] != 0:
        yield "the goal has choices"
    if np.count_nonzero(open_choices == 0) > 1:
        yield "a state other than the goal has no choice"
    if graph.n_outcomes <= _NETWORKX_OUTCOMES:
        view = graph.to_networkx()
        if (view.number_of_nodes(), view.number_of_edges()) != (graph.n_states, graph.n_outcomes):
            yield "the networkx view has not a node for every state and an edge for every outcome"


def check_solver(solver: Callable[[StateGraph], Any]) -> None:
    """Check a solver of the fewest expected strokes on small graphs with exact answers.

    Parameters
    ----------
    solver : callable
        Takes a `StateGraph`; returns a record with ``value``, ``choice``, ``lower``, ``upper`` over states
        and ``status``, as `caddiebrain.solve.fewest_strokes` does.

    Raises
    ------
    ContractError
        With every clause that is broken.
    """
    broken: list[str] = []
    for name, choices, expected, _ in _ZOO:
        graph = StateGraph.from_choices(choices)
        answer, again = solver(graph), solver(graph)
        broken += [f"{name}: {fault}" for fault in _solution_faults(graph, answer, expected)]
        if not np.array_equal(answer.choice, again.choice):
            broken.append(f"{name}: two solves of one graph choose differently")
    _demand("solver", broken)


def _solution_faults(graph: StateGraph, answer: Any, expected: float) -> Iterator[str]:
    value, start = np.asarray(answer.value), graph.index("start")
    if value.shape != (graph.n_states,):
        yield f"value has shape {value.shape}, expected ({graph.n_states},)"
        return
    if not abs(value[start] - expected) <= _EXACT:
        yield f"value {value[start]:.12g} at the start, expected {expected:.12g}"
    if not (np.all(answer.lower <= value + _EXACT) and np.all(value <= answer.upper + _EXACT)):
        yield "the value lies outside its own bounds"
    if answer.status != Status.PROVEN:
        yield f"status {answer.status}, expected {Status.PROVEN}"
    if value[graph.goal] != 0.0 or answer.choice[graph.goal] != -1:
        yield "the goal has a value other than 0 or a choice other than -1"
    for state, label in enumerate(graph.states):
        if state == graph.goal:
            continue
        if int(answer.choice[state]) not in graph.choices_of(label):
            yield f"the choice in {label!r} is not one of that state's"
        elif not abs(_one_step(graph, int(answer.choice[state]), value) - value[state]) <= _EXACT:
            yield f"the choice in {label!r} does not earn the value given"


def _one_step(graph: StateGraph, choice: int, value: Any) -> float:
    """Expected strokes of one choice, with ``value`` from where it leads."""
    part = slice(int(graph.outcome_start[choice]), int(graph.outcome_start[choice + 1]))
    onward = graph.outcome_strokes[part] + value[graph.outcome_state[part]]
    return float(np.dot(graph.outcome_prob[part], onward))


def check_budget_solver(solver: Callable[..., Any]) -> None:
    """Check a solver of the best chance within every budget on small graphs with exact answers.

    Parameters
    ----------
    solver : callable
        Called as ``solver(graph, budget=K)``; returns a record with ``value`` of shape (K + 1, S), as
        `caddiebrain.solve.within_budget` does.

    Raises
    ------
    ContractError
        With every clause that is broken.
    """
    broken: list[str] = []
    for name, choices, _, chances in _ZOO:
        graph, budget = StateGraph.from_choices(choices), len(chances) - 1
        value = np.asarray(solver(graph, budget=budget).value)
        if value.shape != (budget + 1, graph.n_states):
            broken.append(f"{name}: value has shape {value.shape}, expected ({budget + 1}, {graph.n_states})")
            continue
        if not np.allclose(value[:, graph.index("start")], chances, rtol=0.0, atol=_EXACT):
            broken.append(f"{name}: chances {value[:, graph.index('start')]}, expected {chances}")
        if not np.all(np.diff(value, axis=0) >= -_EXACT):
            broken.append(f"{name}: a larger budget has a smaller chance")
        if not np.all(value[:, graph.goal] == 1.0):
            broken.append(f"{name}: the goal's own chance is not 1")
    _demand("budget solver", broken)


def check_course(course: Course) -> None:
    """Check that a course is one a round can be planned on.

    Raises
    ------
    ContractError
        With every clause that is broken, hole by hole.
    """
    broken = []
    for what, values in (
        ("number", [hole.number for hole in course.holes]),
        ("stroke index", [hole.stroke_index for hole in course.holes]),
    ):
        twice = sorted({v for v in values if values.count(v) > 1})
        if twice:
            broken.append(f"{what} {', '.join(map(str, twice))} stands on two holes")
    if not course.holes:
        broken.append("no holes")
    for hole in course.holes:
        broken += [f"hole {hole.number}: {fault}" for fault in _hole_faults(hole)]
    _demand(f"course {course.name}".rstrip(), broken)


def _hole_faults(hole: Hole) -> Iterator[str]:
    if (
        hole.line.ndim != 2
        or hole.line.shape[1] != 2
        or len(hole.line) < 2
        or not np.isfinite(hole.line).all()
    ):
        yield "the line is not two or more points"
        return
    if not 3 <= hole.par <= 6:
        yield f"par {hole.par}, expected 3 to 6"
    if not 1 <= hole.stroke_index <= 18:
        yield f"stroke index {hole.stroke_index}, expected 1 to 18"
    if not (abs(hole.pin[0]) < 1.0 and hole.pin[1] > 0.0):
        yield f"the pin is at {hole.pin}, expected straight up the y axis from the tee"
    if np.hypot(*(hole.line[0] - np.asarray(hole.tee))) > 1.0:
        yield "the line does not begin at the tee"
    for area in hole.areas:
        yield from (f"{area.name or area.lie}: {fault}" for fault in _area_faults(area))
    greens = [area.shape for area in hole.areas if area.lie is Lie.GREEN]
    if not any(green.covers(Spot(hole.pin)) for green in greens):
        yield "the pin is on no green"
    lost_tee = {Lie.OUT, Lie.RED, Lie.YELLOW, Lie.SAND, Lie.GREEN}
    if any(area.shape.covers(Spot(hole.tee)) for area in hole.areas if area.lie in lost_tee):
        yield "the tee stands out of bounds, in a penalty area, in sand or on a green"


def _area_faults(area: Area) -> Iterator[str]:
    if area.shape.is_empty or not area.shape.is_valid or area.shape.area <= 0.0:
        yield "the shape is empty or crosses itself"
    if not 0.0 <= area.lost <= 1.0:
        yield f"a chance of {area.lost} to be lost"
    if area.lie is Lie.TREES and not 0.0 <= area.canopy_base_yd < area.height_yd:
        yield f"a canopy from {area.canopy_base_yd} to {area.height_yd} yards"


def check_player(player: Player) -> None:
    """Check that a player can play from every lie, at every distance, within the Rules.

    Raises
    ------
    ContractError
        With every clause that is broken.
    """
    _demand(f"player {player.name}", _player_faults(player))


def _player_faults(player: Player) -> Iterator[str]:
    if Player.model_validate_json(player.model_dump_json()) != player:
        yield "does not come back the same from JSON"
    clubs = {*player.clubs, "putter"}
    if len(clubs) > 14:
        yield f"{len(clubs)} clubs with the putter, at most 14 (Rule 4.1b)"
    ground = [pattern for pattern in player.patterns if not pattern.tee_only]
    if not ground:
        yield "no club that can be played off the ground"
        return
    shortest = min(pattern.carry_yd for pattern in ground)
    for lie in (Lie.FAIRWAY, Lie.ROUGH, Lie.SAND):
        reach = max((shot.longest_yd for shot in player.short_game if shot.lie is lie), default=0.0)
        if reach == 0.0:
            yield f"no short shot from the {lie}"
        elif reach < 0.8 * shortest:
            yield f"from the {lie} no shot of {reach:.0f} to {shortest:.0f} yards, the shortest full club"
    yield from _lie_faults(player, ground)


def _lie_faults(player: Player, ground: list[ShotPattern]) -> Iterator[str]:
    lengths = club_lengths(ground).values()
    for lie, effect in player.lies.items():
        for end in ("short", "long"):
            if getattr(effect.carry, end) <= 0.0 or getattr(effect.spread, end) <= 0.0:
                yield f"{lie}: a carry or spread factor that is not positive"
            if any(not 0.0 <= p.mishit + getattr(effect.mishit, end) < 1.0 for p in ground):
                yield f"{lie}: a mishit chance outside 0 to 1"
        if effect.longest_carry_yd is not None and min(lengths) > effect.longest_carry_yd:
            yield f"{lie}: no club is short enough for longest_carry_yd {effect.longest_carry_yd:g}"


def check_plan(plan: "RoundPlan") -> None:
    """Check that a plan's numbers agree with each other.

    Raises
    ------
    ContractError
        With every clause that is broken.
    """
    _demand("plan", _plan_faults(plan))


def _plan_faults(plan: "RoundPlan") -> Iterator[str]:
    average, target = plan.score_pmf("expected"), plan.score_pmf("target")
    totals = np.arange(len(average))
    for name, pmf in (("expected", average), ("target", target)):
        if np.any(pmf < 0.0) or not abs(pmf.sum() - 1.0) <= _EXACT:
            yield f"the {name} scores are no distribution: they sum to {pmf.sum():.12g}"
    if not abs(average @ totals - plan.expected_score) <= 1e-6:
        yield f"expected score {plan.expected_score:.9g}, but the scores have mean {average @ totals:.9g}"
    if not abs(target[: plan.target + 1].sum() - plan.chance()) <= _EXACT:
        yield "the chance of the target differs from its distribution"
    chances = [plan.chance(t) for t in range(plan.target - 10, plan.target + 11)]
    plain = [plan.chance_expected_policy(t) for t in range(plan.target - 10, plan.target + 11)]
    if np.any(np.diff(chances) < -_EXACT):
        yield "the chance falls as the target rises"
    if np.any(np.asarray(chances) < np.asarray(plain) - _EXACT):
        yield "playing for a target has a lower chance of it than playing for the average"
    if not abs(sum(hole.expected_score for hole in plan.holes) - plan.expected_score) <= 1e-6:
        yield "the holes' expected scores do not add up to the round's"
    for hole in plan.holes:
        tail = hole.score_pmf[hole.par + 2 :].sum()
        if (
            not abs(hole.score_pmf.sum() - 1.0) <= _EXACT
            or not abs(tail - hole.double_bogey_or_worse) <= _EXACT
        ):
            yield f"hole {hole.number}: scores that are no distribution, or another chance of double bogey"
    record = plan.record()
    if type(record).model_validate_json(record.model_dump_json()) != record:
        yield "the record does not come back the same from JSON"
