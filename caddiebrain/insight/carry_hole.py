r"""One hole played by a card: its own graph, policies made from rules, their exact value.

Every instruction is compiled as a stroke of its own at every place it applies to, with the player's full spread and
all the hole's trouble, so a card is not flattered by the near-best choices a plan happens to keep. With P the
moves and c the mean strokes of a policy,

.. math:: V = c + P V, \qquad x = e_\text{tee} + P^T x,

by following play move by move until nothing is under way.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse.csgraph import breadth_first_order

from caddiebrain import solve
from caddiebrain.graph import StateGraph
from caddiebrain.hole import ChoiceTable, HoleModel
from caddiebrain.hole.green import PACES_FT
from caddiebrain.hole.ground import CODE
from caddiebrain.insight.carry_cells import CELLS, cell_of_nodes, cell_of_putts, cell_of_water
from caddiebrain.insight.carry_plays import Strokes
from caddiebrain.insight.records_carry import Play, PlayKind, Side
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.solve.layout import rows_of
from caddiebrain.terms import Lie

__all__ = ["CLOSE_YD", "CardHole", "HoleSetting", "Played", "PlaysOfCell", "card_hole"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
PlaysOfCell = Mapping[int, Play]
"""What the rules say for a cell; the rest is played by the defaults."""

_SETTLED = 1e-10
_MOVES = 3_000
"""A card under which play is still under way then is no card."""
_LOOKS = 4
_REMEMBERED = 8
_TEE_AIMS = 2
"""Aims of each tee shot that are looked at."""
_PUTT = Play(kind=PlayKind.PACE, value=1.0)
_RELIEF = Play(kind=PlayKind.NEAREST)
CLOSE_YD = 35.0


@dataclass(frozen=True)
class HoleSetting:
    """What the line of a hole says.

    Attributes
    ----------
    tee : int
        Row among the tee choices.
    side : Side
    layup : float or None
        Yards to leave where the green is out of reach.
    """

    tee: int
    side: Side = Side.MIDDLE
    layup: float | None = None


@dataclass(frozen=True)
class Played:
    """A hole played by a card.

    Attributes
    ----------
    policy : array of int64, shape (S,)
    value : array of float64, shape (S,)
        Expected strokes from each state; near enough where play does not come to.
    expected : float
        From the tee.
    """

    policy: Ints
    value: Floats
    expected: float


@dataclass(frozen=True)
class CardHole:
    """A hole with every instruction compiled.

    Attributes
    ----------
    plan : HolePlan
    model : HoleModel
        The whole graph.
    small : Contraction
        Its contraction; the arrays below are over its states and choices.
    tee : int
    tee_choices : array of int64, shape (T,)
        Choices on the tee.
    tee_table : ChoiceTable
        The same as rows.
    cell : array of int64, shape (S,)
        Cell of each state; -1 where no rule applies.
    sure : array of int64, shape (S,)
        The choice where there is no instruction: the only one, or the tee's first.
    choice_of : mapping of (Play, Side) to array of int64, shape (S,)
        -1 where the instruction does not apply.
    out_of_reach : array of bool, shape (S,)
        Where the hole's layup number holds.
    """

    plan: HolePlan
    model: HoleModel
    small: solve.Contraction
    tee: int
    tee_choices: Ints
    tee_table: ChoiceTable
    cell: Ints
    sure: Ints
    choice_of: Mapping[tuple[Play, Side], Ints]
    out_of_reach: NDArray[np.bool_]

    @property
    def graph(self) -> StateGraph:
        """The contracted graph."""
        return self.small.graph

    def says(self, play: Play, side: Side) -> Ints:
        """Choice of an instruction in every state, -1 where it does not apply."""
        found = self.choice_of.get((play, side))
        return self.choice_of[(play, Side.MIDDLE)] if found is None else found

    def policy(self, rules: PlaysOfCell, setting: HoleSetting) -> Ints:
        """Return what the card says in every state, shape (S,)."""
        policy = self.by_default(setting)
        cells_of: dict[Play, list[int]] = {}
        for cell, play in rules.items():
            cells_of.setdefault(play, []).append(cell)
        for play, ruled in cells_of.items():
            cells = np.zeros(CELLS + 1, dtype=bool)  # the last is that of states without a cell
            cells[ruled] = True
            said = self.says(play, setting.side)
            policy = np.where(cells[self.cell] & (said >= 0), said, policy)
        if setting.layup is not None:
            said = self.says(Play(kind=PlayKind.LEAVE, value=setting.layup), Side.MIDDLE)
            policy = np.where(self.out_of_reach & (said >= 0), said, policy)
        policy[self.tee] = self.tee_choices[setting.tee]
        return policy

    def by_default(self, setting: HoleSetting) -> Ints:
        """Return what is done in every state without a rule."""
        policy = self.sure.copy()
        for play in (Play(kind=PlayKind.MIDDLE), _PUTT, _RELIEF):
            said = self.says(play, setting.side)
            policy = np.where(said >= 0, said, policy)
        close = self.says(Play(kind=PlayKind.PIN), Side.MIDDLE)
        near = self._near & (close >= 0)
        return np.where(near, close, policy)

    @cached_property
    def _near(self) -> NDArray[np.bool_]:
        number, places = self.model.numbering, self.model.compiler.places
        node = self.small.states - number.node
        real = (node > 0) & (node < number.nodes)
        to_pin = self.model.compiler.ground.from_pin(places.x, places.y)
        return np.asarray(real & (to_pin[np.where(real, node, 0)] <= CLOSE_YD))

    def play(self, rules: PlaysOfCell, setting: HoleSetting) -> Played:
        """Work out the hole by a card."""
        policy = self.policy(rules, setting)
        key = policy.tobytes()
        played = self._lately.pop(key, None) or self.evaluated(policy)
        self._lately[key] = played
        if len(self._lately) > _REMEMBERED:
            del self._lately[next(iter(self._lately))]
        return played

    @cached_property
    def _lately(self) -> dict[bytes, Played]:
        """What came of the policies asked about last: half of all are asked about again at once."""
        return {}

    def evaluated(self, policy: Ints) -> Played:
        """Work out a policy of the contracted graph."""
        graph = self.graph
        moves = self.rows[np.maximum(policy, 0)]
        met = breadth_first_order(moves, self.tee, return_predecessors=False)
        met = np.sort(met[met != graph.goal])
        rows, paid = moves[met][:, met], graph.mean_strokes[policy[met]]
        value = self._plan_value.copy()
        inner = value[met]
        for _ in range(_MOVES):
            after = rows @ inner + paid
            moved = float(np.abs(after - inner).max())
            inner = after
            if moved < _SETTLED:
                value[met] = inner
                return Played(
                    policy, self._all_around(policy, value, met.astype(np.int64)), float(value[self.tee])
                )
        return Played(policy, value, np.inf)

    def _all_around(self, policy: Ints, value: Floats, met: Ints) -> Floats:
        """Value states that play does not come to, near enough to judge what would lead there."""
        other = np.ones(self.graph.n_states, dtype=bool)
        other[[*met, self.graph.goal]] = False
        rows, paid = self.rows[policy[other]], self.graph.mean_strokes[policy[other]]
        for _ in range(_LOOKS):
            value[other] = rows @ value + paid
        return value

    @cached_property
    def _plan_value(self) -> Floats:
        """The plan's own values where it has the same states: near the card's."""
        value = np.zeros(self.graph.n_states)
        same = self.small.states < self.model.numbering.trouble
        value[same] = self.plan.solved.expected.value[self.small.states[same]]
        return value

    @cached_property
    def rows(self) -> Any:
        """Every choice of the contracted graph as a row, csr."""
        graph = self.graph
        return rows_of(graph, graph.outcome_state, graph.n_states, None)

    def visits(self, played: Played) -> Floats:
        """Expected visits of each state, shape (S,)."""
        return solve.expected_visits(self.graph, np.maximum(played.policy, 0), self.tee)

    def pmf(self, played: Played, tee: int) -> Floats:
        """Chances of 0, 1, 2, ... strokes with a tee choice and the policy after it."""
        policy = played.policy.copy()
        policy[self.tee] = self.tee_choices[tee]
        return solve.score_pmf(self.graph, np.maximum(policy, 0), self.tee).pmf

    def choice_strokes(self, played: Played) -> Floats:
        """Expected strokes by each choice and the policy after it, shape (C,)."""
        return np.asarray(self.rows @ played.value + self.graph.mean_strokes)


def card_hole(plan: HolePlan, plays: Iterable[Play]) -> CardHole:
    """Compile the instructions of a card on one hole.

    Parameters
    ----------
    plan : HolePlan
    plays : iterable of Play
        Everything a rule may say.
    """
    strokes = Strokes(plan.compiler)
    wanted = [
        (play, side)
        for play in plays
        for side in (Side if play.kind is PlayKind.MIDDLE else (Side.MIDDLE,))
        if play.kind not in (PlayKind.PACE, PlayKind.NEAREST, PlayKind.ON_FAIRWAY, PlayKind.AGAIN)
    ]
    tee = _tee_rows(plan)
    tables = [strokes.rows(play, side) for play, side in wanted]
    table, place = _merged([tee, *tables])
    model = plan.compiler.knowing(None).build(table)  # a card says nothing of balls that lie badly
    small = solve.contract(model.graph, [model.tee])
    new = np.full(model.graph.n_choices, -1)
    new[small.choices] = np.arange(len(small.choices))
    choice_of: dict[tuple[Play, Side], Ints] = {}
    for key, rows, at in zip(wanted, tables, place[1:], strict=True):
        said = np.full(model.graph.n_states, -1)
        said[model.numbering.node + rows.node] = new[model.first_choice + at]
        choice_of[key] = said[small.states]
    for play, said in _fixed_plays(model, new).items():
        choice_of[(play, Side.MIDDLE)] = said[small.states]
    return CardHole(
        plan,
        model,
        small,
        small.state(model.tee),
        new[model.first_choice + place[0]],
        tee,
        _cells(model)[small.states],
        np.where(np.arange(small.graph.n_states) == small.graph.goal, -1, small.graph.choice_start[:-1]),
        choice_of,
        _layups(strokes, model)[small.states],
    )


def _tee_rows(plan: HolePlan) -> ChoiceTable:
    """The best aims of every shot on the tee, by the plan."""
    model = plan.solved.model
    rows = np.flatnonzero(model.table.node == 0)
    strokes = plan.solved.choice_strokes[model.first_choice + rows]
    kind = model.table.kind[rows].astype(np.int64) * 4096 + model.table.index[rows]
    order = np.lexsort([strokes, kind])
    new = np.flatnonzero(np.diff(kind[order], prepend=-1))
    rank = np.arange(len(order)) - np.repeat(new, np.diff(np.append(new, len(order))))
    return model.table.take(rows[np.sort(order[rank < _TEE_AIMS])])


def _merged(tables: Sequence[ChoiceTable]) -> tuple[ChoiceTable, list[Ints]]:
    """One table by node without repeats, and where the rows of each of the given tables stand in it."""
    every = ChoiceTable.join(list(tables))
    every = replace(every, heading=np.angle(np.exp(1j * every.heading)))
    key = np.stack(
        [every.node, every.kind, every.index, np.rint(every.heading * 1e5), np.rint(every.distance * 1e3)]
    )
    _, first, where = np.unique(key, axis=1, return_index=True, return_inverse=True)
    edges = np.cumsum([len(t) for t in tables])[:-1]
    return every.take(first), np.split(where.ravel(), edges)


def _fixed_plays(model: HoleModel, new: Ints) -> dict[Play, Ints]:
    """Putts by pace and ways to take relief, as choices of the contracted graph over the whole graph's states."""
    number, graph, trouble = model.numbering, model.graph, model.trouble
    found: dict[Play, Ints] = {}
    putts = np.arange(number.putt, number.node)
    for i, pace in enumerate(PACES_FT):
        said = np.full(graph.n_states, -1)
        said[putts] = new[graph.choice_start[putts] + i]
        found[Play(kind=PlayKind.PACE, value=float(pace))] = said
    relieved = trouble.relieved.tolist()
    first_pair = number.trouble + len(relieved)
    pairs = np.arange(first_pair, first_pair + len(trouble.pair_place))
    start, stop = graph.choice_start[pairs], graph.choice_start[pairs + 1]
    for kind in (PlayKind.NEAREST, PlayKind.ON_FAIRWAY, PlayKind.AGAIN):
        said = np.full(graph.n_states, -1)
        said[pairs] = new[stop - 1 if kind is PlayKind.AGAIN else start]
        for k, place in enumerate(relieved):
            state = number.trouble + k
            said[state] = new[graph.choice_start[state] + _relief(model, place, kind)]
        found[Play(kind=kind)] = said
    return found


def _relief(model: HoleModel, place: int, kind: PlayKind) -> int:
    """Which relief of a place an instruction takes."""
    reliefs, places = model.trouble.reliefs[place], model.compiler.places
    px, py = model.compiler.hole.pin
    wanted = [
        (
            kind is PlayKind.ON_FAIRWAY and places.spot_lie[r.spot] != CODE[Lie.FAIRWAY],
            float(np.hypot(r.x - px, r.y - py)),
        )
        for r in reliefs
    ]
    return min(range(len(reliefs)), key=wanted.__getitem__)


def _cells(model: HoleModel) -> Ints:
    """Cell of every state of the whole graph; -1 for those without one."""
    number, trouble = model.numbering, model.trouble
    cell = np.full(model.graph.n_states, -1)
    cell[number.putt : number.node] = cell_of_putts()
    cell[number.node + 1 : number.spot] = cell_of_nodes(model.compiler)[1:]
    water = cell_of_water(trouble.place_lie)
    first_pair = number.trouble + len(trouble.relieved)
    cell[number.trouble : first_pair] = water[trouble.relieved]
    cell[first_pair:] = water[trouble.pair_place]
    return cell


def _layups(strokes: Strokes, model: HoleModel) -> NDArray[np.bool_]:
    """Open ground from which the green is out of reach, by state of the whole graph."""
    far = np.zeros(model.graph.n_states, dtype=bool)
    compiler, number = model.compiler, model.numbering
    open_ = ~np.isin(compiler.places.lie, [CODE[Lie.TREES], CODE[Lie.SAND]]) & ~compiler.hemmed
    far[number.node : number.spot] = strokes.out_of_reach & open_
    far[number.node] = False
    return far
