r"""Why one choice beats another from the same spot, split by where the ball ends.

Let choice i end in result r (fairway, rough, a penalty area ...) with chance p_i(r), and let c_i(r) be the mean
worth from there: strokes, or chance of the target. With b the mean worth of both choices,

.. math:: \sum_r p_1 c_1 - \sum_r p_2 c_2
          = \sum_r (p_1 - p_2) \left(\tfrac{c_1 + c_2}{2} - b\right) + \sum_r \tfrac{p_1 + p_2}{2} (c_1 - c_2),

because the chances of each choice sum to one. The first sum says how often, the second how good from there. Where
one choice never ends in r, c(r) of the other serves for both and the second part is zero.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from caddiebrain.errors import Fault, InputError, kind_faults, number_faults
from caddiebrain.insight.picture import dispersion
from caddiebrain.insight.records_compare import Comparison, ResultPart, Side
from caddiebrain.insight.spots import Landings, Picker, Spot, best_row, landings, spot_of
from caddiebrain.insight.words_compare import sentence_of, verdict_of
from caddiebrain.round.lookup import Spread, spread_from
from caddiebrain.round.plan import RoundPlan
from caddiebrain.round.results import RESULTS

__all__ = ["Split", "compare", "split_by_result"]

Floats = NDArray[np.float64]


def compare(
    plan: RoundPlan,
    hole: int,
    first: str,
    second: str,
    *,
    position: tuple[float, float] | None = None,
    to_pin: float | None = None,
    lie: str | None = None,
    strokes_on_hole: int = 0,
    standing: int = 0,
    first_aim_deg: float | None = None,
    second_aim_deg: float | None = None,
    aim_for: Literal["score", "target"] = "score",
) -> Comparison:
    """Say why one choice beats another, in parts that add up to the difference.

    Parameters
    ----------
    plan : RoundPlan
    hole : int
    first, second : str
        Choices as `RoundPlan.options` names them: "driver", "4-hybrid draw", "pitch to 40 yards", or "pitch"; clubs
        also by any name that records may use ("4h"), and where `RoundPlan.options` leaves them out.
    position : (x, y), optional
        Yards: right of the straight line from tee to pin, and toward the pin. By default the tee.
    to_pin : float, optional
        Instead of a position: yards to the pin, on the line of play.
    lie : str, optional
        A member of ``Lie``; by default what the map shows.
    strokes_on_hole : int
        Strokes taken on this hole so far, penalties included.
    standing : int
        Strokes over par before this hole.
    first_aim_deg, second_aim_deg : float, optional
        Aimed line, degrees clockwise from the straight line tee to pin; by default each choice's best.
    aim_for : {"score", "target"}
        What the best aim is best for.

    Returns
    -------
    Comparison

    Raises
    ------
    UnknownError
        If there is no such hole, lie or choice; it names those there are.
    InputError
        If the position is off the hole, or something is not of its kind.
    """
    _check(first, second, first_aim_deg, second_aim_deg, aim_for)
    spot = spot_of(plan, hole, position, to_pin, lie, strokes_on_hole, standing)
    wanted = [(first, first_aim_deg), (second, second_aim_deg)]
    picker = Picker(spot.hole.compiler, wanted, (spot.x, spot.y, spot.lie))
    spread = spread_from(spot.hole.compiler, spot.x, spot.y, spot.lie, picker)
    worths = spot.hole.strokes_worth(), spot.hole.chance_worth(spot.strokes_left)
    strokes = spread.values(worths[0])
    chance = np.clip(spread.values(worths[1]), 0.0, 1.0)
    edge = picker.sizes[0]
    rows = (
        best_row(np.arange(edge), strokes, chance, aim_for),
        best_row(np.arange(edge, len(strokes)), strokes, chance, aim_for),
    )
    ends = [landings(spread, row, worths) for row in rows]
    sides = [_side(spread, row, float(strokes[row]), float(chance[row])) for row in rows]
    return _comparison(spot, sides, _parts(*ends), aim_for)


def _check(first: object, second: object, first_aim: object, second_aim: object, aim_for: object) -> None:
    faults = (
        [] if aim_for in ("score", "target") else [Fault("aim_for", repr(aim_for), '"score" or "target"')]
    )
    for which, name, aim in (("first", first, first_aim), ("second", second, second_aim)):
        faults += kind_faults(which, name, str, "the name of a choice, such as 'driver'")
        if aim is not None:
            faults += number_faults(f"{which}_aim_deg", aim, -360.0, 360.0, "degrees, -360 to 360")
    if faults:
        raise InputError("compare", faults)


def _side(spread: Spread, row: int, expected: float, chance: float) -> Side:
    option = spread.named(row)
    points, ellipse = dispersion(spread, row)
    return Side(
        label=option.label,
        aim_words=option.aim_words,
        aim_deg=option.aim_deg,
        aim_xy=option.aim_xy,
        carry_yd=option.carry_yd,
        total_yd=option.aim.distance_yd,
        expected=expected,
        chance=chance,
        points=points,
        ellipse=ellipse,
    )


@dataclass(frozen=True)
class Split:
    """A difference of means split by result: chances and mean worths (2, results), the two parts (results,)."""

    chance: Floats
    mean: Floats
    how_often: Floats
    how_good: Floats


def split_by_result(
    first: tuple[NDArray[np.int64], Floats, Floats], second: tuple[NDArray[np.int64], Floats, Floats]
) -> Split:
    """Split the difference of two means, first minus second; see the head of the file.

    Parameters
    ----------
    first, second : tuple of ndarray (outcomes,)
        Result code, chance and worth of each outcome; chances sum to 1.

    Returns
    -------
    Split
        ``mean`` is NaN where neither choice ends.
    """
    n = len(RESULTS)
    chance = np.stack([np.bincount(code, prob, n).astype(np.float64) for code, prob, _ in (first, second)])
    total = np.stack([np.bincount(code, prob * worth, n) for code, prob, worth in (first, second)])
    mean = np.full((2, n), np.nan)
    np.divide(total, chance, out=mean, where=chance > 0)
    filled = np.where(np.isnan(mean), mean[::-1], mean)
    filled = np.where(np.isnan(filled), 0.0, filled)
    base = 0.5 * float(total.sum())
    how_often = (chance[0] - chance[1]) * (0.5 * (filled[0] + filled[1]) - base)
    how_good = 0.5 * (chance[0] + chance[1]) * (filled[0] - filled[1])
    return Split(chance, mean, how_often, how_good)


def _parts(first: Landings, second: Landings) -> tuple[ResultPart, ...]:
    """One part for each result that happens, most likely first."""
    strokes, target = (
        split_by_result((first.code, first.prob, first.worth[i]), (second.code, second.prob, second.worth[i]))
        for i in range(2)
    )
    order = np.argsort(-strokes.chance.sum(axis=0), kind="stable")
    return tuple(_part(int(r), strokes, target) for r in order if strokes.chance[:, r].any())


def _part(r: int, strokes: Split, target: Split) -> ResultPart:
    def known(value: float, played: float) -> float | None:
        return None if np.isnan(value) else float(value) - played

    return ResultPart(
        result=RESULTS[r],
        chance_first=float(strokes.chance[0, r]),
        chance_second=float(strokes.chance[1, r]),
        strokes_first=known(strokes.mean[0, r], 1.0),
        strokes_second=known(strokes.mean[1, r], 1.0),
        target_first=known(target.mean[0, r], 0.0),
        target_second=known(target.mean[1, r], 0.0),
        strokes_how_often=float(strokes.how_often[r]),
        strokes_how_good=float(strokes.how_good[r]),
        target_how_often=float(target.how_often[r]),
        target_how_good=float(target.how_good[r]),
    )


def _comparison(
    spot: Spot, sides: list[Side], parts: tuple[ResultPart, ...], aim_for: Literal["score", "target"]
) -> Comparison:
    first, second = sides
    return Comparison(
        sentence=sentence_of(first, second, parts),
        verdict=verdict_of(first, second, spot.plan.target),
        hole=spot.hole.number,
        position=(spot.x, spot.y),
        to_pin_yd=spot.to_pin,
        lie=str(spot.lie),
        strokes_on_hole=spot.strokes_on_hole,
        standing=spot.standing,
        target=spot.plan.target,
        aimed_for=aim_for,
        first=first,
        second=second,
        strokes_difference=first.expected - second.expected,
        target_difference=first.chance - second.chance,
        parts=parts,
    )
