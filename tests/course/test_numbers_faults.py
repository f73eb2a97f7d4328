"""Bad holes by numbers: every fault is named by its path, with what was found and what would do."""

import copy
import json

import pytest

from caddiebrain.course.numbers import read_numbers
from caddiebrain.course.read import load_course
from caddiebrain.errors import CourseError, UnknownError

HOLE = {
    "number": 1,
    "par": 4,
    "stroke_index": 7,
    "length": 400,
    "legs": [{"length": 230}, {"length": 170, "turn_deg": 20}],
    "fairway": [{"from": 100, "to": 250, "width": 32}, {"at": 380, "width": 26}],
    "features": [
        {"kind": "water", "side": "right", "from": 210, "to": 260, "offset": 8, "width": 25},
        {"kind": "trees", "side": "left", "from": 100, "to": 300, "offset": 10, "width": 30, "height": 15},
    ],
    "green": {
        "depth": 30,
        "width": 24,
        "around": [{"at": "front"}],
        "pins": {"back": {"front": 22, "left": 8}},
    },
}
COURSE = {"format": "holes-by-numbers", "schema_version": 1, "name": "Made up", "holes": [HOLE]}


def changed(path, value):
    """The course with one field set, or removed where ``value`` is ``...``."""
    data = copy.deepcopy(COURSE)
    *way, last = path
    place = data
    for key in way:
        place = place[key]
    if value is ...:
        del place[last]
    else:
        place[last] = value
    return data


def faults_of(data):
    with pytest.raises(CourseError) as caught:
        read_numbers(data, "card.json")
    assert caught.value.source == "card.json"
    return [(fault.where, fault.found, fault.expected) for fault in caught.value.faults]


def test_the_course_that_is_then_broken_is_sound():
    assert read_numbers(copy.deepcopy(COURSE), "card.json").par == 4


H = ("holes", 0)
F = (*H, "features", 0)
CASES = [
    ((*H, "par"), ..., "holes[0].par", "nothing", "required"),
    ((*H, "par"), "four", "holes[0].par", '"four"', "a valid integer"),
    ((*H, "par"), True, "holes[0].par", "true", "a valid integer"),
    ((*H, "par"), 9, "holes[0].par", "9", "less than or equal to 6"),
    ((*H, "length"), float("nan"), "holes[0].length", "NaN", "a finite number"),
    ((*H, "length"), -400, "holes[0].length", "-400", "greater than 0"),
    ((*H, "stroke_index"), 19, "holes[0].stroke_index", "19", "less than or equal to 18"),
    ((*H, "handicap"), 3, "holes[0].handicap", "a field this form does not have", "a known field"),
    ((*H, "lenght"), 3, "holes[0].lenght", "a field this form does not have", "did you mean 'length'?"),
    ((*H, "fairway"), [], "holes[0].fairway", "nothing", "its width"),
    ((*H, "legs"), [{"length": 300}], "holes[0].legs", "add up to 300", "400, the hole's length"),
    ((*H, "legs", 0, "turn_deg"), 10, "holes[0].legs[0].turn_deg", "10", "0: a hole's direction"),
    ((*H, "legs", 1, "turn_deg"), 200, "holes[0].legs[1].turn_deg", "200", "less than or equal to 110"),
    ((*H, "tees"), {"day": 20}, "holes[0].tees", "no tee set at 0", "one at 0"),
    ((*H, "tees"), {"a": 0, "A ": 9}, "holes[0].tees", "a, A", "a different name"),
    ((*H, "tees"), {"a": 0, "b": 390}, "holes[0].tees.b", "390", "at most 360"),
    ((*H, "fairway", 0), {"from": 1, "width": 3}, "holes[0].fairway[0]", "from", "either at, or from and to"),
    ((*H, "fairway", 0, "from"), 260, "holes[0].fairway[0].from", "260", "less than its to, 250"),
    ((*H, "fairway", 1, "at"), 240, "holes[0].fairway[1].at", "240", "at least 250"),
    ((*H, "fairway", 1, "at"), 410, "holes[0].fairway[1].at", "410", "at most 400"),
    ((*H, "fairway"), [{"at": 9, "width": 9}], "holes[0].fairway", "only the distance 9", "where it ends"),
    ((*F, "kind"), "lava", "holes[0].features[0].kind", '"lava"', "'bunker', 'water'"),
    (
        (*F, "side"),
        "middle",
        "holes[0].features[0].side",
        '"middle"',
        "'left', 'right', 'across' or 'centre'",
    ),
    ((*F, "from"), 260, "holes[0].features[0].from", "260", "less than its to, 260"),
    ((*F, "from"), ..., "holes[0].features[0].from", "nothing", "required"),
    ((*F, "to"), 2600, "holes[0].features[0].to", "2600", "less than or equal to 1000"),
    ((*F, "offset"), ..., "holes[0].features[0].offset", "nothing", "the clear ground"),
    ((*F, "width"), ..., "holes[0].features[0].width", "nothing", "how wide the water is"),
    ((*F, "height"), 9, "holes[0].features[0].height", "9 on water", "trees alone"),
    ((*F, "lost"), 1.5, "holes[0].features[0].lost", "1.5", "less than or equal to 1"),
    ((*H, "green"), ..., "holes[0].green", "nothing", "required"),
    ((*H, "green", "depth"), 300, "holes[0].green.depth", "300", "6 to 100"),
    ((*H, "green", "around", 0), {}, "holes[0].green.around[0].at", "nothing", "an hour in clock"),
    ((*H, "green", "around", 0, "clock"), 3, "holes[0].green.around[0].at", "front and clock 3", "a side"),
    ((*H, "green", "around", 0, "length"), 200, "holes[0].green.around[0].length", "200", "at most 108"),
    (
        (*H, "green", "pins", "back"),
        {"front": 9},
        "holes[0].green.pins.back",
        "neither",
        "one of left and right",
    ),
    (
        (*H, "green", "pins", "back", "front"),
        45,
        "holes[0].green.pins.back",
        "off the green",
        "30 deep and 24 wide",
    ),
    ((*H, "green"), None, "holes[0].green", "null", "an object with fields"),
    ((*H, "name"), "x" * 61, "holes[0].name", "xxx", "at most 60 characters"),
    (("units",), "feet", "units", '"feet"', "'yards' or 'metres'"),
    (("schema_version",), 2, "schema_version", "2", "1"),
    (("lonlat",), [52, 190], "lonlat", "52", "a longitude, then a latitude"),
    (("holes",), [], "holes", "[]", "at least 1 item"),
]


@pytest.mark.parametrize(("path", "value", "where", "found", "expected"), CASES)
def test_one_fault(path, value, where, found, expected):
    faults = faults_of(changed(path, value))
    assert [fault[0] for fault in faults] == [where]
    assert found in faults[0][1]
    assert expected in faults[0][2]
    assert "should" not in faults[0][2]
    assert "Form" not in faults[0][2]


@pytest.mark.parametrize(
    ("feature", "index", "found"),
    [
        ({"kind": "red", "side": "across", "from": -5, "to": 20, "width": 60}, 0, "red on a tee"),
        ({"kind": "bunker", "side": "centre", "from": 390, "to": 410, "width": 30}, 0, "sand in the middle"),
        (
            {"kind": "out", "side": "right", "from": 390, "to": 410, "offset": -60, "width": 99},
            0,
            "out in the m",
        ),
    ],
)
def test_features_in_the_way(feature, index, found):
    data = changed((*H, "features"), [feature])
    (fault,) = faults_of(data)
    assert fault[0] == f"holes[0].features[{index}]"
    assert found in fault[1]


def test_a_hole_that_ends_on_its_own_tee():
    square = [{"length": 100, "turn_deg": 90 if i else 0} for i in range(4)]
    assert [(w, f) for w, f, _ in faults_of(changed((*H, "legs"), square))][-1] == (
        "holes[0].green",
        "a green that reaches a tee",
    )


def test_numbers_and_indexes_given_twice():
    data = copy.deepcopy(COURSE)
    data["holes"].append(copy.deepcopy(HOLE))
    assert [(where, found) for where, found, _ in faults_of(data)] == [
        ("holes[1].number", "1, which holes[0] has too"),
        ("holes[1].stroke_index", "7, which holes[0] has too"),
    ]


def test_every_fault_is_told_not_the_first():
    data = copy.deepcopy(COURSE)
    data["holes"][0]["features"][0]["from"] = 300
    data["holes"][0]["green"]["depth"] = 2
    data["holes"][0]["legs"][0]["length"] = 100
    assert len(faults_of(data)) == 3


def test_climb_twice():
    data = changed((*H, "climb"), 5)
    data["holes"][0]["legs"][1]["climb"] = 3
    ((where, found, _),) = faults_of(data)
    assert (where, found) == ("holes[0].climb", "5 besides climbs of the legs")


def test_a_message_reads_as_one_line(tmp_path):
    path = tmp_path / "card.json"
    path.write_text(json.dumps(changed((*F, "from"), 260)), encoding="utf-8")
    with pytest.raises(CourseError) as caught:
        load_course(path)
    assert str(caught.value) == (
        f"{path}: holes[0].features[0].from: found 260; expected less than its to, 260"
    )


def test_unknown_tees(tmp_path):
    path = tmp_path / "card.json"
    path.write_text(json.dumps(changed((*H, "tees"), {"back": 0})), encoding="utf-8")
    with pytest.raises(UnknownError, match="no hole has tees 'front'"):
        load_course(path, tees="front")


@pytest.mark.parametrize("holes", [None, 7, "eighteen", [7], [[]], {"1": {}}])
def test_holes_that_are_none(holes):
    assert all(where.startswith("holes") for where, _, _ in faults_of(changed(("holes",), holes)))


def test_faults_repeat_the_figures_of_the_file():
    course = changed((*H, "green", "pins", "back", "front"), 45) | {"units": "metres"}
    assert faults_of(course)[0][2] == "one on it; it is 30 deep and 24 wide"
