r"""A played round against its plan: what the decisions cost, what the strokes cost.

With V(s) the strokes the plan expects from s when play is best, Q(s, a) those of the choice made, r_i = 1 + penalty
the strokes spent on stroke i and s_{i+1} where the ball was played from next (V = 0 in the cup),

.. math:: \text{score} - V(\text{tee}) = \sum_i \underbrace{Q(s_i, a_i) - V(s_i)}_{\text{decision}}
          + \underbrace{r_i + V(s_{i+1}) - Q(s_i, a_i)}_{\text{execution}},

since V telescopes. Minus the two together are strokes gained (Broadie M. 2012, *Interfaces* 42(2):146-165), on the
player's own expectation. The aim of a stroke is taken to be the best of its club unless the record has it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caddiebrain.insight.at_hand import Choices, Putts, Swings
from caddiebrain.insight.chosen import chosen_rows
from caddiebrain.insight.played import PlacedHole, PlacedShot, load_played_round, place_round
from caddiebrain.insight.played_rows import rows_for_fit
from caddiebrain.insight.records_review import (
    HoleReview,
    PartReview,
    PlayedRound,
    RoundReview,
    ShotReview,
)
from caddiebrain.insight.reference import Reference, reference_of
from caddiebrain.insight.spots import Spot, best_row
from caddiebrain.insight.words_review import review_sentence, takeaways_of
from caddiebrain.player import Level
from caddiebrain.player.model import Player
from caddiebrain.round.lookup import spread_from
from caddiebrain.round.plan import RoundPlan, check_plan
from caddiebrain.terms import Lie

__all__ = ["part_of", "review"]

_SHORT_YD = 50.0
"""Nearer than this a shot from off the green is short game (common practice, no source)."""
_BANDS = (100.0, 150.0, 200.0)

Floats = NDArray[np.float64]


def review(
    plan: RoundPlan,
    played: PlayedRound | Mapping[str, Any] | str | Path,
    *,
    reference: RoundPlan | Player | Level | None = None,
) -> RoundReview:
    """Weigh a played round against its plan, stroke by stroke.

    Parameters
    ----------
    plan : RoundPlan
        Made for the same course; its player's expectation is the yardstick.
    played : PlayedRound, mapping or path
        The round; a part of the holes will do.
    reference : RoundPlan, Player or Level, optional
        Whose expectation to hold the strokes against as well; a player or level is worked out on these holes,
        which takes about a second for each.

    Returns
    -------
    RoundReview

    Raises
    ------
    InputError
        If the round is wrong; names hole, stroke and field of every fault and what to do.
    """
    check_plan(plan, "review")
    card = load_played_round(played)
    holes = place_round(plan, card, str(played) if isinstance(played, str | Path) else None)
    other = reference_of(plan, holes, reference)
    shots = [shot for hole in holes for shot in _weigh(hole, other)]
    reviews = tuple(_hole_review(hole, shots) for hole in holes)
    parts = _parts(shots)
    score, expected = sum(h.score for h in reviews), sum(h.expected for h in reviews)
    decision, execution = sum(s.decision for s in shots), sum(s.execution for s in shots)
    luck = float(np.sqrt(sum(s.luck**2 for s in shots)))
    whole = len(holes) == len(plan.holes)
    return RoundReview(
        sentence=review_sentence(score, expected, decision, execution, luck, whole=whole),
        takeaways=takeaways_of(shots, parts),
        target=plan.target,
        score=score,
        expected=expected,
        difference=score - expected,
        decision=decision,
        execution=execution,
        luck=luck,
        reference=other.name if other else None,
        reference_expected=other.expected if other else None,
        parts=parts,
        holes=reviews,
        shots=tuple(shots),
        records=rows_for_fit(holes, card),
    )


@dataclass(frozen=True)
class _Weighed:
    """A place with its choices: strokes (rows,) shifted so that their minimum is ``value``."""

    choices: Choices
    strokes: Floats
    value: float


def _at(spot: Spot) -> _Weighed:
    """Weigh the choices from a place; from the tee the plan's own value holds."""
    worth = spot.hole.strokes_worth()
    choices: Choices
    if spot.lie is Lie.GREEN:
        choices = Putts(spot.hole.compiler, spot.to_pin * 3.0)
    else:
        choices = Swings(spread_from(spot.hole.compiler, spot.x, spot.y, spot.lie))
    strokes = choices.values(worth)
    value = float(strokes.min())
    if spot.lie is Lie.TEE and spot.strokes_on_hole == 0:
        # A look-up meets penalty areas at slightly other crossing points than the plan's graph.
        strokes = strokes + (spot.hole.expected_score - value)
        value = spot.hole.expected_score
    return _Weighed(choices, strokes, value)


def _weigh(hole: PlacedHole, other: Reference | None) -> list[ShotReview]:
    places = [_at(shot.spot) for shot in hole.shots]
    after = [place.value for place in places[1:]] + [0.0]
    shots = [
        _shot_review(shot, place, then) for shot, place, then in zip(hole.shots, places, after, strict=True)
    ]
    if other is None:
        return shots
    gained = other.gained(hole)
    return [s.model_copy(update={"gained_on_reference": g}) for s, g in zip(shots, gained, strict=True)]


def _shot_review(shot: PlacedShot, place: _Weighed, after: float) -> ShotReview:
    spot, worth = shot.spot, shot.spot.hole.strokes_worth()
    chance = np.clip(place.choices.values(spot.hole.chance_worth(spot.strokes_left)), 0.0, 1.0)
    best = best_row(np.arange(len(place.strokes)), place.strokes, chance, "score")
    found = chosen_rows(spot, place.choices, shot.shot)
    if found.rows is None:
        row, decision, chosen, given_up = best, 0.0, shot.shot.club, 0.0
    else:
        strokes = place.strokes if found.choices is place.choices else found.choices.values(worth)
        own = chance if found.choices is place.choices else _chance(found.choices, spot)
        row = best_row(found.rows, strokes, own, "score")
        decision = max(0.0, float(strokes[row]) - place.value)
        chosen = found.choices.label(row)
        given_up = max(0.0, float(chance.max() - own[row]))
    chooser = place.choices if found.rows is None else found.choices
    ends = chooser.ends(row, (worth,))
    mean = float(ends.prob @ ends.worth[0])
    spent = 1 + shot.shot.penalty
    return ShotReview(
        hole=spot.hole.number,
        stroke=shot.number,
        club=shot.shot.club,
        part=part_of(spot, shot.number),
        lie=str(spot.lie),
        to_pin_yd=spot.to_pin,
        result=shot.result,
        penalty=shot.shot.penalty,
        expected_before=place.value,
        best=place.choices.label(best),
        chosen=chosen,
        decision=decision,
        execution=spent + after - place.value - decision,
        luck=float(np.sqrt(max(0.0, float(ends.prob @ (ends.worth[0] - mean) ** 2)))),
        target_before=float(chance.max()),
        target_given_up=given_up,
        note=found.note,
    )


def _chance(choices: Choices, spot: Spot) -> Floats:
    return np.clip(choices.values(spot.hole.chance_worth(spot.strokes_left)), 0.0, 1.0)


def part_of(spot: Spot, stroke: int) -> str:
    """Part of the game a stroke belongs to: tee, approach by yards, short game by lie, putting."""
    if spot.lie is Lie.GREEN:
        return "putting"
    if stroke == 1 and spot.hole.par >= 4:
        return "off the tee"
    if spot.to_pin <= _SHORT_YD and spot.lie is not Lie.TEE:
        return f"short game, {spot.lie}"
    low = _SHORT_YD
    for high in _BANDS:
        if spot.to_pin <= high:
            return f"approach, {low:.0f} to {high:.0f} yards"
        low = high
    return f"approach, over {low:.0f} yards"


def _hole_review(hole: PlacedHole, shots: Sequence[ShotReview]) -> HoleReview:
    mine = [s for s in shots if s.hole == hole.plan.number]
    return HoleReview(
        number=hole.plan.number,
        par=hole.plan.par,
        score=hole.score,
        expected=mine[0].expected_before,
        decision=sum(s.decision for s in mine),
        execution=sum(s.execution for s in mine),
    )


_ORDER = ("off the tee", "approach, over", "approach, 150", "approach, 100", "approach, 50", "short game")


def _parts(shots: Sequence[ShotReview]) -> tuple[PartReview, ...]:
    """Parts of the game, from the tee to the green."""

    def place(part: str) -> tuple[int, str]:
        return next((i for i, head in enumerate(_ORDER) if part.startswith(head)), len(_ORDER)), part

    made = []
    for part in sorted({s.part for s in shots}, key=place):
        mine = [s for s in shots if s.part == part]
        against = [s.gained_on_reference for s in mine if s.gained_on_reference is not None]
        made.append(
            PartReview(
                part=part,
                strokes=len(mine),
                gained=sum(s.gained for s in mine),
                decision=sum(s.decision for s in mine),
                execution=sum(s.execution for s in mine),
                luck=float(np.sqrt(sum(s.luck**2 for s in mine))),
                gained_on_reference=sum(against) if against else None,
            )
        )
    return tuple(made)
