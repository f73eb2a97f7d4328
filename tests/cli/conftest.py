"""A plan made of literals, so that doors and pages are tested without planning."""

from types import SimpleNamespace

import numpy as np
import pytest

import caddiebrain as cb
from caddiebrain import demo
from caddiebrain.round.confidence import Confidence
from caddiebrain.round.record import ChoiceRecord, HoleRecord, PlanRecord, SwitchRecord


def choice(label: str, aim: str, carry: float, expected: float, chance: float) -> ChoiceRecord:
    return ChoiceRecord(
        label=label,
        club=label,
        shape="straight",
        height="stock",
        aim_words=aim,
        aim_deg=-2.0,
        aim_xy=(-10.0, 228.0),
        carry_yd=carry,
        expected=expected,
        chance=chance,
        shares={"fairway": 0.612, "rough": 0.301, "thick": 0.083, "out": 0.004},
    )


DRIVER = choice("driver", "10 yards left of centre, at 228", 210.0, 4.61, 0.0981)
WEDGE = choice("pitching wedge", "12 yards right of the line of play, at 118", 115.0, 4.93, 0.0502)


class Offered(ChoiceRecord):
    """Stands where an `Option` would."""

    def record(self) -> ChoiceRecord:
        return ChoiceRecord(**dict(self))


def offered(*records: ChoiceRecord) -> tuple[Offered, ...]:
    return tuple(Offered(**dict(record)) for record in records)


def hole_record(number: int) -> HoleRecord:
    return HoleRecord(
        number=number,
        par=4,
        length_yd=401.4,
        stroke_index=number,
        expected_score=4.61,
        score_pmf=(0.0, 0.0, 0.0, 0.06, 0.43, 0.36, 0.12, 0.026, 0.004),
        double_bogey_or_worse=0.15,
        tee_choice=DRIVER,
        switches=(
            SwitchRecord(from_standing=None, to_standing=2, choice=DRIVER),
            SwitchRecord(from_standing=3, to_standing=None, choice=WEDGE),
        ),
    )


PLAN = PlanRecord(
    course="Anywhere",
    player="Anyone",
    par=72,
    target=79,
    expected_score=85.26,
    chance=0.0981,
    chance_expected_policy=0.0912,
    score_pmf={"expected": (0.5, 0.5), "target": (0.25, 0.75)},
    holes=tuple(hole_record(n) for n in range(1, 19)),
)


class Plan:
    """Stands where a `RoundPlan` would."""

    def __init__(self, **given: object) -> None:
        self.given = given

    def record(self) -> PlanRecord:
        return PLAN

    def hole(self, number: int) -> "Plan.Hole":
        return Plan.Hole(number)

    def confidence(self, hole: int, rng: np.random.Generator, draws: int) -> Confidence:
        return Confidence(
            hole=hole,
            choice="driver",
            other="4-hybrid",
            lead_strokes=0.031,
            stays_best=0.7,
            draws=draws,
            shots_on_record={"driver": 41.0, "4-hybrid": 0.0},
            settles={"driver": 60, "4-hybrid": None},
            sentence="The driver beats the 4-hybrid for 7 in 10 of the players your records allow.",
        )

    def options(self, *place: object, **more: object) -> tuple[Offered, ...]:
        self.given.update(place=place, **more)
        return offered(DRIVER, WEDGE)

    class Hole:
        def __init__(self, number: int) -> None:
            self.number = number

        def record(self) -> HoleRecord:
            return hole_record(self.number)

        def tee_options(self, standing: int) -> tuple[Offered, ...]:
            return offered(DRIVER, WEDGE) if standing < 3 else offered(WEDGE, DRIVER)


@pytest.fixture
def planned(monkeypatch):
    """Make ``plan_round`` return the literal plan, and list the arguments of every call."""
    calls = []

    def plan_round(course, player, **given):
        given["progress"](1, 36, "hole 18")
        calls.append(given | {"course": course.name, "player": player.name})
        plan = Plan(**given)
        calls[-1]["plan"] = plan
        return plan

    def spot_of(plan, hole, position, to_pin, lie, strokes, standing):
        return SimpleNamespace(to_pin=to_pin or 170.0, lie=lie or "fairway")

    monkeypatch.setattr(cb, "plan_round", plan_round, raising=False)
    monkeypatch.setattr("caddiebrain.cli.options.spot_of", spot_of)
    monkeypatch.setenv("COLUMNS", "80")
    return calls


@pytest.fixture
def literal():
    """The literals the plan is made of."""
    return SimpleNamespace(plan=PLAN, options=[DRIVER, WEDGE])


@pytest.fixture
def course_file():
    return str(demo.course_path())


@pytest.fixture
def player_file():
    return str(demo.player_path())
