"""What shapes win away from the tee: figures of docs/conditions.md.

python tests/bench/shapes.py                  # whole rounds; some ten minutes
python tests/bench/shapes.py --approaches     # a straight 8-iron and bent ones on the holes of a test

Plans rounds of both courses for several players, winds and pins. From the places more than 70 yards from the pin
where play most often comes, the best shot of a derived shape is held against the best of all others, with and without
trees on the way. What looks near to a gain is valued afresh with more points, for the best of many choices is the one
its points flatter.
"""

import argparse
import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "round"))

import test_bent_approaches as holes
from single_hole import plan_of

import caddiebrain as cb
from caddiebrain import solve
from caddiebrain.course import Setup
from caddiebrain.errors import InputError
from caddiebrain.flight import Conditions
from caddiebrain.hole import GridSpec, Kind
from caddiebrain.hole.ground import LIES
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.round.lookup import spread_from
from caddiebrain.terms import Height, Shape

HEATH = Path(__file__).parents[2] / "course_specs" / "heath_by_numbers.json"
POINTS = 610, 144
ROUNDS = (
    *(("demo", "demo", 0, 0, pin) for pin in (None, "front", "left", "right")),
    *(("demo", "demo", 15, way, pin) for way, pin in ((0, None), (90, None), (180, "left"), (270, "right"))),
    *(("demo", 0, mph, 270, pin) for mph, pin in ((0, None), (0, "left"), (15, None))),
    ("demo", 20, 0, 0, None),
    *(("heath", "demo", 0, 0, pin) for pin in (None, "left", "right")),
    ("heath", "demo", 15, 90, None),
    ("heath", 0, 15, 270, "left"),
    ("heath", 0, 0, 0, "right"),
)
"""Course, player (a number is the handicap index of a level), wind in mph, where it is from, pins."""


@dataclass(frozen=True)
class Found:
    """A place: how often a round plays from it, whether trees are on the way, what the best derived shape gains."""

    often: float
    trees: bool
    gain: float


def places_of(plan: HolePlan, most: int) -> Iterator[tuple[int, float]]:
    """Nodes far from the pin and how often a round plays from each, the most played first."""
    model = plan.solved.model
    number, places = model.numbering, model.compiler.places
    visits = solve.visit_frequencies(model.graph, plan.solved.expected.choice, model.tee)
    often = visits[number.node : number.spot].copy()
    px, py = plan.hole.pin
    often[np.hypot(places.x - px, places.y - py) <= 70.0] = often[0] = 0.0
    for node in np.argsort(-often)[:most]:
        if often[node] > 0.0:
            yield int(node), float(often[node])


def gain_at(plan: HolePlan, node: int) -> float:
    """What the best derived shape gains on the best other choice, strokes; NaN where none is looked at."""
    compiler, worth = plan.compiler, plan.strokes_worth()
    places, patterns = compiler.places, compiler.player.patterns
    place = float(places.x[node]), float(places.y[node]), LIES[places.lie[node]]
    try:
        spread = spread_from(compiler, *place)
    except InputError:  # a node on the border, which no ball can be asked about
        return float("nan")
    table, strokes = spread.table, spread.values(worth)
    shaped = [i for i, p in enumerate(patterns) if p.derived and p.height is Height.STOCK]
    bent = (table.kind == Kind.FULL) & np.isin(table.index, shaped)
    if not bent.any():
        return float("nan")
    two = np.array([np.flatnonzero(some)[np.argmin(strokes[some])] for some in (~bent, bent)])
    gain = strokes[two[0]] - strokes[two[1]]
    if gain > -0.01:
        closely = compiler.played_by(compiler.player, compiler.arsenal)
        closely.grid = replace(compiler.grid, points=POINTS)
        again = spread_from(closely, *place, pick=lambda _: table.take(two)).values(worth)
        gain = again[0] - again[1]
    return float(gain)


def sweep(most: int) -> list[Found]:
    """Look at the most played places of every hole of every round."""
    found = []
    for course_name, who, mph, way, pin in ROUNDS:
        course = cb.demo.course() if course_name == "demo" else cb.load_course(HEATH)
        player = cb.demo.player() if who == "demo" else cb.Level(handicap_index=float(who)).player()
        wind = Conditions(wind_mph=mph, wind_from_deg=way)
        setup = Setup(pin=pin) if pin else None
        plan = cb.plan_round(course, player, course.par + 7, wind, setup)
        here = []
        for hole in plan.holes:
            for node, often in places_of(hole, most):
                gain = gain_at(hole, node)
                if np.isfinite(gain):
                    here.append(Found(often, bool(hole.compiler.shaded[node]), gain))
        print(f"{course_name}, player {who}, {mph} mph from {way}, pins {pin or 'as drawn'}:", flush=True)
        told(here, 1)
        found.extend(here)
    return found


def told(found: list[Found], rounds: int) -> None:
    """Print what was found, with and without trees on the way."""
    for trees in (False, True):
        gain, often = np.array([(f.gain, f.often) for f in found if f.trees == trees]).T
        clear = gain > 0.01
        print(
            f"  {'with' if trees else 'no'} trees on the way: {len(gain)} places, "
            f"in the middle {np.median(gain):+.3f}, at most {gain.max():+.3f}, {clear.sum()} gain more than 0.01, "
            f"{often[clear].sum() / rounds:.4f} shots a round, "
            f"{(often * np.maximum(gain, 0.0)).sum() / rounds:.5f} strokes a round in all"
        )


def approaches() -> None:
    """Print what an 8-iron bent gains on a straight one: shapes as practised as the straight shot, and derived ones."""
    for who, player in (("demo", cb.demo.player()), ("scratch", cb.Level(handicap_index=0.0).player())):
        (iron,) = (p for p in player.patterns if p.club == "8-iron" and p.shape is Shape.STRAIGHT)
        own = [
            iron.model_copy(update={"shape": shape, "curve_yd": curve * iron.carry_yd})
            for shape, curve in ((Shape.DRAW, -0.055), (Shape.FADE, 0.055))
        ]
        practised = player.model_copy(update={"patterns": (*player.patterns, *own)})
        for name, hole in (*holes.OPEN.items(), ("gap in woods", holes.CORNER)):
            for kind, golfer in (("practised", practised), ("derived", player)):
                plan = plan_of(hole, golfer, grid=GridSpec(points=POINTS))
                worth = {o.label: o.expected for o in plan.options(1, holes.BALL, lie="fairway")}
                draw, fade = (worth[f"8-iron {bend}"] - worth["8-iron"] for bend in ("draw", "fade"))
                print(f"{who:8}{name:32}{kind:10} draw {draw:+.3f}  fade {fade:+.3f}", flush=True)


def main() -> None:
    """Run the sweep, or the approaches."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--places", type=int, default=60, help="of each hole, at most")
    parser.add_argument("--approaches", action="store_true", help="one shot on invented holes")
    asked = parser.parse_args()
    if asked.approaches:
        approaches()
        return
    found = sweep(asked.places)
    print(f"all {len(ROUNDS)} rounds:")
    told(found, len(ROUNDS))


if __name__ == "__main__":
    main()
