"""What sorting out choices keeps and loses on the demo's holes: figures of docs/method.md, section 6.

python tests/bench/sifting.py      # some two minutes
"""

import numpy as np

from caddiebrain import demo, solve
from caddiebrain.course import Setup
from caddiebrain.flight import Conditions
from caddiebrain.hole import ChoiceTable, HoleCompiler, player_today
from caddiebrain.hole.propose import Fan
from caddiebrain.round.day import day_flight
from caddiebrain.round.prepare import prepare
from caddiebrain.round.sift import traffic

NEAR, TIE = 0.04, 1e-9
"""Strokes from the best within which a choice is near it, or as good."""
SELDOM = 2e-7
"""Balls in a square yard and a round below which ground hardly sees any."""


def shots(table: ChoiceTable, rows: np.ndarray) -> set[tuple[object, ...]]:
    """Return which choices those rows are."""
    few = table.take(rows)
    parts = (few.node, few.kind, few.index, np.round(few.heading, 9))
    return set(zip(*(part.tolist() for part in parts), strict=True))


def study(compiler: HoleCompiler, par: int) -> list[float]:
    """Return the row of one hole."""
    kept, whole = prepare(compiler), prepare(compiler, sifted=False)
    every = compiler.build(compiler.candidates(), screen=True)
    graph, table = every.graph, every.table
    value = solve.fewest_strokes(graph).value
    loss = solve.choice_values(graph, value) - value[graph.choice_state]
    seen = traffic(every, loss) / compiler.grid.lattice**2 >= SELDOM
    lost = loss[every.first_choice :][: len(table)]
    found = shots(kept.model.table, np.arange(len(kept.model.table)))
    row: list[float] = [
        len(table),
        len(compiler.candidates(Fan.MIDDLE)),
        len(kept.model.table),
        1.0 - seen.mean(),
    ]
    for within in (NEAR, TIE):
        there = shots(table, np.flatnonzero((lost <= within) & seen[table.node]))
        row += [len(there), len(there & found)]
    tees = (kept.expected.value[kept.model.tee], whole.expected.value[whole.model.tee])
    row.append(tees[0] - tees[1])
    for strokes in (par - 1, par, par + 1):
        chances = [
            solve.within_budget(one.model.graph, strokes).value[strokes, one.model.tee]
            for one in (kept, whole)
        ]
        row.append(chances[1] - chances[0])
    return row


def main() -> None:
    """Print the table, and the means over the holes."""
    player = player_today(demo.player(), Setup())  # as plans have the player: with derived shots
    flight = day_flight(player, Conditions())
    head = (
        "hole    every   middle     kept  seldom   near  found   best  found    lost   par-1     par   par+1"
    )
    form = (
        "{:4} {:8.0f} {:8.0f} {:8.0f} {:7.2f} {:6.0f} {:6.0f} {:6.0f} {:6.0f} {:7.4f} {:7.4f} {:7.4f} {:7.4f}"
    )
    print(head)
    rows = []
    for hole in demo.course().holes:
        rows.append(study(HoleCompiler(hole, player, flight, Conditions()), hole.par))
        print(form.format(hole.number, *rows[-1]), flush=True)
    print(form.format("mean", *np.mean(rows, axis=0)))


if __name__ == "__main__":
    main()
