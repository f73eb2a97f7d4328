"""Likely slips of a script: refused at once with what was found and what would do, never by what breaks inside."""

import math

import numpy as np
import pytest

import caddiebrain as cb
from caddiebrain.flight import find_launch
from caddiebrain.player import holing_chance, leave_distribution

NAN = math.nan
ROUND = {
    "holes": [
        {
            "number": 2,
            "score": 3,
            "shots": [
                {"club": "7i"},
                {"club": "putter", "feet": 10},
                {"club": "putter", "feet": 1, "result": "holed"},
            ],
        }
    ]
}
SLIPS = {
    "total as text": (lambda plan: plan.chance("79"), "total: found '79'"),
    "total and a half": (lambda plan: plan.chance_expected_policy(79.5), "total: found 79.5"),
    "no total": (lambda plan: plan.chance(NAN), "total: found nan"),
    "hole as text": (lambda plan: plan.hole("2"), "hole '2'"),
    "seed for a generator": (lambda plan: plan.confidence(1, 3), "rng: found 3; expected a generator"),
    "distance as text": (lambda plan: plan.options(1, to_pin="100"), "to_pin: found '100'"),
    "place as a word": (lambda plan: plan.options(1, position="here"), "position: found 'here'"),
    "place in space": (lambda plan: plan.options(1, position=(1, 2, 3)), r"position: found \(1, 2, 3\)"),
    "no choice": (lambda plan: cb.compare(plan, 1, None, "driver"), "first: found None"),
    "aim as text": (
        lambda plan: cb.compare(plan, 1, "driver", "6i", first_aim_deg="3"),
        "first_aim_deg: found '3'",
    ),
    "no aim": (
        lambda plan: cb.compare(plan, 1, "driver", "6i", second_aim_deg=NAN),
        "second_aim_deg: found nan",
    ),
    "cap as text": (lambda plan: cb.limit_disasters(plan, 1, "0.3"), "cap: found '0.3'"),
    "cap of a round as text": (lambda plan: cb.limit_disasters_of_round(plan, "1"), "cap: found '1'"),
    "rules as text": (lambda plan: cb.carry_card(plan, rules="12"), "rules: found '12'"),
    "no rules": (lambda plan: cb.carry_card(plan, rules=NAN), "rules: found nan"),
    "effort as text": (
        lambda plan: cb.practice_priorities(plan, efforts={"driver: length": "x"}),
        "driver: length: found 'x'",
    ),
    "one club for several": (lambda plan: cb.choose_bag(plan, keep="driver"), "keep: found 'driver'"),
    "limit as text": (lambda plan: cb.choose_bag(plan, limit="9"), "limit: found '9'"),
    "a class for a format": (
        lambda plan: cb.plan_format(plan, cb.Stableford),
        "format: found the class Stableford; expected a format, such as Stableford",
    ),
    "no format": (lambda plan: cb.plan_format(plan, None), "format: found None"),
    "an index for a reference": (lambda plan: cb.review(plan, ROUND, reference=5), "reference: found 5"),
    "an index for a level": (lambda plan: cb.fit_player([], level=11), "level: found 11; expected a Level"),
    "a path for a player": (lambda plan: cb.update_player("me.json", []), "player: found 'me.json'"),
    "an empty bag": (lambda plan: cb.Level(handicap_index=11.0, clubs=()), "clubs: found none"),
    "index as text": (
        lambda plan: cb.course_handicap("17", slope=115, rating=72.0, par=70),
        "index: found '17'",
    ),
    "budget as text": (
        lambda plan: cb.solve.within_budget(
            cb.StateGraph.from_choices({"tee": {"putt": [("cup", 1.0, 1)]}}), budget="3"
        ),
        "budget: found '3'",
    ),
}


@pytest.mark.parametrize("name", SLIPS)
def test_a_slip_is_named(three_plan, name):
    call, words = SLIPS[name]
    with pytest.raises(cb.CaddieError, match=words):
        call(three_plan)


def test_whole_numbers_of_any_kind_are_taken(three_plan):
    assert three_plan.chance(13.0) == three_plan.chance(np.int64(13)) == three_plan.chance()


def test_a_target_that_came_as_a_float_is_a_whole_number(three_holes, demo_player, three_plan):
    from tests.conftest import COARSE

    plan = cb.plan_round(three_holes, demo_player, 13.0, grid=COARSE)
    assert plan.target == 13
    assert plan.record() == three_plan.record()


def test_clubs_to_keep_go_by_any_name(three_plan):
    assert "4-hybrid" in {row.club for row in cb.choose_bag(three_plan, limit=4, keep=["4h"]).clubs}


def test_a_lead_that_nothing_was_asked_about_is_not_called_level(three_plan):
    found = cb.break_evens(three_plan, 1, "6-iron", "driver", questions=())
    assert found.lead > 0.05
    assert "level" not in found.sentence


ASKED = {
    "compare": lambda plan: cb.compare(plan, 1, "driver", "6i"),
    "break_evens": lambda plan: cb.break_evens(plan, 1, "driver", "6i"),
    "press": lambda plan: cb.press(plan, 1),
    "review": lambda plan: cb.review(plan, ROUND),
    "practice": cb.practice_priorities,
    "bag": cb.choose_bag,
    "bag of several": lambda plan: cb.choose_bag([plan]),
    "frontier": lambda plan: cb.disaster_frontier(plan, 1),
    "limit": lambda plan: cb.limit_disasters(plan, 1, 0.2),
    "limit of a round": cb.limit_disasters_of_round,
    "card": cb.carry_card,
    "price": lambda plan: cb.price_card(plan, None),
    "format": lambda plan: cb.plan_format(plan, cb.Stableford()),
    "book": cb.book_html,
}


@pytest.mark.parametrize("ask", ASKED.values(), ids=ASKED)
def test_a_record_of_a_plan_is_told_apart_from_the_plan(three_plan, ask):
    for given in (three_plan.record(), None):
        with pytest.raises(
            cb.InputError, match=f"plan: found {'None' if given is None else 'PlanRecord object'}; exp"
        ):
            ask(given)


def test_parsed_cards_are_told_apart_from_cards(three_plan):
    for ask in (cb.price_card, cb.book_html):
        with pytest.raises(
            cb.InputError, match="card: found dict object; expected a CarryCard, as carry_card makes"
        ):
            ask(three_plan, {"rules": []})


PARTS = {
    "putt from behind": (
        lambda me: holing_chance(me.putting, [-1.0, 8.0]),
        "distance_ft: found -1; expected feet",
    ),
    "putt from nowhere": (lambda me: holing_chance(me.putting, NAN), "distance_ft: found nan"),
    "putt as text": (lambda me: holing_chance(me.putting, "8"), "distance_ft: found '8'"),
    "putt of nothing": (
        lambda me: leave_distribution(me.putting, [0.0]),
        "distance_ft: found 0; expected feet",
    ),
    "draws from a seed": (lambda me: me.draws(3, 1), "draws: rng: found 1; expected a generator"),
    "fewer than no draws": (
        lambda me: me.draws(-1, np.random.default_rng(1)),
        "draws: n: found -1; expected a whole",
    ),
    "carry backwards": (
        lambda me: find_launch(-150, 28, 45),
        "found least -150, 28, 45; expected finite numbers above",
    ),
    "no apex": (lambda me: find_launch(150, NAN, 45), "found least 150, nan, 45"),
}


@pytest.mark.parametrize(("ask", "said"), PARTS.values(), ids=PARTS)
def test_parts_used_by_themselves_say_what_they_take(demo_player, ask, said):
    with pytest.raises(cb.InputError, match=said):
        ask(demo_player)


def test_the_text_of_a_round_is_no_path_to_one():
    with pytest.raises(
        cb.InputError, match=r"load_played_round: path: found the text .*; expected a path; a mapping"
    ):
        cb.load_played_round('{"holes": []}')


def test_a_number_and_its_text_are_told_apart(demo_course):
    with pytest.raises(cb.UnknownError, match="hole '3' is not on"):
        demo_course.hole("3")
