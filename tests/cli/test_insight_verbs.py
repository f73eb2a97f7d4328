"""Verbs that ask a plan a question: what they ask of the library, and what they write."""

import json
from functools import cache

import numpy as np
import pytest

import caddiebrain as cb
from caddiebrain.cli import main
from caddiebrain.insight import (
    BagChoice,
    BreakEvens,
    CarryCard,
    ClubWorth,
    Comparison,
    DisasterFrontier,
    DisasterLimit,
    PracticeReport,
    Press,
    RoundDisasterLimit,
    RoundReview,
)
from caddiebrain.round.confidence import Confidence

PLAYED = {
    "schema_version": 1,
    "date": "2026-06-13",
    "holes": [
        {
            "number": 2,
            "score": 3,
            "shots": [
                {"club": "6-iron"},
                {"club": "putter", "feet": 12.5},
                {"club": "putter", "feet": 2, "result": "holed"},
            ],
        }
    ],
}
BAG = BagChoice(
    limit=13,
    clubs=(ClubWorth(club="driver", worth=0.25, uses=9.0), ClubWorth(club="7-iron", worth=0.031, uses=2.0)),
    left_out=("5-iron",),
    earns_nothing=(),
    expected=83.5,
    expected_all=83.4,
    last_club=0.1,
    exchanges=3,
    proposals=2,
    status="proven",
    seconds=0.5,
    words="Carry 13 clubs.",
)


LONG_WORK = ("carry_card", "disaster_frontier", "limit_disasters", "price_card")


@pytest.fixture
def three(monkeypatch, three_plan):
    """Make ``plan_round`` return the plan of three holes; what takes long is answered once for the same question."""
    monkeypatch.setattr(cb, "plan_round", lambda course, player, **given: three_plan, raising=False)
    for name in LONG_WORK:
        monkeypatch.setattr(cb, name, cache(getattr(cb, name)), raising=False)
    monkeypatch.setenv("COLUMNS", "80")
    return three_plan


def run(capsys, *arguments: str) -> str:
    assert main(arguments) == 0
    written = capsys.readouterr()
    assert written.err == ""
    return written.out


def test_compare_says_why(three, capsys):
    spot = ("--hole", "1", "--standing", "1")
    page = run(capsys, "compare", "driver", "4-hybrid", *spot)
    found = cb.compare(three, 1, "driver", "4-hybrid", standing=1)
    assert " ".join(page.split()).startswith(" ".join(found.sentence.split()))
    assert max(map(len, page.splitlines())) <= 80
    written = run(capsys, "compare", "driver", "4-hybrid", *spot, "--json")
    assert Comparison.model_validate_json(written) == found


def test_compare_from_a_place_for_the_target(three, capsys):
    place = ("--hole", "3", "--to-pin", "150", "--lie", "rough", "--strokes", "2")
    written = run(capsys, "compare", "7-iron", "9-iron", *place, "--aim-for", "target", "--json")
    found = cb.compare(
        three, 3, "7-iron", "9-iron", to_pin=150.0, lie="rough", strokes_on_hole=2, aim_for="target"
    )
    assert Comparison.model_validate_json(written) == found


def test_press_says_what_the_strokes_in_hand_ask_for(three, capsys):
    found = cb.press(three, 1, standing=2)
    page = run(capsys, "press", "--hole", "1", "--standing", "2")
    assert " ".join(found.sentence.split()) in " ".join(page.split())
    assert "By the standing before this hole" in page
    assert (
        Press.model_validate_json(run(capsys, "press", "--hole", "1", "--standing", "2", "--json")) == found
    )
    assert f"(none left for {three.target}, " in run(capsys, "press", "--hole", "1", "--standing", "40")
    place = ("--hole", "1", "--to-pin", "140", "--lie", "rough", "--strokes", "1")
    after = cb.press(three, 1, to_pin=140.0, lie="rough", strokes_on_hole=1)
    assert Press.model_validate_json(run(capsys, "press", *place, "--json")) == after


def test_confidence_says_how_sure_a_tee_choice_is(three, capsys):
    hole = next(h.number for h in three.holes if h.par > 3)
    asked = ("confidence", "--hole", str(hole), "--draws", "6", "--seed", "3")
    found = three.confidence(hole, np.random.default_rng(3), 6)
    assert Confidence.model_validate_json(run(capsys, *asked, "--json")) == found
    page = run(capsys, *asked)
    assert " ".join(found.sentence.split()) in " ".join(page.split())
    assert f"{found.stays_best:.0%} of 6 players" in " ".join(page.split())
    assert max(map(len, page.splitlines())) <= 80


def test_doubles_on_a_hole_and_over_a_round(three, capsys):
    worst = max(three.holes, key=lambda hole: hole.double_bogey_or_worse).number
    curve = cb.disaster_frontier(three, worst)
    asked = ("doubles", "--hole", str(worst))
    page = run(capsys, *asked)
    assert len(page.splitlines()) >= len(curve.points) + 5
    assert all(f"{point.expected:.3f}" in page for point in curve.points)
    assert DisasterFrontier.model_validate_json(run(capsys, *asked, "--json")) == curve
    cap = 50.0 * (curve.points[0].double_bogey_or_worse + curve.points[-1].double_bogey_or_worse)
    limit = cb.limit_disasters(three, worst, cap / 100.0)
    assert " ".join(limit.words.split()) in " ".join(run(capsys, *asked, "--at-most", f"{cap!r}").split())
    written = DisasterLimit.model_validate_json(run(capsys, *asked, "--at-most", f"{cap!r}", "--json"))
    assert written.model_copy(update={"seconds": limit.seconds}) == limit
    many = sum(hole.double_bogey_or_worse for hole in three.holes)
    whole = RoundDisasterLimit.model_validate_json(run(capsys, "doubles", "--json"))
    assert whole.cap == pytest.approx(0.95 * many)
    page = run(capsys, "doubles", "--at-most", f"{0.97 * many:.4f}")
    assert "..." not in page
    assert "Playing for the score" in page
    assert max(map(len, page.splitlines())) <= 80


def test_compare_says_what_would_change_it(three, capsys, monkeypatch):
    tips = cb.break_evens(three, 1, "driver", "4-hybrid", questions=("fairway",))
    calls = []
    monkeypatch.setattr(cb, "break_evens", lambda *a, **more: calls.append((a, more)) or tips, raising=False)
    asked = ("compare", "driver", "4-hybrid", "--hole", "1", "--standing", "2", "--what-if")
    both = json.loads(run(capsys, *asked, "--json"))
    assert BreakEvens.model_validate(both["break_evens"]) == tips
    assert Comparison.model_validate(both["comparison"]).first.label == "driver"
    assert " ".join(tips.sentence.split()) in " ".join(run(capsys, *asked).split())
    (where, more), _ = calls
    assert where == (three, 1, "driver", "4-hybrid")
    assert more["standing"] == 2


def test_review_reads_a_round(three, capsys, tmp_path):
    path = tmp_path / "round.json"
    path.write_text(json.dumps(PLAYED))
    written = RoundReview.model_validate_json(run(capsys, "review", str(path), "--json"))
    assert written == cb.review(three, path)
    page = run(capsys, "review", str(path), "--strokes")
    assert "Every stroke" in page
    other = RoundReview.model_validate_json(run(capsys, "review", str(path), "--reference", "-2", "--json"))
    assert other.reference_expected < written.expected


def test_practice_ranks_work_and_splits_hours(three, capsys, monkeypatch):
    report = cb.practice_priorities(three, weekly_hours=3.0)
    plain = report.model_copy(update={"hours": None})

    def priorities(plan, *, weekly_hours):
        assert plan is three
        return plain if weekly_hours is None else report

    monkeypatch.setattr(cb, "practice_priorities", priorities, raising=False)
    assert PracticeReport.model_validate_json(run(capsys, "practice", "--hours", "3", "--json")) == report
    page = run(capsys, "practice", "--hours", "3")
    assert all(row.skill in page for row in report.priorities)
    assert "How to split the hours" in page
    assert "licensed coach" in " ".join(page.split())
    assert max(map(len, page.splitlines())) <= 80
    assert "How to split the hours" not in run(capsys, "practice")


def test_bag_passes_the_limit_and_what_stays(three, capsys, monkeypatch):
    calls = []
    monkeypatch.setattr(cb, "choose_bag", lambda plan, **given: calls.append(given) or BAG, raising=False)
    asked = ("bag", "--limit", "13", "--keep", "driver", "--keep", "7-iron")
    assert BagChoice.model_validate_json(run(capsys, *asked, "--json")) == BAG
    page = run(capsys, *asked)
    assert calls == [{"limit": 13, "keep": ["driver", "7-iron"]}] * 2
    assert "0.250" in page
    assert "0.031" in page


def test_carry_makes_a_card_and_prices_one(three, capsys, tmp_path):
    card = CarryCard.model_validate_json(run(capsys, "carry", "--rules", "1", "--json"))
    assert card == cb.carry_card(three, 1)
    path = tmp_path / "card.json"
    path.write_text(card.model_copy(update={"rules": ()}).model_dump_json())
    page = run(capsys, "carry", "--price", str(path))
    dearer = cb.price_card(three, CarryCard.model_validate_json(path.read_text()))
    assert " ".join(page.split()).count(" ".join(dearer.sentence.split())) == 1
    assert dearer.expected > card.expected
    assert max(map(len, page.splitlines())) <= 80


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["press"], "--hole"),
        (["press", "--hole", "19"], "hole 19"),
        (["press", "--hole", "1", "--at", "0,9", "--to-pin", "90"], "once"),
        (["doubles", "--hole", "19"], "hole 19"),
        (["confidence"], "--hole"),
        (["confidence", "--hole", "19"], "hole 19"),
        (["confidence", "--hole", "1", "--draws", "2"], "--draws"),
        (["confidence", "--hole", "1", "--seed", "-2"], "--seed"),
        (["doubles", "--hole", "1", "--at-most", "101"], "0 to 100"),
        (["doubles", "--at-most", "-1"], "--at-most"),
        (["doubles", "--at-most", "inf"], "found inf"),
        (["doubles", "--at-most", "0.001"], "doubles: --at-most: found 0.001; expected at least 0."),
        (["doubles", "--hole", "1", "--at-most", "0.01"], "times in 100: no way to play does better"),
        (["compare", "driver"], "SECOND"),
        (["compare", "driver", "4-hybrid"], "--hole"),
        (["compare", "driver", "4-hybrid", "--hole", "19"], "hole 19"),
        (["compare", "niblick", "4-hybrid", "--hole", "1"], "niblick"),
        (["compare", "driver", "4-hybrid", "--hole", "1", "--at", "x"], "'x'"),
        (["compare", "driver", "4-hybrid", "--hole", "1", "--at", "0,9", "--to-pin", "90"], "once"),
        (["compare", "driver", "4-hybrid", "--hole", "1", "--aim-for", "fun"], "fun"),
        (["review"], "ROUND"),
        (["review", "absent.json"], "absent.json"),
        (["practice", "--hours", "-1"], "--hours"),
        (["practice", "--hours", "0"], "hours"),
        (["bag", "--limit", "15"], "--limit"),
        (["bag", "--keep", "niblick"], "niblick"),
        (["carry", "--rules", "50"], "--rules"),
        (["carry", "--price", "absent.json"], "absent.json"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_what_will_not_do_is_one_line(three, capsys, arguments, words):
    assert main(arguments) == 2
    written = capsys.readouterr()
    assert written.out == ""
    (line,) = written.err.splitlines()
    assert line.startswith("caddiebrain: ")
    assert words in line


def test_every_fault_of_a_round_is_a_line_before_any_planning(planned, capsys, tmp_path):
    path = tmp_path / "round.json"
    bad = json.loads(json.dumps(PLAYED))
    bad["holes"][0]["shots"][0]["distance"] = 4
    bad["holes"][0]["score"] = "three"
    path.write_text(json.dumps(bad))
    assert main(["review", str(path)]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 2
    assert all("round.json" in line for line in lines)
    assert planned == []


def test_what_does_not_fit_the_course_is_named_before_any_planning(planned, capsys, tmp_path):
    path = tmp_path / "round.json"
    bad = json.loads(json.dumps(PLAYED))
    bad["holes"][0]["shots"][0]["club"] = "spoon"
    bad["holes"].append({"number": 19, "shots": []})
    path.write_text(json.dumps(bad))
    assert main(["review", str(path)]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert all(line.startswith(f"caddiebrain: {path}: hole ") for line in lines)
    assert any("found 'spoon'" in line for line in lines)
    assert any("hole 19: found not on the course" in line for line in lines)
    assert planned == []


def test_every_fault_of_a_card_is_a_line_before_any_planning(planned, capsys, tmp_path):
    path = tmp_path / "card.json"
    path.write_text('{"course": "X", "rules": 4}')
    assert main(["carry", "--price", str(path)]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) > 5
    assert all(str(path) in line for line in lines)
    path.write_text("not json")
    assert main(["carry", "--price", str(path)]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1
    assert planned == []
