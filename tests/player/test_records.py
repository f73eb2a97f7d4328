"""Records of every form and kind are read alike, and what is odd is said with its row."""

import datetime as dt
import json
from pathlib import Path

import numpy as np
import pytest

from caddiebrain.errors import RecordsError
from caddiebrain.player import Level, Records, fit_player, load_records

EXAMPLES = Path(__file__).parents[2] / "examples" / "records"
DAY = dt.date(2025, 1, 1)

ROWS = [
    {"date": "2024-05-01", "club": "7-iron", "lie": "fairway", "carry": 151.0, "offline": -4.0},
    {"date": "2024-05-01", "club": "driver", "lie": "tee", "carry": 226.0, "offline": 12.0},
    {"date": "2024-05-08", "club": "7-iron", "lie": "rough", "carry": 139.0, "offline": 3.0},
]


def equal(one: Records, other: Records) -> bool:
    return one.ordered().to_plain() == other.ordered().to_plain()


@pytest.fixture
def csv_file(tmp_path):
    def write(text, name="records.csv"):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return write


def test_rows_csv_json_and_columns_say_the_same(csv_file, tmp_path):
    rows = load_records(ROWS, units="yards")
    heading = ",".join(ROWS[0])
    text = "\n".join([heading, *(",".join(str(v) for v in row.values()) for row in ROWS)])
    assert equal(load_records(csv_file("# units: yards\n" + text + "\n")), rows)
    assert equal(load_records(csv_file(text.replace(",", ";")), units="yards"), rows)
    assert equal(load_records(csv_file(text.replace(",", "\t")), units="yards"), rows)
    for data in (ROWS, {"units": "yards", "shots": ROWS}, {k: [row[k] for row in ROWS] for k in ROWS[0]}):
        path = tmp_path / "records.json"
        path.write_text(json.dumps(data), encoding="utf-8")
        assert equal(load_records(path, units="yards"), rows)
        assert equal(load_records(data, units="yards"), rows)


@pytest.mark.parametrize(
    "dates",
    [
        ("1 May 2024", "May 1st, 2024", "8-may-24"),
        ("1.5.2024", "01.05.24", "8.5.2024"),
        ("2024/5/1", "20240501", "2024-05-08T09:40"),
        ("1/5/2024", "1 May 2024", "8/5/24", "31/12/2023"),  # the last shows that the day comes first
        ("5/1/2024", "05/01/2024", "5/8/24", "12/31/2023"),  # ... the month
    ],
)
def test_dates_are_read_as_people_write_them(dates):
    rows = [row | {"date": written} for row, written in zip(ROWS, dates, strict=False)]
    last = {"date": "2023-12-31", "club": "7-iron", "lie": "fairway", "carry": 150.0, "offline": 0.0}
    more = [last | {"date": written} for written in dates[3:]]
    want = ROWS + [last] * len(more)
    assert equal(load_records(rows + more, units="yards"), load_records(want, units="yards"))


@pytest.mark.parametrize(
    "dates", [("1/5/2024", "5/1/2024"), ("13/5/2024", "5/13/2024"), ("31.4.2024",), ("1 Mai 2024",)]
)
def test_a_date_that_can_be_read_two_ways_or_none_is_refused(dates):
    rows = [ROWS[0] | {"date": written} for written in dates]
    with pytest.raises(
        RecordsError, match=r"column date: found .*expected a date as YYYY-MM-DD, or whose day"
    ):
        load_records(rows, units="yards")


@pytest.mark.parametrize("library", ["polars", "pandas"])
def test_frames(library):
    frames = pytest.importorskip(library)
    pytest.importorskip("narwhals")
    frame = frames.DataFrame(ROWS)
    assert equal(load_records(frame, units="yards"), load_records(ROWS, units="yards"))
    assert equal(load_records([frame, frame], units="yards"), load_records(ROWS + ROWS, units="yards"))
    missing = frames.DataFrame(
        {**{k: [row[k] for row in ROWS] for k in ROWS[0]}, "offline": [None, 12.0, 3.0]}
    )
    assert np.isnan(load_records(missing, units="yards").tables["shots"]["offline"][0])


def test_what_pandas_calls_missing_is_missing():
    pandas = pytest.importorskip("pandas")
    pytest.importorskip("narwhals")
    columns = {k: [row[k] for row in ROWS] for k in ROWS[0]} | {"date": [None, "2024-05-01", "2024-05-02"]}
    holes = pandas.DataFrame(
        columns | {"offline": [None, 12, 3], "club": [*columns["club"]]}
    ).convert_dtypes()
    plain = load_records(columns | {"offline": [None, 12, 3]}, units="yards")
    assert holes["offline"].isna()[0]
    dated = holes.assign(date=pandas.to_datetime(holes["date"]))  # NaT in the first
    for frame in (holes, dated, dated.to_dict("records"), {k: dated[k] for k in dated}):
        assert equal(load_records(frame, units="yards"), plain)


def test_columns_may_be_arrays():
    columns = {k: np.array([row[k] for row in ROWS]) for k in ROWS[0]}
    assert equal(load_records(columns, units="yards"), load_records(ROWS, units="yards"))


def test_units_in_the_heading_the_file_the_call_and_the_cell(csv_file):
    for text in (
        "club,carry_m\n7i,140\n", "club,Carry (m)\n7i,140\n", "club,carry [metres]\n7i,140\n",
        "# units: metres\nclub,carry\n7i,140\n", "club,carry\n7i,140 m\n",
    ):  # fmt: skip
        records = load_records(csv_file(text))
        assert records.tables["shots"]["carry"][0] == pytest.approx(140 / 0.9144, abs=1e-9)
    by_call = load_records([{"club": "7i", "carry": 140}], units="metres")
    assert by_call.tables["shots"]["carry"][0] == pytest.approx(140 / 0.9144)
    putts = load_records(csv_file("distance_m,tries,holed\n3,10,5\n"))
    assert putts.tables["putts"]["distance"][0] == pytest.approx(3 / 0.3048)
    undeclared = load_records(csv_file("club,carry\n7i,150\n"))
    assert any("no units declared" in w for w in undeclared.warnings)


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("club,carry\n7i,150\n", "shots"),
        ("club,before,after\n7i,150,9\n", "shots"),
        ("club,tries,fairway\ndriver,11,6\n", "tallies"),
        ("club,tries,green\n7i,11,6\n", "tallies"),
        ("club,tries,hit,target\n7i,11,6,green\n", "tallies"),
        ("lie,distance,tries,up_and_down\nsand,12,10,3\n", "short_game"),
        ("lie,distance,leave\nrough,20,9\n", "short_game"),
        ("distance,tries,holed\n6,10,5\n", "putts"),
        ("distance,putts\n25,2\n", "putts"),
        ("hole,score\n1,5\n", "cards"),
    ],
)
def test_the_smallest_form_of_each_kind(csv_file, text, kind):
    records = load_records(csv_file(text))
    assert list(records.tables) == [kind]
    assert len(records) == 1
    fit_player(records, Level(handicap_index=15.0))


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.csv")), ids=lambda p: p.name)
def test_examples_load_and_fit(path):
    records = load_records(path, today=DAY)
    assert len(records) > 0
    assert bool(records.warnings) == (path.name == "messy_shots.csv")
    player = fit_player(records, Level(handicap_index=9.0))
    assert sum(p.shots for p in player.patterns) + player.putting.putts + sum(
        s.shots for s in player.short_game
    ) == pytest.approx(_weight(path, records), rel=0.35)


def _weight(path, records):
    """Roughly how many strokes a file speaks of."""
    table = next(iter(records.tables.values()))
    tries = np.nansum(table["tries"]) if "tries" in table else 0.0
    putts = np.nansum(table["putts"]) if "putts" in table else 0.0
    extra = 42.0 if path.name == "cards.csv" else 0.0
    return (tries or putts or len(records)) + extra


def test_the_messy_notebook_loads_and_names_its_rows():
    records = load_records(EXAMPLES / "messy_shots.csv", today=DAY)
    text = "\n".join(records.warnings)
    for words in (
        "line 12: carried less than half", "line 15: the hole is not finished", "line 16: no club",
        "line 5 (22m right)", "'7-iron' and '7i' and 'seven iron' are both read as 7-iron", "no units declared",
    ):  # fmt: skip
        assert words in text
    shots = records.tables["shots"]
    driver = shots["club"] == "driver"
    assert shots["before"][driver][0] == pytest.approx(331 / 0.9144)
    assert shots["after"][driver][0] == pytest.approx(137 / 0.9144), "taken from the next stroke of the hole"
    assert shots["offline"][driver][1] == pytest.approx(22 / 0.9144)
    assert set(shots["lie"].tolist()) == {"tee", "fairway", "rough", "sand"}
    assert np.nanmin(shots["carry"]) < 45, "the shank is kept"


def test_a_dropped_ball_is_not_where_the_stroke_ended():
    rows = [
        {"hole": 1, "stroke": 1, "club": "driver", "before": 400, "penalty": 1},
        {"hole": 1, "stroke": 3, "club": "7i", "before": 190, "after": 30},
    ]
    records = load_records(rows, units="yards")
    assert len(records) == 1
    assert "line" not in records.warnings[0]
    assert "row 1" in records.warnings[0]


def test_more_than_fourteen_clubs_is_a_warning(csv_file):
    clubs = ["driver", "3w", "5w", "7w", "3h", "4h", "5h", "4i", "5i", "6i", "7i", "8i", "9i", "pw"]
    text = "club,carry_yd\n" + "\n".join(f"{club},150" for club in clubs)
    assert any("Rule 4.1b" in w for w in load_records(csv_file(text)).warnings)
    assert not any("Rule 4.1b" in w for w in load_records(csv_file(text.rsplit("\n", 1)[0])).warnings)


def test_columns_that_are_not_read_are_named(csv_file):
    path = csv_file("# units: yards\nclub,total,offline\ndriver,225,3\n7-iron,150,2\n")
    records = load_records(path, today=DAY)
    assert len(records) == 2
    line = "columns not read: total; a total distance holds the roll, so it tells no carry"
    assert records.warnings == (f"{path}: {line}",)
    many = {"club": "7-iron", "carry_yd": 150} | {f"extra {i}": i for i in range(11)}
    (said,) = load_records([many], today=DAY).warnings
    assert said.endswith("extra 6, extra 7 and 3 more")


@pytest.mark.parametrize("word", ["semi", "Semi Rough", "semi-rough", "first_cut"])
def test_words_for_the_first_cut_are_rough(word):
    rows = [{"club": "7-iron", "carry_yd": 150, "lie": word, "lie_after": word}]
    shots = load_records(rows, today=DAY).tables["shots"]
    assert (shots["lie"].tolist(), shots["lie_after"].tolist()) == (["rough"], ["rough"])


def test_own_names_for_clubs():
    rows = [{"club": "Old Faithful", "carry_yd": 180}]
    with pytest.raises(RecordsError, match="Old Faithful"):
        load_records(rows)
    records = load_records(rows, aliases={"old faithful": "7-wood"})
    assert records.tables["shots"]["club"].tolist() == ["7-wood"]


def test_plain_form_round_trip():
    records = load_records([str(p) for p in sorted(EXAMPLES.glob("*.csv"))], today=DAY).ordered()
    plain = json.loads(json.dumps(records.to_plain()))
    assert Records.from_plain(plain).to_plain() == records.to_plain()
    with pytest.raises(RecordsError, match="as a fit wrote them"):
        Records.from_plain({"shots": {"club": ["7-iron"], "speed": [1.0]}})
    with pytest.raises(RecordsError, match="numbers"):
        Records.from_plain({"shots": {"club": ["7-iron"], "carry": ["far"]}})


def test_sources_may_be_mixed(csv_file):
    path = csv_file("distance_ft,tries,holed\n6,10,5\n")
    leaves = {"short_game": [{"lie": "sand", "distance_yd": 9, "leave_ft": 6}]}
    records = load_records([path, ROWS, leaves], units="yards")
    assert set(records.tables) == {"shots", "short_game", "putts"}
    assert len(records) == 5


def test_rows_may_leave_keys_out():
    rows = [{"club": "7i", "carry_yd": 150, "offline_yd": 3}, {"club": "8i", "carry_yd": 140}]
    table = load_records(rows).tables["shots"]
    assert table["club"].tolist() == ["7-iron", "8-iron"]
    assert np.isnan(table["offline"][1])
