"""Reasons and reviews as pages: what the records say, in lines that fit."""

from itertools import pairwise

import pytest

import caddiebrain as cb
from caddiebrain.report.confidence_text import confidence_page
from caddiebrain.report.insight_text import as_text, break_evens_page, compare_page, press_page, review_page
from caddiebrain.round.confidence import Confidence

WIDTH = 80
CARD = {
    "holes": [
        {
            "number": 2,
            "score": 5,
            "shots": [
                {"club": "driver", "result": "rough"},
                {"club": "chip", "to_pin": 30.0, "lie": "rough"},
                {"club": "chip", "to_pin": 20.0, "lie": "rough"},
                {"club": "putter", "feet": 9.0},
                {"club": "putter", "feet": 1.0, "result": "holed"},
            ],
        }
    ]
}


@pytest.fixture(scope="module")
def texts(three_plan) -> dict[str, tuple[object, str]]:
    records = {
        "compare": cb.compare(three_plan, 1, "6-iron", "driver", second_aim_deg=0.0),
        "press": cb.press(three_plan, 3, standing=1),
        "review": cb.review(three_plan, CARD, reference=three_plan),
        "tips": cb.break_evens(three_plan, 1, "6-iron", "driver", questions=("spread",)),
    }
    pages = {
        "compare": compare_page(records["compare"]),
        "press": press_page(records["press"]),
        "review": review_page(records["review"], strokes=True),
        "tips": break_evens_page(records["tips"]),
    }
    return {name: (records[name], as_text(page, WIDTH)) for name, page in pages.items()}


@pytest.mark.parametrize("name", ["compare", "press", "review", "tips"])
def test_pages_open_with_the_sentence_and_fit(texts, name):
    record, text = texts[name]
    assert " ".join(text.split()).startswith(record.sentence)
    assert max(len(line) for line in text.splitlines()) <= WIDTH
    assert not any(word in text for word in ("None", "nan", "{", "}"))


def test_compare_shows_both_sides_and_the_whole(texts):
    record, text = texts["compare"]
    assert "1st: 6-iron, " in text
    assert "2nd: driver, " in text
    total = next(line for line in text.splitlines() if line.startswith("all "))
    assert total.split()[-2:] == [f"{record.strokes_difference:+.2f}", f"{record.target_difference:+.1%}"]
    assert "yellow penalty area" in text
    assert "do not run it mid-round" in text


def test_press_shows_the_count_and_every_step(texts):
    record, text = texts["press"]
    flat = " ".join(text.split())
    assert record.count[1:] + "." in flat
    assert f"{record.strokes_in_hand:+.1f} strokes in hand" in flat
    assert all(step.label in text for step in record.by_standing)


def test_review_says_putts_in_feet_and_other_strokes_in_yards(texts):
    _, text = texts["review"]
    assert "30 yd, rough" in text
    assert "9 ft, green" in text
    assert "1 ft, green" in text
    assert "yd, green" not in text


def test_a_lead_that_rounds_to_nothing_is_not_said_as_zero(texts):
    record, _ = texts["tips"]
    run = record.by_standing[0]
    runs = tuple(run.model_copy(update={"gain_most": gain}) for gain in (0.0002, 0.0006))
    bare = record.model_copy(update={"by_standing": runs, "answers": ()})
    lines = as_text(break_evens_page(bare)).splitlines()
    assert lines[-2].endswith(", by less than 0.1%")
    assert lines[-1].endswith(", by up to 0.1%")
    assert not any(one == other == "" for one, other in pairwise(lines))


def test_confidence_counts_one_shot_as_one():
    found = Confidence(
        hole=3,
        choice="2-iron",
        other="5-iron",
        lead_strokes=0.016,
        stays_best=0.65,
        draws=40,
        shots_on_record={"2-iron": 1.0, "5-iron": 2.0},
        settles={"2-iron": None, "5-iron": None},
        sentence="The 2-iron beats the 5-iron.",
    )
    lines = as_text(confidence_page(found)).splitlines()
    assert [line.split()[-2:] for line in lines[2:4]] == [["1", "shot"], ["2", "shots"]]


def test_review_shows_three_things_parts_holes_and_strokes(texts):
    record, text = texts["review"]
    flat = " ".join(text.split())
    assert all(f"{i}. {words}" in flat for i, words in enumerate(record.takeaways, start=1))
    assert all(part.part in text for part in record.parts)
    assert "on reference" in text
    assert sum(line.startswith("2 ") for line in text.splitlines()) == 1 + len(record.shots)
