"""How long a plan takes, and how that grows; run by hand: ``python tests/bench/plan.py``.

Prints the cold plan of the demo in fresh processes (18 holes, every target and standing), look-ups in a made
plan, peak memory, and one hole's time as its cells shrink, its points grow and its aims close up. With
``--export FILE`` it writes one compiled hole, every choice included, as the arrays that ``tests/bench/solvers.py``
reads.
"""

import argparse
import resource
import statistics
import subprocess
import sys
import time
from contextlib import nullcontext
from dataclasses import replace
from typing import Any
from unittest.mock import patch

import caddiebrain as cb
from caddiebrain.course import Setup
from caddiebrain.flight import Conditions
from caddiebrain.graph import write_graph
from caddiebrain.hole import GridSpec, HoleCompiler, player_today, propose
from caddiebrain.round.day import day_flight
from caddiebrain.round.prepare import prepare

COLD = """
import time
start = time.perf_counter()
import caddiebrain as cb
plan = cb.plan_round(cb.demo.course(), cb.demo.player(), target=79)
plan.chance(), plan.chance_expected_policy(), [h.switches for h in plan.holes]
took = time.perf_counter() - start
import resource
uses = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
print(took, sum(u.ru_utime + u.ru_stime for u in uses), sum(u.ru_maxrss for u in uses) / 1e6)
"""


def cold(runs: int) -> None:
    """Plan the demo in fresh processes."""
    rows = []
    for _ in range(runs):
        out = subprocess.run([sys.executable, "-c", COLD], capture_output=True, text=True, check=True)
        rows.append([float(x) for x in out.stdout.split()])
    names = ("wall", "processor, all processes", "peak memory, this process and its largest helper")
    for name, unit, column in zip(names, ("s", "s", "GB"), zip(*rows, strict=True), strict=True):
        print(f"cold plan, {name}: median {statistics.median(column):.2f} {unit}, least {min(column):.2f}")


def look_ups() -> None:
    """Time repeated look-ups in one plan."""
    plan = cb.plan_round(cb.demo.course(), cb.demo.player(), target=79)
    asks = {
        "tee, every club": lambda: plan.hole(14).tee_options(standing=3),
        "215 yards, fairway": lambda: plan.options(hole=9, to_pin=215, lie="fairway", standing=3),
        "165 yards, trees": lambda: plan.options(hole=14, to_pin=165, lie="trees", strokes_on_hole=1),
        "250 yards, trees": lambda: plan.options(hole=3, to_pin=250, lie="trees", strokes_on_hole=1),
        "60 yards, rough": lambda: plan.options(hole=1, to_pin=60, lie="rough", strokes_on_hole=2),
        "20 yards, sand": lambda: plan.options(hole=1, to_pin=20, lie="sand", strokes_on_hole=2),
        "250 yards, sand, every aim": lambda: plan.options(10, to_pin=250, lie="sand", every_aim=True),
        "350 yards, another tee": lambda: plan.options(hole=3, to_pin=350, lie="tee", standing=3),
        "tee, every aim": lambda: plan.options(10, plan.hole(10).hole.tee, every_aim=True),
        "two clubs compared on the tee": lambda: cb.compare(
            plan, 10, *clubs, position=plan.hole(10).hole.tee
        ),
        "chance of any total": lambda: plan.chance(84),
    }
    clubs = [option.label for option in plan.hole(10).tee_options()[:2]]
    for name, ask in asks.items():
        ask()
        times, spent = [], []
        for _ in range(15):
            start, before = time.perf_counter(), time.process_time()
            ask()
            times.append(time.perf_counter() - start)
            spent.append(time.process_time() - before)
        print(
            f"look-up, {name}: median {1e3 * statistics.median(times):.1f} ms, most {1e3 * max(times):.1f}, "
            f"least processor time {1e3 * min(spent):.1f}"
        )
    print(f"peak memory with the plan: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6:.2f} GB")


def compiler(grid: GridSpec, hole: int = 14) -> HoleCompiler:
    """One hole of the demo on a grid."""
    player, still = player_today(cb.demo.player(), Setup()), Conditions()
    return HoleCompiler(cb.demo.course().hole(hole), player, day_flight(player, still), still, grid)


def aims_closer() -> Any:
    """Lay out aims half as far apart over the same width, while it lasts."""
    doubled = {name: 2 * getattr(propose, name) for name in ("_SIDE", "_SIDE_FINE")}
    halved = {name: getattr(propose, name) / 2 for name in ("_SPACING", "_LEAST_SPACING")}
    return patch.multiple(propose, **doubled, **halved)


def growth() -> None:
    """Time one hole on finer lattices, with more points and with more aims, as ratios to the usual grid."""
    usual = GridSpec()
    grids = {
        "usual grid": usual,
        "lattices 0.7 as wide": replace(
            usual,
            lattice=0.7 * usual.lattice,
            sparse_lattice=0.7 * usual.sparse_lattice,
            near_lattice=0.7 * usual.near_lattice,
        ),
        "every cell halved": usual.halved(),
        "points 2.6 times": replace(usual, points=(233, 55)),
        "aims half as far apart": usual,
    }
    prepare(compiler(usual))  # what is loaded or drawn up once is not counted
    base = None
    for name, grid in grids.items():
        with aims_closer() if name == "aims half as far apart" else nullcontext():
            tried = len(compiler(grid).candidates())
            start = time.process_time()
            solved = prepare(compiler(grid))
            spent = time.process_time() - start
        base = base or spent
        graph = solved.model.graph
        value = solved.expected.value[solved.model.tee]
        print(
            f"hole 14, {name}: {spent / base:.2f} of the usual time, {tried} choices at first, "
            f"{graph.n_choices} in the end, {graph.n_outcomes / 1e6:.1f} million outcomes, expected {value:.3f}"
        )


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--export", metavar="FILE", help="write one compiled hole as .npz and stop")
    args = parser.parse_args()
    if args.export:
        one = compiler(replace(GridSpec(), screen_points=(55, 13)))
        write_graph(one.build(one.candidates(), screen=True).graph, args.export)
        return
    cold(args.runs)
    look_ups()
    growth()


if __name__ == "__main__":
    main()
