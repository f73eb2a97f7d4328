"""The choices of a hole sorted out: which of some 66,000 of club and aim are worth working out finely.

The middle aim of every club from everywhere makes a coarse graph, with few points for each shot. Solved, it tells
what every place is worth and how often play comes by. Where play comes, the other aims, heights, shapes and punches
that lie beside something promising are weighed by those values, in no graph. What is near the best expected score is
kept, and what is best for the chance of holing out in so many strokes, with the aims half a step to either side.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_array

from caddiebrain import solve
from caddiebrain.graph import StateGraph
from caddiebrain.graph.spans import spans
from caddiebrain.hole import ChoiceTable, HoleCompiler, HoleModel, Kind
from caddiebrain.hole.propose import Fan, between
from caddiebrain.hole.trouble import Trouble
from caddiebrain.round.worth import MOST_STROKES, Shots, Worth
from caddiebrain.terms import Height

__all__ = ["Sifted", "sift", "traffic"]

_MARGIN = 0.04
"""Choices this near to the best expected score are kept, strokes."""
_WIDE_MARGIN = 0.25
"""Choices worse than this are not kept for the sake of a budget either, strokes."""
_BUDGET = 5
"""Budgets looked at, strokes to hole out from anywhere; the score decides beyond."""
_PROMISING = 0.2
"""Choices beside one that is no worse than this are weighed, strokes."""
_SELDOM = 2e-7
"""Where fewer balls come to rest in a square yard, in a round, middle aims are looked at and the best alone kept."""
_REFINED = 5e-6
"""Where more balls come to rest in a square yard, in a round, derived shapes and aims half a step aside are looked at,
too."""
_WORTH_BENDING = 0.01
"""What a derived shape must gain on all other shots of its place to be kept there, strokes: nobody should bend a ball
for less."""
_SOFTNESS = 0.15
"""Choices worse by so many strokes are played a third as often by the golfer who is followed."""
_FAINT = 0.01
"""Choices made less often are passed over, if others of their state are made twice as often."""
_MOVES = 14
"""Moves in the graph that golfer is followed for: a shot takes two, one with relief four."""
_ROUNDING = 1e-9
_ENOUGH = 1e-3
"""How closely the coarse graph is solved, strokes."""
_A_PUTT_OR_TWO, _YARDS_A_STROKE = 2.2, 170.0
_SECTORS = 12
"""Directions in which punches are told apart."""

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Sifted:
    """What is worth working out.

    Parameters
    ----------
    table : ChoiceTable
        At least one choice of every node, every one of the tee.
    value : ndarray (fixed states,)
        Roughly the fewest expected strokes to hole out.
    """

    table: ChoiceTable
    value: Floats


@dataclass(frozen=True)
class _Look:
    """The coarse graph with the ``value`` of its states, and the ``strokes`` and ``loss`` of its choices."""

    model: HoleModel
    value: Floats
    strokes: Floats
    loss: Floats

    @property
    def rows(self) -> slice:
        """Choices of the graph that are rows of the table."""
        first = self.model.first_choice
        return slice(first, first + len(self.model.table))

    @property
    def nodes(self) -> slice:
        """States that are nodes."""
        number = self.model.numbering
        return slice(number.node, number.spot)


def sift(compiler: HoleCompiler) -> Sifted:
    """Sort out the choices of a hole."""
    look = _first_look(compiler)
    balls = traffic(look.model, look.loss) / compiler.grid.lattice**2
    often = balls >= _SELDOM
    rest = compiler.candidates(Fan.REST, 1 + np.flatnonzero(often[1:]))
    rest = rest.take(~_bent(compiler, rest) | (balls >= _REFINED)[rest.node])
    more = _weighed(compiler, rest.take(_promising(look, rest)))
    kept, added = _worth_keeping(look, more, often)
    # Every choice on the tee, node 0, for a golfer wants to see them all.
    tee = compiler.candidates(nodes=np.zeros(1, dtype=np.int64))
    few = look.model.table
    table = ChoiceTable.join([tee, few.take(kept & (few.node > 0)), more.table.take(added)])
    table = replace(table, step=np.where(balls[table.node] >= _REFINED, table.step, 0.0))
    return Sifted(between(table), look.value[: look.model.numbering.trouble])


def _first_look(compiler: HoleCompiler) -> _Look:
    model = compiler.build(compiler.candidates(Fan.MIDDLE), screen=True)
    value = solve.fewest_strokes(model.graph, tol=_ENOUGH, start=_guess(model)).value
    strokes = solve.choice_values(model.graph, value)
    return _Look(model, value, strokes, strokes - value[model.graph.choice_state])


def _guess(model: HoleModel) -> Floats:
    """About how many strokes are left from everywhere; the solver takes it from there."""
    places, number, ground = model.compiler.places, model.numbering, model.compiler.ground
    strokes = np.full(model.graph.n_states, _A_PUTT_OR_TWO)
    for part, x, y in (
        (slice(number.node, number.spot), places.x, places.y),
        (slice(number.spot, number.bin), places.spot_x, places.spot_y),
    ):
        strokes[part] += ground.from_pin(x, y) / _YARDS_A_STROKE
    return strokes


def traffic(model: HoleModel, loss: Floats) -> Floats:
    """How often play from the tee comes by each node, (nodes,), when worse choices are made less often.

    Parameters
    ----------
    loss : ndarray (choices,)
        Strokes by which each choice of the graph is worse than the best of its state.
    """
    number, flow = model.numbering, _flow(model.graph, np.exp(-loss / _SOFTNESS))
    here: Floats = np.zeros(model.graph.n_states)
    here[model.tee] = 1.0
    seen = here.copy()
    for _ in range(_MOVES):
        here = flow @ here
        here[number.cup] = 0.0
        seen += here
    return seen[number.node : number.spot]


def _flow(graph: StateGraph, often: Floats) -> csc_array:
    """Chances of every next state (to, from) when choices are made as often as said, (choices,)."""
    state, most = graph.choice_state, np.zeros(graph.n_states)
    often = often / np.bincount(state, often, graph.n_states)[state]
    np.maximum.at(most, state, often)
    often[often < np.minimum(_FAINT, 0.5 * most)[state]] = 0.0
    often /= np.bincount(state, often, graph.n_states)[state]
    made = np.flatnonzero(often)
    each = np.diff(graph.outcome_start)[made]
    at = spans(graph.outcome_start[made], each)
    share = np.repeat(often[made], each) * graph.outcome_prob[at]
    first = np.concatenate([[0], np.cumsum(each)])[np.searchsorted(made, graph.choice_start)]
    return csc_array((share, graph.outcome_state[at], first), shape=(graph.n_states, graph.n_states))


def _promising(look: _Look, more: ChoiceTable) -> Flags:
    """Mark choices with kin in the coarse graph that is not much worse than the best there, or with none.

    Kin of a shot are those with the same club from the same place, of a punch those in about its direction.
    """
    shots = look.model.table.kind != Kind.DROP
    few, loss = look.model.table.take(shots), look.loss[look.rows][shots]
    width = 1 + max(_SECTORS, int(few.index.max(initial=0)), int(more.index.max(initial=0)))
    least = np.full(look.model.numbering.nodes * len(Kind) * width, np.inf)
    np.minimum.at(least, (few.node * len(Kind) + few.kind) * width + _kin(look.model, few), loss)
    place, kin = (more.node * len(Kind) + more.kind) * width, _kin(look.model, more)
    found = least[place + kin]
    punch = more.kind == Kind.PUNCH
    for turn in (-1, 1):
        beside = least[place[punch] + (kin[punch] + turn) % _SECTORS]
        found[punch] = np.minimum(found[punch], beside)
    promising: Flags = (found <= _PROMISING) | np.isinf(found)
    return promising


def _kin(model: HoleModel, table: ChoiceTable) -> Ints:
    """What a choice has in common with its kin: the club, of a punch the direction, of putts that they are."""
    places, (px, py) = model.compiler.places, model.compiler.hole.pin
    to_pin = np.arctan2(px - places.x, py - places.y)[table.node]
    sector = np.rint((table.heading - to_pin) * (_SECTORS / (2 * np.pi))).astype(np.int64) % _SECTORS
    one = np.where(table.kind == Kind.PUTT, 0, table.index)
    return np.where(table.kind == Kind.PUNCH, sector, one)


def _bent(compiler: HoleCompiler, table: ChoiceTable) -> Flags:
    """Mark full shots of a derived shape."""
    shaped = [i for i, p in enumerate(compiler.player.patterns) if p.derived and p.height is Height.STOCK]
    bent: Flags = (table.kind == Kind.FULL) & np.isin(table.index, shaped)
    return bent


def _weighed(compiler: HoleCompiler, table: ChoiceTable) -> Shots:
    scene = compiler.own_scene()
    blocks = compiler.blocks(scene, table, compiler.places.lie[table.node], screen=True)
    return Shots(compiler, table, blocks, Trouble.gather(scene.trouble, compiler.ground, compiler.places))


def _worth_keeping(look: _Look, more: Shots, often: Flags) -> tuple[Flags, Flags]:
    """Mark what can matter for some attitude to risk: rows of the coarse graph's table, and of ``more``.

    Where play hardly comes, ``often`` (nodes,), that is the best alone.
    """
    few, node = look.model.table, more.table.node
    strokes = more.values(Worth((look.value[: look.nodes.stop],)))
    bent = _bent(more.compiler, more.table)
    best = np.full(len(often), np.inf)
    np.minimum.at(best, few.node, look.strokes[look.rows])
    np.minimum.at(best, node[~bent], strokes[~bent])
    budget = solve.within_budget(look.model.graph, _BUDGET, tiebreak=look.strokes, prune=False)
    chosen = np.zeros(len(look.loss), dtype=bool)
    chosen[budget.choice[budget.choice >= 0]] = True
    kept = (chosen & (look.loss <= _WIDE_MARGIN))[look.rows] & often[few.node]
    kept |= look.strokes[look.rows] <= (best + np.where(often, _MARGIN, _ROUNDING))[few.node]
    margin = np.where(bent, -_WORTH_BENDING, _MARGIN)
    added = strokes <= best[node] + margin
    in_play = strokes <= best[node] + np.where(bent, margin, _WIDE_MARGIN)
    for left in range(1, _BUDGET + 1):
        added |= _best_for(look, budget.value[: left + 1], more, in_play)
    return kept, added


def _best_for(look: _Look, value: Floats, more: Shots, in_play: Flags) -> Flags:
    """Mark choices in play with the best chance of holing out in the strokes of the last row of ``value``.

    Parameters
    ----------
    value : ndarray (budgets, states)
        Chances with 0, 1, ... strokes left, with the choices of the coarse graph.
    """
    lost = np.zeros((MOST_STROKES, value.shape[1]))
    left = np.concatenate([lost, value])[: -MOST_STROKES - 2 : -1, : look.nodes.stop]
    chance = np.where(in_play, more.values(Worth(tuple(left))), 0.0)
    top, node = value[-1, look.nodes].copy(), more.table.node
    better = chance > top[node] + _ROUNDING
    np.maximum.at(top, node, chance)
    return better & (chance >= top[node])
