"""Each verb: what it asks of the library, and what it writes where."""

import inspect
import json
import re
import shlex
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

import caddiebrain as cb
from caddiebrain import demo
from caddiebrain.cli import main
from caddiebrain.cli.app import VERBS
from caddiebrain.course import CourseReport, describe_course
from caddiebrain.player import Player
from caddiebrain.report.words import CAUTIONS
from caddiebrain.round.confidence import Confidence
from caddiebrain.round.record import ChoiceRecord, PlanRecord

ROW = re.compile(r"^ *(\d+) +([345]) +(\d{3}) +(.+)$")


def run(capsys, *arguments: str) -> str:
    assert main(arguments) == 0
    written = capsys.readouterr()
    assert written.err == ""
    return written.out


def test_a_bare_plan_is_the_demo_on_one_screen(planned, capsys):
    page = run(capsys, "plan")
    (call,) = planned
    assert (call["course"], call["player"], call["target"]) == (demo.course().name, demo.player().name, 79)
    lines = page.splitlines()
    assert max(map(len, lines)) <= 80
    rows = [m for line in lines if (m := ROW.match(line))]
    assert [int(m[1]) for m in rows] == list(range(1, 19))
    assert rows[0][4].startswith("driver 10 left at 228")
    assert "4.61" in rows[0][4]
    assert "15" in rows[0][4]
    assert "79 or better: 9.8 rounds in 100 with this plan, 9.1 playing for the average" in page
    assert "85.3" in page
    assert all(line in page for line in CAUTIONS)


def test_the_change_of_club_is_said_with_its_standing(planned, capsys):
    page = run(capsys, "plan")
    assert page.count("pitching wedge from +3\n") == 18
    assert "driver to" not in page  # the choice in the table needs no second mention


def test_plan_as_json_is_the_record_and_nothing_else(planned, literal, capsys):
    assert PlanRecord.model_validate_json(run(capsys, "plan", "--json")) == literal.plan
    keys = json.loads(run(capsys, "plan", "--json")).keys()
    expected = {"target", "expected_score", "chance", "chance_expected_policy", "score_pmf", "holes"}
    assert expected <= keys


def test_one_hole_in_detail(planned, capsys):
    page = run(capsys, "plan", "--hole", "7", "--standing", "3", "--target", "84")
    assert max(map(len, page.splitlines())) <= 80
    assert "Hole 7, par 4, 401 yards" in page
    assert "On the tee at 3 over, playing for 84" in page
    flat = " ".join(page.split())
    assert flat.index("pitching wedge 12 right of line at 118 115") < flat.index("driver 10 left at 228 210")
    assert "birdie par bogey double bogey triple bogey" in flat
    assert "6 43 36 12 3" in flat
    assert "fairway 61, rough 30, thick rough 8" in flat
    assert "driver if 2 over or better: 10 yards left of centre, at 228" in flat
    assert "pitching wedge if 3 over or worse: 12 yards right of the line of play, at 118" in flat


def test_one_hole_as_json(planned, literal, capsys):
    got = json.loads(run(capsys, "plan", "--hole", "7", "--json"))
    assert got["number"] == 7
    assert [ChoiceRecord.model_validate(o) for o in got["options"]] == literal.options


def test_the_day_reaches_the_plan(planned, capsys):
    day = ("--wind", "12", "--wind-from", "sw", "--temperature", "9", "--altitude", "300")
    run(capsys, "plan", *day)
    run(capsys, "plan", "--wind", "5", "--wind-from", "350", "--gust", "0")
    first, second = (call["conditions"] for call in planned)
    # Gusts where none are given: a sixth of the wind (EN 1991-1-4 has 0.19 over open country).
    expected = cb.Conditions(wind_mph=12, wind_from_deg=225, gust_mph=2, temperature_c=9, altitude_m=300)
    assert (first, second) == (expected, cb.Conditions(wind_mph=5, wind_from_deg=350))


def test_options_from_a_distance(planned, capsys):
    page = run(
        capsys,
        "options",
        "--hole",
        "7",
        "--to-pin",
        "165",
        "--lie",
        "rough",
        "--strokes",
        "1",
        "--standing",
        "-1",
    )
    given = planned[0]["plan"].given
    assert given["place"] == (7, None)
    assert (given["to_pin"], given["lie"], given["strokes_on_hole"], given["standing"]) == (
        165.0,
        "rough",
        1,
        -1,
    )
    assert "165 yards to the pin, in the rough" in page
    assert max(map(len, page.splitlines())) <= 80


def test_options_from_a_position_as_json(planned, literal, capsys):
    got = json.loads(run(capsys, "options", "--hole", "2", "--at", "-12,230.5", "--json"))
    assert planned[0]["plan"].given["place"] == (2, (-12.0, 230.5))
    assert [ChoiceRecord.model_validate(o) for o in got] == literal.options


def test_check_says_what_a_course_holds(course_file, capsys):
    page = run(capsys, "check", course_file)
    assert f"18 holes, par {demo.course().par}" in page
    assert len([line for line in page.splitlines() if ROW.match(line)]) == 18


def test_check_as_json(course_file, player_file, capsys):
    course = CourseReport.model_validate_json(run(capsys, "check", course_file, "--json"))
    assert course == describe_course(demo.course())
    assert Player.model_validate_json(run(capsys, "check", player_file, "--json")) == demo.player()


@pytest.fixture
def two_courses(tmp_path):
    """A map of two golf courses of one hole each; a bunker of the second is drawn as an open line."""
    features = []
    for name, x in (("Upper", 0.0), ("Lower", 0.02)):
        shapes = {
            "leisure": ("golf_course", "Polygon", [ring(x, 0.002, 0.004)]),
            "hole": ("hole", "LineString", [[x, 0.0], [x, 0.0013]]),
            "green": ("green", "Polygon", [ring(x, 0.0013, 0.0001)]),
        }
        if name == "Lower":
            shapes["bunker"] = ("bunker", "LineString", ring(x + 0.0002, 0.0013, 0.0001)[:3])
        for key, (value, sort, spots) in shapes.items():
            tags = {"leisure" if key == "leisure" else "golf": value, "name": name, "ref": "1", "par": "3"}
            geometry = {"type": sort, "coordinates": spots}
            features.append({"type": "Feature", "properties": tags, "geometry": geometry})
    path = tmp_path / "club.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    return str(path)


def ring(x, y, half):
    return [[x + a * half, y + b * half] for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1))]


def test_one_course_of_several_and_a_map_with_faults_are_asked_for(two_courses, capsys, planned):
    assert main(("check", two_courses)) == 2
    assert "found 2 courses: Upper (1 hole); Lower (1 hole)" in capsys.readouterr().err
    assert run(capsys, "check", two_courses, "--course-name", "upper").startswith("Upper: 1 hole, par 3")
    lower = (two_courses, "--course-name", "low")
    assert main(("check", *lower)) == 2
    assert "an outline that is not closed" in capsys.readouterr().err
    page = run(capsys, "check", *lower, "--partial")
    assert page.startswith("Lower: 1 hole, par 3")
    assert "an outline that is not closed" in " ".join(page.split())
    assert main(("plan", "--course", *lower, "--partial")) == 0
    assert [call["course"] for call in planned] == ["Lower"]


def test_check_says_what_a_player_holds(player_file, capsys):
    page = run(capsys, "check", player_file)
    assert all(club in page for club in demo.player().clubs)


@pytest.mark.parametrize("columns", ["40", "60", "200"])
def test_narrow_and_wide_terminals_lose_no_hole(planned, capsys, monkeypatch, columns):
    monkeypatch.setenv("COLUMNS", columns)
    lines = run(capsys, "plan").splitlines()
    assert max(map(len, lines)) <= int(columns)
    assert [n for n in range(1, 19) if any(re.match(rf" *{n} +4 ", line) for line in lines)] == list(
        range(1, 19)
    )


def test_fit_makes_a_player_and_says_how_sure_it_is(tmp_path, capsys):
    records, out = tmp_path / "tallies.csv", tmp_path / "me.json"
    records.write_text("club,tries,fairway\ndriver,11,6\n5-wood,5,5\n")
    page = run(capsys, "fit", str(records), "--index", "11", "--name", "Me", "--out", str(out))
    assert max(map(len, page.splitlines())) <= 80
    assert page.startswith("Me\n")
    player = cb.load_player(out)
    level = cb.Level(handicap_index=11.0)
    assert player.patterns == cb.fit_player([records], level, name="Me").patterns
    row = next(line for line in page.splitlines() if line.startswith("driver"))
    assert re.match(
        rf"driver +{player.patterns[0].carry_yd:.0f} ± \d+ +\d+ ± \d+ +\d+ \(\d+ to \d+\) .* 11$", row
    )
    written = Player.model_validate_json(run(capsys, "fit", str(records), "--index", "11", "--json"))
    assert written.patterns == player.patterns


def test_fit_tells_which_way_a_club_goes_and_which_index_the_shots_are_like(tmp_path, capsys):
    records, out = tmp_path / "shots.csv", tmp_path / "me.json"
    drives = "".join(f"driver,tee,262,{12 + 6 * (i % 3)}\n" for i in range(40))
    irons = "".join(f"7i,fairway,176,{i % 3 - 1}\n" for i in range(40))
    records.write_text(f"club,lie,carry_yd,offline_yd\n{drives}{irons}")
    page = run(capsys, "fit", str(records), "--index", "20", "--out", str(out))
    assert re.search(r"^driver +26\d ± \d+ 1[78] right ± \d ", page, re.MULTILINE)
    assert re.search(r"^driver: 1[78] yards right of the aim on average$", page, re.MULTILINE)
    assert "7-iron:" not in page
    (note,) = cb.load_player(out).notes
    assert re.match(r"these shots play like an index of about \+?\d+; 20 was given: were the bad ones", note)
    assert note in " ".join(page.split())


def test_fit_passes_notes_on_without_mixing_them_into_the_data(tmp_path, capsys):
    records = tmp_path / "tallies.csv"
    records.write_text("club,tries,fairway\ndriver,11,6\nold faithful,3,2\n7i,,1\n")
    assert main(["fit", str(records), "--index", "11", "--alias", "old faithful = 7-wood"]) == 0
    written = capsys.readouterr()
    assert "7-wood" in written.out
    assert written.err
    assert all(line.startswith("caddiebrain: note: ") for line in written.err.splitlines())
    assert "note" not in written.out


def test_fit_needs_no_records_where_an_index_is_given(tmp_path, capsys):
    out = tmp_path / "me.json"
    page = run(capsys, "fit", "--index", "24", "--name", "Tilda Marsh (invented)", "--out", str(out))
    assert "no putts on record" in page
    assert cb.load_player(out).patterns == cb.Level(handicap_index=24.0).player().patterns
    assert main(["fit"]) == 2
    assert "expected RECORDS, --index N, or both" in capsys.readouterr().err


def test_fit_takes_the_clubs_owned(tmp_path, capsys):
    records = tmp_path / "tallies.csv"
    records.write_text("club,tries,fairway\ndriver,11,6\n")
    asked = ("fit", str(records), "--index", "11", "--json", "--clubs")
    written = Player.model_validate_json(run(capsys, *asked, "driver, 5w,7i, pw, sw"))
    assert written.clubs == ("driver", "5-wood", "7-iron", "pitching wedge", "sand wedge")
    assert main([*asked, "driver, spoon, sw"]) == 2
    assert "fit: --clubs: found 'spoon'; expected one of driver, 2-wood" in capsys.readouterr().err


def test_check_says_what_records_hold(tmp_path, capsys):
    records = tmp_path / "tallies.txt"
    records.write_text("club,tries,fairway\ndriver,11,6\n5-wood,5,5\n")
    assert run(capsys, "check", str(records)) == "records: tallies 2\n"
    assert json.loads(run(capsys, "check", str(records), "--json"))["rows"] == {"tallies": 2}


def test_check_knows_records_that_begin_with_remarks(tmp_path, capsys):
    records = tmp_path / "records.csv"
    records.write_text("# units: metres\n# my notebook\n\nclub,carry\n7i,131\n")
    assert run(capsys, "check", str(records)) == "records: shots 1\n"


def test_confidence_on_a_page(planned, capsys):
    page = run(capsys, "confidence", "--hole", "7", "--draws", "20")
    assert page.startswith("The driver beats the 4-hybrid for 7 in 10")
    assert re.search(r"^driver +41 shots$", page, re.MULTILINE)
    assert re.search(r"^4-hybrid +none of its own$", page, re.MULTILINE)
    assert "70% of 20 players" in " ".join(page.split())
    written = Confidence.model_validate_json(run(capsys, "confidence", "--hole", "7", "--json"))
    assert (written.hole, written.draws) == (7, 40)


def test_help_and_version(capsys):
    assert run(capsys, "--version") == f"caddiebrain {cb.__version__}\n"
    for verb in (
        "plan",
        "options",
        "carry",
        "compare",
        "press",
        "doubles",
        "confidence",
        "review",
        "practice",
        "bag",
        "fit",
        "check",
    ):
        assert verb in run(capsys, "--help")
        assert "--help" in run(capsys, verb, "--help")


ANSWERED = {
    "carry": "carry_card",
    "compare": "compare",
    "press": "press",
    "doubles": "limit_disasters_of_round",
    "review": "review",
    "practice": "practice_priorities",
}
ANSWERED |= {"bag": "choose_bag"}
"""Verbs that ask a plan a question, and what answers it."""


def test_the_command_lines_of_the_readme_are_understood(planned, capsys, monkeypatch, tmp_path):
    readme = Path(__file__).parents[2] / "README.md"
    lines = re.findall(r"^caddiebrain (.*)$", readme.read_text(encoding="utf-8"), re.MULTILINE)
    plain = {"plan", "options", "confidence", "fit", "check", "schema"}
    assert {line.split()[0] for line in lines} == plain | {*ANSWERED}
    course, player = demo.course(), demo.player()
    monkeypatch.setattr(cb, "load_course", lambda path, **how: course, raising=False)
    monkeypatch.setattr(cb, "load_player", lambda path: player, raising=False)
    monkeypatch.chdir(tmp_path)
    (tmp_path / "shots.csv").write_text("club,tries,fairway\ndriver,11,6\n")
    (tmp_path / "round.json").write_text((readme.parent / "examples" / "demo_round.json").read_text())

    def answer(*asked: object, **more: object) -> None:
        raise cb.InputError.one("asked", "all of it", "understood", "nothing more")

    for name in ANSWERED.values():
        monkeypatch.setattr(cb, name, answer, raising=False)
    written = []
    monkeypatch.setattr(cb, "write_book", lambda plan, path, card: written.append(path), raising=False)
    for line in lines:
        words = shlex.split(line.partition(">")[0], comments=True)
        if words[0] in ANSWERED:
            assert main(words) == 2
            assert "all of it: found understood" in capsys.readouterr().err, line
        else:
            assert run(capsys, *words), line
    assert written == [Path("round.html")]


def test_the_help_knows_each_verb_by_the_words_of_the_verb_itself():
    for verb, words in VERBS.items():
        own = inspect.getdoc(import_module(f"caddiebrain.cli.{verb}").run) or ""
        assert " ".join(own.split("\n\n")[0].split()) == words


def test_the_help_is_there_before_the_engine_would_be():
    script = "import sys; from caddiebrain.cli import main; main(['--help']); print('numpy' in sys.modules)"
    told = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert told.stdout.splitlines()[-1] == "False"
    assert all(verb in told.stdout for verb in VERBS)


def test_a_bare_command_shows_the_help_and_nothing_else(capsys):
    assert main([]) == 0
    bare = capsys.readouterr()
    assert main(["--help"]) == 0
    assert bare == capsys.readouterr()
    assert bare.err == ""


@pytest.mark.parametrize("verb", [["options"], ["press"], ["compare", "driver", "7-iron"]])
def test_a_ball_said_to_lie_among_trees_is_looked_for_on_the_map(planned, literal, capsys, monkeypatch, verb):
    monkeypatch.setattr("caddiebrain.cli.places.spot_of", lambda plan, *place: place)
    monkeypatch.setattr("caddiebrain.cli.places.trees_note", lambda spot: f"none at {spot[2]:g}")
    for name in ("press", "compare"):
        monkeypatch.setattr(cb, name, lambda *args, **given: literal.plan, raising=False)
    main([*verb, "--hole", "4", "--to-pin", "150", "--lie", "trees", "--json"])
    assert "caddiebrain: note: none at 150" in capsys.readouterr().err
