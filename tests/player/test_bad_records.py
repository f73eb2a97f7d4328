"""Every wrong row is named with its line, column, value and what is expected; nothing is half read."""

import datetime as dt
from collections import namedtuple

import numpy as np
import pytest

from caddiebrain.errors import RecordsError
from caddiebrain.player import Level, fit_player, load_records

DAY = dt.date(2024, 7, 1)


def refusal(tmp_path, text, **options):
    path = tmp_path / "records.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(RecordsError) as caught:
        load_records(path, today=DAY, **options)
    assert str(path) in str(caught.value)
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("club,carry_yd\n7i,150\n7i,-20\n", ["line 3", "carry_yd", "'-20'", "0 to 450 yards"]),
        ("club,carry_yd\n7i,1500\n", ["line 2", "carry_yd", "'1500'"]),
        ("club,carry_yd\n7i,far\n", ["line 2", "'far'", "a number"]),
        ("club,carry_yd\nmashie,150\n", ["line 2", "column club", "'mashie'", "7-iron"]),
        ("club,lie,carry_yd\n7i,swamp,150\n", ["line 2", "column lie", "'swamp'", "fairway"]),
        ("club,carry_yd,penalty\n7i,150,7\n", ["line 2", "column penalty", "'7'", "0 to 2"]),
        ("club,hole,carry_yd\n7i,2.5,150\n", ["line 2", "column hole", "'2.5'", "whole number"]),
        (
            "date,club,carry_yd\n2024-07-02,7i,150\n",
            ["line 2", "column date", "2024-07-02", "up to 2024-07-01"],
        ),
        ("date,club,carry_yd\n1/2/24,7i,150\n", ["line 2", "column date", "'1/2/24'", "YYYY-MM-DD"]),
        ("club,tries,fairway\ndriver,-3,0\n", ["line 2", "column tries", "'-3'"]),
        (
            "club,tries,fairway\ndriver,11,12\n",
            ["line 2", "column fairway", "'12'", "no more than the tries"],
        ),
        ("club,tries,fairway,left,right\ndriver,11,6,4,4\n", ["line 2", "no more than the tries"]),
        ("club,tries,fairway,penalty\ndriver,11,6,6\n", ["column penalty", "no more than the misses"]),
        ("club,tries,fairway,green\n7i,11,6,5\n", ["line 2", "not both"]),
        ("lie,distance_yd,tries,up_and_down\nsand,10,3,4\n", ["column up_and_down", "'4'"]),
        ("lie,distance_yd,leave_ft\nsand,900,4\n", ["column distance_yd", "'900'"]),
        ("distance_ft,tries,holed\n6,10,11\n", ["line 2", "column holed", "'11'"]),
        ("distance_ft,tries,holed\n-6,10,1\n", ["column distance_ft", "'-6'"]),
        ("lie,distance_yd,leave_ft\ngreen,9,4\n", ["column lie", "'green'", "fairway"]),
        ("club,tries,fairway\nputter,11,6\n", ["column club", "'putter'", "putts have a table"]),
        ("hole,score,putts\n1,4,4\n", ["line 2", "column putts", "fewer than the strokes"]),
        ("hole,score\n1,0\n", ["column score", "'0'"]),
    ],
)
def test_each_wrong_cell_is_named(tmp_path, text, words):
    message = refusal(tmp_path, text)
    for word in words:
        assert word in message
    assert len(message.splitlines()) == 1


def test_a_cross_for_a_score_not_made_is_no_distance(tmp_path):
    cards = load_records([{"hole": 1, "score": "x"}, {"hole": 2, "score": 5}], today=DAY)
    assert "row 1: no score" in cards.warnings[0]
    message = refusal(tmp_path, "club,carry_yd,offline_yd\n7i,150,x\n")
    assert "line 2, column offline_yd: found 'x'" in message


def test_wrong_cells_and_days_to_come_are_named_together(tmp_path):
    message = refusal(tmp_path, "date,club,carry_yd,lie\n2024-08-01,7i,150,rough\n2024-06-01,7i,150,moon\n")
    assert "line 2, column date" in message
    assert "line 3, column lie" in message


def test_rows_that_contradict_themselves_are_named_beside_cells_that_cannot_be_read(tmp_path):
    message = refusal(tmp_path, "club,tries,fairway\ndriver,many,6\ndriver,11,12\ndriver,-3,2\n")
    assert len(message.splitlines()) == 3
    assert "line 2, column tries: found 'many'" in message
    assert "line 3, column fairway: found '12'; expected no more than the tries" in message
    assert "line 4, column tries: found '-3'" in message  # and not its 2 hits as well
    dated = refusal(tmp_path, "date,distance_ft,tries,holed\n2024-08-01,5,2,1\n2024-06-01,5,2,3\n")
    assert "line 2, column date" in dated
    assert "line 3, column holed" in dated


def test_all_faults_are_reported_not_the_first(tmp_path):
    message = refusal(tmp_path, "club,lie,carry_yd\n7i,bog,-4\nspoon,tee,far\n")
    assert len(message.splitlines()) == 4


def test_very_many_faults_are_counted(tmp_path):
    message = refusal(tmp_path, "club,carry_yd\n" + "7i,-1\n" * 80)
    assert len(message.splitlines()) == 51
    assert "30 further faults" in message


def test_faults_of_several_sources_come_together(tmp_path):
    path = tmp_path / "a.csv"
    path.write_text("club,carry_yd\n7i,-1\n", encoding="utf-8")
    with pytest.raises(RecordsError) as caught:
        load_records([path, [{"distance_ft": 5, "tries": 2, "holed": 3}]])
    assert len(caught.value.faults) == 2
    assert "row 1, column holed" in str(caught.value)


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "nothing"),
        ("\n\n", "nothing"),
        ("# only words\n", "comments alone"),
        ("club,carry_yd\n", "no rows"),
        ("weather,mood\nsun,good\n", "weather, mood"),
        ("club,carry_yd\n7i,150,12\n", "3 cells"),
        ("club,club,carry_yd\n7i,7i,150\n", "twice"),
        ("club,carry_yd,carry_m\n7i,150,137\n", "one column of carry"),
        ("# units: furlongs\nclub,carry\n7i,1\n", "furlongs"),
        ("{ not json", "valid JSON"),
        ('{"type": "FeatureCollection", "features": []}', "tables named"),
        ('{"patterns": []}', "at least one row"),
        ('{"shots": [3]}', "row 1: found int; expected a mapping of columns"),
        ("[]", "at least one row"),
    ],
)
def test_files_of_another_kind(tmp_path, text, word):
    assert word in refusal(tmp_path, text)


def test_files_that_are_no_text(tmp_path):
    (tmp_path / "card.csv").write_bytes(b"\xff\xd8\xff\xe0 a photograph")
    with pytest.raises(RecordsError, match="no UTF-8 text"):
        load_records(tmp_path / "card.csv")
    with pytest.raises(RecordsError, match="readable file"):
        load_records(tmp_path / "absent.csv")
    with pytest.raises(RecordsError, match="a path, rows or a frame"):
        load_records(7)
    with pytest.raises(RecordsError, match="yards"):
        load_records([{"club": "7i", "carry": 150}], units="ells")


def test_wrong_options_are_named():
    level = Level(handicap_index=10.0)
    with pytest.raises(RecordsError, match="half_life_days"):
        fit_player([], level, half_life_days=0.0)
    with pytest.raises(RecordsError, match="fairway_width_yd"):
        fit_player([], level, fairway_width_yd=1.0)


def test_no_level_and_no_scores():
    with pytest.raises(RecordsError, match="3 rounds"):
        fit_player([{"club": "7i", "carry_yd": 150}])


def test_a_frame_without_its_library_says_what_to_install(monkeypatch):
    import sys

    polars = pytest.importorskip("polars")
    frame = polars.DataFrame({"club": ["7i"], "carry_yd": [150.0]})
    monkeypatch.setitem(sys.modules, "narwhals", None)
    with pytest.raises(RecordsError, match=r"caddiebrain\[frames\]"):
        load_records(frame)


@pytest.mark.parametrize(
    ("records", "said"),
    [
        ([(231, -12)], "row 1: found int; expected a mapping of columns to values, a path or a frame"),
        ([1, 2], "row 1: found int; expected a mapping of columns to values, a path or a frame"),
        ([namedtuple("Shot", "club carry")("7i", 150)], "row 1: found Shot; expected a mapping"),
        (np.ones((2, 2)), "row 1: found ndarray; expected a mapping"),
    ],
)
def test_rows_that_are_no_mappings_are_named(records, said):
    with pytest.raises(RecordsError, match=said):
        load_records(records)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"half_life_days": "90"}, "fit: half_life_days: found '90'; expected a number of days above 0"),
        ({"half_life_days": float("nan")}, "fit: half_life_days: found nan"),
        ({"fairway_width_yd": "wide"}, "fit: fairway_width_yd: found 'wide'; expected 5 to 120 yards"),
        ({"name": None}, "fit: name: found None; expected a text"),
        ({"aliases": ["7i"]}, "records: aliases: found list; expected a mapping of your own names"),
    ],
)
def test_options_of_a_fit_that_are_not_of_their_kind_are_named(given, said):
    with pytest.raises(RecordsError, match=said):
        fit_player([{"club": "7i", "carry": 150}], Level(handicap_index=11.0), **given)
