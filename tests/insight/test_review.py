"""A played round against its plan: every stroke accounted for, every fault named."""

import copy
import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from played_rounds import random_round

import caddiebrain as cb
from caddiebrain.errors import InputError
from caddiebrain.insight.played import check_round, load_played_round
from caddiebrain.insight.records_review import PartReview, PlayedRound, RoundReview
from caddiebrain.insight.review import review
from caddiebrain.insight.words_review import review_sentence, takeaways_of
from caddiebrain.player.records import load_records

EXACT = 1e-9


def adds_up(plan, found: RoundReview) -> None:
    assert found.expected == pytest.approx(plan.expected_score, abs=EXACT)
    assert found.decision + found.execution == pytest.approx(found.score - found.expected, abs=EXACT)
    assert sum(p.gained for p in found.parts) == pytest.approx(found.expected - found.score, abs=EXACT)
    assert sum(p.strokes for p in found.parts) == len(found.shots)
    for hole in found.holes:
        assert hole.decision + hole.execution == pytest.approx(hole.score - hole.expected, abs=EXACT)
    assert all(s.decision >= 0.0 and s.target_given_up >= 0.0 for s in found.shots)


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 2**32 - 1), whims=st.sampled_from([0.0, 0.3, 0.8]))
def test_decisions_and_strokes_add_up_to_the_score(three_plan, seed, whims):
    played = random_round(three_plan, np.random.default_rng(seed), whims)
    found = review(three_plan, played)
    assert found.score == sum(h["score"] for h in played["holes"])
    adds_up(three_plan, found)


def test_following_the_plan_costs_no_decision(three_plan):
    """Played by the plan, every decision is free up to the aims between those looked at."""
    for seed in range(5):
        found = review(three_plan, random_round(three_plan, np.random.default_rng(seed), whims=0.0))
        assert found.decision < 0.02


def test_execution_is_luck_around_nothing(three_plan):
    """Rounds played on the model itself: the mean execution is nought, its spread the one reported."""
    rng = np.random.default_rng(11)
    found = [review(three_plan, random_round(three_plan, rng, whims=0.1)) for _ in range(60)]
    off = np.array([f.execution for f in found])
    assert abs(off.mean()) < 3.5 * off.std() / np.sqrt(len(off))
    assert off.std() == pytest.approx(np.sqrt(np.mean([f.luck**2 for f in found])), rel=0.35)


def plain() -> dict:
    """A par 3 in four strokes, and a par 4 with a penalty; positions and distances mixed."""
    return {
        "date": "2026-05-03",
        "holes": [
            {
                "number": 2,
                "score": 4,
                "shots": [
                    {"club": "6-iron", "result": "rough"},
                    {"club": "chip", "to_pin": 20.0, "lie": "rough", "result": "green"},
                    {"club": "putter", "feet": 9.0},
                    {"club": "putter", "feet": 1.0, "result": "holed"},
                ],
            },
            {
                "number": 1,
                "score": 6,
                "shots": [
                    {"club": "driver", "result": "yellow", "penalty": 1},
                    {"club": "7-iron", "position": [0.0, 230.0], "lie": "fairway"},
                    {"club": "sand wedge", "position": [4.0, 365.0], "lie": "rough", "result": "green"},
                    {"club": "putter", "feet": 12.0},
                    {"club": "putter", "feet": 2.0, "result": "holed"},
                ],
            },
        ],
        "score": 10,
    }


def test_a_round_by_hand(three_plan):
    """Telescoping by hand: decision + execution of a stroke is spent + V(next) - V(here)."""
    found = review(three_plan, plain())
    assert (found.score, [h.number for h in found.holes]) == (10, [2, 1])
    expected = three_plan.hole(1).expected_score + three_plan.hole(2).expected_score
    assert found.expected == pytest.approx(expected, abs=EXACT)
    assert found.difference == pytest.approx(10 - expected, abs=EXACT)
    drive = next(s for s in found.shots if s.club == "driver")
    after = found.shots[found.shots.index(drive) + 1].expected_before
    assert drive.decision + drive.execution == pytest.approx(2 + after - drive.expected_before, abs=EXACT)
    assert [s.part for s in found.shots] == [
        "approach, 150 to 200 yards", "short game, rough", "putting", "putting", "off the tee",
        "approach, 150 to 200 yards", "short game, rough", "putting", "putting",
    ]  # fmt: skip
    wedge = next(s for s in found.shots if s.club == "sand wedge")
    assert wedge.chosen.startswith(("chip", "pitch"))
    assert found.shots[2].result == "green"


def test_a_poor_choice_is_charged_to_the_decision(three_plan):
    played = plain()
    played["holes"][0]["shots"][0]["club"] = "driver"
    found = review(three_plan, played)
    first = found.shots[0]
    options = {o.label: o.expected for o in three_plan.options(2, (0.0, 0.0), every_aim=False)}
    assert first.decision > 0.3
    if "driver" in options:
        assert first.decision == pytest.approx(options["driver"] - min(options.values()), abs=1e-3)
    assert "driver, stroke 1 on 2" in found.takeaways[0]


def test_a_recorded_aim_counts(three_plan):
    played = plain()
    played["holes"][1]["shots"][0]["aim_deg"] = 0.0
    straight = review(three_plan, played).shots[4]
    best = review(three_plan, plain()).shots[4]
    assert straight.decision > best.decision + 0.05
    assert straight.decision + straight.execution == pytest.approx(best.decision + best.execution, abs=EXACT)


def test_a_club_the_plan_cannot_weigh_is_said_so(three_plan):
    played = plain()
    played["holes"][1]["shots"][1]["club"] = "driver"  # off the fairway, which this player's file bars
    shot = review(three_plan, played).shots[5]
    assert "counts as execution" in shot.note
    assert shot.decision == 0.0


def test_reference_level(three_plan):
    found = review(three_plan, plain(), reference=cb.Level(handicap_index=0.0))
    assert found.reference == "a golfer of handicap index 0"
    assert found.reference_expected < found.expected
    gained = sum(s.gained_on_reference for s in found.shots)
    assert gained == pytest.approx(found.reference_expected - found.score, abs=EXACT)
    assert sum(p.gained_on_reference for p in found.parts) == pytest.approx(gained, abs=EXACT)
    own = review(three_plan, plain(), reference=three_plan)
    for shot in own.shots:
        assert shot.gained_on_reference == pytest.approx(shot.gained, abs=2e-3)


def test_rows_feed_the_next_fit(three_plan):
    found = review(three_plan, plain())
    records = load_records(found.records)
    assert records.warnings == ()
    assert sorted(records.tables) == ["putts", "short_game", "shots"]
    assert records.tables["shots"]["club"].tolist() == ["6-iron", "driver", "7-iron"]
    assert records.tables["shots"]["penalty"].tolist() == [0.0, 1.0, 0.0]
    assert records.tables["putts"]["putts"].tolist() == [2.0, 2.0]
    assert records.tables["putts"]["distance"].tolist() == [9.0, 12.0]
    assert records.tables["short_game"]["leave"].tolist() == [9.0, 12.0]


def test_record_round_trip(three_plan, tmp_path):
    path = tmp_path / "round.json"
    path.write_text(json.dumps(plain()), encoding="utf-8")
    found = review(three_plan, path)
    assert found == review(three_plan, PlayedRound.model_validate(plain()))
    assert RoundReview.model_validate_json(found.model_dump_json()) == found


def broken(change) -> dict:
    played = copy.deepcopy(plain())
    change(played)
    return played


def shot(hole, stroke):
    return lambda played: played["holes"][hole]["shots"][stroke]


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (
            lambda p: p["holes"][1]["shots"].pop(2),
            r"hole 1, score: found 6; expected 5 \(4 strokes and 1 penalty stroke make 5\); add the missing stroke",
        ),
        (lambda p: p["holes"][0]["shots"].pop(), "hole 2, stroke 3, result: found nothing; expected holed, or the"),
        (lambda p: p["holes"][0].update(score=3), r"hole 2, score: found 3; expected 4 .*take out a stroke"),
        (lambda p: p.update(score=11), "score: found 11; expected 10, the sum of the holes"),
        (
            lambda p: shot(0, 0)(p).update(club="2-iron"),
            "hole 2, stroke 1, club: found '2-iron'; expected one the player has: driver",
        ),
        (
            lambda p: shot(1, 1)(p).update(position=[400.0, 230.0]),
            r"hole 1, stroke 2, position: found \(400, 230\); expected inside the hole",
        ),
        (lambda p: shot(1, 1)(p).update(position=[0.0, 250.0], lie=None), "hole 1, stroke 2, lie: found yellow"),
        (lambda p: shot(1, 0)(p).update(penalty=0), "hole 1, stroke 1, penalty: found 0 with a ball in yellow"),
        (lambda p: shot(1, 0)(p).update(penalty=5), "hole 1, stroke 1, penalty: found 5; expected 0 to 2"),
        (lambda p: shot(0, 1)(p).update(lie="sofa"), "hole 2, stroke 2, lie: found 'sofa'; expected a lie"),
        (lambda p: shot(0, 1)(p).update(lie="sand"), "hole 2, stroke 2, lie: found sand; expected rough, where"),
        (lambda p: shot(0, 0)(p).update(result="pond life"), "hole 2, stroke 1, result: found 'pond life'"),
        (lambda p: shot(0, 0)(p).update(result="holed"), "hole 2, stroke 1, result: found holed; expected the l"),
        (lambda p: shot(1, 2)(p).update(position=None), "hole 1, stroke 3, position: found nothing"),
        (lambda p: shot(1, 2)(p).update(position=None, to_pin=900.0), "hole 1, stroke 3, to_pin: found 900"),
        (lambda p: shot(0, 2)(p).update(feet=-3.0), "hole 2, stroke 3, feet: found -3 from the green"),
        (lambda p: shot(0, 2)(p).update(stroke=5), "hole 2, stroke 3, stroke: found 5; expected 3: a stroke is"),
        (lambda p: p["holes"][1].update(number=2), "hole 2: found twice"),
        (lambda p: p["holes"][1].update(number=17), "hole 17: found not on the course"),
        (lambda p: p.update(holes=[]), "holes: found none"),
        (lambda p: shot(1, 0)(p).update(wind=3), "hole entry 2, stroke entry 1, wind"),
        (lambda p: shot(1, 0)(p).pop("club"), "hole entry 2, stroke entry 1, club: found nothing; expected a value"),
        (lambda p: p["holes"][0].pop("shots"), "hole entry 1, shots: found nothing; expected a value; the field"),
    ],
)  # fmt: skip
def test_faults_are_named(three_plan, change, says):
    with pytest.raises(InputError, match=says):
        review(three_plan, broken(change))


def test_clubs_go_by_the_names_that_records_may_use(three_plan):
    played = plain()
    shot(0, 0)(played).update(club="6i")
    shot(1, 1)(played).update(club="Seven Iron")
    shot(1, 2)(played).update(club="SW")
    assert review(three_plan, played) == review(three_plan, plain())


def test_a_round_is_checked_alike_before_and_after_planning(three_plan, three_holes, demo_player, tmp_path):
    def several(played):
        shot(0, 0)(played).update(club="2i")
        shot(1, 1)(played).update(position=[0.0, 9000.0])
        played["holes"][1]["score"] = 7
        played["holes"].append({"number": 19, "score": 4, "shots": []})

    path = tmp_path / "saturday.json"
    path.write_text(json.dumps(broken(several)), encoding="utf-8")
    said = []
    for check in (
        lambda: check_round(three_holes, demo_player, None, load_played_round(path), str(path)),
        lambda: check_round(three_holes, demo_player, cb.Setup(), load_played_round(path), str(path)),
        lambda: review(three_plan, path),
    ):
        with pytest.raises(InputError) as caught:
            check()
        said.append([line.split(" inside the hole")[0] for line in str(caught.value).splitlines()])
    assert said[0] == said[1] == said[2]
    assert [line.startswith(f"{path}: hole ") for line in said[0]] == [True] * 4
    check_round(three_holes, demo_player, None, load_played_round(plain()))


def test_every_fault_is_reported(three_plan):
    def several(played):
        shot(0, 0)(played).update(club="2-iron")
        shot(1, 1)(played).update(position=[0.0, 9000.0])
        played["holes"][1]["score"] = 7

    with pytest.raises(InputError) as caught:
        review(three_plan, broken(several))
    assert [f.where for f in caught.value.faults] == [
        "hole 2, stroke 1, club",
        "hole 1, score",
        "hole 1, stroke 2, position",
    ]


def test_files_that_are_no_round(tmp_path):
    with pytest.raises(InputError, match="file"):
        load_played_round(tmp_path / "none.json")
    bad = tmp_path / "bad.json"
    bad.write_text("{", encoding="utf-8")
    with pytest.raises(InputError, match="a round as JSON"):
        load_played_round(bad)


def test_a_tee_shot_holed(three_plan):
    found = review(three_plan, {"holes": [{"number": 2, "shots": [{"club": "6-iron", "result": "holed"}]}]})
    assert found.score == 1
    assert found.execution < -2.0
    assert found.holes[0].expected == pytest.approx(three_plan.hole(2).expected_score, abs=EXACT)


def part(name, strokes, decision, execution, luck) -> PartReview:
    return PartReview(
        part=name,
        strokes=strokes,
        gained=-decision - execution,
        decision=decision,
        execution=execution,
        luck=luck,
    )


def test_a_part_of_the_holes_is_not_called_the_course(three_plan):
    assert " expects of the holes played: " in review(three_plan, plain()).sentence  # two holes of three


def test_words(three_plan):
    assert review_sentence(79, 81.0, 0.2, -2.2, 3.0) == (
        "79 is 2.0 fewer than your game expects of this course: 0.2 went on choices, 2.2 came back with good "
        "strokes (ordinary luck is 3.0 either way)."
    )
    shots = review(three_plan, plain()).shots
    parts = [part("putting", 30, 0.0, 2.0, 0.8), part("approach, 100 to 150 yards", 6, 0.0, -1.0, 1.2)]
    _, worst, best = takeaways_of([s.model_copy(update={"execution": 0.0}) for s in shots], parts)
    assert worst == "Putting lost 2.0 against your own average over 30 strokes, more than luck explains."
    assert best == (
        "Approach play from 100 to 150 yards gained 1.0 against your own average, within ordinary luck for "
        "one round."
    )


@pytest.mark.parametrize("result", ["out", "lost", "OB"])
def test_a_ball_out_of_bounds_is_played_again_from_where_it_was(three_plan, result):
    def played(**again):
        shots = [
            {"club": "driver", "result": result, "penalty": 1},
            {"club": "driver", **again},
            {"club": "9i", "to_pin": 120, "lie": "fairway"},
            {"club": "putter", "feet": 12},
            {"club": "putter", "feet": 2, "result": "holed"},
        ]
        return {"holes": [{"number": 1, "score": 6, "shots": shots}]}

    said = review(three_plan, played(position=(0, 0), lie="tee"))
    assert review(three_plan, played()).shots == said.shots
    two = played()  # two strokes: a drop by a local rule, wherever that was
    two["holes"][0]["score"] = 7
    two["holes"][0]["shots"][0]["penalty"] = 2
    with pytest.raises(InputError, match="position"):
        review(three_plan, two)
