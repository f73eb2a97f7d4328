"""Where play comes, from a first look: which nodes are worth every choice.

Two places in five on a hole see less than one ball in a hundred thousand rounds. A golfer who knows only how far it
is to the pin and what a bad lie costs is sent off from the tee many times: places that this player hardly ever
reaches get a few choices, and the others all of them.
"""

import numpy as np
from numpy.typing import NDArray

from caddiebrain.graph.spans import spans
from caddiebrain.hole.choices import ChoiceTable
from caddiebrain.hole.ground import LIES, Ground
from caddiebrain.hole.numbering import Numbering
from caddiebrain.hole.places import Places
from caddiebrain.hole.resolve import Block
from caddiebrain.hole.trouble import Trouble
from caddiebrain.terms import Lie

__all__ = ["traffic"]

Floats = NDArray[np.float64]

_A_PUTT_OR_TWO, _YARDS_A_STROKE = 2.0, 170.0
_EXTRA = np.array(
    [{Lie.ROUGH: 0.15, Lie.THICK: 0.4, Lie.SAND: 0.3, Lie.TREES: 0.6}.get(lie, 0.0) for lie in LIES]
)
"""Strokes that a lie costs, roughly (common practice, no source)."""
_SOFTNESS = 0.15
"""Choices worse by so many strokes are played a third as often."""
_SHOTS = 6
_FAINT = 0.01
"""Choices made less often are passed over."""
_EVERY = 3
"""Which outcomes are looked at to tell how good a choice is: every so many."""
_UNKNOWN = 9.0
"""Strokes where those have next to no chance."""


def traffic(
    ground: Ground,
    places: Places,
    number: Numbering,
    table: ChoiceTable,
    blocks: list[Block],
    trouble: Trouble,
) -> Floats:
    """Estimate how often play from the tee comes by each node, (nodes,).

    Parameters
    ----------
    table : ChoiceTable
        A few choices for every node.
    blocks : list of Block
        Their outcomes; states below 0 are entries of ``trouble``.
    """
    guess = np.full(number.trouble, _A_PUTT_OR_TWO)
    spots = slice(number.spot, number.bin)
    nodes = slice(number.node, number.spot)
    guess[nodes] += ground.from_pin(places.x, places.y) / _YARDS_A_STROKE + _EXTRA[places.lie]
    guess[spots] += ground.from_pin(places.spot_x, places.spot_y) / _YARDS_A_STROKE + _EXTRA[places.spot_lie]
    node, state, share = _flows(number, table, blocks, trouble, guess)
    mass: Floats = np.zeros(number.nodes)
    mass[0] = 1.0
    seen = mass.copy()
    for _ in range(_SHOTS):
        there = np.bincount(state, share * mass[node], number.trouble)
        beside: Floats = (there[spots, None] * places.spot_weight).ravel()
        on_spots = np.bincount(places.spot_node.ravel(), beside, number.nodes)
        mass = np.asarray(there[nodes] + on_spots, dtype=np.float64)
        seen += mass
    return seen


_Flow = tuple[NDArray[np.int64], NDArray[np.integer], Floats]
"""Where balls are played from, the state they come to, and their share of the balls there, alike."""


def _flows(
    number: Numbering, table: ChoiceTable, blocks: list[Block], trouble: Trouble, guess: Floats
) -> _Flow:
    """Outcomes of the choices that the golfer makes, each with how often it comes up."""
    often, flows = _often(number, table, blocks, trouble, guess), list[_Flow]()
    for block in blocks:
        some = np.flatnonzero(often[block.rows] > _FAINT)
        share = block.prob[some]
        share *= (often[block.rows[some]] / share.sum(axis=1))[:, None]
        state = block.state[some].ravel()
        node = np.repeat(table.node[block.rows[some]], block.state.shape[1])
        wet = state < 0
        flows.append((node[~wet], state[~wet], share.ravel()[~wet]))
        if wet.any():
            flows.append(_relieved(number, trouble, node[wet], -1 - state[wet], share.ravel()[wet]))
    nodes, states, shares = zip(*flows, strict=True)
    return np.concatenate(nodes), np.concatenate(states), np.concatenate(shares)


def _often(
    number: Numbering, table: ChoiceTable, blocks: list[Block], trouble: Trouble, guess: Floats
) -> Floats:
    """How often each choice is made at its node: by what is left after it, as far as that golfer knows."""
    back = guess[trouble.pair_origin[trouble.pair_of_entry]] + 1.0
    after = np.concatenate([guess, back[::-1]])  # entry e is state -1 - e: counted from the end
    strokes = np.empty(len(table))
    for block in blocks:
        prob = block.prob[:, ::_EVERY]
        left = after.take(block.state[:, ::_EVERY]) + block.strokes[:, ::_EVERY]
        total = prob.sum(axis=1)
        mean = np.einsum("ij,ij->i", left, prob) / np.maximum(total, _FAINT)
        strokes[block.rows] = np.where(total > _FAINT, mean, _UNKNOWN)
    first = np.searchsorted(table.node, np.arange(number.nodes))
    worse = strokes - np.minimum.reduceat(strokes, first)[table.node]
    often = np.exp(-worse / _SOFTNESS)
    often /= np.add.reduceat(often, first)[table.node]
    return often


def _relieved(
    number: Numbering,
    trouble: Trouble,
    node: NDArray[np.int64],
    entry: NDArray[np.integer],
    share: Floats,
) -> _Flow:
    """Balls in penalty areas: on every spot they may be dropped on alike, or played again where there is none."""
    pair = trouble.pair_of_entry[entry]
    place, drops = trouble.pair_place[pair], trouble.drops
    first, last = (np.searchsorted(drops.place, place, side=side) for side in ("left", "right"))
    count = last - first
    again = count == 0
    spot = drops.spot[spans(first, count)] + number.spot
    return (
        np.concatenate([np.repeat(node, count), node[again]]),
        np.concatenate([spot, trouble.pair_origin[pair[again]]]),
        np.concatenate([np.repeat(share / np.maximum(count, 1), count), share[again]]),
    )
