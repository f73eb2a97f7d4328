"""One short hole on the coarsest grid, and every record the library writes about it."""

import json
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from pydantic import BaseModel

import caddiebrain as cb
from caddiebrain.batch import StoredPlan
from caddiebrain.course import describe_course
from caddiebrain.course.numbers import read_numbers
from caddiebrain.faults import fault_report
from caddiebrain.graph.files import GraphFile
from caddiebrain.hole import GridSpec
from caddiebrain.insight.hours import USUAL_CURVE
from caddiebrain.insight.records_breakeven import Reasons
from caddiebrain.player import Level
from caddiebrain.player.records_report import RecordsReport
from caddiebrain.round import RoundPlan
from caddiebrain.round.record import HoleOptionsRecord

ROOT = Path(__file__).parents[2]
BLUNT = GridSpec(
    cell=2.0, spot=4.0, near_spot=2.0, lattice=30.0, sparse_lattice=45.0, near_lattice=18.0, wood_lattice=18.0,
    putt_step_ft=1.0, screen_points=(8, 3), points=(13, 5), tee_points=(21, 5),
)  # fmt: skip
"""Too coarse for any figure; for tests of form alone."""
HOLE = {"number": 1, "par": 3, "stroke_index": 1, "length": 150, "green": {"depth": 28, "width": 24}}
COURSE = {"format": "holes-by-numbers", "schema_version": 1, "name": "One short hole", "holes": [HOLE]}
CLUBS = ("7-iron", "8-iron", "9-iron", "pitching wedge", "sand wedge", "putter")
PLAYED = {
    "schema_version": 1,
    "date": "2026-06-13",
    "holes": [
        {
            "number": 1,
            "score": 3,
            "shots": [
                {"club": "7-iron"},
                {"club": "putter", "feet": 12.5},
                {"club": "putter", "feet": 2, "result": "holed"},
            ],
        }
    ],
}


def player() -> cb.Player:
    """Six clubs at a level."""
    return Level(handicap_index=11.0, clubs=CLUBS).player()


def tiny_plan(workers: int = 1) -> RoundPlan:
    """Plan the hole for its par."""
    course = read_numbers(COURSE, "one short hole")
    return cb.plan_round(
        course, player(), 3, cb.Conditions(wind_mph=8.0, wind_from_deg=0), grid=BLUNT, workers=workers
    )


def graph() -> cb.StateGraph:
    return cb.StateGraph.from_choices({"tee": {"putter": [("cup", 0.25, 1), ("tee", 0.75, 1)]}})


def answers(plan: RoundPlan) -> dict[str, Callable[[], Any]]:
    """What works out each record that we write, by the name of its schema; a list for options."""
    hole = plan.hole(1)
    ranked = hole.tee_options()
    first, second = (option.label for option in ranked[:2])
    records = cb.load_records(ROOT / "examples" / "records" / "messy_shots.csv")
    compared = cache(lambda: cb.compare(plan, 1, first, second))
    tips = cache(lambda: cb.break_evens(plan, 1, first, second))
    return {
        "bag": lambda: cb.choose_bag(plan, limit=4),
        "break-evens": tips,
        "carry-card": lambda: cb.carry_card(plan, rules=2),
        "comparison": compared,
        "confidence": lambda: plan.confidence(1, np.random.default_rng(7), 5),
        "course-report": lambda: describe_course(plan.course),
        "disaster-frontier": lambda: cb.disaster_frontier(plan, 1),
        "disaster-limit": lambda: cb.limit_disasters(plan, 1, 0.1),
        "fault-report": lambda: fault_report(cb.InputError.one("card.json", "par", "9", "3 to 6")),
        "format-plan": lambda: cb.plan_format(plan, cb.Stableford()).record(),
        "hole": lambda: HoleOptionsRecord(
            **dict(hole.record()), standing=0, options=tuple(o.record() for o in ranked)
        ),
        "options": lambda: [o.record() for o in plan.options(1, to_pin=100.0, lie="rough")],
        "plan": lambda: plan.record(),
        "practice": lambda: cb.practice_priorities(plan, weekly_hours=2.0),
        "press": lambda: cb.press(plan, 1),
        "reasons": lambda: Reasons(comparison=compared(), break_evens=tips()),
        "records-report": lambda: RecordsReport.of(records, "messy_shots.csv"),
        "review": lambda: cb.review(plan, PLAYED),
        "stored-plan": lambda: StoredPlan(key="a", fingerprint="b", made_by="0.1.0", plan=plan.record()),
        "round-disaster-limit": lambda: cb.limit_disasters_of_round(plan, 0.1),
    }


def written(plan: RoundPlan) -> dict[str, Any]:
    """Every record that we write, about this plan."""
    return {name: answer() for name, answer in answers(plan).items()}


def read() -> dict[str, Any]:
    """One record of every kind that is read, by the name of its schema, as JSON would have it."""
    demo = json.loads(cb.demo.player_path().read_text(encoding="utf-8"))
    return {
        "conditions": cb.Conditions(wind_mph=12.0, wind_from_deg=250.0),
        "course-file": json.loads(cb.demo.course_path().read_text(encoding="utf-8")),
        "graph": GraphFile.of(graph()),
        "holes-by-numbers": COURSE,
        "learning-curve": USUAL_CURVE,
        "level": {"handicap_index": 11.0, "driver_carry_yd": 228.0},
        "played-round": PLAYED,
        "player": demo,
        "records": cb.load_records({"shots": [{"club": "7i", "carry": 151.0}]}).to_plain(),
        "setup": cb.Setup(pin={1: "back", 2: (3.0, 150.0)}, rough="long"),
    }


def as_json(record: Any) -> Any:
    """Plain data, as a JSON file would give it back."""
    if isinstance(record, list):
        return [as_json(one) for one in record]
    return json.loads(record.model_dump_json()) if isinstance(record, BaseModel) else record
