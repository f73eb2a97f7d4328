"""Two holes of the demo course planned for real, through the library and through the command line."""

import json
from dataclasses import replace

import pytest

import caddiebrain as cb
from caddiebrain import demo
from caddiebrain.cli import main
from caddiebrain.course import write_course
from caddiebrain.round.record import PlanRecord
from caddiebrain.testing import check_plan

TARGET = 9


@pytest.fixture(scope="module")
def two_holes(tmp_path_factory):
    """Holes 4 and 16, both par 3, written as a file of two holes."""
    course = demo.course()
    holes = (replace(course.hole(4), number=1), replace(course.hole(16), number=2))
    path = tmp_path_factory.mktemp("course") / "two.geojson"
    write_course(replace(course, name="Two short ones", holes=holes), path)
    return path


@pytest.fixture(scope="module")
def plan(two_holes):
    return cb.plan_round(cb.load_course(two_holes), demo.player(), target=TARGET)


def run(capsys, *arguments: object) -> str:
    assert main([str(a) for a in arguments]) == 0
    return capsys.readouterr().out


def test_the_plan_keeps_the_contract(plan):
    check_plan(plan)


def test_the_command_line_says_what_the_library_says(plan, two_holes, capsys):
    written = run(capsys, "plan", "--course", two_holes, "--target", TARGET, "--json")
    assert PlanRecord.model_validate_json(written) == plan.record()
    page = run(capsys, "plan", "--course", two_holes, "--target", TARGET)
    assert f"Expected score, playing for the average: {plan.expected_score:.1f}" in page
    for hole in plan.holes:
        assert f"{hole.number} " in page
        assert hole.tee_choice.label in page


def test_one_hole_and_one_place(plan, two_holes, capsys):
    arguments = ("--course", two_holes, "--target", TARGET, "--hole", 2, "--json")
    one = json.loads(run(capsys, "plan", *arguments, "--standing", 1))
    assert [o["label"] for o in one["options"]] == [o.label for o in plan.hole(2).tee_options(1)]
    place = ("--to-pin", 30, "--lie", "rough", "--strokes", 1, "--standing", -1)
    ranked = json.loads(run(capsys, "options", *arguments, *place))
    expected = plan.options(2, to_pin=30, lie="rough", strokes_on_hole=1, standing=-1)
    assert [(o["label"], o["chance"]) for o in ranked] == [(o.label, o.chance) for o in expected]


def test_a_place_off_the_map_is_refused(two_holes, capsys):
    assert main(["options", "--course", str(two_holes), "--hole", "1", "--at", "9000,9000"]) == 2
    written = capsys.readouterr()
    assert written.out == ""
    assert written.err.startswith("caddiebrain: hole 1")
    assert len(written.err.splitlines()) == 1


@pytest.mark.slow
def test_the_demo_round_keeps_the_contract():
    plan = cb.plan_round(demo.course(), demo.player(), target=79)
    check_plan(plan)
    assert len(plan.holes) == 18
    assert 0.0 < plan.chance_expected_policy(79) <= plan.chance(79) < 1.0
