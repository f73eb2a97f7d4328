"""A real client over loopback: the answers are the library's own, and everything wrong is said with its status."""

import codecs
import gzip
import json
import socket
from concurrent.futures import ThreadPoolExecutor

import httpx
import pytest
from jsonschema import Draft202012Validator
from small_service import BLUNT, COURSE, HOLE, LEVEL, ROUND

import caddiebrain as cb
from caddiebrain.course import course_from_document
from caddiebrain.service.settings import ServiceSettings

TARGET = {"target": 3}


@pytest.fixture(scope="module")
def plan():
    """The plan behind the service's answers."""
    player = cb.Level(handicap_index=11.0, clubs=tuple(LEVEL["clubs"])).player()
    return cb.plan_round(course_from_document(COURSE), player, 3, grid=BLUNT)


def asked(client: httpx.Client, verb: str, **more: object) -> object:
    answer = client.post(f"/{verb}", json=TARGET | more)
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == "application/json"
    return answer.json()


def said(answer: httpx.Response) -> list[str]:
    """Lines of a refusal, after a look at its form."""
    assert 400 <= answer.status_code < 500, answer.text
    Draft202012Validator(cb.json_schema("fault-report")).validate(answer.json())
    return [fault["line"] for fault in answer.json()["faults"]]


def as_json(record: object) -> object:
    return json.loads(record.model_dump_json())


def test_it_says_that_it_is_well(client):
    state = client.get("/health").json()
    assert (state["status"], state["version"], state["workers"]) == ("ok", cb.__version__, 2)


def test_a_plan(client, plan):
    got = asked(client, "plan")
    assert got == as_json(plan.record())
    Draft202012Validator(cb.json_schema("plan")).validate(got)


def test_a_plan_with_everything_sent(client, plan):
    day = {"wind_mph": 10, "wind_from_deg": 200}
    level = asked(client, "plan", course=COURSE, player={"level": LEVEL}, conditions=day)
    document = as_json(plan.player)
    sent = asked(client, "plan", course=COURSE, player=document, conditions=day)
    assert level["holes"] == sent["holes"] != as_json(plan.record())["holes"]
    moved = asked(client, "plan", setup={"pin": "back", "rough": "long"})
    assert moved["holes"][0]["length_yd"] > plan.holes[0].length_yd


def test_options(client, plan):
    got = asked(client, "options", hole=1, to_pin=90, lie="rough", strokes_on_hole=1, standing=1)
    expected = plan.options(1, to_pin=90.0, lie="rough", strokes_on_hole=1, standing=1)
    assert got == [as_json(option.record()) for option in expected]
    every = asked(client, "options", hole=1, position=[3.0, 100], every_aim=True)
    assert len(every) > len(got)


def test_compare(client, plan):
    first, second = (option.label for option in plan.hole(1).tee_options()[:2])
    got = asked(client, "compare", hole=1, first=first, second=second, standing=1)
    assert got == as_json(cb.compare(plan, 1, first, second, standing=1))


def test_review(client, plan):
    assert asked(client, "review", round=ROUND) == as_json(cb.review(plan, ROUND))
    got = asked(client, "review", round=ROUND, reference={"handicap_index": 2.0})
    assert got["reference"] is not None


def test_practice(client, plan):
    expected = cb.practice_priorities(plan, weekly_hours=2.0)
    assert asked(client, "practice", weekly_hours=2) == as_json(expected)


def test_the_same_question_is_answered_from_memory(client):
    before = client.get("/health").json()["answers"]
    first = client.post("/plan", json={"target": 4})
    after = client.get("/health").json()["answers"]
    again = client.post("/plan", json={"target": 4, "course": "demo"})
    assert (first.content, after) == (again.content, before + 1)
    spent = [float(a.headers["server-timing"].removeprefix("work;dur=")) for a in (first, again)]
    assert spent[0] > 1.0
    assert spent[1] == 0.0
    assert client.get("/health").json()["answers"] == after


def test_many_who_ask_the_same_are_served_by_one_plan(client):
    made = client.get("/health").json()["answers"]
    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(lambda _: client.post("/plan", json={"target": 5}).content, range(16)))
    assert len(set(answers)) == 1
    assert client.get("/health").json()["answers"] == made + 1


def wrong_course(**change: object) -> dict[str, object]:
    return COURSE | {"holes": [HOLE | change]}


@pytest.mark.parametrize(
    ("verb", "ask", "line"),
    [
        ("plan", {"target": 0}, "target: found 0; expected greater than or equal to 1"),
        ("plan", {"target": "79"}, "target: found '79'; expected a valid integer"),
        ("plan", {"aim": 3}, "aim: found 3; expected one of course, player"),
        ("plan", {"course": "elsewhere"}, "no course 'elsewhere' here; there are demo, or send one"),
        ("plan", {"player": "nobody"}, "no player 'nobody' here; there are demo, or send one"),
        ("plan", {"course": 7}, "course: course: found int; expected a name or a course file"),
        ("plan", {"player": []}, "player: player: found list; expected a name, a level or a player file"),
        ("plan", {"course": wrong_course(par="four")}, 'course: holes[0].par: found "four"; expected a valid int'),
        ("plan", {"course": {"type": "FeatureCollection", "features": 3}}, "course: features: found 3; expected"),
        ("plan", {"player": {"level": {"handicap_index": 99}}}, "player: level.handicap_index: found 99; exp"),
        ("plan", {"player": {"level": 9}}, "player: level: found 9; expected an object with fields"),
        ("plan", {"player": {"handicap_index": 9}}, 'found an object with handicap_index; expected a player file'),
        ("plan", {"player": {}}, "player: file: found nothing in it; expected a player with patterns"),
        ("plan", {"conditions": {"wind": 9}}, "conditions.wind: found 9; expected one of wind_mph, wind_from_deg"),
        ("plan", {"setup": {"pin": "frnt"}}, "setup.pin: found 'frnt'; expected 'front', 'middle', 'back', 'left' or"),
        ("options", {"hole": 1, "position": [0, 60, 2]}, "position: found [0, 60, 2]; expected at most 2 items"),
        ("plan", {"player": {"patterns": []}}, "player: patterns: found []"),
        ("plan", {"course": {"format": "holes-by-numbers", "schema_version": 10**300}}, "schema_version: found 1000"),
        ("plan", {"tees": "gold"}, "gold"),
        ("plan", {"course_name": 7}, "course_name: found 7; expected a valid string"),
        ("plan", {"conditions": {"wind_mph": 99}}, "conditions.wind_mph: found 99; expected less"),
        ("plan", {"setup": {"pin": [500, 500]}}, "set-up: hole 1: pin: found 500, 500"),
        ("options", {"hole": 1}, "request: position: found neither; expected either position or to_pin"),
        ("options", {"to_pin": 90}, "hole: found nothing; expected a value"),
        ("options", {"hole": 9, "to_pin": 90}, "hole 9 is not in this plan; it has 1"),
        ("options", {"hole": 1, "to_pin": 90, "lie": "lake"}, "lie: found 'lake'"),
        ("options", {"hole": 1, "to_pin": 500}, "hole 1: to_pin: found 500; expected yards, at most 1"),
        ("options", {"hole": 1, "position": [1900, -1900]}, "hole 1"),
        ("compare", {"hole": 1, "first": "spoon", "second": "7-iron"}, "no choice 'spoon' from here on hole 1"),
        ("review", {"round": "good"}, "round: round: found str; expected an object with holes"),
        ("review", {"round": {"holes": [{"number": 1, "shots": [{"club": "spoon"}]}]}}, "hole 1, stroke 1, club"),
        ("review", {}, "round: found"),
        ("practice", {"efforts": {"juggling": 0.1}}, "no skill 'juggling'; there are "),
    ],
)  # fmt: skip
def test_bad_input_is_named(client, verb, ask, line):
    answer = client.post(f"/{verb}", json=TARGET | ask)
    lines = said(answer)
    assert answer.status_code == 422
    assert any(line in one for one in lines), lines


def test_faults_of_a_field_come_in_their_parts_for_programs(client):
    ask = {"target": 0, "conditions": {"wind_mph": 5}, "setup": {"pin": "frnt"}}
    faults = client.post("/plan", json=ask).json()["faults"]
    assert [(one["where"], one["found"]) for one in faults] == [
        ("target", "0"),
        ("conditions.wind_from_deg", "nothing"),
        ("setup.pin", "'frnt'"),
    ]
    assert [f"{one['where']}: found {one['found']}; expected {one['expected']}" for one in faults] == [
        one["line"] for one in faults
    ]


def test_what_other_languages_write_for_the_same_is_the_same_question(client):
    plain = client.post("/options", json=TARGET | {"hole": 1, "to_pin": 90})
    for same in (
        {
            "target": float(TARGET["target"]),
            "hole": 1.0,
            "to_pin": 90.0,
            "standing": 0.0,
            "strokes_on_hole": 0.0,
        },
        {"hole": 1, "to_pin": 90, "conditions": None, "setup": None, "lie": None, "position": None},
    ):
        body = codecs.BOM_UTF8 + json.dumps(TARGET | same).encode()
        answer = client.post("/options", content=body, headers={"content-type": "application/json"})
        assert (answer.status_code, answer.content) == (200, plain.content)
        assert answer.headers["Server-Timing"] == "work;dur=0.0"  # known already


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (b"", "Expecting value"),
        (b"{", "Expecting property name"),
        (b"\xff\xfe{}", "can't decode"),
        (b'{"target": NaN}', "the value NaN"),
        (b'{"course": ' + b"[" * 100_000, "nested too deep"),
        (b'{"target": ' + b"9" * 5000 + b"}", "a number of thousands of digits"),
        (b'{"tees": "\\ud800"}', "body: found unexpected end of hex escape"),
    ],
    ids=["empty", "half", "no UTF-8", "NaN", "deep", "long number", "half a character"],
)
def test_a_body_that_is_no_json_is_a_400(client, body, words):
    answer = client.post("/plan", content=body, headers={"content-type": "application/json"})
    assert answer.status_code == 400
    assert words in said(answer)[0]
    assert answer.json()["faults"][0]["where"] == "body"


@pytest.mark.parametrize("depth", [20, 190, 400])
def test_nested_courses_are_bad_input(client, depth):
    body = b'{"course": ' + b'{"holes": ' * depth + b"1" + b"}" * depth + b"}"
    answer = client.post("/plan", content=body, headers={"content-type": "application/json"})
    assert answer.status_code == (422 if depth < 200 else 400)
    assert said(answer)


def test_a_number_beyond_all_bounds_is_bad_input(client):
    far = [[0.0, 50.0], [0.0, "1e999"]]
    line = {"type": "Feature", "properties": {"golf": "hole", "ref": "1"},
            "geometry": {"type": "LineString", "coordinates": far}}  # fmt: skip
    course = {"type": "FeatureCollection", "caddiebrain": {"schema_version": 1}, "features": [line]}
    body = json.dumps({"course": course}).replace('"1e999"', "1e999")
    answer = client.post("/plan", content=body, headers={"content-type": "application/json"})
    assert answer.status_code == 422
    assert "a position that is not finite" in said(answer)[0]


def test_json_that_is_no_object_is_a_422(client):
    for body in (b"[]", b"3", b"null", b'"demo"'):
        answer = client.post("/plan", content=body, headers={"content-type": "application/json"})
        assert answer.status_code == 422
        assert said(answer)


def test_other_sorts_of_body_are_a_415(client):
    for headers in (
        {},
        {"content-type": "text/plain"},
        {"content-type": "application/x-www-form-urlencoded"},
    ):
        answer = client.post("/plan", content=b'{"target": 3}', headers=headers)
        assert answer.status_code == 415
        assert "expected application/json" in said(answer)[0]
        assert answer.json()["faults"][0]["where"] == "content-type"
    packed = {"content-type": "application/json", "content-encoding": "gzip"}
    answer = client.post("/plan", content=gzip.compress(b"{}"), headers=packed)
    assert (answer.status_code, said(answer)) == (
        415,
        ["content-encoding: found gzip; expected a body as it is"],
    )


def test_a_body_too_large_is_a_413_with_and_without_its_length(client):
    most = ServiceSettings().body_bytes
    large = b'{"tees": "' + b"x" * most + b'"}'
    headers = {"content-type": "application/json"}
    for content in (large, (large[i : i + 65536] for i in range(0, len(large), 65536))):
        answer = client.post("/plan", content=content, headers=headers)
        assert answer.status_code == 413
        assert f"expected at most {most}" in said(answer)[0]


def test_a_client_that_goes_while_it_sends_leaves_no_trace(client, address, caplog):
    host, port = address.removeprefix("http://").split(":")
    head = b"POST /plan HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\n"
    for rest in (b"Content-Length: 20\r\n\r\n{", b"Transfer-Encoding: chunked\r\n\r\nno size\r\n"):
        with socket.create_connection((host, int(port)), 10) as line:
            line.sendall(head + rest)
            line.shutdown(socket.SHUT_WR)
            while line.recv(1024):
                pass
    assert client.get("/health").json()["busy"] == 0
    assert "Exception" not in caplog.text


def test_paths_and_methods_that_are_not_there(client):
    missing, wrong = client.post("/plans", json={}), client.get("/plan")
    assert (missing.status_code, wrong.status_code) == (404, 405)
    assert said(missing) == ["POST /plans: not found; see /openapi.json"]
    assert said(wrong) == ["GET /plan: method not allowed; see /openapi.json"]
    assert client.post("/plan/", json={}).status_code == 404  # no redirect, which most clients do not follow
    for page in ("/docs", "/redoc"):  # they would fetch scripts from elsewhere
        assert client.get(page).status_code == 404
