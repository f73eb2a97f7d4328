"""The checks every graph passes where it is born.

Refused, each with the state and the choice: array lengths and offsets that do not fit; an outcome that leads
to no state; a probability that is negative or not a number; a choice whose probabilities do not sum to 1 within
1e-9; strokes that are negative, fractional or above 255; a state without a choice, a choice without an
outcome, a goal with choices; a cycle of zero-stroke outcomes; a state from which the goal cannot be reached.
"""

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import breadth_first_order, connected_components

from caddiebrain.errors import GraphError
from caddiebrain.graph.spans import owners, spans

__all__ = ["SUM_TOLERANCE", "Tables", "faults_of", "reachable", "refuse", "zero_stroke_levels"]

SUM_TOLERANCE = 1e-9
"""How far a choice's probabilities may be from 1."""

MOST_STROKES = 255
PASSES = 30
"""Passes over the outcomes in which play nearly always reaches the goal from everywhere."""
FIRST = 8
"""Choices of a state whose ways to the goal are looked for first."""
SHOWN = 12
"""Faults of one kind spelled out in a message; the rest are counted."""


@dataclass(frozen=True)
class Tables:
    """The raw arrays of a graph before they are trusted."""

    choice_start: NDArray[np.int64]
    outcome_start: NDArray[np.int64]
    outcome_state: NDArray[Any]
    outcome_prob: NDArray[np.float64]
    outcome_strokes: NDArray[Any]
    goal: int
    state_labels: Sequence[Hashable] | None
    choice_labels: Sequence[Hashable] | None

    @classmethod
    def of(
        cls,
        choice_start: Any,
        outcome_start: Any,
        outcome_state: Any,
        outcome_prob: Any,
        outcome_strokes: Any,
        goal: int,
        state_labels: Sequence[Hashable] | None,
        choice_labels: Sequence[Hashable] | None,
    ) -> "Tables":
        """Take whatever arrays were given; refuse what is no flat array of numbers."""
        given = {
            "choice_start": (choice_start, np.int64),
            "outcome_start": (outcome_start, np.int64),
            "outcome_state": (outcome_state, None),
            "outcome_prob": (outcome_prob, np.float64),
            "outcome_strokes": (outcome_strokes, None),
        }
        arrays: dict[str, Any] = {}
        faults = []
        for name, (array, dtype) in given.items():
            found = np.asarray(array)
            if found.ndim != 1 or found.dtype.kind not in "iufb":
                faults.append(
                    f"{name}: found {found.ndim} axes of {found.dtype}; expected a flat array of numbers"
                )
            elif dtype is np.int64 and found.size and not _whole(found):
                faults.append(f"{name}: found fractions; expected whole numbers")
            else:
                typed = found if dtype is None else found.astype(dtype, copy=False)
                arrays[name] = np.ascontiguousarray(typed)
        if faults:
            raise GraphError("\n".join(faults))
        return cls(**arrays, goal=goal, state_labels=state_labels, choice_labels=choice_labels)

    @property
    def n_states(self) -> int:
        """Number of states."""
        return len(self.choice_start) - 1

    @property
    def n_choices(self) -> int:
        """Number of choices."""
        return len(self.outcome_start) - 1

    @cached_property
    def sums(self) -> NDArray[np.float64]:
        """Sum of the probabilities of each choice, shape (C,)."""
        total = np.zeros(self.n_choices)
        filled = np.flatnonzero(np.diff(self.outcome_start))
        if len(filled):
            total[filled] = np.add.reduceat(self.outcome_prob, self.outcome_start[filled])
        return total

    @cached_property
    def levels(self) -> NDArray[np.int32]:
        """Longest run of zero-stroke outcomes from each state, shape (S,); -1 where it never ends."""
        return zero_stroke_levels(self)

    def state(self, s: int) -> str:
        """Name a state for a message."""
        return f"state {int(s) if self.state_labels is None else self.state_labels[int(s)]!r}"

    def choice(self, c: int) -> str:
        """Name a choice and its state for a message."""
        s = int(np.searchsorted(self.choice_start, c, side="right")) - 1
        label = int(c) if self.choice_labels is None else self.choice_labels[int(c)]
        return f"{self.state(s)}, choice {label!r}"

    def outcome(self, i: int) -> str:
        """Name an outcome, its choice and its state for a message."""
        c = int(np.searchsorted(self.outcome_start, i, side="right")) - 1
        return f"{self.choice(c)}, outcome {int(i - self.outcome_start[c])}"


def refuse(tables: Tables) -> None:
    """Raise GraphError with every fault of the tables; say nothing when there is none."""
    faults = faults_of(tables)
    if faults:
        raise GraphError("\n".join(faults))


def faults_of(tables: Tables) -> list[str]:
    """Return a line for every fault of the tables."""
    # A later stage would stumble over what an earlier one found.
    return (
        _shape_faults(tables)
        or [*_empty_faults(tables), *_number_faults(tables), *_sum_faults(tables)]
        or _structure_faults(tables)
    )


def _capped(found: NDArray[Any], line: Callable[[int], str]) -> list[str]:
    """Spell out the first faults of one kind and count the rest."""
    lines = [line(int(i)) for i in found[:SHOWN]]
    if len(found) > SHOWN:
        lines.append(f"... and {len(found) - SHOWN} more of the same kind")
    return lines


def _whole(array: NDArray[Any]) -> bool:
    return array.dtype.kind in "iub" or bool(np.all(array == np.floor(array)))


def _shape_faults(t: Tables) -> list[str]:
    faults = []
    for name, start, end in (
        ("choice_start", t.choice_start, t.n_choices),
        ("outcome_start", t.outcome_start, len(t.outcome_state)),
    ):
        if len(start) == 0 or start[0] != 0 or start[-1] != end or np.any(np.diff(start) < 0):
            faults.append(f"{name}: expected offsets that rise from 0 to {end}")
    for name, array in (("outcome_prob", t.outcome_prob), ("outcome_strokes", t.outcome_strokes)):
        if len(array) != len(t.outcome_state):
            faults.append(
                f"{name}: found {len(array)} entries; expected {len(t.outcome_state)}, one an outcome"
            )
    for kind, labels, size in (
        ("state", t.state_labels, t.n_states),
        ("choice", t.choice_labels, t.n_choices),
    ):
        if labels is not None and len(labels) != size:
            faults.append(f"{kind}_labels: found {len(labels)} labels; expected {size}, one a {kind}")
    if not 0 <= t.goal < max(t.n_states, 0):
        faults.append(f"goal: found {t.goal}; expected the index of a state, 0 to {t.n_states - 1}")
    if not faults and t.state_labels is not None:
        faults += _label_faults(t.state_labels)
    return faults


def _label_faults(labels: Sequence[Hashable]) -> list[str]:
    try:
        if isinstance(labels, range) or len(set(labels)) == len(labels):
            return []
    except TypeError as error:
        return [
            f"state_labels: found a label that can be no name ({error}); expected texts, numbers or tuples"
        ]
    seen: set[Hashable] = set()
    twice = []
    for label in labels:
        if label in seen:
            twice.append(f"state_labels: {label!r} is given twice; every state needs a name of its own")
        seen.add(label)
    return twice[:SHOWN]


def _empty_faults(t: Tables) -> list[str]:
    per_state, per_choice = np.diff(t.choice_start), np.diff(t.outcome_start)
    faults = []
    if per_state[t.goal]:
        faults.append(f"{t.state(t.goal)} is the goal and has {per_state[t.goal]} choices; play ends there")
    stuck = np.flatnonzero(per_state == 0)
    stuck = stuck[stuck != t.goal]
    faults += _capped(stuck, lambda s: f"{t.state(s)} has no choice; give it at least one")
    faults += _capped(
        np.flatnonzero(per_choice == 0), lambda c: f"{t.choice(c)} has no outcome; give it at least one"
    )
    return faults


def _number_faults(t: Tables) -> list[str]:
    faults: list[str] = []
    if len(t.outcome_state) == 0:
        return faults
    state, prob, strokes = t.outcome_state, t.outcome_prob, t.outcome_strokes
    # A single look at the extremes first: they are all a sound graph costs. NaN fails every comparison, and a
    # probability above 1 among none below 0 shows in the sum of its choice.
    if not (state.min() >= 0 and state.max() < t.n_states and _whole(state)):
        off = np.flatnonzero(~((state >= 0) & (state < t.n_states) & (state == np.floor(state))))
        faults += _capped(
            off, lambda i: f"{t.outcome(i)}: leads to state index {state[i]}; expected 0 to {t.n_states - 1}"
        )
    if not prob.min() >= 0.0:
        off = np.flatnonzero(~(prob >= 0.0))
        faults += _capped(off, lambda i: f"{t.outcome(i)}: probability {prob[i]:.12g}; expected 0 to 1")
    fits = strokes.dtype == np.uint8
    if not (fits or (strokes.min() >= 0 and strokes.max() <= MOST_STROKES and _whole(strokes))):
        off = np.flatnonzero(~((strokes >= 0) & (strokes <= MOST_STROKES) & (strokes == np.floor(strokes))))
        expected = f"expected a whole number, 0 to {MOST_STROKES}"
        faults += _capped(off, lambda i: f"{t.outcome(i)}: strokes {strokes[i]:g}; {expected}")
    return faults


def _sum_faults(t: Tables) -> list[str]:
    filled = np.diff(t.outcome_start) > 0
    off = np.flatnonzero(filled & ~(np.abs(t.sums - 1.0) <= SUM_TOLERANCE))
    within = f"expected 1 within {SUM_TOLERANCE:g}"
    return _capped(off, lambda c: f"{t.choice(c)}: probabilities sum to {t.sums[c]:.12g}; {within}")


def _structure_faults(t: Tables) -> list[str]:
    faults: list[str] = []
    circling = np.flatnonzero(t.levels < 0)
    if len(circling):
        faults += _cycle_faults(t, circling)
    lost = np.flatnonzero(~reachable(t))
    faults += _capped(
        lost,
        lambda s: (
            f"{t.state(s)}: {t.state(t.goal)} cannot be reached from it; give it a choice that leads there"
        ),
    )
    return faults


def _cycle_faults(t: Tables, circling: NDArray[np.int64]) -> list[str]:
    """Name the states of each cycle; the others that never end merely lead into one."""
    source, target = _zero_stroke_edges(t)
    ones = np.ones(len(source), dtype=np.int8)
    links = csr_array((ones, (source, target)), shape=(t.n_states, t.n_states))
    count, member = connected_components(links, directed=True, connection="strong")
    itself = set(source[source == target].tolist())
    size = np.bincount(member, minlength=count)
    lines = []
    for part in dict.fromkeys(member[circling].tolist()):
        states = np.flatnonzero(member == part)
        if size[part] > 1 or int(states[0]) in itself:
            names = ", ".join(t.state(s) for s in states[:5])
            lines.append(
                f"zero-stroke outcomes run in a circle through {names}; a free choice may not lead back"
            )
    return lines[:SHOWN] + ([f"... and {len(lines) - SHOWN} more circles"] if len(lines) > SHOWN else [])


def _zero_stroke_edges(t: Tables) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return source and target state of every zero-stroke outcome that can happen."""
    free = np.flatnonzero(t.outcome_strokes == 0)
    free = free[t.outcome_prob[free] > 0.0]
    source = owners(t.outcome_start[t.choice_start], free)
    return source, t.outcome_state[free].astype(np.int64)


def zero_stroke_levels(t: Tables) -> NDArray[np.int32]:
    """Return the longest run of zero-stroke outcomes from each state, shape (S,); -1 where it never ends."""
    source, target = _zero_stroke_edges(t)
    level = np.full(t.n_states, -1, dtype=np.int32)
    waiting = np.bincount(source, minlength=t.n_states)
    # Small numbers are sorted by counting.
    into = np.argsort(target.astype(np.uint16) if t.n_states <= 2**16 else target, kind="stable")
    start = np.concatenate(([0], np.cumsum(np.bincount(target, minlength=t.n_states))))
    ready, rank = np.flatnonzero(waiting == 0), 0
    while len(ready):
        level[ready] = rank
        where = spans(start[ready], start[ready + 1] - start[ready])
        touched = np.bincount(source[into[where]], minlength=t.n_states)
        waiting -= touched
        ready, rank = np.flatnonzero((touched > 0) & (waiting == 0)), rank + 1
    return level


def reachable(t: Tables) -> NDArray[np.bool_]:
    """Return which states have a way to the goal, shape (S,).

    The middle outcomes of a state's first choices, and all outcomes that lead straight to the goal, settle it for
    nearly all; for the states then left over every outcome is looked at.
    """
    found = np.zeros(t.n_states, dtype=bool)
    found[t.goal] = True
    of_choice = np.repeat(np.arange(t.n_states), np.diff(t.choice_start))
    home = np.flatnonzero(t.outcome_state == t.goal)
    of_home = owners(t.outcome_start[t.choice_start], home)
    few = np.flatnonzero(np.arange(t.n_choices) < t.choice_start[of_choice] + FIRST)
    middle = (t.outcome_start[few] + t.outcome_start[few + 1] - 1) // 2
    _reach(t, found, np.concatenate((middle, home)), np.concatenate((of_choice[few], of_home)))
    if not found.all():
        lengths = np.where(found[of_choice], 0, np.diff(t.outcome_start))
        _reach(t, found, spans(t.outcome_start[:-1], lengths), np.repeat(of_choice, lengths))
    return found


def _reach(
    t: Tables, found: NDArray[np.bool_], outcomes: NDArray[np.int64], source: NDArray[np.int64]
) -> None:
    """Add to the states found those with a way to them by some outcomes, whose states are given; in place."""
    likely = t.outcome_prob[outcomes] > 0.0
    source, target = source[likely], t.outcome_state[outcomes[likely]]
    for _ in range(PASSES):
        into = found[target]
        if not into.any():
            return
        found[source[into]] = True
        waiting = ~found[source]
        source, target = source[waiting], target[waiting]
    # A long chain of states: from what was found so far, one search that takes every outcome once.
    known = np.flatnonzero(found)
    rows = np.concatenate((np.full(len(known), t.goal), target))
    ones = np.ones(len(rows), dtype=np.int8)
    back = csr_array((ones, (rows, np.concatenate((known, source)))), shape=(t.n_states, t.n_states))
    found[breadth_first_order(back, t.goal, directed=True, return_predecessors=False)] = True
