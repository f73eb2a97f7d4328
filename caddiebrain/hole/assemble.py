"""Blocks of outcomes, putting, interpolation and relief put together as one graph."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.graph import StateGraph
from caddiebrain.graph.spans import Outcomes, picked_rows
from caddiebrain.hole.choices import ChoiceTable
from caddiebrain.hole.green import PACES_FT, putt_rows, split
from caddiebrain.hole.numbering import Numbering
from caddiebrain.hole.places import Places
from caddiebrain.hole.resolve import Block
from caddiebrain.hole.trouble import Trouble
from caddiebrain.player.model import PuttingSkill

__all__ = ["Row", "assemble"]


@dataclass(frozen=True)
class Row:
    """What the fixed parts of the graph are made from."""

    places: Places
    numbering: Numbering
    putting: PuttingSkill


@dataclass(frozen=True)
class _Part:
    """A run of states: choices per state, outcomes per choice, and the outcomes."""

    choices: NDArray[np.int64]
    lengths: NDArray[np.int64]
    state: NDArray[np.int32]
    prob: NDArray[np.float64]
    strokes: NDArray[np.uint8]


def assemble(row: Row, table: ChoiceTable, blocks: list[Block], trouble: Trouble) -> tuple[StateGraph, int]:
    """Build the graph; returns it with the graph index of the table's first choice."""
    number = row.numbering
    cup = _Part(np.zeros(1, np.int64), *_nothing())
    before = [cup, _putts(row.putting, number)]
    after = [_spots(row.places, number), _bins(number), _trouble(trouble, number)]
    lengths = np.zeros(len(table), np.int64)
    for block in blocks:
        lengths[block.rows] = block.state.shape[1]
    pairs = number.trouble + len(trouble.relieved) + trouble.pair_of_entry
    outcomes = _outcomes(lengths, blocks, pairs)
    sides = [[(p.state, p.prob, p.strokes) for p in parts] for parts in (before, after)]
    state, prob, strokes = (
        np.concatenate(column) for column in zip(*sides[0], outcomes, *sides[1], strict=True)
    )
    per_node = np.bincount(table.node, minlength=number.nodes)
    choices = [*(p.choices for p in before), per_node, *(p.choices for p in after)]
    every = [*(p.lengths for p in before), lengths, *(p.lengths for p in after)]
    graph = StateGraph.from_arrays(
        np.concatenate([[0], np.cumsum(np.concatenate(choices))]),
        np.concatenate([[0], np.cumsum(np.concatenate(every))]),
        state,
        prob,
        strokes,
        goal=number.cup,
    )
    return graph, sum(len(p.lengths) for p in before)


def _nothing() -> tuple[NDArray[np.int64], NDArray[np.int32], NDArray[np.float64], NDArray[np.uint8]]:
    return np.zeros(0, np.int64), np.zeros(0, np.int32), np.zeros(0), np.zeros(0, np.uint8)


def _putts(skill: PuttingSkill, number: Numbering) -> _Part:
    putts = putt_rows(skill)
    prob = np.concatenate([putts.holed[..., None], putts.leave], axis=-1).reshape(-1, number.putts + 1)
    state = np.tile(np.arange(number.putts + 1, dtype=np.int32), len(prob))
    used = prob.ravel() > 0
    return _Part(
        np.full(number.putts, len(PACES_FT), np.int64),
        (prob > 0).sum(axis=1).astype(np.int64),
        state[used],
        _even(prob)[used],
        np.ones(int(used.sum()), np.uint8),
    )


def _even(prob: NDArray[np.float64]) -> NDArray[np.float64]:
    """Flatten rows, each divided by its own sum, so that rounding never leaves a row off 1."""
    flat: NDArray[np.float64] = (prob / prob.sum(axis=1, keepdims=True)).ravel()
    return flat


def _outcomes(lengths: NDArray[np.int64], blocks: list[Block], pairs: NDArray[np.int64]) -> Outcomes:
    """Put the outcomes of blocks into the order of the table; ``pairs`` settles provisional numbers."""
    rows = np.concatenate([block.rows for block in blocks])
    start = np.concatenate([[0], np.cumsum(lengths[rows])])
    state, prob, strokes = (np.empty(start[-1], dtype) for dtype in (np.int32, np.float64, np.uint8))
    end = 0
    for block in blocks:
        span = slice(end, end + block.state.size)
        state[span], strokes[span] = block.state.ravel(), block.strokes.ravel()
        total = block.prob.sum(axis=1, keepdims=True)
        np.divide(block.prob, total, out=prob[span].reshape(block.prob.shape))
        end = span.stop
    pending = np.flatnonzero(state < 0)
    state[pending] = pairs[-1 - state[pending]]
    place = np.empty(len(rows), np.int64)
    place[rows] = np.arange(len(rows))
    return picked_rows(start, (state, prob, strokes), place)


def _spots(places: Places, number: Numbering) -> _Part:
    weight = places.spot_weight / places.spot_weight.sum(axis=1, keepdims=True)
    return _Part(
        np.ones(number.spots, np.int64),
        np.full(number.spots, 4, np.int64),
        (places.spot_node + number.node).astype(np.int32).ravel(),
        weight.ravel(),
        np.zeros(4 * number.spots, np.uint8),
    )


def _bins(number: Numbering) -> _Part:
    low, upper = split(np.arange(number.bins) * number.step_ft)
    state = np.stack([low, low + 1], axis=1) + number.putt
    return _Part(
        np.ones(number.bins, np.int64),
        np.full(number.bins, 2, np.int64),
        state.astype(np.int32).ravel(),
        np.stack([1.0 - upper, upper], axis=1).ravel(),
        np.zeros(2 * number.bins, np.uint8),
    )


def _trouble(trouble: Trouble, number: Numbering) -> _Part:
    """Places with relief first, then the pairs (origin, place)."""
    drops = trouble.drops
    choices = np.bincount(drops.place, minlength=len(trouble.place_lie))
    has = choices > 0
    place_state = number.trouble + np.cumsum(has) - 1
    relieved = has[trouble.pair_place] if len(has) else np.zeros(0, bool)
    both = (
        np.stack([place_state[trouble.pair_place], trouble.pair_origin], axis=1)
        if len(has)
        else np.zeros((0, 2))
    )
    wanted = np.stack([relieved, np.ones(len(relieved), bool)], axis=1)
    cost = np.broadcast_to(np.array([0, 1]), both.shape)
    state = np.concatenate([drops.spot + number.spot, both[wanted]])
    return _Part(
        np.concatenate([choices[has], wanted.sum(axis=1)]),
        np.ones(len(state), np.int64),
        state.astype(np.int32),
        np.ones(len(state)),
        np.concatenate([drops.strokes, cost[wanted]]).astype(np.uint8),
    )
