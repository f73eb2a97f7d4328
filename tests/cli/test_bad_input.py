"""Whatever is wrong with the input: a line per fault on standard error, exit code 2, nothing else."""

import json
from pathlib import Path
from typing import Annotated, Literal

import pytest
import typer
from pydantic import Field, TypeAdapter, ValidationError

from caddiebrain.cli import main
from caddiebrain.cli.faults import fault_lines
from caddiebrain.errors import CourseError, Fault


def refused(capsys, *arguments: str) -> list[str]:
    assert main(arguments) == 2
    written = capsys.readouterr()
    assert written.out == ""
    assert "Traceback" not in written.err
    lines = written.err.splitlines()
    assert lines
    assert all(line.startswith("caddiebrain: ") for line in lines)
    return lines


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["plan", "--target", "many"], "--target"),
        (["plan", "--hole", "19"], "hole 19"),
        (["plan", "--wind", "10"], "--wind-from"),
        (
            ["plan", "--wind", "10", "--wind-from", "upstairs"],
            "caddiebrain: --wind-from: found 'upstairs'; expected",
        ),
        (
            ["plan", "--pin", "moon"],
            "caddiebrain: --pin: found 'moon'; expected front, middle, back, left, right;",
        ),
        (["plan", "--wind", "10", "--wind-from", "361"], "361"),
        (["plan", "--wind", "99", "--wind-from", "N"], "--wind: found 99.0"),
        (["plan", "--temperature", "nan"], "--temperature: found nan"),
        (["plan", "--altitude", "99999"], "--altitude: found 99999.0"),
        (["plan", "--colour", "red"], "--colour"),
        (["options", "--hole", "7"], "--to-pin YARDS or --at X,Y"),
        (["options", "--hole", "7", "--to-pin", "90", "--at", "1,2"], "--to-pin YARDS or --at X,Y"),
        (["options", "--hole", "7", "--at", "here"], "caddiebrain: --at: found 'here'; expected X,Y"),
        (
            ["options", "--hole", "7", "--at", "1,2", "--played-from", "there"],
            "caddiebrain: --played-from: found 'there'; expected X,Y",
        ),
        (["options", "--to-pin", "100"], "--hole"),
        (["options", "--hole", "0", "--to-pin", "100"], "hole 0"),
        (["options", "--hole", "7", "--to-pin", "100", "--lie", "cloud"], "cloud"),
        (["plan", "--tees", "plaid"], "plaid"),
        (["fit"], "RECORDS"),
        (["fit", "absent.csv", "--index", "11"], "absent.csv"),
        (["fit", "absent.csv", "--index", "80"], "80"),
        (["fit", "absent.csv", "--driver", "230"], "--index"),
        (["fit", "absent.csv", "--index", "9", "--half-life", "0"], "--half-life"),
        (["fit", "absent.csv", "--index", "9", "--alias", "mine"], "OWN=CLUB"),
        (["check"], "FILE"),
        (["putt"], "putt"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_a_wrong_command_line_is_one_line(planned, capsys, arguments, words):
    (line,) = refused(capsys, *arguments)
    assert words in line
    assert "Invalid value" not in line
    assert planned == []


@pytest.mark.parametrize(
    ("option", "kind", "given", "line"),
    [
        ("--target", int, "many", "--target: found 'many'; expected a valid integer; caddiebrain --help"),
        ("--lie", Literal["sand", "rough"], "cloud", "--lie: found 'cloud'; expected 'sand' or 'rough'; cad"),
        (
            "--to-pin",
            Annotated[float, Field(le=800)],
            "1e9",
            "--to-pin: found '1e9'; expected less than or equal to 800",
        ),
    ],
)
def test_a_value_that_an_option_cannot_take_is_told_like_every_other_fault(option, kind, given, line):
    with pytest.raises(ValidationError) as caught:
        TypeAdapter(kind).validate_python(given)
    error = typer.BadParameter(caught.value.errors()[0]["msg"], param_hint=f"'{option}'")
    error.__cause__ = caught.value
    assert fault_lines(error)[0].startswith(line)


def test_a_target_below_one_stroke_a_hole_is_refused(capsys):
    (line,) = refused(capsys, "plan", "--target", "17")
    assert "target" in line
    assert "17" in line


@pytest.mark.parametrize(
    "verb", [("check",), ("plan", "--course"), ("options", "--hole", "1", "--to-pin", "9", "--course")]
)
def test_files_that_are_no_courses(planned, capsys, tmp_path, verb):
    files = {
        "absent": None,
        "empty": b"",
        "broken": b'{"type": "FeatureCollection", "features": [',
        "list": b"[1, 2, 3]",
        "number": b"7",
        "binary": bytes(range(256)),
        "deep": b"[" * 100_000,
        "other": b'{"a": 1}',
        "nan": b'{"type": "FeatureCollection", "features": [NaN]}',
        "none": b'{"type": "FeatureCollection", "features": []}',
    }
    for name, content in files.items():
        path = tmp_path / f"{name}.geojson"
        if content is not None:
            path.write_bytes(content)
        lines = refused(capsys, *verb, str(path))
        assert all(str(path) in line for line in lines), name
    assert refused(capsys, *verb, str(tmp_path))
    assert planned == []


@pytest.mark.parametrize("code", ["utf-16-le", "utf-16-be", "utf-32-le", "utf-32-be"])
def test_json_of_wide_characters_is_no_table(capsys, tmp_path, code):
    path = tmp_path / "course.geojson"
    path.write_bytes('{"type": "FeatureCollection", "features": []}'.encode(code))
    (line,) = refused(capsys, "check", str(path))
    assert f"the encoding: found {code[:6].upper()} text; expected UTF-8" in line


def test_every_fault_of_a_player_is_a_line(planned, capsys, tmp_path, player_file):
    player = json.loads(Path(player_file).read_text(encoding="utf-8"))
    player["patterns"][0]["line_sd_deg"] = 0
    player["patterns"][1]["carry_yd"] = float("nan")
    player["putting"]["pace_sd"] = -1
    path = tmp_path / "me.json"
    path.write_text(json.dumps(player))
    for verb in (["check"], ["plan", "--player"]):
        lines = refused(capsys, *verb, str(path))
        assert len(lines) == 3
        assert all(str(path) in line for line in lines)
        assert any("line_sd_deg" in line for line in lines)
    assert planned == []


def test_an_empty_file_of_records_is_not_taken_for_a_course(capsys, tmp_path):
    records = tmp_path / "shots.csv"
    records.write_text("")
    (line,) = refused(capsys, "check", str(records))
    assert "records" in line
    assert "GeoJSON" not in line


def test_wrong_records_leave_no_file_behind(capsys, tmp_path):
    records, out = tmp_path / "tallies.csv", tmp_path / "me.json"
    records.write_text("club,tries,fairway\ndriver,-1,6\n5-wood,5,9\n")
    lines = refused(capsys, "fit", str(records), "--index", "11", "--out", str(out))
    assert any("line 2, column tries" in line for line in lines)
    assert not out.exists()
    records.write_text("club,tries,fairway\ndriver,11,6\n")
    (line,) = refused(capsys, "fit", str(records), "--out", str(out))
    assert "--index" in line
    assert refused(capsys, "fit", str(records), "--index", "11", "--out", str(tmp_path / "no" / "me.json"))
    assert [path.name for path in tmp_path.iterdir()] == ["tallies.csv"]


def test_a_hostile_file_cannot_write_to_the_terminal():
    error = CourseError("a\nb", [Fault("hole \x1b[31m7", "x\r\n\x07y", "z")])
    (line,) = fault_lines(error)
    assert line.isprintable()
    assert line == "a b: hole \N{REPLACEMENT CHARACTER}[31m7: found x \N{REPLACEMENT CHARACTER}y; expected z"


def test_thousands_of_faults_do_not_scroll_away():
    lines = fault_lines(CourseError("f", [Fault(f"feature {i}", "a", "b") for i in range(5000)]))
    assert len(lines) == 101
    assert lines[-1] == "and 4900 more faults; mend these first"


def test_a_fault_of_ours_is_told_apart(planned, capsys, monkeypatch):
    def fails(*_: object, **__: object) -> None:
        raise ZeroDivisionError("division by zero")

    monkeypatch.setattr("caddiebrain.plan_round", fails)
    assert main(["plan"]) == 70
    written = capsys.readouterr()
    assert written.out == ""
    assert "a fault of the program, not yours: ZeroDivisionError: division by zero" in written.err
    assert "Traceback" not in written.err
    monkeypatch.setenv("CADDIEBRAIN_TRACEBACK", "1")
    assert main(["plan"]) == 70
    assert "Traceback" in capsys.readouterr().err


def test_a_stop_by_hand_is_quiet(planned, capsys, monkeypatch):
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("caddiebrain.plan_round", stopped)
    assert main(["plan"]) == 130
    assert capsys.readouterr().err.strip() == "caddiebrain: stopped"
