"""Two choices from one place, weighed on the plan's own hole or on the hole changed and solved again."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from caddiebrain import solve
from caddiebrain.course.model import Hole
from caddiebrain.flight import Conditions
from caddiebrain.hole import ChoiceTable, HoleCompiler, HoleModel, Kind
from caddiebrain.insight.records_breakeven import Measure
from caddiebrain.insight.spots import Picker, Spot, best_row, stem
from caddiebrain.player.model import Player
from caddiebrain.round.chain import Finish
from caddiebrain.round.day import day_flight
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.round.lookup import spread_from
from caddiebrain.round.sift import sift
from caddiebrain.round.worth import MOST_STROKES, Worth
from caddiebrain.terms import Lie

__all__ = ["Lab", "Names"]

Floats = NDArray[np.float64]
Names = tuple[tuple[str, float | None], tuple[str, float | None]]

_BUDGET = 16
"""Strokes under the strokes left that are followed when the target is the measure."""


@dataclass
class Lab:
    """Two choices on one hole, ready to be weighed on a changed one; nothing of the round's other holes is in it.

    Parameters
    ----------
    hole : HolePlan
    place : tuple
        x and y in yards of the hole's axes, and the lie.
    strokes_left : int
        Under the target, from this place.
    after : Finish
        Chances on the next tee.
    conditions : Conditions
    firmness : float
    names : tuple
        The two choices, as `Picker` takes them.
    measure : {"score", "target"}
    sign : float
        -1 where the second is today's better one.
    labels, pattern : list
        Name and pattern of each of the two; None for what is no full shot.
    """

    hole: HolePlan
    place: tuple[float, float, Lie]
    strokes_left: int
    after: Finish
    conditions: Conditions
    firmness: float
    names: Names
    measure: Measure
    sign: float = 1.0
    labels: list[str] = field(default_factory=list)
    pattern: list[int | None] = field(default_factory=list)

    @classmethod
    def of(cls, spot: Spot, first: str, second: str, measure: Measure) -> "Lab":
        """Set up a place of a plan."""
        plan, hole = spot.plan, spot.hole
        later = plan.holes[[h.number for h in plan.holes].index(hole.number) + 1 :]
        return cls(
            hole,
            (spot.x, spot.y, spot.lie),
            spot.strokes_left,
            later[0].chances.start if later else Finish.end_of_round(),
            plan.conditions,
            plan.setup.firmness,
            ((first, None), (second, None)),
            measure,
        )

    def today(self) -> float:
        """Weigh the two on the plan itself, and turn the sign so that today's lead is not negative."""
        hole = self.hole
        worth = hole.strokes_worth() if self.measure == "score" else hole.chance_worth(self.strokes_left)
        rows, values, table = self._weigh(hole.compiler, worth)
        spread = spread_from(hole.compiler, *self.place, Picker(hole.compiler, self.names, self.place))
        self.labels = [spread.named(row).label for row in rows]
        self.pattern = [int(table.index[row]) if table.kind[row] == Kind.FULL else None for row in rows]
        # A short shot's distance changes with the pin, its name does not.
        full = [pattern is not None for pattern in self.pattern]
        first, second = (
            name if isfull else (stem(name[0]), None) for name, isfull in zip(self.names, full, strict=True)
        )
        self.names = first, second
        lead = self._lead(rows, values)
        self.sign = 1.0 if lead >= 0.0 else -1.0
        return abs(lead)

    def _weigh(self, compiler: HoleCompiler, worth: Worth) -> tuple[tuple[int, int], Floats, ChoiceTable]:
        picker = Picker(compiler, self.names, self.place)
        spread = spread_from(compiler, *self.place, picker)
        values = spread.values(worth)
        cost = -values if worth.larger_is_better else values
        edge = picker.sizes[0]
        rows = (
            best_row(np.arange(edge), cost, cost * 0.0, "score"),
            best_row(np.arange(edge, len(cost)), cost, cost * 0.0, "score"),
        )
        return rows, values, spread.table

    def _lead(self, rows: tuple[int, int], values: Floats) -> float:
        first, second = float(values[rows[0]]), float(values[rows[1]])
        return self.sign * (second - first if self.measure == "score" else first - second)

    def lead(
        self,
        hole: Hole | None = None,
        player: Player | None = None,
        day: Conditions | None = None,
    ) -> float:
        """Lead of today's better choice on a changed hole, solved again."""
        old = self.hole.compiler
        golfer, weather = player or old.player, day or self.conditions
        flight = day_flight(golfer, weather)
        compiler = HoleCompiler(hole or old.hole, golfer, flight, weather, old.grid, self.firmness)
        # The same ground has the same nodes, and a tighter club the same aims: no choice need be sought anew.
        if hole is None and day is None:
            table, compiler = self.hole.table, compiler.knowing(old.to_go)
        else:
            found = sift(compiler)
            table, compiler = found.table, compiler.knowing(found.value)
        model = compiler.build(table)
        rows, values, _ = self._weigh(compiler, self._worth(model))
        return self._lead(rows, values)

    def _worth(self, model: HoleModel) -> Worth:
        kept = model.numbering.spot
        if self.measure == "score":
            return Worth((solve.fewest_strokes(model.graph, tol=1e-6).value[:kept],))
        left = self.strokes_left
        after = self.after.at(np.arange(left - _BUDGET, left + 1))
        value = solve.within_budget(model.graph, _BUDGET, np.clip(after, 0.0, 1.0)).value
        return Worth(tuple(value[_BUDGET - cost, :kept] for cost in range(MOST_STROKES + 1)))
