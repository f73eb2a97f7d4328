"""Many plans: the same on any executor, one failure loses no other, each finished plan written once."""

import json
import pickle
import subprocess
import sys
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import replace
from datetime import date
from multiprocessing import get_context

import numpy as np
import pytest
from jsonschema import Draft202012Validator
from small_jobs import BLUNT, CLUBS, AtOnce, Deadly, counted, document, job, jobs

import caddiebrain as cb
from caddiebrain.batch import PlanJob, StoredPlan
from caddiebrain.batch.job import Digests, course_of
from caddiebrain.batch.store import PlanStore
from caddiebrain.hole import GridSpec

JOBS = jobs(6)


def planned(made, executor=None, **more):
    return list(cb.plan_many(made, executor or AtOnce(), grid=BLUNT, **more))


def contents(directory) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in directory.iterdir()}


def two_processes() -> ProcessPoolExecutor:
    context = get_context("forkserver")
    context.set_forkserver_preload(["small_jobs"])  # workers are made quickly
    return ProcessPoolExecutor(2, mp_context=context)


@pytest.fixture(scope="module")
def expected():
    """Records of the jobs, planned one after another."""
    results = planned(JOBS)
    assert all(result.ok for result in results)
    return [result.record for result in results]


def test_a_plan_is_that_of_plan_round(expected):
    one = JOBS[0]
    plan = cb.plan_round(one.course, one.player.player(), one.target, grid=BLUNT)
    assert plan.record() == expected[0]
    assert len({record.model_dump_json() for record in expected}) == len(JOBS)


def test_processes_and_a_cluster_give_the_same(expected, tmp_path):
    distributed = pytest.importorskip("distributed")
    with two_processes() as pool:
        results = planned(JOBS, pool, directory=tmp_path / "pool")
        assert [result.record for result in results] == expected
        assert pool.submit(int, "7").result() == 7  # the caller's pool stays open
    options = {"n_workers": 2, "threads_per_worker": 1, "dashboard_address": None, "silence_logs": 50}
    with distributed.LocalCluster(**options) as cluster, distributed.Client(cluster) as client:
        results = planned(JOBS, client.get_executor(), directory=tmp_path / "cluster")
        assert [result.record for result in results] == expected
    assert contents(tmp_path / "pool") == contents(tmp_path / "cluster") != {}


def test_results_come_in_order_or_as_they_finish(expected):
    with ThreadPoolExecutor(2) as pool:
        given = planned(JOBS, pool, window=3)
        finished = planned(JOBS, pool, window=3, order="finished")
    assert [result.index for result in given] == list(range(len(JOBS)))
    assert {result.index: result.record for result in finished} == dict(enumerate(expected))


def test_a_failure_says_why_and_loses_no_other(expected, tmp_path):
    bad = document()
    bad["holes"][0]["par"] = "four"
    made = [
        JOBS[0],
        cb.PlanJob(bad, JOBS[0].player, 3),
        cb.PlanJob(tmp_path / "nowhere.json", JOBS[0].player, 3),
        replace(JOBS[1], target=0),
        cb.PlanJob(document(), {"patterns": []}, 3),
        cb.PlanJob({"holes": {1, 2}}, JOBS[0].player, 3),
        "not a job",
        JOBS[2],
    ]
    results = planned(made)
    assert [result.ok for result in results] == [True, *[False] * 6, True]
    assert [results[0].record, results[-1].record] == [expected[0], expected[2]]
    said = [str(result.error) for result in results[1:-1]]
    kinds = [result.error.kind for result in results[1:-1]]
    assert said[0] == 'course: holes[0].par: found "four"; expected a valid integer'
    assert "nowhere.json: No such file" in said[1]
    assert said[2] == "plan: target: found 0; expected a whole number of strokes, 1 to 300"
    assert "patterns" in said[3]
    assert kinds == [
        "CourseError",
        "FileNotFoundError",
        "InputError",
        "PlayerError",
        "InputError",
        "InputError",
    ]
    assert said[4] == "job: document: found a set; expected what JSON can hold"
    assert said[5] == "plan_many: job: found 'not a job'; expected PlanJob(course, player, target)"
    assert pickle.loads(pickle.dumps(results[1])) == results[1]


def test_a_finished_plan_is_written_once_and_not_made_again(expected, tmp_path):
    first = AtOnce()
    planned(JOBS[:3], first, directory=tmp_path)
    times = {path: path.stat().st_mtime_ns for path in tmp_path.iterdir()}
    second = AtOnce()
    results = planned(JOBS, second, directory=tmp_path)
    assert (first.handed_over, second.handed_over) == (3, 3)
    assert [result.kept for result in results] == [True] * 3 + [False] * 3
    assert [result.record for result in results] == expected
    assert {path: path.stat().st_mtime_ns for path in times} == times
    assert sorted(path.suffix for path in tmp_path.iterdir()) == [".json"] * len(JOBS)


def test_a_kept_plan_fits_its_schema_and_says_what_it_is_of(tmp_path):
    (result,) = planned([replace(JOBS[0], id="anna-1")], directory=tmp_path)
    text = (tmp_path / "anna-1.json").read_text(encoding="utf-8")
    Draft202012Validator(cb.json_schema("stored-plan")).validate(json.loads(text))
    stored = StoredPlan.model_validate_json(text)
    assert stored.model_dump_json() + "\n" == text
    assert (stored.key, stored.made_by, stored.plan) == ("anna-1", cb.__version__, result.record)


def test_a_damaged_or_changed_file_is_planned_again(tmp_path, caplog):
    one = replace(JOBS[0], id="one")
    planned([one], directory=tmp_path)
    whole = (tmp_path / "one.json").read_bytes()
    for damaged in (whole[:200], b"", b"\xff\xfe", b"{}"):
        (tmp_path / "one.json").write_bytes(damaged)
        (result,) = planned([one], directory=tmp_path)
        assert (result.ok, result.kept) == (True, False)
        assert (tmp_path / "one.json").read_bytes() == whole
    assert "is damaged; planned again" in caplog.text
    changed = AtOnce()
    planned([replace(one, target=4)], changed, directory=tmp_path)
    assert changed.handed_over == 1
    assert "has changed since" in caplog.text


def test_a_plan_that_cannot_be_written_is_still_handed_back(tmp_path):
    (tmp_path / "one.json").mkdir()  # something stands where the file should
    (result,) = planned([replace(JOBS[0], id="one")], directory=tmp_path)
    assert not result.ok
    assert result.record is not None
    assert "one.json" in str(result.error)
    assert [path.name for path in tmp_path.iterdir()] == ["one.json"]


def test_runs_that_share_a_directory_do_not_disturb_each_other(expected, tmp_path):
    """The same plan written by many at once: every one of them succeeds, and the file is whole."""
    store = PlanStore(tmp_path)
    stored = StoredPlan(key="one", fingerprint="f", made_by="0", plan=expected[0])
    with ThreadPoolExecutor(8) as pool:
        for written in [pool.submit(store.write, stored) for _ in range(200)]:
            written.result()
    assert store.read("one", "f") == stored
    assert [path.name for path in tmp_path.iterdir()] == ["one.json"]


def test_a_stopped_run_goes_on_where_it_was(expected, tmp_path):
    results = cb.plan_many(JOBS, AtOnce(), grid=BLUNT, directory=tmp_path, window=1)
    next(results), next(results)
    results.close()
    begun = len(list(tmp_path.iterdir()))
    assert 2 <= begun < len(JOBS)
    rest = AtOnce()
    assert [result.record for result in planned(JOBS, rest, directory=tmp_path)] == expected
    assert rest.handed_over == len(JOBS) - begun


def test_jobs_of_the_same_content_are_planned_once(tmp_path):
    pool = AtOnce()
    made = [JOBS[0], JOBS[0], replace(JOBS[0], id="a"), replace(JOBS[0], id="b")]
    with ThreadPoolExecutor(1) as threads:
        results = planned(made, threads)
        kept = planned(made, threads, directory=tmp_path)
    assert len({result.record.model_dump_json() for result in results + kept}) == 1
    assert {path.stem for path in tmp_path.iterdir()} == {"a", "b", results[0].key}
    planned(made, pool, directory=tmp_path)
    assert pool.handed_over == 0


def test_an_id_names_one_job(tmp_path):
    results = planned([replace(JOBS[0], id="Anna"), replace(JOBS[1], id="anna"), JOBS[2]], directory=tmp_path)
    assert [result.ok for result in results] == [True, False, True]
    assert "found 'anna' again" in str(results[1].error)
    for wrong in ("../anna", ".anna", "a b", "a" * 121, "a/b", "a\n"):
        with pytest.raises(cb.InputError, match="job: id"):
            replace(JOBS[0], id=wrong)
    with pytest.raises(cb.InputError) as caught:
        replace(JOBS[0], id="anna", conditions={"wind_mph": 10}, setup="firm")
    assert str(caught.value).splitlines() == [
        "job anna: conditions: found dict object; expected Conditions(wind_mph=..., ...)",
        "job anna: setup: found 'firm'; expected Setup(...)",
    ]


def test_only_a_window_of_jobs_is_taken():
    taken: list[int] = []
    results = cb.plan_many(counted(JOBS, taken), AtOnce(), grid=BLUNT, window=2)
    assert taken == []
    next(results)
    assert len(taken) <= 4  # two to do while two are taken
    assert [result.index for result in results] == list(range(1, len(JOBS)))


def test_a_killed_worker_costs_only_the_job_that_killed_it(expected, tmp_path):
    """Our own kind of pool, made again: a job that kills twice is given up, one that kills once is planned."""
    mark = str(tmp_path / "mark")
    # Whichever breaks the pool first is the one tried again: the other waits for the mark.
    once, always = Deadly(document(145) | {"mark": mark}), Deadly(document(140) | {"after": mark})
    deadly = [cb.PlanJob(course, JOBS[0].player, 3) for course in (once, always)]
    made = [deadly[0], JOBS[0], deadly[1], JOBS[1], JOBS[2]]
    results = list(cb.plan_many(made, two_processes, grid=BLUNT, directory=tmp_path / "plans"))
    assert [result.ok for result in results] == [False, True, False, True, True]
    assert (tmp_path / "mark").exists()
    assert "mark" in str(results[0].error)  # it was tried again, and read: an unknown field of that form
    assert results[2].error.kind == "BrokenExecutor"
    assert "also with no job beside it" in str(results[2].error)
    assert [results[i].record for i in (1, 3, 4)] == expected[:3]
    assert len(list((tmp_path / "plans").iterdir())) == 3


def test_a_callers_broken_pool_is_told_of_for_every_job(tmp_path):
    results = planned(JOBS, AtOnce(breaks_on=3), directory=tmp_path)
    assert [result.ok for result in results] == [True, True] + [False] * 4
    assert {result.error.kind for result in results[2:]} == {"BrokenExecutor"}
    assert "run what is left with a fresh one" in str(results[2].error)
    assert len(list(tmp_path.iterdir())) == 2


def test_an_executor_that_was_shut_down_is_told_of():
    with ThreadPoolExecutor(1) as pool:
        pass
    (result,) = planned(JOBS[:1], pool)
    assert result.error.kind == "RuntimeError"
    assert "after shutdown" in str(result.error)


def test_a_whole_plan_comes_back_when_asked_for():
    (result,) = planned(JOBS[:1], whole=True)
    assert result.plan.record() == result.record
    assert result.plan.options(1, to_pin=60.0, lie="rough")
    assert planned(JOBS[:1])[0].plan is None


def test_files_and_documents_are_read_by_the_worker(tmp_path, expected):
    course, player = tmp_path / "course.json", tmp_path / "player.json"
    course.write_text(json.dumps(document(120)), encoding="utf-8")
    golfer = cb.Level(handicap_index=4.0, clubs=CLUBS).player()
    player.write_text(golfer.model_dump_json(), encoding="utf-8")
    made = [
        cb.PlanJob(course, player, 3),
        cb.PlanJob(document(120), json.loads(golfer.model_dump_json()), 3),
        cb.PlanJob(str(course), golfer, 3),
    ]
    records = [result.record for result in planned(made)]
    assert [record.holes for record in records] == [expected[0].holes] * 3
    course.write_text(json.dumps(document(125)), encoding="utf-8")
    assert planned(made[:1])[0].record != records[0]


def test_the_hash_of_a_job_is_of_all_that_a_plan_depends_on(tmp_path):
    one = job()
    digests = Digests(BLUNT)
    same = job()
    assert digests.of(one) == Digests(BLUNT).of(same)
    assert digests.of(replace(one, id="a")) == digests.of(one)
    others = [
        job(151),
        job(150, 12.0),
        replace(one, target=4),
        replace(one, conditions=cb.Conditions(wind_mph=3.0, wind_from_deg=0)),
        replace(one, setup=cb.Setup(pin="back")),
        replace(one, tees="white"),
        replace(one, course_name="old course"),
        replace(one, out_beyond_outline=True),
    ]
    found = [digests.of(other) for other in (one, *others)] + [Digests(GridSpec()).of(one)]
    assert len(set(found)) == len(others) + 2


def test_numbers_of_an_array_library_and_dates_are_as_good_as_any():
    """Jobs made from the rows of a table: the same jobs, whatever its numbers are."""
    one, digests = cb.PlanJob(document(), cb.Level(11.0, clubs=CLUBS), 3), Digests(BLUNT)
    for same in (np.int64(3), 3.0, np.float64(3.0)):
        assert digests.of(replace(one, target=same)) == digests.of(one)
    index = cb.PlanJob(document(), cb.Level(np.int64(11), clubs=CLUBS), np.int64(3))
    dated = cb.PlanJob(document() | {"notes": date(2026, 5, 1)}, one.player, 3)
    results = planned([one, index, dated])
    assert [result.ok for result in results] == [True, True, False]
    assert results[0].record == results[1].record
    assert "notes" in str(results[2].error)  # read, and refused by name


def test_a_level_may_come_as_the_service_takes_it():
    level = {"handicap_index": 11.0, "clubs": CLUBS}
    made = [
        cb.PlanJob(document(), given, 3)
        for given in (cb.Level(**level), {"level": level}, level, {"level": 9})
    ]
    told, same, bare, wrong = planned(made)
    assert told.record == same.record is not None
    assert 'expected a player file, or {"level": {"handicap_index": 11}}' in str(bare.error)
    assert str(wrong.error) == "player: level: found 9; expected an object with fields"


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"course": None}, "job: course: found None; expected a Course, a path or a parsed course file"),
        ({"player": 11}, "job: player: found 11; expected a Player, a Level, a path or a parsed player file"),
        ({"id": 7}, "job: id: found 7; expected letters, digits"),
    ],
)
def test_what_cannot_be_a_job_is_refused_where_it_is_made(wrong, said):
    given = {"course": document(), "player": cb.Level(11.0), "target": 3} | wrong
    with pytest.raises(cb.InputError) as caught:
        cb.PlanJob(**given)
    assert str(caught.value).startswith(said)


def test_a_script_without_its_guard_is_told_so(tmp_path):
    script = tmp_path / "script.py"
    script.write_text(
        "import caddiebrain as cb\n"
        f"job = cb.PlanJob({document()!r}, cb.Level(11.0), 3)\n"
        "print([str(result.error) for result in cb.plan_many([job])])\n"
    )
    done = subprocess.run([sys.executable, script], capture_output=True, text=True, check=True)
    assert 'the script has no `if __name__ == "__main__":`' in done.stdout
    assert "in a worker that is still being started" in done.stderr


def test_a_job_can_name_one_of_several_courses(tmp_path):
    """A map of two courses on one ground, told apart by what their holes name."""
    features = []
    for x, number, name in ((0.0, 1, "North"), (0.01, 2, "North"), (0.02, 1, "South"), (0.03, 2, "South")):
        w, e = x - 0.0001, x + 0.0001
        green = [[w, 0.0009], [e, 0.0009], [e, 0.0011], [w, 0.0011], [w, 0.0009]]
        tags = {"golf": "hole", "ref": str(number), "par": "3", "golf:course:name": name}
        line = {"type": "LineString", "coordinates": [[x, 0.0], [x, 0.001]]}
        features.append({"type": "Feature", "properties": tags, "geometry": line})
        ground = {"type": "Polygon", "coordinates": [green]}
        features.append({"type": "Feature", "properties": {"golf": "green"}, "geometry": ground})
    course_map = {"type": "FeatureCollection", "features": features}
    path = tmp_path / "two.geojson"
    path.write_text(json.dumps(course_map), encoding="utf-8")
    for course in (course_map, path):
        south = course_of(PlanJob(course, cb.Level(0.0), 6, course_name="South"))
        assert [hole.number for hole in south.holes] == [1, 2]
        with pytest.raises(cb.CourseError, match="North"):
            course_of(PlanJob(course, cb.Level(0.0), 6))


@pytest.mark.parametrize(
    "wrong", [{"order": "random"}, {"window": 0}, {"window": "3"}, {"window": 2.5}, {"executor": "threads"}]
)
def test_a_call_that_makes_no_sense_is_refused_at_once(wrong):
    with pytest.raises(cb.InputError, match=f"^plan_many: {next(iter(wrong))}: found"):
        cb.plan_many(JOBS, **{"executor": AtOnce()} | wrong)


def test_a_file_is_no_directory(tmp_path):
    (tmp_path / "plans").write_text("", encoding="utf-8")
    with pytest.raises(cb.InputError, match="a directory to keep plans in"):
        cb.plan_many(JOBS, AtOnce(), directory=tmp_path / "plans")
