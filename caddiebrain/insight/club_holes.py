"""A hole with every club open at every place: what it costs to play it with some of them only."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caddiebrain import solve
from caddiebrain.graph import StateGraph
from caddiebrain.hole import ChoiceTable, HoleModel, Kind
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.solve.layout import rows_of

__all__ = ["ClubHole", "HoleWith", "club_hole"]

Floats = NDArray[np.float64]
Club = NDArray[np.int64]

_SETTLED = 1e-11
_SWEEPS = 2_000
_FOLLOWED = 40
"""Moves for which a policy just found is followed before all choices are looked at again."""
_AIMS = 2
"""Best aims of each club, and of each sort of short shot, that are kept at every place, beside those of the plan."""


@dataclass(frozen=True)
class HoleWith:
    """A hole played with some of the clubs.

    Attributes
    ----------
    value : array of float64, shape (S,)
        Expected strokes from each state.
    choice : array of int64, shape (S,)
    visits : array of float64, shape (S,)
        From the tee on.
    """

    value: Floats
    choice: NDArray[np.int64]
    visits: Floats


@dataclass(frozen=True)
class ClubHole:
    """One hole.

    Attributes
    ----------
    graph : StateGraph
        Contracted.
    tee : int
    club : array of int64, shape (C,)
        Club of each choice; -1 where it needs none.
    clubs : int
        How many there are.
    """

    graph: StateGraph
    tee: int
    club: Club
    clubs: int

    @cached_property
    def _rows(self) -> Any:
        return rows_of(self.graph, self.graph.outcome_state, self.graph.n_states, None)

    @cached_property
    def _acting(self) -> NDArray[np.int64]:
        return np.delete(np.arange(self.graph.n_states), self.graph.goal)

    def open_with(self, bag: frozenset[int]) -> NDArray[np.bool_]:
        """Whether each choice can be made with the clubs of a bag, shape (C,)."""
        return (self.club < 0) | np.isin(self.club, sorted(bag))

    def play(self, bag: frozenset[int], start: Floats | None = None) -> HoleWith:
        """Play for the fewest expected strokes with the clubs of a bag, by modified policy iteration.

        Parameters
        ----------
        bag : frozenset of int
            At least one choice must be left everywhere.
        start : array (S,), optional
            Values to begin from.
        """
        graph, acting = self.graph, self._acting
        cost = graph.mean_strokes + np.where(self.open_with(bag), 0.0, np.inf)
        value = np.zeros(graph.n_states) if start is None else start.copy()
        choice = np.full(graph.n_states, -1, dtype=np.int64)
        for _ in range(_SWEEPS):
            total = self._rows @ value + cost
            least = value.copy()
            least[acting] = np.minimum.reduceat(total, graph.choice_start[acting])
            hit = np.flatnonzero(total <= least[graph.choice_state])[::-1]
            choice[graph.choice_state[hit]] = hit  # the first of equals stands
            change = float(np.abs(least - value).max())
            value = least
            if change < _SETTLED:
                break
            self._follow(choice[acting], value)
        return HoleWith(value, choice, solve.expected_visits(graph, np.maximum(choice, 0), self.tee))

    def _follow(self, choice: NDArray[np.int64], value: Floats) -> None:
        """Follow a policy for some moves, in place."""
        rows, paid = self._rows[choice], self.graph.mean_strokes[choice]
        for _ in range(_FOLLOWED):
            after = rows @ value + paid
            moved = float(np.abs(after - value[self._acting]).max())
            value[self._acting] = after
            if moved < 0.1 * _SETTLED:
                return

    def losses(self, played: HoleWith) -> tuple[Floats, Floats, Floats]:
        """Visits (S,), what each club costs (S, clubs) and what it costs without one (S,), beyond the bag's best."""
        graph = self.graph
        over = self._rows @ played.value + graph.mean_strokes - played.value[graph.choice_state]
        loss = np.full((graph.n_states, self.clubs + 1), np.inf)
        np.minimum.at(loss, (graph.choice_state, np.where(self.club < 0, self.clubs, self.club)), over)
        acting = self._acting
        return played.visits[acting], loss[acting, :-1], loss[acting, -1]

    def proven(self, bag: frozenset[int]) -> solve.ExpectedSolution:
        """Solve the hole with the clubs of a bag, bounds proven."""
        smaller, _ = self.graph.restrict(self.open_with(bag))
        return solve.fewest_strokes(smaller)

    def uses(self, played: HoleWith) -> Floats:
        """Expected full shots with each club, shape (clubs,)."""
        made = np.flatnonzero(played.choice >= 0)
        club = self.club[played.choice[made]]
        with_club = club >= 0
        return np.bincount(club[with_club], played.visits[made][with_club], self.clubs).astype(np.float64)


def club_hole(hole: HolePlan, clubs: tuple[str, ...]) -> ClubHole:
    """Open every club at every place of a planned hole, at the aims that suit it there.

    Every place keeps something that needs no full club, too: its short shots, punches and drops, else the layup
    that a plan made without the clubs would find there. So any bag can play on.
    """
    compiler = hole.compiler
    every = compiler.candidates()
    clubs_alone = np.setdiff1d(every.node, every.node[every.kind != Kind.FULL])
    every = ChoiceTable.join([every, compiler.layups(clubs_alone)]).ordered()
    coarse = compiler.knowing(None).build(every, screen=True)
    best = _best_aims(coarse)
    table = ChoiceTable.join([hole.table, every.take(best)]).ordered()
    model = compiler.build(table.take(_distinct(table)))
    small = solve.contract(model.graph, [model.tee])
    club = np.full(model.graph.n_choices, -1)
    index = {name: i for i, name in enumerate(clubs)}
    of_pattern = np.array([index[p.club] for p in compiler.player.patterns])
    rows = np.flatnonzero(model.table.kind == Kind.FULL)
    club[model.first_choice + rows] = of_pattern[model.table.index[rows]]
    return ClubHole(small.graph, small.state(model.tee), club[small.choices], len(clubs))


def _best_aims(coarse: HoleModel) -> NDArray[np.int64]:
    """Rows of a coarse model's table: the best aims of every pattern, short shot, punch and drop at every node."""
    table, graph = coarse.table, coarse.graph
    strokes = solve.choice_values(graph, solve.fewest_strokes(graph, tol=1e-6).value)
    strokes = strokes[coarse.first_choice : coarse.first_choice + len(table)]
    keys: list[NDArray[Any]] = [strokes, table.index, table.kind, table.node]
    order = np.lexsort(keys)
    kind = np.stack([table.node[order], table.kind[order].astype(np.int64), table.index[order]])
    first = np.ones(len(order), dtype=bool)
    first[1:] = (kind[:, 1:] != kind[:, :-1]).any(axis=0)
    place = np.arange(len(order)) - np.maximum.accumulate(np.where(first, np.arange(len(order)), 0))
    return np.sort(order[place < _AIMS])


def _distinct(table: ChoiceTable) -> NDArray[np.bool_]:
    """Mark rows of an ordered table that differ from the one before."""
    key = np.stack(
        [table.node, table.kind, table.index, np.rint(table.heading * 1e4), np.rint(table.distance * 1e3)]
    )
    new = np.ones(len(table), dtype=bool)
    new[1:] = (key[:, 1:] != key[:, :-1]).any(axis=0)
    return new
