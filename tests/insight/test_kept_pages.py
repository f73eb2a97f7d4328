"""Pages that keep what examples print: what they say in prose still holds, and the outputs are not another page.

Every claim of a page's prose about an output is a test here, asked of the plan and not of the text.
"""

import runpy

import pytest
from kept_pages import EXAMPLES, NAMES, PAGES, VERSION, example, kept, text_of, unlike

from caddiebrain.insight.compare import compare
from caddiebrain.insight.press import press

# -- the pages themselves -------------------------------------------------------------------------------------


@pytest.mark.parametrize("page", PAGES)
def test_a_page_keeps_the_output_of_its_examples_and_says_of_which_version(page):
    outputs = kept(page)
    assert tuple(outputs) == PAGES[page]
    assert all(len(text) > 500 for text in outputs.values())
    (version,) = VERSION.findall(text_of(page))
    assert f"## {version}" in text_of("changes.md")


OLD = """THE NARROW PAR 4

The 4-hybrid gives up 46 yards, which costs 0.20 strokes.
In all it is 0.59 better.

ends in   1st then
fairway    81 3.75
rough      17 4.17
trees       1 5.14

Wait until the group ahead is out of range."""


def test_a_page_that_is_a_little_older_is_the_same_page():
    assert unlike(OLD, OLD) == []
    tuned = OLD.replace("46", "44").replace("0.59", "0.57").replace("81 3.75", "79 3.77")
    assert unlike(OLD, tuned) == []
    assert (
        unlike(OLD, OLD.replace("4-hybrid", "3-wood")) == []
    )  # a claim of the prose must say it, not the page


@pytest.mark.parametrize(
    ("before", "after", "fault"),
    [
        ("ends in   1st then", "result    1st then", "sections"),
        ("\n\nWait until the group ahead is out of range.", "", "sections"),
        ("THE NARROW PAR 4", "THE SEVENTH", "sections"),
        ("rough      17 4.17\ntrees       1 5.14", "a\nb\nc\nd", "of the same kind"),
        ("0.59", "0.50", "0.59 became 0.50"),
        ("81 3.75", "50 3.75", "81 became 50"),
    ],
)
def test_a_page_that_is_stale_is_found_out(before, after, fault):
    (found,) = unlike(OLD, OLD.replace(before, after))
    assert fault in found


# -- claims that are quickly asked ----------------------------------------------------------------------------


def test_the_layup_beats_the_driver_on_the_narrow_par_4(demo_plan):
    found = compare(demo_plan, hole=7, first="4-hybrid", second="driver")
    assert demo_plan.hole(7).tee_choice.club == "4-hybrid"
    assert found.strokes_difference < -0.3
    assert found.target_difference > 0.03
    lost = next(part for part in found.parts if part.result == "stroke and distance")
    assert lost.strokes == min(part.strokes for part in found.parts)
    assert found.first.carry_yd < found.second.carry_yd - 30


def test_the_punch_out_beats_the_gap_in_the_trees(demo_plan):
    wood = {"position": (-30.0, 227.0), "lie": "trees", "strokes_on_hole": 1}
    found = compare(demo_plan, hole=3, first="punch", second="low 6-iron", **wood)
    assert found.strokes_difference < -0.1
    assert found.target_difference > 0


def test_with_strokes_to_spare_the_usual_shot_serves_the_target_too(demo_plan):
    moment = press(demo_plan, hole=14, standing=3)
    assert (moment.to_spare, moment.options[0].stance) == (4, "usual")


def test_needing_a_birdie_on_17_the_driver_presses(demo_plan):
    moment = press(demo_plan, hole=17, standing=8)
    best = moment.options[0]
    assert (moment.to_spare, best.label, best.stance) == (-1, "driver", "press")
    assert best.expected > min(option.expected for option in moment.options)


def test_with_a_bogey_to_spare_on_18_the_hybrid_protects(demo_plan):
    moment = press(demo_plan, hole=18, standing=6)
    best = moment.options[0]
    assert (moment.to_spare, best.label, best.stance) == (1, "4-hybrid", "protect")
    driver = next(option for option in moment.options if option.label == "driver")
    assert driver.expected < best.expected
    assert driver.target < best.target - 0.005


# -- claims that take solving, and the outputs ------------------------------------------------------------------


@pytest.fixture(scope="module")
def answers(demo_plan):
    """Answers of an example to its own questions, asked once."""
    asked: dict[str, tuple] = {}

    def of(name: str) -> tuple:
        if name not in asked:
            asked[name] = example(name)["ask"](demo_plan)
        return asked[name]

    return of


@pytest.mark.slow  # holes are solved again some dozens of times
@pytest.mark.parametrize("name", [name for name in NAMES if name != "card_to_carry"])
def test_the_example_prints_the_same_page_as_kept(name, made_already, capsys):
    page = next(page for page, names in PAGES.items() if name in names)
    runpy.run_path(str(EXAMPLES / f"{name}.py"), run_name="__main__")
    assert unlike(kept(page)[name], capsys.readouterr().out) == []


@pytest.mark.slow
def test_the_card_for_all_18_holes_is_the_page_kept(answers):
    """The example itself makes a card for three holes."""
    assert (
        unlike(kept("carry.md")["card_to_carry"], example("card_to_carry")["page"](*answers("card_to_carry")))
        == []
    )


@pytest.mark.slow
def test_a_tighter_driver_turns_the_choice_on_7_and_a_wider_fairway_does_not(answers):
    _, tips, _ = answers("why_this_club")
    turned = {answer.question: answer.change is not None for answer in tips.answers}
    assert (tips.better, tips.other) == ("4-hybrid", "driver")
    assert [turned[q] for q in turned if "tighter" in q or "spread" in q] == [True], turned
    assert [turned[q] for q in turned if "wider" in q] == [False], turned


@pytest.mark.slow
def test_choices_cost_more_than_strokes_in_the_demo_round(answers):
    (review,) = answers("review_a_round")
    assert review.decision > 1.0 > review.execution
    worst = max(review.shots, key=lambda shot: shot.decision)
    assert (worst.hole, worst.stroke, worst.club, worst.best) == (7, 1, "driver", "4-hybrid")


@pytest.mark.slow
def test_long_shots_and_short_putts_are_worth_practising_first(answers):
    (report,) = answers("practice")
    first = {p.skill for p in report.priorities[:2]}
    assert first == {"full shots of 170 yards and more", "short putts (aim)"}
    assert report.hours.gain > report.priorities[0].chance


@pytest.mark.slow
def test_the_clubs_left_at_home_cost_next_to_nothing(answers):
    found = answers("bag")[-1]
    assert len(found.left_out) == 2
    assert found.expected - found.expected_all < 0.02
    assert found.status == "proven"


@pytest.mark.slow
def test_fewer_doubles_cost_little(answers):
    curve, one, whole = answers("fewer_doubles")
    assert one.usable_expected - one.expected_free < 0.02
    assert whole.expected - whole.expected_free < 0.1
    assert curve.points[-1].expected - curve.points[0].expected > 5 * (one.expected - one.expected_free)


@pytest.mark.slow
def test_playing_for_36_points_makes_them_more_often(answers):
    handicap, mean, goal, match = answers("stableford")
    assert handicap == 10
    assert goal.value > mean.chance(36) > 0.2
    assert mean.value > mean.value_strokes_policy
    won, _, lost = match.match
    assert won > lost


@pytest.mark.slow
def test_most_of_the_card_s_worth_is_in_three_rules(answers):
    (card,) = answers("card_to_carry")
    assert len(card.rules) <= 12
    assert card.cost_strokes < 1.0
    saved = sorted((rule.saves for rule in card.rules), reverse=True)
    assert sum(saved[:3]) > 0.9 * sum(saved)
    best = {rule.play.kind for rule in sorted(card.rules, key=lambda r: -r.saves)[:3]}
    assert best == {"punch on", "shot", "pace"}
    steps = [step.expected for step in card.by_rules]
    assert steps[0] - steps[3] > 0.9 * (steps[0] - steps[-1])
