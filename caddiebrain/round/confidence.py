"""How sure a tee choice is, given how little the player's records may say.

Players are drawn from what is known of this one (`Player.draws`); for each the two best clubs on the tee are played
from there, what follows being worth what the plan says. The share of draws in which the plan's choice stays the
better one is the confidence. The same draws are repeated as if more shots with one of the clubs were on record
(`Player.with_shots`), to see how many would settle it.
"""

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, ConfigDict, Field

from caddiebrain.errors import InputError, number_faults
from caddiebrain.flight import FlightTable
from caddiebrain.hole import arsenal_of, player_today
from caddiebrain.player.model import Player
from caddiebrain.round.day import day_flight
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.round.lookup import spread_from
from caddiebrain.round.options import Option
from caddiebrain.terms import Lie

if TYPE_CHECKING:
    from caddiebrain.round.plan import RoundPlan

__all__ = ["MORE_SHOTS", "SETTLED", "Confidence", "tee_confidence"]

SETTLED = 0.9
"""A choice is settled when it, or the other one, is best in this share of the draws."""
MORE_SHOTS = (20, 60, 200)
"""Numbers of further shots that are tried."""

_MOST_DRAWS = 100_000

Key = tuple[str, str, str]


class Confidence(BaseModel):
    """How sure the tee choice of a hole is."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    schema_version: int = Field(default=1, ge=1, le=1)
    hole: int
    choice: str
    other: str
    lead_strokes: float = Field(description="by which the choice beats the other, on the player as fitted")
    stays_best: float = Field(ge=0.0, le=1.0, description="share of the draws in which it does")
    draws: int
    shots_on_record: dict[str, float]
    settles: dict[str, int | None] = Field(
        description="further shots with a club after which the choice would be settled; null: not within the most tried"
    )
    sentence: str


def tee_confidence(
    plan: "RoundPlan", hole: HolePlan, rng: np.random.Generator, draws: int = 40
) -> Confidence:
    """Work out how sure the tee choice of a hole is; see the module.

    Parameters
    ----------
    rng : numpy.random.Generator
        Drives the draws; the same state gives the same answer.
    draws : int
        Players drawn, 5 to 100,000.

    Raises
    ------
    InputError
        If there are too few draws, or only one club to choose.
    """
    faults = number_faults("draws", draws, 5, _MOST_DRAWS, f"a whole number, 5 to {_MOST_DRAWS}", whole=True)
    if faults:
        raise InputError("confidence", faults)
    draws = int(draws)
    options = sorted(hole.tee_options(), key=lambda o: o.expected)
    choice = options[0]
    other = next((o for o in options[1:] if o.club and o.club != choice.club), None)
    if other is None or not choice.club:
        raise InputError.one(
            f"hole {hole.number}", "clubs", "one worth hitting off the tee", "two to compare"
        )
    seed = int(rng.integers(2**32))
    pair = (_key(choice), _key(other))
    leads = _leads(plan, hole, plan.player, pair, seed, draws)
    stays = float((leads > 0).mean())
    settles: dict[str, int | None] = {}
    if not _settled(leads):
        for club in (choice.club, other.club):
            settles[club] = _shots_to_settle(plan, hole, club, pair, seed, draws)
    shots = {o.label: o.shots for o in (choice, other)}
    return Confidence(
        hole=hole.number,
        choice=choice.label,
        other=other.label,
        lead_strokes=other.expected - choice.expected,
        stays_best=stays,
        draws=draws,
        shots_on_record=shots,
        settles=settles,
        sentence=_sentence(choice, other, stays, settles),
    )


def _key(option: Option) -> Key:
    return option.club, option.shape, option.height


def _settled(leads: NDArray[np.float64]) -> bool:
    share = float((leads > 0).mean())
    return max(share, 1.0 - share) >= SETTLED


def _leads(
    plan: "RoundPlan", hole: HolePlan, player: Player, pair: tuple[Key, Key], seed: int, draws: int
) -> NDArray[np.float64]:
    """Strokes by which the first shot beats the second, for every drawn player."""
    drawn = player.draws(draws, np.random.default_rng(seed))
    pairs = [_only(player_today(one, plan.setup), pair) for one in drawn]
    every = pairs[0].model_copy(update={"patterns": tuple(p for two in pairs for p in two.patterns)})
    flight = day_flight(every, plan.conditions)  # shots fly side by side much faster than one after the other
    return np.array(
        [_lead(plan, hole, two, flight.some(slice(2 * i, 2 * i + 2))) for i, two in enumerate(pairs)]
    )


def _only(player: Player, pair: tuple[Key, Key]) -> Player:
    by_key = {(p.club, str(p.shape), str(p.height)): p for p in player.patterns}
    return player.model_copy(update={"patterns": tuple(by_key[key] for key in pair)})


def _lead(plan: "RoundPlan", hole: HolePlan, two: Player, flight: FlightTable) -> float:
    arsenal = arsenal_of(two, flight, plan.conditions, plan.setup.firmness)
    spread = spread_from(hole.compiler.played_by(two, arsenal), *hole.hole.tee, Lie.TEE)
    strokes = spread.values(hole.strokes_worth())
    first, second = (float(strokes[spread.table.index == i].min()) for i in (0, 1))
    return second - first


def _shots_to_settle(
    plan: "RoundPlan", hole: HolePlan, club: str, pair: tuple[Key, Key], seed: int, draws: int
) -> int | None:
    for more in MORE_SHOTS:
        if _settled(_leads(plan, hole, plan.player.with_shots(club, more), pair, seed, draws)):
            return more
    return None


def _sentence(choice: Option, other: Option, stays: float, settles: dict[str, int | None]) -> str:
    # "10 in 10" is said of every draw, and of no fewer.
    tenths = round(10 * stays) if stays in (0.0, 1.0) else min(max(round(10 * stays), 1), 9)
    text = f"The {choice.label} beats the {other.label} for {tenths} in 10 of the players your records allow."
    if not settles:
        return text
    enough = {club: more for club, more in settles.items() if more is not None}
    if not enough:
        return f"{text} They are too close for {MORE_SHOTS[-1]} more shots with either to settle it."
    club, more = min(enough.items(), key=lambda item: item[1])
    return f"{text} About {more} more recorded shots with the {club} would settle it."
