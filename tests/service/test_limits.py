"""What a service does at its limits: of time, memory, requests in line, and what it keeps."""

import asyncio
import os
import re
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import httpx
import pytest
from small_service import COURSE, HOLE, files, running, settings

from caddiebrain.cli import main
from caddiebrain.hole import GridSpec
from caddiebrain.service.cache import Answers, Plans
from caddiebrain.service.crew import Crew

LONG = COURSE | {
    "holes": [HOLE | {"number": n, "stroke_index": n, "par": 5, "length": 590,
              "fairway": [{"from": 100, "to": 560, "width": 30}],
              "features": [{"kind": "trees", "side": side, "from": 60, "to": 580, "offset": 14, "width": 45}
                           for side in ("left", "right")]} for n in range(1, 19)]
}  # fmt: skip
FULL = {"level": {"handicap_index": 11}}
"""A long wooded course and a full bag: many seconds of work on any machine, the more so on the usual grid."""


def post(address: str, verb: str = "plan", **ask: object) -> httpx.Response:
    return httpx.post(f"{address}/{verb}", json=ask, timeout=120.0)


def children() -> set[int]:
    """Processes of ours that run."""
    found = (task / "children" for task in Path(f"/proc/{os.getpid()}/task").iterdir())
    return {int(number) for file in found if file.exists() for number in file.read_text().split()}


@pytest.mark.skipif(sys.platform != "linux", reason="looks at the processes of this machine")
def test_time_and_the_line_are_bounded(tmp_path):
    """What takes too long is stopped for good, and the service goes on; of many at once some are sent away."""
    with running(settings(tmp_path, workers=1, waiting=1, seconds=2.0)) as address:
        assert post(address, target=3).status_code == 200
        before = children()
        answer = post(address, course=LONG, player=FULL, target=99)
        assert answer.status_code == 504
        assert answer.json()["faults"][0]["line"].startswith("the answer took more than the 2 seconds")
        assert len(before - children()) == 1  # the process that planned is not there any more
        assert post(address, "options", hole=1, to_pin=80, lie="rough", target=3).status_code == 200
        with ThreadPoolExecutor(6) as pool:
            asked = [pool.submit(post, address, course=LONG, player=FULL, target=t) for t in range(90, 96)]
        answers = [future.result() for future in asked]
    full = [answer for answer in answers if answer.status_code == 429]
    assert len(full) == 4
    assert all(int(answer.headers["retry-after"]) > 0 for answer in full)
    assert {answer.status_code for answer in answers} == {429, 504}


def soon(address: str, **wanted: int) -> bool:
    """Whether the service says so of itself within half a minute."""
    for _ in range(300):
        state = httpx.get(f"{address}/health").json()
        if all(state[name] == number for name, number in wanted.items()):
            return True
        time.sleep(0.1)
    return False


def test_what_nobody_waits_for_is_given_up(tmp_path, monkeypatch):
    """A client that hangs up frees its worker and its place in line, but not while another asks the same."""
    monkeypatch.setattr("caddiebrain.service.desk._GRACE_SECONDS", 0.1)
    with running(settings(tmp_path, workers=1, seconds=600.0, grid=GridSpec())) as address:
        long = {"course": LONG, "player": FULL, "target": 99}
        with ThreadPoolExecutor(3) as pool:
            first = pool.submit(httpx.post, f"{address}/plan", json=long, timeout=3.0)
            assert soon(address, busy=1)
            in_line = pool.submit(httpx.post, f"{address}/plan", json=long | {"target": 98}, timeout=2.0)
            same = pool.submit(httpx.post, f"{address}/plan", json=long, timeout=6.0)
            assert soon(address, waiting=1)
            for gone in (in_line, first):
                with pytest.raises(httpx.ReadTimeout):
                    gone.result()
            time.sleep(0.5)
            state = httpx.get(f"{address}/health").json()
            assert (state["busy"], state["waiting"]) == (1, 0)  # another still waits for the first
            with pytest.raises(httpx.ReadTimeout):
                same.result()
        assert soon(address, busy=0)
        assert post(address, target=3).status_code == 200


@pytest.mark.skipif(sys.platform != "linux", reason="limits of memory are Linux's")
def test_memory_is_bounded(tmp_path):
    with running(settings(tmp_path, workers=1, memory_mb=128)) as address:
        answer = post(address, course=LONG, player=FULL, target=99)
        assert answer.status_code == 413
        assert "needs more than the 128 MB a request may use" in answer.json()["faults"][0]["line"]
        assert post(address, course="nowhere", target=3).status_code == 422
        assert httpx.get(f"{address}/health").json()["busy"] == 0


def test_a_service_may_keep_nothing(tmp_path):
    with running(settings(tmp_path, workers=1, plans=0, answers=0)) as address:
        first, second = post(address, target=3), post(address, target=3)
        state = httpx.get(f"{address}/health").json()
    assert (first.status_code, first.content) == (200, second.content)
    assert (state["plans"], state["answers"], state["plan_bytes"], state["answer_bytes"]) == (0, 0, 0, 0)


def test_what_it_keeps_is_bounded(tmp_path):
    with running(settings(tmp_path, workers=1, plans=2, answers=3)) as address:
        for target in (2, 3, 4, 5):
            assert post(address, target=target).status_code == 200
        for target in (2, 5):  # one of a plan that was let go, one of a plan that is there
            assert post(address, "options", hole=1, to_pin=80, lie="rough", target=target).status_code == 200
        state = httpx.get(f"{address}/health").json()
    assert (state["plans"], state["answers"]) == (2, 3)
    assert 0 < state["plan_bytes"] < 10e6


def test_a_worker_goes_to_who_asks_of_its_plan_and_nobody_waits_for_ever(tmp_path):
    async def line() -> list[str]:
        crew = Crew(settings(tmp_path, workers=1, waiting=100))
        served: list[str] = []

        async def ask(key: str) -> None:
            async with crew.one(key) as member:
                served.append(key)
                member.has = key
                await asyncio.sleep(0)

        await asyncio.gather(*(ask(key) for key in ["a", "b", *["a"] * 30]))
        assert (crew.busy, crew.waiting) == (0, 0)
        return served

    served = asyncio.run(line())
    assert served[:21] == ["a"] * 21
    assert served.index("b") == 21
    assert len(served) == 32


def test_answers_are_let_go_by_number_and_by_bytes():
    kept = Answers(2, 10)
    for key, answer in (("a", b"123"), ("b", b"456"), ("a", b"x"), ("c", b"7890")):
        kept.get("a")
        kept.put(key, answer)
    assert [kept.get(key) for key in "abc"] == [b"123", None, b"7890"]
    kept.put("d", b"x" * 11)
    assert (kept.get("d"), kept.bytes) == (None, 7)
    kept.put("e", b"12345678")
    assert (len(kept), kept.bytes) == (1, 8)


def test_plans_are_let_go_with_their_files(tmp_path):
    kept = Plans(tmp_path, 3, 100)
    for key, size in (("a", 40), ("b", 40), ("a", 40), ("c", 40), ("d", 0)):
        (tmp_path / f"{key}.plan").touch()
        kept.put(key, size)
    assert [kept.has(key) for key in "abcd"] == [True, False, True, False]
    assert not (tmp_path / "b.plan").exists()
    assert kept.bytes == 80
    assert Plans(tmp_path, 0, 100).file("a") == ""


def serve(*arguments: str) -> subprocess.Popen[str]:
    command = [sys.executable, "-W", "error", "-m", "caddiebrain", "serve", "--port", "0", *arguments]
    return subprocess.Popen(command, stderr=subprocess.PIPE, stdout=subprocess.PIPE, text=True)


@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
@pytest.mark.parametrize("number", [signal.SIGTERM, pytest.param(signal.SIGINT, marks=pytest.mark.slow)])
def test_the_command_serves_and_stops_in_good_order(tmp_path, number):
    """What runs when it is told to stop is finished; what comes later finds nobody."""
    course, player = files(tmp_path)
    with serve("--workers", "1", "--course", f"short={course}", "--player", f"me={player}") as process:
        address = re.search(r"serving on (http://127\.0\.0\.1:\d+);", process.stderr.readline())[1]
        ask = {"course": "short", "player": "me", "target": 3}
        with ThreadPoolExecutor(1) as pool:
            answer = pool.submit(post, address, **ask)
            while not answer.done() and httpx.get(f"{address}/health").json()["busy"] == 0:
                time.sleep(0.02)
            process.send_signal(number)
            assert answer.result().status_code == 200
        assert process.wait(60) == 0
        assert (process.stdout.read(), process.stderr.read()) == ("", "")
    with pytest.raises(httpx.ConnectError):
        httpx.get(f"{address}/health")


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (("--workers", "0"), "serve: --workers: found 0; expected"),
        (("--course", "short"), "--course: found 'short'; expected NAME=FILE"),
        (("--course", "a=nowhere.json"), "nowhere.json: the file: found no such file"),
        (("--player", "a=nowhere.json"), "nowhere.json: file: found No such file"),
        (("--host", "203.0.113.7"), "serve: address: found 203.0.113.7:8046"),
        (("--memory", "1"), "serve: --memory: found 1; expected"),
    ],
)
def test_a_wrong_start_is_one_line(capsys, arguments, line):
    assert main(("serve", *arguments)) == 2
    written = capsys.readouterr()
    assert written.out == ""
    assert len(written.err.splitlines()) == 1
    assert line in written.err
