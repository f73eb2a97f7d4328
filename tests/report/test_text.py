"""Pages of plans and choices on eighty columns, from literal records."""

from caddiebrain.report.insight_text import as_text
from caddiebrain.report.text import hole_page, options_page, round_page
from caddiebrain.round.record import ChoiceRecord, HoleRecord, PlanRecord, SwitchRecord

WIDTH = 80
DROP = "drop, unplayable, {} (one penalty stroke)"


def choice(label: str, aim: str = "27 yards left of centre, at 16", expected: float = 4.1) -> ChoiceRecord:
    return ChoiceRecord(
        label=label,
        club="",
        shape="",
        height="",
        aim_words=aim,
        aim_deg=0.0,
        aim_xy=(0.0, 0.0),
        carry_yd=0.0,
        expected=expected,
        chance=0.343,
        shares={"fairway": 1.0},
    )


def test_the_names_of_drops_do_not_push_the_numbers_off_the_page():
    page = as_text(options_page("Among trees", [choice(DROP.format("24 yards back"), expected=4.24)]), WIDTH)
    assert "…" not in page
    assert "4.24" in page
    assert "34.3" in page
    assert "24 yards back" in " ".join(page.split())


def test_scores_of_a_hole_that_can_end_many_ways_are_all_read():
    tee = choice("4-hybrid", "down the centre, at 120")
    hole = HoleRecord(
        number=6,
        par=4,
        length_yd=402.0,
        stroke_index=3,
        expected_score=8.04,
        score_pmf=(0.0, 0.0, 0.0, 0.0, 0.0, 0.02, 0.17, 0.27, 0.22, 0.15, 0.09, 0.05, 0.01, 0.01, 0.01),
        double_bogey_or_worse=0.98,
        tee_choice=tee,
        switches=(SwitchRecord(from_standing=None, to_standing=None, choice=tee),),
    )
    page = as_text(hole_page(hole, 0, 120, [tee]), WIDTH)
    assert "…" not in page
    assert "10 over" in page


def test_tables_say_that_aims_hold_the_wind_and_the_bias_already():
    plan = PlanRecord(
        course="",
        player="",
        par=4,
        target=4,
        expected_score=4.1,
        chance=0.5,
        chance_expected_policy=0.5,
        score_pmf={},
        holes=(),
    )
    for page in (round_page(plan), options_page("On the tee", [choice("driver")])):
        assert "Full shots' aims hold wind and bias." in as_text(page, WIDTH)


def test_beyond_the_first_eight_a_club_is_listed_once():
    clubs = [
        "driver",
        "3-wood",
        "driver",
        "4-iron",
        "3-wood",
        "4-iron",
        "5-iron",
        "driver",
        "4-iron",
        "9-iron",
        "9-iron",
    ]
    shots = [
        choice(f"{club} no. {i}", expected=4.0 + 0.01 * i).model_copy(update={"club": club})
        for i, club in enumerate(clubs)
    ]
    page = as_text(options_page("On the tee", [*shots, choice("pitch to 40 yards")]), WIDTH)
    assert [i for i in range(len(shots)) if f"no. {i} " in page] == [0, 1, 2, 3, 4, 5, 6, 7, 9]
    assert "pitch to 40 yards" in page
    assert "Left out: worse shots of the clubs listed (2); --json has them." in page
