"""A finite decision table: states, the choices open in each, and the outcomes of each choice.

A state graph is what an author writes with rich objects and names, compiled once to plain arrays. It knows
probabilities and whole strokes; it does not know what the states stand for.
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from numbers import Integral
from typing import TYPE_CHECKING, Any, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from caddiebrain.errors import GraphError, UnknownError
from caddiebrain.graph.nested import Choices, nested
from caddiebrain.graph.spans import owners, picked_rows
from caddiebrain.graph.validate import Tables, faults_of, refuse

if TYPE_CHECKING:
    import networkx

    from caddiebrain.graph.diagnose import GraphReport

__all__ = ["Choices", "StateGraph"]


@dataclass(frozen=True, eq=False, repr=False)
class StateGraph:
    """States, choices and outcomes as compressed arrays; checked where it is born.

    The choices of state s are ``choice_start[s]`` to ``choice_start[s + 1]``; the outcomes of choice c are
    ``outcome_start[c]`` to ``outcome_start[c + 1]``. Choices carry one running index over the whole graph.

    Parameters
    ----------
    choice_start : array of int64, shape (S + 1,)
        First choice of each state.
    outcome_start : array of int64, shape (C + 1,)
        First outcome of each choice.
    outcome_state : array of int32, shape (N,)
        State each outcome leads to. The same state may stand several times in one choice.
    outcome_prob : array of float64, shape (N,)
        Probability of each outcome, 0 to 1; a choice sums to 1 within 1e-9.
    outcome_strokes : array of uint8, shape (N,)
        Strokes each outcome costs: 0 to 255, whole.
    goal : int
        Index of the state where play ends. It has no choices; every other state has at least one.
    state_labels : sequence of hashable, length S, optional
        The author's names; by default the indices. Any sequence will do, a lazy one too.
    choice_labels : sequence of hashable, length C, optional
        By default the running indices.

    Attributes
    ----------
    level : array of int32, shape (S,)
        0 for a state without zero-stroke outcomes, otherwise one more than the highest level such an outcome
        leads to. Sweeps go up the levels.
    choice_sums : array of float64, shape (C,)
        What the probabilities of each choice sum to: 1 within 1e-9.

    Raises
    ------
    GraphError
        With every fault found: see ``caddiebrain.graph.validate``.
    """

    choice_start: NDArray[np.int64]
    outcome_start: NDArray[np.int64]
    outcome_state: NDArray[np.int32]
    outcome_prob: NDArray[np.float64]
    outcome_strokes: NDArray[np.uint8]
    goal: int
    state_labels: Sequence[Hashable] | None = None
    choice_labels: Sequence[Hashable] | None = None
    level: NDArray[np.int32] = field(init=False)
    choice_sums: NDArray[np.float64] = field(init=False)

    def __post_init__(self) -> None:
        tables = Tables.of(
            self.choice_start,
            self.outcome_start,
            self.outcome_state,
            self.outcome_prob,
            self.outcome_strokes,
            self.goal,
            self.state_labels,
            self.choice_labels,
        )
        refuse(tables)
        frozen = {
            "choice_start": tables.choice_start,
            "outcome_start": tables.outcome_start,
            "outcome_state": _as(tables.outcome_state, np.int32),
            "outcome_prob": tables.outcome_prob,
            "outcome_strokes": _as(tables.outcome_strokes, np.uint8),
            "level": tables.levels,
            "choice_sums": tables.sums,
        }
        for name, array in frozen.items():
            view = array.view()
            view.flags.writeable = False
            object.__setattr__(self, name, view)
        object.__setattr__(self, "goal", int(self.goal))

    def __setstate__(self, state: dict[str, Any]) -> None:
        """Take the content of a pickle or a copy, whose arrays come back writable."""
        self.__dict__.update(state)
        for value in state.values():
            if isinstance(value, np.ndarray):
                value.flags.writeable = False

    @classmethod
    def from_choices(cls, choices: Choices, goal: Hashable = "cup") -> Self:
        """Build a graph from nested mappings, with the author's names for states and choices.

        Parameters
        ----------
        choices : mapping
            ``{state: {choice: [(next_state, probability, strokes), ...]}}``; strokes is a whole number per
            outcome: 1 for a stroke, 2 for a stroke and a penalty, 0 for a free choice. The goal may be left out.
        goal : hashable
            Name of the state where play ends.

        Raises
        ------
        GraphError
            With every fault found, by state and choice.

        Examples
        --------
        >>> graph = StateGraph.from_choices({"tee": {"putter": [("cup", 0.25, 1), ("tee", 0.75, 1)]}})
        >>> graph.states
        ('tee', 'cup')
        """
        read = nested(choices, goal)
        if read.faults:
            more = faults_of(Tables.of(*read.arrays, read.goal, read.state_labels, read.choice_labels))
            raise GraphError("\n".join([*read.faults, *more]))
        return cls.from_arrays(
            *read.arrays, goal=read.goal, state_labels=read.state_labels, choice_labels=read.choice_labels
        )

    @classmethod
    def from_arrays(
        cls,
        choice_start: ArrayLike,
        outcome_start: ArrayLike,
        outcome_state: ArrayLike,
        outcome_prob: ArrayLike,
        outcome_strokes: ArrayLike,
        *,
        goal: int,
        state_labels: Sequence[Hashable] | None = None,
        choice_labels: Sequence[Hashable] | None = None,
    ) -> Self:
        """Build a graph from compressed arrays: the door for compilers.

        Arrays of the right type are not copied and must not be changed afterwards. Parameters and errors are
        those of the class.
        """
        return cls(
            np.asarray(choice_start),
            np.asarray(outcome_start),
            np.asarray(outcome_state),
            np.asarray(outcome_prob),
            np.asarray(outcome_strokes),
            goal,
            state_labels,
            choice_labels,
        )

    @property
    def n_states(self) -> int:
        """Number of states, the goal included."""
        return len(self.choice_start) - 1

    @property
    def n_choices(self) -> int:
        """Number of choices of all states."""
        return len(self.outcome_start) - 1

    @property
    def n_outcomes(self) -> int:
        """Number of outcomes of all choices."""
        return len(self.outcome_state)

    @property
    def states(self) -> Sequence[Hashable]:
        """Labels of the states in index order."""
        return range(self.n_states) if self.state_labels is None else self.state_labels

    @cached_property
    def _index(self) -> dict[Hashable, int]:
        return {label: i for i, label in enumerate(self.states)}

    def index(self, label: Hashable) -> int:
        """Return the index of the state with this label.

        Raises
        ------
        UnknownError
            If no state has it.
        """
        if self.state_labels is None and type(label) is int and 0 <= label < self.n_states:
            return label
        try:
            return self._index[label]
        except (KeyError, TypeError):  # a list, or whatever else cannot be a name
            few = ", ".join(repr(self.states[i]) for i in range(min(5, self.n_states)))
            raise UnknownError(
                f"no state {label!r}; the graph has {self.n_states} states: {few}, ..."
            ) from None

    def choices_of(self, label: Hashable) -> range:
        """Return the running indices of the choices open in the state with this label."""
        state = self.index(label)
        return range(int(self.choice_start[state]), int(self.choice_start[state + 1]))

    def choice_label(self, choice: int) -> Hashable:
        """Return the label of the choice with this running index; None for -1, the solvers' "no choice".

        Raises
        ------
        UnknownError
            If the graph has no such choice.
        """
        if choice == -1:
            return None
        if not isinstance(choice, Integral) or not 0 <= choice < self.n_choices:
            raise UnknownError(f"no choice {choice!r}; the graph has {self.n_choices}, from 0 on")
        return int(choice) if self.choice_labels is None else self.choice_labels[int(choice)]

    @cached_property
    def choice_state(self) -> NDArray[np.int32]:
        """State each choice belongs to, shape (C,)."""
        return np.repeat(np.arange(self.n_states, dtype=np.int32), np.diff(self.choice_start))

    @cached_property
    def most_strokes(self) -> int:
        """Most strokes of an outcome, at least 1."""
        return max(int(self.outcome_strokes.max(initial=0)), 1)

    @cached_property
    def outcome_column(self) -> NDArray[np.int32] | NDArray[np.int64]:
        """Where each outcome of one stroke or more stands in layers of states, one after the other, shape (N,).

        An outcome of j strokes to state s stands at ``(j - 1) * S + s``; one of no strokes is put at s.
        """
        more = np.flatnonzero(self.outcome_strokes > 1)
        if len(more) == 0:
            return self.outcome_state
        if self.most_strokes * self.n_states >= 2**31 - 1:
            far = (self.outcome_strokes.astype(np.int64) - 1).clip(0) * self.n_states
            shifted: NDArray[np.int64] = self.outcome_state + far
            return shifted
        column = self.outcome_state.copy()
        column[more] += (self.outcome_strokes[more].astype(np.int32) - 1) * np.int32(self.n_states)
        return column

    @cached_property
    def mean_strokes(self) -> NDArray[np.float64]:
        """Mean strokes each choice costs at once, shape (C,)."""
        other = np.flatnonzero(self.outcome_strokes != 1)
        choice = owners(self.outcome_start, other)
        more = self.outcome_prob[other] * (self.outcome_strokes[other].astype(np.float64) - 1.0)
        mean: NDArray[np.float64] = self.choice_sums + np.bincount(
            choice, weights=more, minlength=self.n_choices
        )
        return mean

    def restrict(self, keep: ArrayLike) -> tuple["StateGraph", NDArray[np.int64]]:
        """Return the graph with some of the choices, and the running index each had in this one.

        Parameters
        ----------
        keep : array of bool, shape (C,)
            Choices to keep; at least one in every state but the goal.

        Raises
        ------
        GraphError
            If a state loses its last choice or its way to the goal.
        """
        mask = np.asarray(keep)
        if mask.shape != (self.n_choices,) or mask.dtype != bool:  # running indices are no mask
            raise GraphError(
                f"the mask of choices to keep has shape {mask.shape} of {mask.dtype}; expected "
                f"({self.n_choices},) of bool"
            )
        kept = np.flatnonzero(mask)
        before = np.concatenate(([0], np.cumsum(mask)))
        lengths = np.diff(self.outcome_start)[kept]
        outcome_start = np.concatenate(([0], np.cumsum(lengths)))
        outcomes = self.outcome_state, self.outcome_prob, self.outcome_strokes
        names = self.choice_labels
        smaller = StateGraph(
            before[self.choice_start],
            outcome_start,
            *picked_rows(self.outcome_start, outcomes, kept),
            self.goal,
            self.state_labels,
            None if names is None else tuple(names[int(i)] for i in kept),
        )
        return smaller, kept

    def check(self, start: Hashable | None = None) -> "GraphReport":
        """Look at the graph as a whole: what loops, what is never reached; by networkx.

        Parameters
        ----------
        start : hashable, optional
            Label of the state play starts in; with it the report names the states play never reaches.

        Raises
        ------
        GraphError
            With every fault, should the arrays have been changed since the graph was born.
        """
        from caddiebrain.graph.diagnose import report  # networkx is slow to import

        return report(self, start)

    def to_networkx(self) -> "networkx.MultiDiGraph":
        """Return a networkx view: an edge per outcome, from state to state, with the states' labels as nodes.

        Edges carry ``choice`` (label), ``choice_index``, ``probability`` and ``strokes``.
        """
        from caddiebrain.graph.diagnose import to_networkx  # networkx is slow to import

        return to_networkx(self)

    def __repr__(self) -> str:
        return (
            f"StateGraph({self.n_states} states, {self.n_choices} choices, {self.n_outcomes} outcomes, "
            f"goal={self.states[self.goal]!r})"
        )


def _as(array: NDArray[Any], dtype: type[np.generic]) -> NDArray[Any]:
    return array if array.dtype == dtype else array.astype(dtype)
