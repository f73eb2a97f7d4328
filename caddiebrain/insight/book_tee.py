"""A tee choice as a picture: where it is aimed, where its balls stop, what it leaves."""

from collections.abc import Sequence

import numpy as np

from caddiebrain.insight.book_map import tag_of
from caddiebrain.insight.book_records import Distance, MapScale, TeeShot
from caddiebrain.insight.book_rests import oval_of, rests_of
from caddiebrain.insight.stops import row_of, stop_of
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.round.options import Option
from caddiebrain.terms import Lie

__all__ = ["tee_shot"]


def tee_shot(hole: HolePlan, option: Option, scale: MapScale, letters: Sequence[Distance]) -> TeeShot:
    """Picture a choice on the tee; its name keeps clear of the ``letters`` on the map."""
    tee_x, tee_y = hole.hole.tee
    row = row_of(hole, option)
    at = (tee_x, tee_y, Lie.TEE)
    solid, every = rests_of(hole.compiler, at, row), rests_of(hole.compiler, at, row, mishits=True)
    stop, oval = stop_of(solid, hole.hole), oval_of(solid)
    tag_at, anchor = tag_of(oval, option.label, hole.hole, scale, letters)
    dots = zip(np.round(every.x, 1).tolist(), np.round(every.y, 1).tolist(), strict=True)
    return TeeShot(
        label=option.label,
        aim_words=option.aim_words,
        ball=(tee_x, tee_y),
        aim_xy=option.aim_xy,
        carry_yd=stop.carry_yd,
        total_yd=stop.total_yd,
        leaves_yd=stop.leaves_yd,
        leaves_low=stop.leaves_low,
        leaves_high=stop.leaves_high,
        expected=option.expected,
        dots=tuple(dots),
        oval=oval,
        shots=option.shots,
        tag_at=tag_at,
        tag_anchor=anchor,
    )
