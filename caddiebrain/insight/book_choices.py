"""Choices ranked from many places of a hole at once, for every number of strokes left that matters.

At each place stand the choices that the plan makes there for some standing, with the plan's own outcomes. Beside them,
where the ball sits well enough for any club, stand the other clubs, each with the best of three aims, so that a golfer
sees what another club costs.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole import ChoiceTable, HoleCompiler, Kind
from caddiebrain.hole.drops import penalty_strokes
from caddiebrain.hole.propose import propose
from caddiebrain.hole.trouble import Trouble
from caddiebrain.insight.book_arrivals import Place
from caddiebrain.insight.book_worth import Entries, Ledger, Weighed
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.round.ranking import LIVE
from caddiebrain.terms import Lie

__all__ = ["Ranked", "live_levels", "rank_places", "rank_tee"]

_ANY_CLUB = (Lie.FAIRWAY, Lie.ROUGH, Lie.TIGHT)
"""Lies at which clubs the plan never plays may be shown for comparison."""
_OTHERS = 4
"""Most clubs that are worked out for comparison at a place."""
_CLUBS = 5
"""Clubs of a place that are shown for their expected score; those that serve some standing best come on top."""
_WORTH_A_ROW = 5e-4
"""Another aim of the same club is kept where it gains more than this chance."""

Floats = NDArray[np.float64]
Rows = NDArray[np.int64]


@dataclass(frozen=True)
class Ranked:
    """Choices from some places.

    Parameters
    ----------
    table : ChoiceTable
        ``node`` counts the places.
    club : ndarray of int64 (rows,)
        Number that the aims of one club share.
    weighed : Weighed
        Over ``levels``.
    levels : ndarray of int (levels,)
        Strokes left.
    """

    table: ChoiceTable
    club: Rows
    weighed: Weighed
    levels: Rows

    def take(self, rows: Rows) -> "Ranked":
        """Return some rows."""
        some = Weighed(self.weighed.strokes[rows], self.weighed.chance[rows])
        return Ranked(self.table.take(rows), self.club[rows], some, self.levels)

    def of_place(self, place: int) -> Rows:
        """Rows of one place, the lowest expected score first."""
        rows = np.flatnonzero(self.table.node == place)
        return np.asarray(rows[np.argsort(self.weighed.strokes[rows], kind="stable")])


def live_levels(hole: HolePlan) -> Rows:
    """Numbers of strokes left at which the chance of the target hangs in the balance somewhere on the hole."""
    chances = hole.chances
    best = chances.tee.max(axis=1)
    live = np.flatnonzero((best > LIVE[0]) & (best < LIVE[1]))
    if live.size == 0:
        return np.arange(0)
    least, most = int(live[0]) + chances.least, int(live[-1]) + chances.least
    return np.arange(least - hole.par - 2, most + 1)


def _clubs(table: ChoiceTable) -> Rows:
    """Number of the club of every row; all drops for the same penalty are one, and all putts."""
    drop = table.kind == Kind.DROP
    index = table.index.copy()
    index[drop] = penalty_strokes(table.take(drop))
    index[table.kind == Kind.PUTT] = 0
    return np.asarray(table.kind.astype(np.int64) * 4096 + index)


def rank_places(hole: HolePlan, places: Sequence[Place], ledger: Ledger) -> Ranked:
    """Rank choices from places off the green."""
    planned = _planned(hole, places, ledger)
    others = _others(hole, places, planned, ledger)
    return _joined([planned, others]) if others is not None else planned


def _joined(parts: Sequence[Ranked]) -> Ranked:
    """Rows of several tables, those worth showing."""
    weighed = Weighed(
        np.concatenate([part.weighed.strokes for part in parts]),
        np.concatenate([part.weighed.chance for part in parts]),
    )
    table = ChoiceTable.join([part.table for part in parts])
    every = Ranked(table, np.concatenate([part.club for part in parts]), weighed, parts[0].levels)
    return every.take(_worth_showing(every))


def _planned(hole: HolePlan, places: Sequence[Place], ledger: Ledger) -> Ranked:
    """Choices the plan makes at each place for some number of strokes left."""
    model = hole.solved.model
    state = model.numbering.node + np.array([p.node for p in places], dtype=np.int64)
    start = model.graph.choice_start[state]
    count = model.graph.choice_start[state + 1] - start
    choice = np.repeat(start - (np.cumsum(count) - count), count) + np.arange(int(count.sum()))
    table = replace(
        model.table.take(choice - model.first_choice), node=np.repeat(np.arange(len(places)), count)
    )
    weighed = ledger.weigh(len(table), Entries.of_choices(model, choice))
    return Ranked(table, _clubs(table), weighed, ledger.levels)


def _others(hole: HolePlan, places: Sequence[Place], planned: Ranked, ledger: Ledger) -> Ranked | None:
    """Clubs the plan never plays, from fairway and from good lies for which it has but one club."""
    clubs = [len(np.unique(planned.club[planned.table.node == i])) for i in range(len(places))]
    wanted = [
        i for i, p in enumerate(places) if p.lie is Lie.FAIRWAY or (p.lie in _ANY_CLUB and clubs[i] == 1)
    ]
    open_ = np.array(wanted, dtype=np.int64)
    if open_.size == 0:
        return None
    nodes = np.array([p.node for p in places], dtype=np.int64)
    table = _stock_shots(hole.compiler, nodes[open_])
    new = _near(hole, planned, open_[table.node], table.index)
    if not new.any():
        return None
    table = replace(table.take(new), node=open_[table.node[new]])
    weighed = _weighed(hole.compiler, replace(table, node=nodes[table.node]), ledger)
    return Ranked(table, _clubs(table), weighed, ledger.levels)


def rank_tee(hole: HolePlan, ledger: Ledger) -> Ranked:
    """Rank the choices on the tee as the plan has them."""
    model, chances = hole.solved.model, hole.chances
    first = int(model.graph.choice_start[model.tee])
    last = int(model.graph.choice_start[model.tee + 1])
    table = model.table.take(np.arange(first - model.first_choice, last - model.first_choice))
    at = ledger.levels - chances.least
    inside = chances.tee[np.clip(at, 0, len(chances.tee) - 1)].T
    chance = np.where(at < 0, 0.0, np.where(at >= len(chances.tee), 1.0, inside))
    strokes = hole.solved.choice_strokes[first:last]
    every = Ranked(table, _clubs(table), Weighed(strokes, np.clip(chance, 0.0, 1.0)), ledger.levels)
    return every.take(_worth_showing(every, clubs=9, worth=1e-7))


def _near(hole: HolePlan, planned: Ranked, place: Rows, index: Rows) -> NDArray[np.bool_]:
    """Mark full shots (rows,) whose club is not planned at their place and carries nearest to those that are."""
    carry = np.array([p.carry_yd for p in hole.compiler.player.patterns])
    full = planned.table.kind == Kind.FULL
    known = np.zeros((int(place.max(initial=0)) + 1, len(carry)), dtype=bool)  # places, clubs
    others, mine = known.copy(), np.flatnonzero(full & (planned.table.node < len(known)))
    known[planned.table.node[mine], planned.table.index[mine]] = True
    others[place, index] = True
    others &= ~known
    off = np.where(known[:, None, :], np.abs(carry[:, None] - carry), np.inf).min(axis=2)
    nearest = np.argsort(np.where(others, off, np.inf), axis=1, kind="stable")[:, :_OTHERS]
    near = np.zeros_like(others)
    np.put_along_axis(near, nearest, True, axis=1)
    shown = others & (near | ~known.any(axis=1, keepdims=True))
    return np.asarray(shown[place, index])


def _stock_shots(compiler: HoleCompiler, nodes: Rows) -> ChoiceTable:
    """Every stock full shot from some nodes, aimed along the line of play and a little to either side."""
    places, number = compiler.places, np.arange(len(nodes))
    x, y, lie = places.x[nodes], places.y[nodes], places.lie[nodes]
    no = np.zeros(len(nodes), dtype=bool)
    table = propose(compiler.ground, compiler.arsenal, number, x, y, lie, no, no)
    table = table.take(table.kind == Kind.FULL)
    key = table.node * 4096 + table.index
    _, group, count = np.unique(key, return_inverse=True, return_counts=True)
    middle = np.bincount(group, table.heading) / count
    return table.take(np.abs(table.heading - middle[group]) < 1.1 * table.step)


def _weighed(compiler: HoleCompiler, table: ChoiceTable, ledger: Ledger) -> Weighed:
    """Work out choices from nodes afresh and weigh them."""
    scene = compiler.own_scene()
    blocks = compiler.blocks(scene, table, compiler.places.lie[table.node], screen=False)
    trouble = Trouble.gather(scene.trouble, compiler.ground, compiler.places)
    return ledger.weigh(len(table), Entries.of_blocks(blocks, trouble))


@dataclass(frozen=True)
class _Groups:
    """Rows of every club of every place: ``order`` has them side by side, and each group begins at ``first``."""

    order: Rows
    first: Rows

    @classmethod
    def of(cls, ranked: Ranked) -> "_Groups":
        """Sort rows by place and club."""
        key = ranked.table.node * 65536 + ranked.club
        order = np.argsort(key, kind="stable")
        return cls(order, np.flatnonzero(np.diff(key[order], prepend=-1)))

    def rows(self) -> list[Rows]:
        """Rows of each group."""
        return [self.order[a:b] for a, b in pairwise((*self.first.tolist(), len(self.order)))]


def _clubs_shown(ranked: Ranked, groups: _Groups, clubs: int) -> NDArray[np.bool_]:
    """Mark the groups of the clubs that a golfer is shown at their place."""
    order, first = groups.order, groups.first
    strokes, chance, node = ranked.weighed.strokes, ranked.weighed.chance[order], ranked.table.node[order]
    place, least = node[first], np.minimum.reduceat(strokes[order], first)
    by_strokes = np.lexsort([least, place])
    rank = np.empty(len(first), dtype=np.int64)
    rank[by_strokes] = np.arange(len(first)) - np.searchsorted(place, place)
    new = np.diff(node, prepend=-1) > 0
    best_of_place = np.maximum.reduceat(chance, np.flatnonzero(new))[np.cumsum(new) - 1]
    best = (chance >= best_of_place - 1e-12) & (chance > LIVE[0]) & (chance < LIVE[1])
    shown: NDArray[np.bool_] = (rank < clubs) | np.logical_or.reduceat(np.any(best, axis=1), first)
    return shown


def _worth_showing(ranked: Ranked, clubs: int = _CLUBS, worth: float = _WORTH_A_ROW) -> Rows:
    """Rows of the clubs shown: of each the best by expected score, and aims that gain for some strokes left."""
    strokes, chance = ranked.weighed.strokes, ranked.weighed.chance
    groups = _Groups.of(ranked)
    keep: list[int] = []
    for rows, shown in zip(groups.rows(), _clubs_shown(ranked, groups, clubs).tolist(), strict=True):
        if not shown:
            continue
        mine = [int(rows[np.argmin(strokes[rows])])]
        while chance.shape[1] and len(rows) > len(mine):
            gain = chance[rows] - chance[mine].max(axis=0)
            row, level = np.unravel_index(int(np.argmax(gain)), gain.shape)
            if gain[row, level] <= worth:
                break
            mine.append(int(rows[row]))
        keep += mine
    return np.sort(np.array(keep, dtype=np.int64))
