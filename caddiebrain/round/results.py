"""What kind of result a state is: a lie, holed, or stroke and distance."""

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole import HoleModel
from caddiebrain.hole.ground import CODE, LIES
from caddiebrain.hole.numbering import Numbering
from caddiebrain.hole.places import Places
from caddiebrain.hole.trouble import Trouble
from caddiebrain.solve.layout import spans
from caddiebrain.terms import Lie

__all__ = ["BACK", "HOLED", "RESULTS", "codes_of_states", "listed", "pair_codes", "shares_of", "tally"]

RESULTS: tuple[str, ...] = (*map(str, LIES), "holed", "stroke and distance")
HOLED = len(LIES)
BACK = len(LIES) + 1


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


def tally(
    who: NDArray[np.int64],
    n: int,
    codes: NDArray[np.int64],
    prob: NDArray[np.float64],
    back: NDArray[np.bool_],
) -> list[dict[str, float]]:
    """Add up the chances of n choices by result, the likeliest of each first.

    Parameters
    ----------
    who : ndarray (outcomes,)
        Choice, 0 to n - 1, of each outcome.
    codes, prob, back : ndarray (outcomes,)
        Result code and chance of each outcome, and whether it is stroke and distance.
    """
    kinds = len(RESULTS)
    key = who * kinds + np.where(back, BACK, codes)
    total = np.bincount(key, prob, minlength=n * kinds).astype(np.float64)
    return listed(total.reshape(n, kinds))


def listed(total: NDArray[np.float64]) -> list[dict[str, float]]:
    """Chances (choices, results) as mappings, the likeliest of each first."""
    most = int((total > 0).sum(axis=1).max(initial=0))
    order = np.argsort(-total, axis=1, kind="stable")[:, :most]
    rows = zip(total.tolist(), order.tolist(), strict=True)
    return [{RESULTS[i]: chance[i] for i in ranked if chance[i] > 0} for chance, ranked in rows]


def shares_of(model: HoleModel, choices: NDArray[np.int64]) -> list[dict[str, float]]:
    """Chance of each kind of result of some choices of a compiled hole."""
    graph, number = model.graph, model.numbering
    lengths = np.diff(graph.outcome_start)[choices]
    span = spans(graph.outcome_start[choices], lengths)
    state = graph.outcome_state[span].astype(np.int64)
    codes = np.concatenate(
        [
            codes_of_states(model.compiler.places, number),
            np.zeros(len(model.trouble.relieved), dtype=np.int64),
            pair_codes(model.trouble),
        ]
    )[state]
    back = graph.outcome_strokes[span] >= 2
    back &= (state >= number.node) & (state < number.spot)
    who = np.repeat(np.arange(len(choices)), lengths)
    return tally(who, len(choices), codes, graph.outcome_prob[span], back)
