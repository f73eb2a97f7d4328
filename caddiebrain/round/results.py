"""What kind of result a state is: a lie, holed, or stroke and distance."""

import numpy as np
from numpy.typing import NDArray

from caddiebrain.graph.spans import spans
from caddiebrain.hole import HoleModel
from caddiebrain.hole.ground import CODE, LIES
from caddiebrain.hole.numbering import Numbering
from caddiebrain.hole.places import Places
from caddiebrain.hole.trouble import Trouble
from caddiebrain.terms import Lie

__all__ = ["BACK", "HOLED", "RESULTS", "codes_of_states", "listed", "pair_codes", "shares_of"]

RESULTS: tuple[str, ...] = (*map(str, LIES), "holed", "stroke and distance")
HOLED = len(LIES)
BACK = len(LIES) + 1
_NAMES = np.array(RESULTS, dtype=object)
_AT_ONCE = 30_000
"""Outcomes added up together, so that they stay near at hand."""


def codes_of_states(places: Places, number: Numbering) -> NDArray[np.int64]:
    """Result codes of cup, putts, nodes, spots and putting bins."""
    codes = np.full(number.trouble, CODE[Lie.GREEN], dtype=np.int64)
    codes[number.cup] = HOLED
    codes[number.node : number.spot] = places.lie
    codes[number.spot : number.bin] = places.spot_lie
    return codes


def pair_codes(trouble: Trouble) -> NDArray[np.int64]:
    """Result codes of the trouble pairs: the lie that cost the stroke."""
    return trouble.place_lie[trouble.pair_place].astype(np.int64)


def listed(total: NDArray[np.float64]) -> list[dict[str, float]]:
    """Chances (choices, results) as mappings, the likeliest of each first."""
    some = (total > 0).sum(axis=1)
    order = np.argsort(-total, axis=1, kind="stable")[:, : int(some.max(initial=0))]
    names, chances = _NAMES.take(order), total.take(order + np.arange(0, total.size, len(RESULTS))[:, None])
    rows = zip(names.tolist(), chances.tolist(), some.tolist(), strict=True)
    return [dict(zip(name, chance[:n], strict=False)) for name, chance, n in rows]


def shares_of(model: HoleModel, choices: NDArray[np.int64]) -> list[dict[str, float]]:
    """Chance of each kind of result of some choices of a compiled hole."""
    codes = np.concatenate(
        [
            codes_of_states(model.compiler.places, model.numbering),
            np.zeros(len(model.trouble.relieved), dtype=np.int64),
            pair_codes(model.trouble),
        ]
    )
    longest = int(np.diff(model.graph.outcome_start)[choices].max(initial=1))
    step = max(1, _AT_ONCE // longest)
    parts = [_totals(model, choices[low : low + step], codes) for low in range(0, len(choices), step)]
    return listed(np.concatenate(parts)) if parts else []


def _totals(model: HoleModel, choices: NDArray[np.int64], codes: NDArray[np.int64]) -> NDArray[np.float64]:
    """Chances of some choices by result, (choices, results); ``codes`` are those of all states."""
    graph, number = model.graph, model.numbering
    lengths = np.diff(graph.outcome_start)[choices]
    span = spans(graph.outcome_start[choices], lengths)
    state = graph.outcome_state[span]
    kind = codes.take(state)
    back = np.flatnonzero(graph.outcome_strokes[span] >= 2)
    back = back[(state[back] >= number.node) & (state[back] < number.spot)]
    kind[back] = BACK
    kind += np.repeat(np.arange(len(choices)) * len(RESULTS), lengths)
    size = len(choices) * len(RESULTS)
    total = np.bincount(kind, graph.outcome_prob[span], size).astype(np.float64)
    return total.reshape(-1, len(RESULTS))
