"""The set-up of the day from the command line."""

import json

import pytest

import caddiebrain as cb
from caddiebrain.cli.app import main
from caddiebrain.course import Setup

VERBS = [["plan"], ["options", "--hole", "7", "--to-pin", "150"]]


@pytest.mark.parametrize("verb", VERBS)
def test_the_set_up_reaches_the_plan(planned, verb, capsys):
    words = "--pin back --firmness 0.8 --rough long --green-speed 11 --preferred-lies --gust 3 --humidity 0.9"
    assert main([*verb, *words.split(), "--wind", "9", "--wind-from", "n", "--wind-doubt", "2.5"]) == 0
    (call,) = planned
    assert call["setup"] == Setup(
        pin="back", firmness=0.8, rough="long", green_speed_ft=11, preferred_lies=True
    )
    day = cb.Conditions(wind_mph=9, wind_from_deg=0, gust_mph=3, wind_uncertainty_mph=2.5, humidity=0.9)
    assert call["conditions"] == day


@pytest.mark.parametrize("verb", VERBS)
def test_local_rules_pins_by_hole_and_temporary_greens(planned, verb, capsys):
    words = "--pin 7=back --pin 4=3,150.5 --e5 --temporary-green 2=0,480"
    assert main([*verb, *words.split()]) == 0
    wanted = Setup(pin={7: "back", 4: (3.0, 150.5)}, local_rule_e5=True, temporary_greens={2: (0.0, 480.0)})
    assert planned[0]["setup"] == wanted
    assert main([*verb, "--no-e5"]) == 0
    assert planned[1]["setup"] == Setup(local_rule_e5=False)


def test_the_usual_day_needs_no_set_up(planned, capsys):
    assert main(["plan"]) == 0
    assert planned[0]["setup"] is None


@pytest.mark.parametrize(
    ("option", "value"),
    [
        ("--pin", "middel"),
        ("--pin", "19=back"),
        ("--pin", "7=up"),
        ("--pin", "3,150"),
        ("--temporary-green", "back"),
        ("--temporary-green", "7=back"),
        ("--firmness", "1.5"),
        ("--rough", "tall"),
        ("--green-speed", "3"),
        ("--gust", "90"),
        ("--wind-doubt", "-1"),
        ("--wind-doubt", "21"),
        ("--humidity", "55"),
    ],
)
def test_values_outside_their_range_are_named(planned, option, value, capsys):
    assert main(["plan", option, value]) == 2
    said = capsys.readouterr().err
    assert "Invalid value" not in said
    assert f"{option}: found " in said
    assert value in said
    assert not planned


@pytest.fixture
def card(tmp_path):
    """Two holes by numbers; the first has a pin for Friday, both have one for the cup."""
    pins = {"Friday": {"front": 8, "left": 6}, "cup": {"front": 20, "right": 5}}
    holes = [
        {"number": n, "par": 3, "stroke_index": n, "length": 150, "green": {"depth": 28, "width": 22}}
        for n in (1, 2)
    ]
    holes[0]["green"] |= {"pins": pins}
    holes[1]["green"] |= {"pins": {"cup": pins["cup"]}}
    data = {"format": "holes-by-numbers", "schema_version": 1, "name": "Card", "holes": holes}
    path = tmp_path / "card.json"
    path.write_text(json.dumps(data))
    return path


def test_pins_by_the_names_they_have_in_the_course_file(planned, card, capsys):
    first, second = (hole.pins for hole in cb.load_course(card).holes)
    assert main(["plan", "--course", str(card), "--pin", "friday"]) == 0
    assert planned[-1]["setup"] == Setup(pin={1: first["friday"]})
    assert main(["plan", "--course", str(card), "--pin", "Cup"]) == 0
    assert planned[-1]["setup"] == Setup(pin={1: first["cup"], 2: second["cup"]})
    assert main(["plan", "--course", str(card), "--pin", "1=Friday", "--pin", "2=back"]) == 0
    assert planned[-1]["setup"] == Setup(pin={1: first["friday"], 2: "back"})


def test_holes_without_the_tees_asked_for_are_told(planned, card, capsys):
    data = json.loads(card.read_text())
    data["holes"][0]["tees"] = {"back": 0, "red": 40}
    card.write_text(json.dumps(data))
    assert main(["plan", "--course", str(card), "--tees", "Red"]) == 0
    assert capsys.readouterr().err == "caddiebrain: hole 2 has no tees 'Red'; played from others\n"
    assert main(["plan", "--course", str(card)]) == 0
    assert capsys.readouterr().err == ""
    assert len(planned) == 2


@pytest.mark.parametrize(
    ("pin", "expected"), [("monday", "right, cup, friday"), ("2=friday", "right, cup, x,y in yards")]
)
def test_a_name_that_no_pin_has(planned, card, pin, expected, capsys):
    assert main(["plan", "--course", str(card), "--pin", pin]) == 2
    said = f"caddiebrain: --pin: found '{pin}'; expected front, middle, back, left, {expected}; caddiebrain plan --help"
    assert capsys.readouterr().err.startswith(said)
    assert not planned
