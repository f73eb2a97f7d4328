"""Where a shot stops and what it leaves: one measure for the book, the card and the picture."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from caddiebrain.course.model import Hole
from caddiebrain.hole import ChoiceTable, HoleCompiler, Kind
from caddiebrain.hole.ground import CODE
from caddiebrain.insight.book_rests import Rests, rests_of
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.round.options import Option, label_of
from caddiebrain.terms import Lie

__all__ = ["Stop", "row_of", "stop_of", "tee_stop", "trouble_aside"]

_ASIDE_YD = np.arange(0.0, 61.0, 3.0)
_ALONG_YD = np.arange(-25.0, 26.0, 5.0)
"""Where ground beside a tee shot is looked at, from where it stops."""


@dataclass(frozen=True)
class Stop:
    """Where the solid balls of a shot off the tee stop: wind, the player's own bias and the ground counted.

    Parameters
    ----------
    at : tuple of float
        Their middle, yards in the hole's axes.
    carry_yd : float
        Mean carry.
    total_yd, leaves_yd : float
        Medians of the yards from the tee and to the pin.
    leaves_low, leaves_high : float
        Two in three leave from this to this.
    """

    at: tuple[float, float]
    carry_yd: float
    total_yd: float
    leaves_yd: float
    leaves_low: float
    leaves_high: float


def tee_stop(compiler: HoleCompiler, table: ChoiceTable) -> Stop:
    """Where one choice on the tee, a table of one row, stops."""
    return stop_of(rests_of(compiler, (*compiler.hole.tee, Lie.TEE), table), compiler.hole)


def stop_of(solid: Rests, hole: Hole) -> Stop:
    """Measure the solid balls of a shot off the tee."""
    x, y = solid.x, solid.y
    to_pin = np.hypot(x - hole.pin[0], y - hole.pin[1])
    low, middle, high = np.quantile(to_pin, [1.0 / 6.0, 0.5, 5.0 / 6.0]).tolist()
    return Stop(
        at=(float(x.mean()), float(y.mean())),
        carry_yd=float(solid.carry.mean()),
        total_yd=float(np.median(np.hypot(x - hole.tee[0], y - hole.tee[1]))),
        leaves_yd=middle,
        leaves_low=low,
        leaves_high=high,
    )


def trouble_aside(compiler: HoleCompiler, stop: Stop, side: str) -> Literal["", "out of bounds", "woods"]:
    """What lies to the left or right of where a tee shot stops, out of bounds first; empty where it is open."""
    x, y = stop.at
    far = max(float(np.hypot(x - compiler.hole.tee[0], y - compiler.hole.tee[1])), 1e-9)
    on = np.array([x - compiler.hole.tee[0], y - compiler.hole.tee[1]]) / far
    out = np.array([on[1], -on[0]]) * (1.0 if side == "right" else -1.0)
    away, along = (a.ravel() for a in np.meshgrid(_ASIDE_YD, _ALONG_YD))
    lies = compiler.ground.lie_at(x + away * out[0] + along * on[0], y + away * out[1] + along * on[1])
    if np.any(lies == CODE[Lie.OUT]):
        return "out of bounds"
    return "woods" if np.any(lies == CODE[Lie.TREES]) else ""


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
