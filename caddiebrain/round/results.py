"""What kind of result a state is: a lie, holed, or stroke and distance."""

import numpy as np
from numpy.typing import NDArray

from caddiebrain.hole import HoleModel
from caddiebrain.hole.ground import CODE, LIES
from caddiebrain.hole.numbering import Numbering
from caddiebrain.hole.places import Places
from caddiebrain.hole.trouble import Trouble
from caddiebrain.terms import Lie

__all__ = ["BACK", "HOLED", "RESULTS", "codes_of_states", "pair_codes", "shares_of", "tally"]

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


def tally(codes: NDArray[np.int64], prob: NDArray[np.float64], back: NDArray[np.bool_]) -> dict[str, float]:
    """Add up chances by result, most likely first.

    Parameters
    ----------
    codes, prob, back : ndarray (outcomes,)
        Result code and chance of each outcome, and whether it is stroke and distance.
    """
    total = np.bincount(np.where(back, BACK, codes), prob, minlength=len(RESULTS))
    order = np.argsort(-total, kind="stable")
    return {RESULTS[i]: float(total[i]) for i in order if total[i] > 0}


def shares_of(model: HoleModel, choice: int) -> dict[str, float]:
    """Chance of each kind of result of one choice of a compiled hole."""
    graph, number = model.graph, model.numbering
    span = slice(int(graph.outcome_start[choice]), int(graph.outcome_start[choice + 1]))
    state = graph.outcome_state[span].astype(np.int64)
    places = sum(1 for r in model.trouble.reliefs if r)
    codes = np.concatenate(
        [
            codes_of_states(model.compiler.places, number),
            np.zeros(places, dtype=np.int64),
            pair_codes(model.trouble),
        ]
    )[state]
    back = graph.outcome_strokes[span] >= 2
    back &= (state >= number.node) & (state < number.spot)
    return tally(codes, graph.outcome_prob[span], back)
