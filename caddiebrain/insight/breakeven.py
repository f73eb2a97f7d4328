"""What would have to be true for the other choice: found by solving the changed hole, not by a rule.

For each thing that might be otherwise the lead of the better choice, L(t), is worked out on the hole changed by t,
compiled and solved again from the cup back. Where L changes sign between today and a bound, the root is closed in
on by the Illinois variant of false position, which keeps it between two solved holes (Dowell & Jarratt 1971, *BIT*
11:168-174).
"""

from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import dataclass

import numpy as np

from caddiebrain.errors import InputError
from caddiebrain.insight.breakeven_lab import Lab
from caddiebrain.insight.records_breakeven import BreakEven, BreakEvens, Measure, StandingRange
from caddiebrain.insight.spots import Picker, Spot, spot_of
from caddiebrain.insight.what_if import pin_moved, room_for_pin, with_fairway, with_spread, with_wind
from caddiebrain.insight.words_breakeven import answer_words, break_even_sentence
from caddiebrain.round.helpers import processes_for, shared
from caddiebrain.round.lookup import spread_from
from caddiebrain.round.plan import RoundPlan

__all__ = ["break_evens"]

Change = Callable[[float], float]

_WIDER_YD, _NARROWER_YD = 40.0, 24.0
_TIGHTER = 0.7
_WIND_MPH = 25.0
_MOST_TRIES = 8
_LEVEL: dict[Measure, float] = {"score": 0.01, "target": 0.002}
"""Leads smaller than this are within the grain of the model: the two are level and nothing is looked for."""
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
        Processes, this one and helpers; by default one for each processor, at most 4, fewer for few questions. The
        answers do not depend on it.

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
    Every case but a tighter club takes a full solve of the hole, about a second; some twenty are needed for
    all questions. A change is looked for between today and its bound; one that tips the choice over and back
    within a quarter of that span may be missed.
    """
    _check(by, questions)
    spot = spot_of(plan, hole, position, to_pin, lie, strokes_on_hole, standing)
    lab = Lab.of(spot, first, second, by)
    lead = lab.today()
    better, other = lab.labels if lab.sign > 0 else lab.labels[::-1]
    asked = () if lead < _LEVEL[by] else (_MAKERS if questions is None else questions)
    tasks = [_Task(lab, name, i, lead, other) for name in asked for i in range(len(_MAKERS[name](lab)))]
    with closing(shared(_answered, tasks, processes_for(workers, len(tasks)))) as found:
        answers = tuple(found)
    return BreakEvens(
        sentence=break_even_sentence(better, other, lead, by, answers, plan.target, lead < _LEVEL[by]),
        hole=hole,
        measure=by,
        better=better,
        other=other,
        lead=lead,
        answers=answers,
        by_standing=_by_standing(spot, lab),
    )


@dataclass(frozen=True)
class _Task:
    """One question to a lab, by its kind and its place among those of that kind, for a process to answer."""

    lab: Lab
    kind: str
    place: int
    lead: float
    other: str


def _answered(task: _Task) -> BreakEven:
    question = _MAKERS[task.kind](task.lab)[task.place]
    return _answer(question, task.lead, task.other, task.lab.measure)


def _check(by: str, questions: Sequence[str] | None) -> None:
    if by not in ("score", "target"):
        raise InputError.one("break_evens", "by", repr(by), '"score" or "target"')
    if isinstance(questions, str):
        raise InputError.one(
            "break_evens", "questions", repr(questions), "several, such as ('fairway', 'wind')"
        )
    strange = [q for q in questions or () if q not in _MAKERS]
    if strange:
        raise InputError.one("break_evens", "questions", ", ".join(map(repr, strange)), ", ".join(_MAKERS))


def _fairway(lab: Lab) -> list[_Question]:
    hole = lab.hole.hole
    return [
        _Question("fairway wider", "yards", _WIDER_YD, 0.5, lambda t: lab.lead(hole=with_fairway(hole, t))),
        _Question(
            "fairway narrower", "yards", _NARROWER_YD, 0.5, lambda t: lab.lead(hole=with_fairway(hole, -t))
        ),
    ]


def _spread(lab: Lab) -> list[_Question]:
    other = 1 if lab.sign > 0 else 0
    pattern, player = lab.pattern[other], lab.hole.compiler.player
    if pattern is None or lab.pattern[0] == lab.pattern[1]:
        return []

    def lead(share: float) -> float:
        return lab.lead(player=with_spread(player, pattern, 1.0 - share))

    return [_Question(f"{lab.labels[other]} tighter", "share", _TIGHTER, 0.01, lead)]


def _wind(lab: Lab) -> list[_Question]:
    hole, day = lab.hole.hole, lab.conditions
    toward = hole.bearing_deg + float(
        np.rad2deg(np.arctan2(hole.pin[0] - lab.place[0], hole.pin[1] - lab.place[1]))
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


def _pin(lab: Lab) -> list[_Question]:
    hole = lab.hole.hole
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


_MAKERS: dict[str, Callable[[Lab], list[_Question]]] = {
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


def _by_standing(spot: Spot, lab: Lab) -> tuple[StandingRange, ...]:
    """Runs of standings at which the same one of the two serves the target better."""
    picker = Picker(spot.hole.compiler, lab.names, lab.place)
    spread = spread_from(spot.hole.compiler, *lab.place, picker)
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
