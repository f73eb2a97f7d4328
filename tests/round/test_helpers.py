"""Work shared with processes beside this one: the same results, and nothing lost when a helper is."""

import os
import signal
import subprocess
import sys
import threading
import time
from dataclasses import replace
from pathlib import Path

import pytest

import caddiebrain as cb
from caddiebrain.round.helpers import _Job, processes_for, shared
from tests.conftest import BLUNT

WHO = "__import__('os').getpid()"
"""An expression for ``eval``, a function that every helper has."""


@pytest.fixture
def only_helper():
    """Let a helper do it all; it is stopped after the test."""
    jobs: list[_Job[str, object]] = []

    def of(expressions: list[str]) -> _Job[str, object]:
        jobs.append(_Job(eval, expressions))
        jobs[-1].feed_helper()
        return jobs[-1]

    yield of
    for job in jobs:
        job.end()


def test_a_helper_is_another_process_and_keeps_the_order(only_helper):
    job = only_helper([WHO, "2 + 2", "print('heard by nobody')", WHO])
    first, four, printed, last = job.results()
    assert (four, printed) == (4, None)
    assert first == last != os.getpid()


def test_here_and_beside_give_every_result_once_in_order():
    assert list(shared(eval, [f"{i} * {i}" for i in range(40)], 3)) == [i * i for i in range(40)]


def test_without_helpers_all_is_done_here():
    assert list(shared(eval, [WHO] * 3, 1)) == [os.getpid()] * 3
    assert list(shared(eval, [], 4)) == []


def test_what_a_helper_was_at_when_it_died_is_done_here(only_helper):
    dies_elsewhere = f"__import__('os')._exit(3) if {WHO} != {os.getpid()} else 'done here'"
    job = only_helper(["1", dies_elsewhere, "3"])
    assert list(job.results()) == [1, "done here", 3]


def test_what_fails_beside_fails_here_in_its_place(only_helper):
    job = only_helper(["1", "1 / 0"])
    results = job.results()
    assert next(results) == 1
    with pytest.raises(ZeroDivisionError):
        next(results)


def test_work_that_cannot_be_sent_is_done_here():
    job: _Job[int, int] = _Job(lambda x: x + 1, [1])  # a helper cannot be told of a lambda
    job.feed_helper()
    assert list(job.results()) == [2]
    job.end()


def test_no_python_to_start_is_no_harm(monkeypatch, tmp_path):
    monkeypatch.setattr(sys, "executable", str(tmp_path / "none"))
    assert list(shared(eval, ["1", "2"], 2)) == [1, 2]


def test_helpers_end_with_the_caller():
    job: _Job[str, object] = _Job(eval, [WHO])
    job.feed_helper()
    (helper,) = job.helpers
    assert helper._process.poll() is None
    job.end()
    assert helper._process.poll() is not None


def test_a_helper_that_is_late_is_stopped_too():
    job: _Job[str, object] = _Job(eval, [WHO])
    job.end()
    job.feed_helper()
    (helper,) = job.helpers
    assert helper._process.poll() is not None


def test_who_stops_listening_stops_a_helper_at_work():
    job: _Job[str, object] = _Job(eval, ["__import__('time').sleep(60)"])
    feeding = threading.Thread(target=job.feed_helper)
    feeding.start()
    for _ in range(600):
        if not job.waiting:
            break
        time.sleep(0.1)
    assert not job.waiting, "the helper has not taken the work"
    job.end()
    feeding.join(10.0)
    assert not feeding.is_alive()
    assert job.helpers[0]._process.poll() is not None
    assert not job.found[0].done()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes of POSIX")
def test_a_helper_at_work_ends_when_its_caller_is_killed(tmp_path):
    """What it writes to is at its end when it has ended, and not before."""
    pipe = str(tmp_path / "pipe")
    os.mkfifo(pipe)
    says = f"(lambda f: (f.write('at work'), f.flush(), __import__('time').sleep(60)))(open({pipe!r}, 'w'))"
    script = f"from caddiebrain.round.helpers import _Job; _Job(eval, [{says!r}]).feed_helper()"
    with subprocess.Popen([sys.executable, "-c", script]) as caller, Path(pipe).open() as line:
        assert line.read(7) == "at work"
        caller.kill()
        start = time.monotonic()
        assert line.read() == ""
    assert time.monotonic() - start < 30.0


def test_a_program_that_is_no_python_is_given_no_work(monkeypatch, tmp_path):
    silent = tmp_path / "host"
    silent.write_text("#!/bin/sh\nexec sleep 60\n")
    silent.chmod(0o755)
    monkeypatch.setattr(sys, "executable", str(silent))
    assert list(shared(eval, ["1", "2", "3"], 2)) == [1, 2, 3]
    job: _Job[str, object] = _Job(eval, ["1"])
    job.end()
    job.feed_helper()  # too late: it is not waited for, and stopped
    assert job.helpers[0]._process.poll() is not None


@pytest.mark.parametrize("setting", ["frozen", "helper", "signal"])
def test_no_helper_where_it_would_be_a_copy_or_could_take_the_caller_along(monkeypatch, setting):
    if setting == "frozen":
        monkeypatch.setattr(sys, "frozen", True, raising=False)
    elif setting == "helper":
        monkeypatch.setenv("CADDIEBRAIN_HELPER", "1")
    else:
        monkeypatch.setattr(signal, "getsignal", lambda number: signal.SIG_DFL)
    monkeypatch.setattr(_Job, "feed_helper", lambda job: pytest.fail("a helper was started"))
    assert list(shared(eval, [WHO] * 3, 3)) == [os.getpid()] * 3


def test_nothing_of_the_working_directory_is_imported(monkeypatch, tmp_path, only_helper):
    (tmp_path / "json.py").write_text("raise SystemExit")
    monkeypatch.chdir(tmp_path)
    job = only_helper([WHO])
    assert next(job.results()) != os.getpid()


def test_a_path_entry_that_is_no_text_is_left_out(monkeypatch, tmp_path, only_helper):
    monkeypatch.setattr(sys, "path", [*sys.path, tmp_path])
    job = only_helper([WHO])
    assert next(job.results()) != os.getpid()


def test_a_helper_is_worth_it_from_three_holes_on(monkeypatch):
    monkeypatch.setattr(os, "cpu_count", lambda: 16)
    assert [processes_for(None, holes) for holes in (1, 5, 6, 9, 18)] == [1, 1, 2, 3, 4]
    assert processes_for(2, 1) == 2
    for wrong in (0, -1, 1.5, "2", True):
        with pytest.raises(cb.InputError, match=r"^processes: workers: found .*; expected a whole number of"):
            processes_for(wrong, 18)
    monkeypatch.setattr(os, "cpu_count", lambda: None)
    assert processes_for(None, 18) == 1


def test_a_plan_is_the_same_however_many_processes_share_it():
    course, player = cb.demo.course(), cb.demo.player()
    short = replace(course, holes=(course.hole(4), course.hole(16)))
    one, two = (cb.plan_round(short, player, 9, grid=BLUNT, workers=n) for n in (1, 2))
    assert one.record() == two.record()
    assert one.options(hole=16, to_pin=60.0, lie="rough") == two.options(hole=16, to_pin=60.0, lie="rough")


SCRIPT = """
from dataclasses import replace
import caddiebrain as cb
from caddiebrain.hole import GridSpec

print("top")  # no guard below: a pool that imports this file again would start pools without end
coarse = GridSpec(cell=4.0, spot=8.0, near_spot=4.0, lattice=24.0, points=(13, 5), tee_points=(21, 5))
course = cb.demo.course()
short = replace(course, holes=(course.hole(4), course.hole(16)))
plan = cb.plan_round(short, cb.demo.player(), 9, grid=coarse, workers=2)
print(len(plan.holes))
"""


def test_a_script_without_a_guard_plans(tmp_path):
    script = tmp_path / "plan.py"
    script.write_text(SCRIPT)
    done = subprocess.run(
        [sys.executable, str(script)],
        capture_output=True,
        text=True,
        timeout=300,
        env={**os.environ, "PYTHONPATH": str(Path(cb.__file__).parents[1])},
    )
    assert (done.returncode, done.stdout.split(), done.stderr) == (0, ["top", "2"], "")
