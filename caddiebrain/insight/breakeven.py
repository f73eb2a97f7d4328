"""What would have to be true for the other choice: found by solving the changed hole, not by a rule.

For each thing that might be otherwise the lead of the better choice, L(t), is worked out on the hole changed by t,
compiled and solved again from the cup back. Where L changes sign between today and a bound, the root is closed in
on by the Illinois variant of false position, which keeps it between two solved holes (Dowell & Jarratt 1971, *BIT*
11:168-174).
"""

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from caddiebrain import solve
from caddiebrain.course.model import Hole
from caddiebrain.errors import InputError
from caddiebrain.flight import Conditions
from caddiebrain.hole import ChoiceTable, HoleCompiler, HoleModel, Kind
from caddiebrain.hole.propose import between
from caddiebrain.insight.records_breakeven import BreakEven, BreakEvens, Measure, StandingRange
from caddiebrain.insight.spots import Picker, Spot, best_row, spot_of, stem
from caddiebrain.insight.what_if import pin_moved, room_for_pin, with_fairway, with_spread, with_wind
from caddiebrain.insight.words_breakeven import answer_words, break_even_sentence
from caddiebrain.player.model import Player
from caddiebrain.round.chain import Finish
from caddiebrain.round.day import day_flight
from caddiebrain.round.lookup import MOST_STROKES, Worth, spread_from
from caddiebrain.round.plan import RoundPlan
from caddiebrain.round.prepare import MARGIN

__all__ = ["break_evens"]

Floats = NDArray[np.float64]
Change = Callable[[float], float]

_WIDER_YD, _NARROWER_YD = 40.0, 24.0
_TIGHTER = 0.7
_WIND_MPH = 25.0
_MOST_TRIES = 8
_LEVEL: dict[Measure, float] = {"score": 0.01, "target": 0.002}
"""Leads smaller than this are within the grain of the model: the two are level and nothing is looked for."""
_BUDGET = 16
"""Strokes under the strokes left that are followed when the target is the measure."""
_STANDINGS = range(-18, 37)
_LIVE = 1e-4
"""Standings count while either choice's chance lies this far from 0 and 1."""


@dataclass(frozen=True)
class _Question:
    """Something that might be otherwise: ``lead(t)`` for t from 0 (today) to ``bound``, found ``within`` t."""

    name: str
    unit: str
    bound: float
    within: float
    lead: Change


@dataclass
class _Lab:
    """Two choices on one hole, ready to be weighed on a changed one."""

    spot: Spot
    names: tuple[tuple[str, float | None], tuple[str, float | None]]
    measure: Measure
    sign: float = 1.0
    labels: list[str] = field(default_factory=list)
    pattern: list[int | None] = field(default_factory=list)

    def today(self) -> float:
        """Weigh the two on the plan itself, and turn the sign so that today's lead is not negative."""
        hole = self.spot.hole
        worth = hole.strokes_worth() if self.measure == "score" else hole.chance_worth(self.spot.strokes_left)
        rows, values, table = self._weigh(hole.compiler, worth)
        place = (self.spot.x, self.spot.y, self.spot.lie)
        spread = spread_from(hole.compiler, *place, Picker(hole.compiler, self.names, place))
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
        place = (self.spot.x, self.spot.y, self.spot.lie)
        picker = Picker(compiler, self.names, place)
        spread = spread_from(compiler, *place, picker)
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
        old, plan = self.spot.hole.compiler, self.spot.plan
        golfer, weather = player or old.player, day or plan.conditions
        compiler = HoleCompiler(
            hole or old.hole, golfer, day_flight(golfer, weather), weather, old.grid, plan.setup.firmness
        )
        # The same ground has the same nodes, and a tighter club the same aims: no choice need be sought anew.
        table = self.spot.hole.table if hole is None and day is None else _sifted(compiler)
        model = compiler.build(table)
        rows, values, _ = self._weigh(compiler, self._worth(model))
        return self._lead(rows, values)

    def _worth(self, model: HoleModel) -> Worth:
        kept = model.numbering.spot
        if self.measure == "score":
            return Worth((solve.fewest_strokes(model.graph, tol=1e-6).value[:kept],))
        left = self.spot.strokes_left
        after = self._after().at(np.arange(left - _BUDGET, left + 1))
        value = solve.within_budget(model.graph, _BUDGET, np.clip(after, 0.0, 1.0)).value
        return Worth(tuple(value[_BUDGET - cost, :kept] for cost in range(MOST_STROKES + 1)))

    def _after(self) -> Finish:
        holes = self.spot.plan.holes
        i = [h.number for h in holes].index(self.spot.hole.number)
        return holes[i + 1].chances.start if i + 1 < len(holes) else Finish.end_of_round()


def _sifted(compiler: HoleCompiler) -> ChoiceTable:
    """Choices near the best expected score on a coarse graph, with the aims between; all on the tee."""
    table = compiler.candidates()
    coarse = compiler.build(table, screen=True)
    value = solve.fewest_strokes(coarse.graph, tol=1e-6).value
    loss = solve.choice_values(coarse.graph, value) - value[coarse.graph.choice_state]
    near = loss[coarse.first_choice : coarse.first_choice + len(table)] <= MARGIN
    return between(table.take(near | (table.node == 0)))


def break_evens(
    plan: RoundPlan,
    hole: int,
    first: str,
    second: str,
    *,
    position: tuple[float, float] | None = None,
    to_pin: float | None = None,
    lie: str | None = None,
    strokes_on_hole: int = 0,
    standing: int = 0,
    by: Measure = "score",
    questions: Sequence[str] | None = None,
    workers: int | None = None,
) -> BreakEvens:
    """Find what would have to be true for the other of two choices.

    Parameters
    ----------
    plan : RoundPlan
    hole : int
    first, second : str
        Choices as `RoundPlan.options` names them; each is given its best aim in every case.
    position, to_pin, lie, strokes_on_hole, standing
        As for `caddiebrain.insight.compare.compare`.
    by : {"score", "target"}
        Whether the better choice is the one with the lower expected score or the better chance of the target.
    questions : sequence of str, optional
        Some of "fairway", "spread", "wind", "pin"; by default all.
    workers : int, optional
        Threads; by default one for each processor, at most 4.

    Returns
    -------
    BreakEvens

    Raises
    ------
    UnknownError
        If there is no such hole, lie or choice.
    InputError
        If the position is off the hole, or a question is none of the four.

    Notes
    -----
    Every case but a tighter club takes a full solve of the hole, about half a second; some twenty are needed for
    all questions. A change is looked for between today and its bound; one that tips the choice over and back
    within a quarter of that span may be missed.
    """
    _check(by, questions)
    spot = spot_of(plan, hole, position, to_pin, lie, strokes_on_hole, standing)
    lab = _Lab(spot, ((first, None), (second, None)), by)
    lead = lab.today()
    better, other = lab.labels if lab.sign > 0 else lab.labels[::-1]
    asked = () if lead < _LEVEL[by] else (_MAKERS if questions is None else questions)
    wanted = [q for name in asked for q in _MAKERS[name](lab)]
    with ThreadPoolExecutor(workers or min(4, os.cpu_count() or 1)) as pool:
        answers = tuple(pool.map(lambda q: _answer(q, lead, other, by), wanted))
    return BreakEvens(
        sentence=break_even_sentence(better, other, lead, by, answers, plan.target, lead < _LEVEL[by]),
        hole=hole,
        measure=by,
        better=better,
        other=other,
        lead=lead,
        answers=answers,
        by_standing=_by_standing(lab),
    )


def _check(by: str, questions: Sequence[str] | None) -> None:
    if by not in ("score", "target"):
        raise InputError.one("break_evens", "by", repr(by), '"score" or "target"')
    strange = [q for q in questions or () if q not in _MAKERS]
    if strange:
        raise InputError.one("break_evens", "questions", ", ".join(map(repr, strange)), ", ".join(_MAKERS))


def _fairway(lab: _Lab) -> list[_Question]:
    hole = lab.spot.hole.hole
    return [
        _Question("fairway wider", "yards", _WIDER_YD, 0.5, lambda t: lab.lead(hole=with_fairway(hole, t))),
        _Question(
            "fairway narrower", "yards", _NARROWER_YD, 0.5, lambda t: lab.lead(hole=with_fairway(hole, -t))
        ),
    ]


def _spread(lab: _Lab) -> list[_Question]:
    other = 1 if lab.sign > 0 else 0
    pattern, player = lab.pattern[other], lab.spot.hole.compiler.player
    if pattern is None or lab.pattern[0] == lab.pattern[1]:
        return []

    def lead(share: float) -> float:
        return lab.lead(player=with_spread(player, pattern, 1.0 - share))

    return [_Question(f"{lab.labels[other]} tighter", "share", _TIGHTER, 0.01, lead)]


def _wind(lab: _Lab) -> list[_Question]:
    hole, day = lab.spot.hole.hole, lab.spot.plan.conditions
    toward = hole.bearing_deg + float(
        np.rad2deg(np.arctan2(hole.pin[0] - lab.spot.x, hole.pin[1] - lab.spot.y))
    )

    def question(name: str, turn: float) -> _Question:
        def lead(mph: float) -> float:
            return lab.lead(day=with_wind(day, toward + turn, mph))

        return _Question(name, "mph", _WIND_MPH, 0.5, lead)

    return [
        question("head wind", 180.0),
        question("tail wind", 0.0),
        question("wind from the left", 90.0),
        question("wind from the right", -90.0),
    ]


def _pin(lab: _Lab) -> list[_Question]:
    hole = lab.spot.hole.hole
    step = hole.line[-1] - hole.line[-2]
    ahead = step / max(float(np.hypot(*step)), 1e-9)
    ways = {
        "further back": (ahead[0], ahead[1]),
        "further forward": (-ahead[0], -ahead[1]),
        "further right": (ahead[1], -ahead[0]),
        "further left": (-ahead[1], ahead[0]),
    }
    made = []
    for name, (x, y) in ways.items():
        way = (float(x), float(y))
        room = room_for_pin(hole, way)
        if room >= 1.0:
            made.append(
                _Question(
                    f"pin {name}",
                    "yards",
                    room,
                    0.5,
                    lambda t, way=way: lab.lead(hole=pin_moved(hole, way, t)),  # type: ignore[misc]
                )
            )
    return made


_MAKERS: dict[str, Callable[[_Lab], list[_Question]]] = {
    "fairway": _fairway,
    "spread": _spread,
    "wind": _wind,
    "pin": _pin,
}


def _answer(question: _Question, today: float, other: str, by: Measure) -> BreakEven:
    """Look for the change of sign of one question's lead."""
    count = 0

    def lead(t: float) -> float:
        nonlocal count
        count += 1
        return question.lead(t)

    at_bound = lead(question.bound)
    end, at_end = question.bound, at_bound
    if 0.0 <= at_bound < today:  # drawing nearer, perhaps past the point and back
        middle = 0.5 * question.bound
        at_middle = lead(middle)
        end, at_end = (middle, at_middle) if at_middle < 0.0 else (end, at_end)
    change = None
    if at_end < 0.0:
        change = _root(lead, (0.0, today), (end, at_end), 2.0 * question.within)
    words = answer_words(question.name, question.unit, change, question.bound, other, (today, at_bound), by)
    return BreakEven(
        question=question.name,
        unit=question.unit,
        change=change,
        within=question.within,
        bound=question.bound,
        lead_today=today,
        lead_at_bound=at_bound,
        solved=count,
        words=words,
    )


def _root(lead: Change, low: tuple[float, float], high: tuple[float, float], width: float) -> float:
    """Middle of an interval not wider than ``width`` at whose ends the lead has opposite signs."""
    (a, at_a), (b, at_b) = low, high
    weight_a, weight_b = at_a, at_b
    for i in range(4 * _MOST_TRIES):
        if b - a <= width:
            break
        t = (a * weight_b - b * weight_a) / (weight_b - weight_a)
        # Halve now and then: false position alone may creep up on one side.
        t = 0.5 * (a + b) if i >= _MOST_TRIES else min(max(t, a + 0.45 * width), b - 0.45 * width)
        found = lead(t)
        if found >= 0.0:
            a, at_a, weight_a, weight_b = t, found, found, 0.5 * weight_b
        else:
            b, at_b, weight_b, weight_a = t, found, found, 0.5 * weight_a
    return 0.5 * (a + b)


def _by_standing(lab: _Lab) -> tuple[StandingRange, ...]:
    """Runs of standings at which the same one of the two serves the target better."""
    spot = lab.spot
    picker = Picker(spot.hole.compiler, lab.names, (spot.x, spot.y, spot.lie))
    spread = spread_from(spot.hole.compiler, spot.x, spot.y, spot.lie, picker)
    runs: list[tuple[list[int], int, list[float]]] = []
    for standing in _STANDINGS:
        left = spot.strokes_left + spot.standing - standing
        chance = spread.values(spot.hole.chance_worth(left))
        best = [float(part.max()) for part in np.split(chance, [picker.sizes[0]])]
        if not _LIVE < max(best) < 1.0 - _LIVE:
            continue
        winner = int(best[1] > best[0])
        if not runs or runs[-1][1] != winner:
            runs.append(([], winner, []))
        runs[-1][0].append(standing)
        runs[-1][2].append(abs(best[1] - best[0]))
    return tuple(
        StandingRange(from_standing=at[0], to_standing=at[-1], label=lab.labels[winner], gain_most=max(gains))
        for at, winner, gains in runs
    )
