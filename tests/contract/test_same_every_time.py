"""The same input and seed give the same bytes; the library says nothing unasked; progress is told in order."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
import sample_records
from sample_records import BLUNT, ROOT, as_json

import caddiebrain as cb
from caddiebrain.course.model import Course

TIMES = ("seconds",)
"""Fields that say how long something took."""


def without_times(data: object) -> object:
    if isinstance(data, dict):
        return {key: without_times(value) for key, value in data.items() if key not in TIMES}
    return [without_times(value) for value in data] if isinstance(data, list) else data


def test_answers_are_the_same_twice(samples):
    """... whatever the number of processes."""
    again = sample_records.answers(sample_records.tiny_plan(workers=2))
    for name in ("plan", "hole", "options", "comparison", "press", "review", "bag", "disaster-limit"):
        assert without_times(as_json(again[name]())) == without_times(as_json(samples[name])), name


SCRIPT = """
import sys
sys.path.insert(0, {beside!r})
import sample_records as s, hashlib
plan = s.tiny_plan()
import caddiebrain as cb
text = plan.record().model_dump_json()
text += "".join(o.record().model_dump_json() for o in plan.options(1, to_pin=90.0, lie="rough", every_aim=True))
text += cb.press(plan, 1).model_dump_json() + cb.review(plan, s.PLAYED).model_dump_json()
text += s.player().model_dump_json() + cb.json_schema("player").__repr__()
print(hashlib.sha256(text.encode()).hexdigest())
"""


def test_answers_do_not_hang_on_the_hash_seed():
    code = SCRIPT.format(beside=str(Path(__file__).parent))
    found = set()
    for seed in ("1", "4711"):
        done = subprocess.run(
            [sys.executable, "-W", "error", "-c", code],
            env=os.environ | {"PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        )
        assert done.stderr == ""
        found.add(done.stdout)
    assert len(found) == 1
    assert re.fullmatch(r"[0-9a-f]{64}\n", found.pop())


def test_planning_writes_nothing(capfd, tiny_plan):
    sample_records.tiny_plan().record()
    cb.practice_priorities(tiny_plan)
    cb.load_records(ROOT / "examples" / "records" / "messy_shots.csv")  # has warnings: they are logged
    assert capfd.readouterr() == ("", "")


def test_warnings_of_a_reader_are_logged(caplog):
    with caplog.at_level("WARNING", logger="caddiebrain"):
        records = cb.load_records(ROOT / "examples" / "records" / "messy_shots.csv")
    assert tuple(record.getMessage() for record in caplog.records) == records.warnings != ()


def test_progress_is_told_in_order_and_to_the_end(three_holes):
    told: list[tuple[int, int, str]] = []
    cb.plan_round(
        three_holes, sample_records.player(), 13, grid=BLUNT, progress=lambda *step: told.append(step)
    )
    done, total, words = zip(*told, strict=True)
    assert list(done) == sorted(set(done))
    assert set(total) == {done[-1]}
    assert words == ("hole 3", "hole 2", "hole 1")


def test_a_caller_can_stop_a_plan_from_its_progress(three_holes):
    class EnoughError(Exception):
        pass

    def stop(done: int, total: int, what: str) -> None:
        raise EnoughError

    with pytest.raises(EnoughError):
        cb.plan_round(three_holes, sample_records.player(), 13, grid=BLUNT, progress=stop)


def test_the_change_log_is_at_this_version():
    text = (ROOT / "docs" / "changes.md").read_text(encoding="utf-8")
    versions = re.findall(r"^## (\S+)", text, re.MULTILINE)
    assert versions[0] == cb.__version__
    assert all(re.fullmatch(r"\d+\.\d+\.\d+", version) for version in versions)
    numbers = [tuple(map(int, version.split("."))) for version in versions]
    assert numbers == sorted(set(numbers), reverse=True)
    citation = (ROOT / "docs" / "CITATION.cff").read_text(encoding="utf-8")
    assert re.search(r"^version: (\S+)", citation, re.MULTILINE)[1] == cb.__version__


def test_an_empty_course_is_refused_before_any_work():
    with pytest.raises(cb.InputError, match="at least one hole"):
        cb.plan_round(Course("none", ()), sample_records.player(), 3)
