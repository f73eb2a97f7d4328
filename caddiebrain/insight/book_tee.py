"""A tee choice as a picture: where it is aimed, where its balls stop, what it leaves."""

from collections.abc import Sequence

import numpy as np

from caddiebrain.hole import ChoiceTable, Kind
from caddiebrain.insight.book_map import tag_of
from caddiebrain.insight.book_records import Distance, MapScale, TeeShot
from caddiebrain.insight.book_rests import oval_of, rests_of
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.round.options import Option, label_of
from caddiebrain.terms import Lie

__all__ = ["row_of", "tee_shot"]


def row_of(hole: HolePlan, option: Option) -> ChoiceTable:
    """Table of one row: the choice on the tee that an option describes."""
    model = hole.solved.model
    table = model.table.take(np.flatnonzero(model.table.node == 0))
    near = np.argsort(np.abs(np.rad2deg(table.heading) - option.aim_deg), kind="stable")
    for row in near.tolist():
        kind, index, distance = Kind(table.kind[row]), int(table.index[row]), float(table.distance[row])
        if label_of(hole.compiler, kind, index, distance) == option.label:
            return table.take(np.array([row]))
    return table.take(near[:1])


def tee_shot(hole: HolePlan, option: Option, scale: MapScale, letters: Sequence[Distance]) -> TeeShot:
    """Picture a choice on the tee; its name keeps clear of the ``letters`` on the map."""
    tee_x, tee_y = hole.hole.tee
    row = row_of(hole, option)
    at = (tee_x, tee_y, Lie.TEE)
    solid, every = rests_of(hole.compiler, at, row), rests_of(hole.compiler, at, row, mishits=True)
    x, y = solid.x, solid.y
    to_pin = np.hypot(x - hole.hole.pin[0], y - hole.hole.pin[1])
    low, middle, high = np.quantile(to_pin, [1.0 / 6.0, 0.5, 5.0 / 6.0]).tolist()
    oval = oval_of(solid)
    tag_at, anchor = tag_of(oval, option.label, hole.hole, scale, letters)
    dots = zip(np.round(every.x, 1).tolist(), np.round(every.y, 1).tolist(), strict=True)
    return TeeShot(
        label=option.label,
        aim_words=option.aim_words,
        ball=(tee_x, tee_y),
        aim_xy=option.aim_xy,
        carry_yd=float(solid.carry.mean()),
        total_yd=float(np.median(np.hypot(x - tee_x, y - tee_y))),
        leaves_yd=middle,
        leaves_low=low,
        leaves_high=high,
        expected=option.expected,
        dots=tuple(dots),
        oval=oval,
        shots=option.shots,
        tag_at=tag_at,
        tag_anchor=anchor,
    )
