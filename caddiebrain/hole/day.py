"""A player on today's course: shots the file lacks, and what the set-up does to lies and greens."""

from caddiebrain.course import Setup
from caddiebrain.player.model import LieEffect, Player, PuttingSkill, Ramp
from caddiebrain.player.shapes import with_derived_shots
from caddiebrain.terms import Lie

__all__ = ["player_today"]

_USUAL_SPEED_FT = 9.5
_PACE_PER_FT = 0.03
"""Share by which a pace error grows for each foot of green speed (common practice, no source)."""


def player_today(player: Player, setup: Setup) -> Player:
    """Return the player as today's course finds them.

    Rough cut short plays halfway to fairway, long rough halfway to thick; with preferred lies fairway shots are
    struck as from a perfect lie; on greens faster than 9.5 feet pace errors grow by 3 % a foot, on slower ones they
    shrink (all common practice, no source). Draws, fades, low and high shots that the player has no pattern for are
    derived, less practised (`caddiebrain.player.shapes`).
    """
    lies = dict(player.lies)
    rough = lies.get(Lie.ROUGH, LieEffect())
    if setup.rough == "short":
        lies[Lie.ROUGH] = _halfway(rough, lies.get(Lie.FAIRWAY, LieEffect()))
    if setup.rough == "long":
        lies[Lie.ROUGH] = _halfway(rough, lies.get(Lie.THICK, rough))
    if setup.preferred_lies:
        lies[Lie.FAIRWAY] = LieEffect()
    pace = player.putting.pace_sd * (1.0 + _PACE_PER_FT * (setup.green_speed_ft - _USUAL_SPEED_FT))
    putting = PuttingSkill.model_validate(player.putting.model_dump() | {"pace_sd": min(0.6, pace)})
    return with_derived_shots(player.model_copy(update={"lies": lies, "putting": putting}))


def _halfway(one: LieEffect, other: LieEffect) -> LieEffect:
    def middle(a: Ramp, b: Ramp) -> Ramp:
        return Ramp(short=0.5 * (a.short + b.short), long=0.5 * (a.long + b.long))

    return LieEffect(
        carry=middle(one.carry, other.carry),
        spread=middle(one.spread, other.spread),
        mishit=middle(one.mishit, other.mishit),
        rollout=middle(one.rollout, other.rollout),
        longest_carry_yd=one.longest_carry_yd,
    )
