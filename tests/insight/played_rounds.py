"""Rounds played on a plan's own model, for reviews to be tested on."""

from typing import Any

import numpy as np

from caddiebrain.hole import Kind
from caddiebrain.insight.at_hand import Putts
from caddiebrain.round import RoundPlan
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.round.lookup import Spread, spread_from
from caddiebrain.terms import Lie


def random_round(plan: RoundPlan, rng: np.random.Generator, whims: float = 0.2) -> dict[str, Any]:
    """Play every hole, mostly with the lowest-score choice, now and then (``whims``) with any other."""
    return {"name": "a round", "holes": [random_hole(hole, rng, whims) for hole in plan.holes]}


def random_hole(hole: HolePlan, rng: np.random.Generator, whims: float) -> dict[str, Any]:
    shots: list[dict[str, Any]] = []
    x, y, lie = *hole.hole.tee, Lie.TEE
    feet: float | None = None
    while feet is None:
        spread = spread_from(hole.compiler, x, y, lie)
        value = spread.values(hole.strokes_worth())
        row = int(np.argmin(value))
        others = np.flatnonzero(spread.table.kind != Kind.DROP)
        if rng.random() < whims or spread.table.kind[row] == Kind.DROP:
            row = int(rng.choice(others))
        option = spread.option(row, 0.0, 0.0)
        club = option.club or option.label.split(" to ")[0]
        shot: dict[str, Any] = {"club": club, "position": [round(x, 2), round(y, 2)], "lie": str(lie)}
        shots.append(shot)
        x, y, lie, feet, shot["penalty"], holed = _played(hole, spread, row, rng)
        if holed:
            return _finished(hole, shots)
    return _finished(hole, shots + _putts(hole, feet, rng))


def _finished(hole: HolePlan, shots: list[dict[str, Any]]) -> dict[str, Any]:
    shots[-1]["result"] = "holed"
    score = len(shots) + sum(s.get("penalty", 0) for s in shots)
    return {"number": hole.number, "score": score, "shots": shots}


def _played(
    hole: HolePlan, spread: Spread, row: int, rng: np.random.Generator
) -> tuple[float, float, Lie, float | None, int, bool]:
    """Where one ball of a row ends, penalty and drop included."""
    places, number = hole.compiler.places, hole.compiler.numbering
    block = next(b for b in spread.blocks if (b.rows == row).any())
    i = int(np.flatnonzero(block.rows == row)[0])
    k = int(rng.choice(block.state.shape[1], p=block.prob[i] / block.prob[i].sum()))
    state = int(block.state[i, k])
    if state == number.cup:
        return 0.0, 0.0, Lie.GREEN, None, 0, True
    if state >= number.bin:
        return 0.0, 0.0, Lie.GREEN, max(0.5, (state - number.bin) * number.step_ft), 0, False
    if state >= number.spot and block.strokes[i, k] == 1:
        s = state - number.spot
        lie = list(Lie)[int(places.spot_lie[s])]
        return float(places.spot_x[s]), float(places.spot_y[s]), lie, None, 0, False
    # In trouble: stroke and distance does for all of it.
    return spread.x, spread.y, spread.lie, None, 1, False


def _putts(hole: HolePlan, feet: float, rng: np.random.Generator) -> list[dict[str, Any]]:
    shots = []
    while True:
        shots.append({"club": "putter", "feet": round(feet, 2)})
        holed, leave = Putts(hole.compiler, feet)._rows()
        if rng.random() < holed[2]:
            return shots
        node = rng.choice(leave.shape[1], p=leave[2] / leave[2].sum())
        feet = float([0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4, 5, 6, 7, 8, 9, 10][min(int(node), 13)])
