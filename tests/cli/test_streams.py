"""What goes to which stream when nobody, somebody or no one any longer is looking."""

import io
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from caddiebrain.cli import main

pty = pytest.importorskip("pty", reason="pseudo-terminals are not everywhere")

CHECK = [sys.executable, "-W", "error", "-m", "caddiebrain", "check"]
ESCAPE = re.compile(r"\x1b\[[0-9;?]*[a-zA-Z]")
COLOUR = re.compile(r"\x1b\[(?:[0-9;]*;)?(?:3|4|9|10)[0-9](?:;[0-9;]*)?m")
PROGRESS = """
import sys
from caddiebrain.cli.waiting import progress_bar
with progress_bar() as progress:
    progress(1, 36, "hole 18")
print("data")
"""


def on_a_terminal(command: list[str], stream: str, **environment: str) -> tuple[str, str]:
    """Run with one stream on a terminal; return what it showed, and what the other stream carried."""
    ours, theirs = pty.openpty()
    other = "stderr" if stream == "stdout" else "stdout"
    env = {k: v for k, v in os.environ.items() if k != "NO_COLOR"} | {"TERM": "xterm-256color"} | environment
    with subprocess.Popen(command, env=env, **{stream: theirs, other: subprocess.PIPE}) as process:
        os.close(theirs)
        shown = b""
        try:
            while part := os.read(ours, 65536):
                shown += part
        except OSError:  # Linux says so when the other end has closed
            pass
        carried = getattr(process, other).read()
    os.close(ours)
    assert process.returncode == 0
    return shown.decode(), carried.decode()


def test_progress_is_shown_to_a_watcher_and_never_mixed_into_the_data():
    shown, data = on_a_terminal([sys.executable, "-c", PROGRESS], "stderr")
    assert "1 of 36" in shown
    assert data == "data\n"


def test_progress_is_silent_when_nobody_watches():
    done = subprocess.run([sys.executable, "-c", PROGRESS], capture_output=True, text=True, check=True)
    assert (done.stdout, done.stderr) == ("data\n", "")


AT_WORK = """
from caddiebrain.cli.waiting import at_work
with at_work("the card"):
    pass
print("data")
"""


def test_long_work_says_what_it_is_to_a_watcher_alone():
    shown, data = on_a_terminal([sys.executable, "-c", AT_WORK], "stderr")
    assert "the card" in shown
    assert data == "data\n"
    done = subprocess.run([sys.executable, "-c", AT_WORK], capture_output=True, text=True, check=True)
    assert (done.stdout, done.stderr) == ("data\n", "")


def test_styles_are_for_terminals_alone(player_file, capfd):
    shown, _ = on_a_terminal([*CHECK, player_file], "stdout")
    assert ESCAPE.search(shown)
    assert main(("check", player_file)) == 0
    assert not ESCAPE.search(capfd.readouterr().out)


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_no_color_is_honoured(player_file, monkeypatch):
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setattr(sys, "stdout", Terminal())
    assert main(("check", player_file)) == 0
    assert ESCAPE.search(sys.stdout.getvalue())
    assert not COLOUR.search(sys.stdout.getvalue())


def test_a_reader_that_leaves_early_is_no_fault(course_file):
    with subprocess.Popen([*CHECK, course_file], stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        process.stdout.close()
        assert process.stderr.read() == b""
    assert process.returncode == 141


def test_a_terminal_without_the_letters_shows_what_it_can(tmp_path, player_file):
    done = subprocess.run(
        [*CHECK, player_file], capture_output=True, env=os.environ | {"PYTHONIOENCODING": "ascii"}, check=True
    )
    assert b"driver" in done.stdout
    assert done.stderr == b""


def test_a_picture_in_a_folder_that_is_not_there_names_the_picture(tmp_path, capsys):
    picture = tmp_path / "missing" / "sheet.svg"
    heath = Path(__file__).parents[2] / "course_specs" / "heath_by_numbers.json"
    assert main(("check", str(heath), "--draw", str(picture))) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert str(picture) in line
    assert ".part" not in line
