"""A graph as an author writes it, nested mappings, read into flat arrays; what has another form is named."""

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caddiebrain.errors import GraphError

__all__ = ["Choices", "Nested", "nested"]

# Names are any hashable; type checkers take the keys of a mapping as they are, so Hashable would refuse every dict.
Choices = Mapping[Any, Mapping[Any, Iterable[tuple[Any, float, int]]]]
"""``{state: {choice: [(next_state, probability, strokes), ...]}}``; names are hashable."""

_FORM = "{state: {choice: [(next state, probability, strokes), ...]}}"


@dataclass(frozen=True)
class Nested:
    """The arrays and labels of a graph before they are trusted, and what could not be read."""

    arrays: tuple[list[int], list[int], NDArray[np.int32], NDArray[np.float64], NDArray[np.float64]]
    goal: int
    state_labels: tuple[Hashable, ...]
    choice_labels: tuple[Hashable, ...]
    faults: tuple[str, ...]


def nested(choices: Choices, goal: Hashable) -> Nested:
    """Read nested mappings; see ``StateGraph.from_choices``.

    Raises
    ------
    GraphError
        If they have not the form of a graph at all.
    """
    _check_form(choices, goal)
    labels = tuple(choices) if goal in choices else (*choices, goal)
    index = {label: i for i, label in enumerate(labels)}
    faults: list[str] = []
    if choices.get(goal):
        faults.append(f"state {goal!r} is the goal and has choices; play ends there, so leave them out")
    choice_start, outcome_start, names = [0], [0], []
    rows: list[tuple[int, float, float]] = []
    for label in labels:
        for name, outcomes in (choices.get(label) or {}).items():
            where = f"state {label!r}, choice {name!r}"
            rows.extend(_outcome(where, i, entry, index, faults) for i, entry in enumerate(outcomes))
            names.append(name)
            outcome_start.append(len(rows))
        choice_start.append(len(names))
    table = np.array(rows, dtype=np.float64).reshape(-1, 3)
    arrays = (choice_start, outcome_start, table[:, 0].astype(np.int32), table[:, 1], table[:, 2])
    return Nested(arrays, index[goal], labels, tuple(names), tuple(faults))


def _check_form(choices: Any, goal: Any) -> None:
    """Refuse what is no mapping of mappings of outcomes, or a goal that can be no name."""
    if not isinstance(choices, Mapping):
        raise GraphError(f"choices: found {type(choices).__name__}; expected a mapping, {_FORM}")
    faults = []
    try:
        hash(goal)
    except TypeError:
        faults.append(f"goal: found {goal!r:.60}; expected the name of a state")
    for label, open_here in choices.items():
        if open_here is None:
            continue
        if not isinstance(open_here, Mapping):
            found = f"found {type(open_here).__name__}; expected a mapping of its choices"
            faults.append(f"state {label!r}: {found}, {{choice: [(next state, probability, strokes), ...]}}")
            continue
        for name, outcomes in open_here.items():
            if isinstance(outcomes, str | bytes) or not isinstance(outcomes, Iterable):
                found = f"found {outcomes!r:.60}; expected a list of (next state, probability, strokes)"
                faults.append(f"state {label!r}, choice {name!r}: {found}")
    if faults:
        raise GraphError("\n".join(faults))


def _outcome(
    where: str, i: int, entry: Any, index: Mapping[Hashable, int], faults: list[str]
) -> tuple[int, float, float]:
    """Read one (next state, probability, strokes); note what is wrong and go on."""
    try:
        target, prob, strokes = entry
        row = (index.get(target, -1), float(prob), float(strokes))
    except (TypeError, ValueError):
        faults.append(f"{where}, outcome {i}: found {entry!r}; expected (next state, probability, strokes)")
        return 0, 0.0, 0.0
    if row[0] < 0:
        faults.append(f"{where}, outcome {i}: leads to {target!r}, which is not a state of the graph")
        return 0, *row[1:]
    return row
