"""Rounds played on a plan's own model, for reviews to be tested on."""

from typing import Any

import numpy as np

from caddiebrain.hole import Kind
from caddiebrain.insight.at_hand import Putts
from caddiebrain.round import RoundPlan
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.round.lookup import Spread, spread_from
from caddiebrain.round.worth import value_of_states
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
        option = spread.named(row)
        club = option.club or option.label.split(" to ")[0]
        shot: dict[str, Any] = {"club": club, "position": [round(x, 2), round(y, 2)], "lie": str(lie)}
        shots.append(shot)
        x, y, lie, feet, shot["penalty"], shot["result"] = _played(hole, spread, row, rng)
        if shot["result"] == "holed":
            return _finished(hole, shots)
    return _finished(hole, shots + _putts(hole, feet, rng))


def _finished(hole: HolePlan, shots: list[dict[str, Any]]) -> dict[str, Any]:
    shots[-1]["result"] = "holed"
    score = len(shots) + sum(s.get("penalty", 0) for s in shots)
    return {"number": hole.number, "score": score, "shots": shots}


def _played(
    hole: HolePlan, spread: Spread, row: int, rng: np.random.Generator
) -> tuple[float, float, Lie, float | None, int, str]:
    """Where one ball of a row ends, penalty and best drop included, and the lie it came to rest in."""
    number = hole.compiler.numbering
    block = next(b for b in spread.blocks if (b.rows == row).any())
    i = int(np.flatnonzero(block.rows == row)[0])
    k = int(rng.choice(block.state.shape[1], p=block.prob[i] / block.prob[i].sum()))
    state = int(block.state[i, k])
    if state == number.cup:
        return 0.0, 0.0, Lie.GREEN, None, 0, "holed"
    if state >= number.bin:
        return 0.0, 0.0, Lie.GREEN, max(0.5, (state - number.bin) * number.step_ft), 0, "green"
    if state >= number.spot and block.strokes[i, k] == 1:
        x, y, lie = _spot(hole, state - number.spot)
        return x, y, lie, None, 0, str(lie)
    if state >= 0:
        return spread.x, spread.y, spread.lie, None, 1, "out"
    return _dropped(hole, spread, int(spread.trouble.pair_of_entry[-1 - state]))


def _spot(hole: HolePlan, spot: int) -> tuple[float, float, Lie]:
    places = hole.compiler.places
    return float(places.spot_x[spot]), float(places.spot_y[spot]), list(Lie)[int(places.spot_lie[spot])]


def _dropped(hole: HolePlan, spread: Spread, pair: int) -> tuple[float, float, Lie, float | None, int, str]:
    """The best relief from a penalty area, or stroke and distance."""
    number, trouble = hole.compiler.numbering, spread.trouble
    place = int(trouble.pair_place[pair])
    result = str(list(Lie)[int(trouble.place_lie[place])])
    value = value_of_states(hole.compiler, hole.strokes_worth().layers[0])
    back = 1.0 + value[int(trouble.pair_origin[pair])]
    drops = [(r.strokes + value[number.spot + r.spot], r) for r in trouble.reliefs[place]]
    if drops and min(d[0] for d in drops) < back:
        relief = min(drops, key=lambda d: d[0])[1]
        x, y, lie = _spot(hole, relief.spot)
        return x, y, lie, None, relief.strokes, result
    return spread.x, spread.y, spread.lie, None, 1, result


def _putts(hole: HolePlan, feet: float, rng: np.random.Generator) -> list[dict[str, Any]]:
    shots = []
    while True:
        shots.append({"club": "putter", "feet": round(feet, 2)})
        holed, leave = Putts(hole.compiler, feet)._rows()
        if rng.random() < holed[2]:
            return shots
        node = rng.choice(leave.shape[1], p=leave[2] / leave[2].sum())
        feet = float([0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4, 5, 6, 7, 8, 9, 10][min(int(node), 13)])
