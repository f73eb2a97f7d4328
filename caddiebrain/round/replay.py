"""Stroke and distance as a choice from where a ball lies: back to where it was last played, one penalty stroke.

Open to any ball at any time (Rule 18.1), so also to one that is unplayable (19.2a, 19.3a). A place that is asked about
does not remember where a ball came from; the player does, and says so.
"""

from collections.abc import Sequence

import numpy as np

from caddiebrain.errors import InputError
from caddiebrain.hole.ground import CODE, LIES, SPECIAL
from caddiebrain.round.aims import aim_point
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.round.lookup import state_at
from caddiebrain.round.options import Option
from caddiebrain.round.place import on_the_tee
from caddiebrain.round.ranking import order_for_target
from caddiebrain.round.results import BACK, RESULTS
from caddiebrain.terms import Lie

__all__ = ["REPLAY", "in_order", "replay"]

REPLAY = "play again from where it was (one penalty stroke)"


def replay(
    plan: HolePlan, ball: tuple[float, float], played_from: tuple[float, float], strokes_left: int
) -> Option:
    """Weigh stroke and distance.

    Parameters
    ----------
    plan : HolePlan
    ball, played_from : tuple of float
        Where the ball lies and where it was last played, yards in the hole's axes.
    strokes_left : int
        Under the target, before the penalty stroke.

    Raises
    ------
    InputError
        If no ball is played from there.
    """
    state = _state(plan, *played_from)
    resting = plan.compiler.resting[[state]]
    expected = 1.0 + float((resting @ plan.strokes_worth().layers[0])[0])
    chance = float((resting @ plan.chance_worth(strokes_left).layers[1])[0])
    dx, dy = played_from[0] - ball[0], played_from[1] - ball[1]
    aim = aim_point(
        plan.compiler.ground, *ball, float(np.arctan2(dx, dy)), float(np.hypot(dx, dy)), at_pin=False
    )
    shares = {RESULTS[BACK]: 1.0}
    return Option(REPLAY, "", "", "", aim, 0.0, expected, min(1.0, max(0.0, chance)), shares)


def in_order(options: Sequence[Option]) -> tuple[Option, ...]:
    """Put options best first; see `caddiebrain.round.ranking`."""
    strokes, chance = (
        np.array(column) for column in zip(*((o.expected, o.chance) for o in options), strict=True)
    )
    return tuple(options[i] for i in order_for_target(strokes, chance))


def _state(plan: HolePlan, x: float, y: float) -> int:
    """State of the graph that stands for a place a ball was played from."""
    compiler = plan.compiler
    ground, number, where = compiler.ground, compiler.numbering, f"({x:.0f}, {y:.0f})"
    if on_the_tee(plan.hole, x, y):
        return number.node
    at_x, at_y = np.array([x]), np.array([y])
    if not (np.isfinite(x) and np.isfinite(y)) or not ground.frame.holds(at_x, at_y)[0]:
        raise InputError.one(f"hole {plan.number}", "played_from", where, "a place on the map of the hole")
    code = int(ground.lie_at(at_x, at_y)[0])
    if code == CODE[Lie.GREEN]:
        return int(number.bin_of(3.0 * ground.from_pin(at_x, at_y))[0])
    if code in SPECIAL:
        raise InputError.one(
            f"hole {plan.number}", "played_from", f"{where} in {LIES[code]}", "a lie a ball is played from"
        )
    return state_at(compiler, x, y, code)
