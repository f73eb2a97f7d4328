"""Player files: written, read, and refused with every fault named."""

import json

import pytest

from caddiebrain import demo
from caddiebrain.course import course_from_document, load_course
from caddiebrain.errors import CourseError, PlayerError
from caddiebrain.player import (
    Level,
    Player,
    ShotPattern,
    fit_player,
    load_player,
    player_schema,
    save_player,
)


@pytest.fixture
def plain():
    return json.loads(demo.player_path().read_text(encoding="utf-8"))


def refused(tmp_path, content):
    path = tmp_path / "player.json"
    path.write_text(content if isinstance(content, str) else json.dumps(content), encoding="utf-8")
    with pytest.raises(PlayerError) as caught:
        load_player(path)
    assert str(path) in str(caught.value)
    return str(caught.value)


def test_round_trip(tmp_path):
    fitted = fit_player([{"club": "7i", "carry_yd": 150, "offline_yd": -4}], Level(handicap_index=15.0))
    for player in (demo.player(), Level(handicap_index=36.0, sex="women").player(), fitted):
        save_player(player, tmp_path / "p.json")
        assert load_player(tmp_path / "p.json") == player
    assert list(tmp_path.iterdir()) == [tmp_path / "p.json"]


def test_the_demo_player_has_his_quirks(demo_player):
    named = {p.club: p for p in demo_player.patterns if p.shape == "straight" and p.height == "stock"}
    assert named["driver"].line_deg > 1
    assert named["driver"].line_sd_deg > 1.4 * named["4-hybrid"].line_sd_deg
    assert demo_player.handicap_index == pytest.approx(9.0, abs=1)


def test_every_wrong_field_is_named(tmp_path, plain):
    plain["patterns"][3]["carry_sd"] = 0
    plain["patterns"][0]["line_sd_deg"] = "wide"
    plain["putting"]["aim_sd_deg"] = -1
    plain["speed"] = 3
    del plain["patterns"][1]["club"]
    text = refused(tmp_path, plain)
    for where in (
        "patterns[3].carry_sd",
        "patterns[0].line_sd_deg",
        "putting.aim_sd_deg",
        "speed",
        "patterns[1].club",
    ):
        assert where in text
    assert len(text.splitlines()) == 5


@pytest.mark.parametrize(
    ("content", "word"),
    [
        ("", "nothing"),
        ("{ not json", "valid JSON"),
        ("[1, 2]", "a player with patterns"),
        ('{"type": "FeatureCollection", "features": []}', "a player with patterns"),
    ],
)
def test_other_files(tmp_path, content, word):
    assert word in refused(tmp_path, content)


def test_nan_is_refused(tmp_path, plain):
    plain["patterns"][2]["carry_yd"] = float("nan")
    assert "patterns[2].carry_yd" in refused(tmp_path, plain)


def test_a_pattern_given_twice(tmp_path, plain):
    plain["patterns"].append(dict(plain["patterns"][0]))
    assert "given twice" in refused(tmp_path, plain)


def test_a_player_with_derived_shots_alone_is_refused(tmp_path, plain):
    plain["patterns"] = [{**plain["patterns"][0], "derived": True}]
    assert "patterns: found derived ones alone; expected at least one" in refused(tmp_path, plain)


def test_a_posterior_must_match(tmp_path):
    fitted = fit_player([{"club": "7i", "carry_yd": 150}], Level(handicap_index=15.0))
    plain = json.loads(fitted.model_dump_json())
    plain["posterior"]["pattern_information"][2].pop()
    line = "posterior.pattern_information[2]: found 20; expected 21 numbers"
    assert refused(tmp_path, plain).endswith(line)
    plain["posterior"]["short_information"]["sand"] = [0.0]
    plain["posterior"]["pattern_information"][2].append(0.0)
    assert "posterior.short_information.sand: found 1; expected 3 numbers" in refused(tmp_path, plain)


def test_clubs_deleted_by_hand_take_the_posterior_with_them(tmp_path):
    fitted = fit_player([{"club": "7i", "carry_yd": 150}], Level(handicap_index=15.0))
    plain = json.loads(fitted.model_dump_json())
    del plain["patterns"][-2:]
    assert refused(tmp_path, plain).endswith(
        "player.json: posterior.pattern_information: found what records told of 13 patterns, in a file of 11; "
        "expected one for each pattern: delete the whole field posterior too, or fit again with clubs (--clubs) named"
    )
    del plain["posterior"]
    path = tmp_path / "player.json"
    path.write_text(json.dumps(plain), encoding="utf-8")
    assert len(load_player(path).clubs) == 11


def test_unreadable_paths(tmp_path):
    with pytest.raises(PlayerError, match="readable file"):
        load_player(tmp_path / "absent.json")
    (tmp_path / "photo.json").write_bytes(b"\x89PNG\xff\xfe\x00")
    with pytest.raises(PlayerError, match="JSON text file"):
        load_player(tmp_path / "photo.json")
    with pytest.raises(PlayerError, match="place to write"):
        save_player(demo.player(), tmp_path / "no" / "such" / "folder.json")


def test_schema_names_itself():
    schema = player_schema()
    assert schema["$schema"].startswith("https://json-schema.org/")
    assert schema["$ref"] == "#/$defs/Player"
    assert "patterns" in schema["$defs"]["Player"]["required"]


def test_a_parsed_file_is_sent_to_the_door_for_it():
    for load, error in ((load_player, PlayerError), (load_course, CourseError)):
        door = load.__name__.replace("load_", "") + "_from_document"
        with pytest.raises(
            error, match=f"{load.__name__}: path: found dict object; expected a path; {door} reads"
        ):
            load({"patterns": []})
        with pytest.raises(error) as caught:
            load('{"holes": [' + "1, " * 10_000)
        found = f"{load.__name__}: path: found the text '{{\"holes\": [1, 1, 1, '...; expected a path; {door} reads"
        assert str(caught.value).startswith(found)
    with pytest.raises(CourseError, match="found JSON, a str; expected GeoJSON"):
        course_from_document("{}")


def test_parts_that_a_program_makes_wrong_are_refused_like_those_of_a_file(plain):
    with pytest.raises(PlayerError) as caught:
        ShotPattern(club="7-iron", carry_yd=900, carry_sd=0.05, line_sd=4.0)
    assert str(caught.value).splitlines() == [
        "shot pattern: carry_yd: found 900; expected less than or equal to 400",
        "shot pattern: line_sd_deg: found nothing; expected a value; the field is required",
        "shot pattern: line_sd: found 4.0; expected no field of this name",
    ]
    first = plain["patterns"][0] | {"carry_sd": "wide"}
    with pytest.raises(
        PlayerError, match=r"^player: patterns\[0\].carry_sd: found 'wide'; expected a valid number"
    ):
        Player(**plain | {"patterns": [first]})
    assert Player(**plain) == demo.player()
