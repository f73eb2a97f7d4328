"""Choices ranked from many places of a hole at once, for every number of strokes left that matters.

At each place stand the choices that the plan makes there for some standing, with the plan's own outcomes. Beside them,
where the ball sits well enough for any club, stand the other clubs, each with the best of three aims, so that a golfer
sees what another club costs.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole import ChoiceTable, HoleCompiler, Kind
from caddiebrain.hole.ground import CODE
from caddiebrain.hole.propose import propose
from caddiebrain.hole.sight import sight_from
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
    """Number of the club of every row; all drops for the same penalty are one."""
    drop = table.kind == Kind.DROP
    index = np.where(drop, np.rint(table.distance).astype(np.int64), table.index)
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
    weighed = ledger.weigh(len(table), Entries.of_choices(model, choice), model.numbering.spot)
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
    scene = _Scene(hole.compiler, [places[i] for i in open_])
    table = scene.choices()
    new = _near(hole, planned, open_[table.node], table.index)
    if not new.any():
        return None
    table = table.take(new)
    weighed = scene.weigh(table, ledger)
    return Ranked(replace(table, node=open_[table.node]), _clubs(table), weighed, ledger.levels)


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
    new = np.zeros(len(place), dtype=bool)
    full = planned.table.kind == Kind.FULL
    for one in np.unique(place):
        mine = np.unique(planned.table.index[full & (planned.table.node == one)])
        rows = np.flatnonzero(place == one)
        others = np.setdiff1d(index[rows], mine)
        if mine.size and others.size:
            off = np.abs(carry[others, None] - carry[mine]).min(axis=1)
            others = others[np.argsort(off, kind="stable")[:_OTHERS]]
        new[rows] = np.isin(index[rows], others)
    return new


class _Scene:
    """Places of a hole from which choices are worked out afresh."""

    def __init__(self, compiler: HoleCompiler, places: Sequence[Place]) -> None:
        self.compiler = compiler
        self.x, self.y = np.array([p.x for p in places]), np.array([p.y for p in places])
        self.lie = np.array([CODE[p.lie] for p in places], dtype=np.uint8)
        self.origin = compiler.numbering.node + np.array([p.node for p in places], dtype=np.int64)
        self.sight = sight_from(compiler.ground, self.x, self.y)

    def choices(self) -> ChoiceTable:
        """Every stock full shot, aimed along the line of play and a little to either side."""
        compiler, number = self.compiler, np.arange(len(self.x))
        no = np.zeros(len(number), dtype=bool)
        table = propose(compiler.ground, compiler.arsenal, number, self.x, self.y, self.lie, no, no)
        table = table.take(table.kind == Kind.FULL)
        key = table.node * 4096 + table.index
        _, group, count = np.unique(key, return_inverse=True, return_counts=True)
        middle = np.bincount(group, table.heading) / count
        return table.take(np.abs(table.heading - middle[group]) < 1.1 * table.step)

    def weigh(self, table: ChoiceTable, ledger: Ledger) -> Weighed:
        """Weigh every row of a table."""
        compiler = self.compiler
        scene = compiler.scene(self.x, self.y, self.origin, self.sight)
        blocks = compiler.blocks(scene, table, self.lie[table.node], screen=False)
        trouble = Trouble.gather(scene.trouble, compiler.ground, compiler.places)
        return ledger.weigh(len(table), Entries.of_blocks(blocks, trouble), compiler.numbering.spot)


def _groups(ranked: Ranked) -> list[Rows]:
    """Rows of every club of every place."""
    key = ranked.table.node * 65536 + ranked.club
    order = np.argsort(key, kind="stable")
    return np.split(order, np.flatnonzero(np.diff(key[order])) + 1)


def _clubs_shown(ranked: Ranked, clubs: int) -> NDArray[np.bool_]:
    """Mark the rows of the clubs that a golfer is shown at their place."""
    strokes, chance, table = ranked.weighed.strokes, ranked.weighed.chance, ranked.table
    groups = _groups(ranked)
    place = np.array([table.node[rows[0]] for rows in groups])
    least = np.array([strokes[rows].min() for rows in groups])
    order = np.lexsort([least, place])
    start = np.searchsorted(place[order], place[order])
    rank = np.empty(len(groups), dtype=np.int64)
    rank[order] = np.arange(len(groups)) - start
    shown = np.zeros(len(table), dtype=bool)
    best_of_place = np.full((int(place.max(initial=0)) + 1, chance.shape[1]), -1.0)
    np.maximum.at(best_of_place, table.node, chance)
    best = (chance >= best_of_place[table.node] - 1e-12) & (chance > LIVE[0]) & (chance < LIVE[1])
    winner: NDArray[np.bool_] = np.any(best, axis=1)
    for i, rows in enumerate(groups):
        shown[rows] = rank[i] < clubs or bool(winner[rows].any())
    return shown


def _worth_showing(ranked: Ranked, clubs: int = _CLUBS, worth: float = _WORTH_A_ROW) -> Rows:
    """Rows of the clubs shown: of each the best by expected score, and aims that gain for some strokes left."""
    strokes, chance = ranked.weighed.strokes, ranked.weighed.chance
    shown = _clubs_shown(ranked, clubs)
    keep: list[int] = []
    for rows in _groups(ranked):
        if not shown[rows[0]]:
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
