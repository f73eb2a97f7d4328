"""Plans kept between questions: found again for the very same round, and never in the way."""

import json
import os
import pickle
import subprocess
import sys
from collections import namedtuple

import pytest

from caddiebrain import demo
from caddiebrain.cli import kept
from caddiebrain.flight import Conditions

own_folders = pytest.mark.skipif(sys.platform == "win32", reason="folders have no such modes there")


class Maker:
    """Hands out a plan and counts how often it was asked to make one."""

    def __init__(self, plan):
        self.plan, self.made = plan, 0

    def __call__(self):
        self.made += 1
        return self.plan


@pytest.fixture
def folder(tmp_path, monkeypatch):
    folder = tmp_path / "plans"
    monkeypatch.setenv(kept.FOLDER, str(folder))
    return folder


@pytest.fixture
def make(three_plan):
    return Maker(three_plan)


@pytest.fixture
def asked(three_plan):
    return three_plan.course, three_plan.player, 13, Conditions(), None


def test_a_second_question_finds_the_plan(folder, make, asked, three_plan):
    assert kept.kept_or_made(asked, make) is three_plan
    again = kept.kept_or_made(asked, make)
    assert make.made == 1
    assert again.record() == three_plan.record()
    place = {"to_pin": 150, "lie": "rough", "standing": 1}
    assert again.options(1, **place) == three_plan.options(1, **place)


@pytest.mark.parametrize(
    ("part", "other"),
    [(1, demo.player().model_copy(update={"name": "another"})), (2, 14), (3, Conditions(temperature_c=21.0))],
)
def test_another_round_is_planned(folder, make, asked, part, other):
    kept.kept_or_made(asked, make)
    kept.kept_or_made((*asked[:part], other, *asked[part + 1 :]), make)
    assert make.made == 2


def test_other_code_plans_anew(folder, make, asked, monkeypatch):
    kept.kept_or_made(asked, make)
    monkeypatch.setattr(kept, "_code", lambda: b"one line was changed")
    kept.kept_or_made(asked, make)
    assert make.made == 2


def test_two_are_kept_those_used_last(folder, make, asked):
    rounds = [(*asked[:2], target, *asked[3:]) for target in (11, 12, 13)]
    for moment, one in enumerate(rounds[:2]):
        kept.kept_or_made(one, make)
        os.utime(max(folder.iterdir(), key=lambda p: p.stat().st_mtime), (moment, moment))
    kept.kept_or_made(rounds[0], make)  # of use again, so that the second is the older
    kept.kept_or_made(rounds[2], make)
    assert len(list(folder.iterdir())) == 2
    assert make.made == 3
    kept.kept_or_made(rounds[0], make)
    assert make.made == 3
    kept.kept_or_made(rounds[1], make)
    assert make.made == 4


@pytest.mark.parametrize(
    "spoil", [lambda b: b[: len(b) // 2], lambda b: b"", lambda b: pickle.dumps("no plan")]
)
def test_what_cannot_be_read_is_made_anew(folder, make, asked, spoil, capfd):
    kept.kept_or_made(asked, make)
    (path,) = folder.iterdir()
    path.write_bytes(spoil(path.read_bytes()))
    for _ in range(2):
        kept.kept_or_made(asked, make)
    assert make.made == 2  # and the new one is whole
    assert capfd.readouterr() == ("", "")


@own_folders
def test_a_folder_others_can_write_to_is_left_alone(folder, make, asked):
    folder.mkdir()
    folder.chmod(0o777)
    for _ in range(2):
        kept.kept_or_made(asked, make)
    assert make.made == 2
    assert list(folder.iterdir()) == []


def test_the_folder_is_the_users_alone(folder, make, asked):
    kept.kept_or_made(asked, make)
    if sys.platform != "win32":
        assert folder.stat().st_mode & 0o777 == 0o700
    assert [p.suffix for p in folder.iterdir()] == [".plan"]


def test_without_room_or_wish_nothing_is_kept(folder, make, asked, monkeypatch):
    usage = namedtuple("usage", "total used free")(10**12, 10**12 - 10**8, 10**8)
    with monkeypatch.context() as full:
        full.setattr(kept.shutil, "disk_usage", lambda path: usage)
        kept.kept_or_made(asked, make)
    assert list(folder.iterdir()) == []
    monkeypatch.setenv(kept.FOLDER, "")
    kept.kept_or_made(asked, make)
    assert make.made == 2
    assert list(folder.iterdir()) == []


def test_a_file_where_the_folder_should_be_does_no_harm(folder, make, asked):
    folder.write_text("mine")
    assert kept.kept_or_made(asked, make) is make.plan
    assert folder.read_text() == "mine"


def test_drafts_left_behind_are_cleared(folder, make, asked):
    folder.mkdir(mode=0o700)
    old, new = folder / "a.1.part", folder / "b.2.part"
    old.touch()
    new.touch()
    os.utime(old, (0, 0))
    kept.kept_or_made(asked, make)
    assert not old.exists()
    assert new.exists()  # another process may be writing it


def test_a_failed_write_leaves_nothing(folder, make, asked, monkeypatch):
    def fail(*_, **__):
        raise OSError("no space left")

    monkeypatch.setattr(kept.pickle, "dump", fail)
    assert kept.kept_or_made(asked, make) is make.plan
    assert list(folder.iterdir()) == []


def test_from_one_command_to_the_next(tmp_path):
    """Two processes with different orders of sets ask about one hole; the second plans nothing."""
    course = tmp_path / "one.json"
    hole = {"number": 1, "par": 3, "length": 150, "stroke_index": 1, "green": {"depth": 30, "width": 26}}
    course.write_text(
        json.dumps({"format": "holes-by-numbers", "schema_version": 1, "name": "One", "holes": [hole]})
    )
    folder = tmp_path / "plans"
    command = [sys.executable, "-m", "caddiebrain", "options", "--course", str(course), "--target", "18"]
    written = []
    for seed in "12":
        env = os.environ | {kept.FOLDER: str(folder), "PYTHONHASHSEED": seed}
        asked = subprocess.run(
            [*command, "--hole", "1", "--to-pin", "40", "--json"], env=env, capture_output=True, check=True
        )
        written.append(asked.stdout)
        assert len(list(folder.iterdir())) == 1
    assert written[0] == written[1]
    assert json.loads(written[0])
