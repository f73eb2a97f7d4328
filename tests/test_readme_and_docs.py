"""Everything written down is run: code in the README and the docs, doctests, command lines, examples."""

import contextlib
import doctest
import functools
import importlib
import io
import os
import pkgutil
import re
import runpy
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

import caddiebrain
from tests.conftest import BLUNT

ROOT = Path(__file__).parents[1]
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").rglob("*.md"))]
EXAMPLES = sorted((ROOT / "examples").glob("*.py"))
MODULES = sorted(
    info.name
    for info in pkgutil.walk_packages(caddiebrain.__path__, prefix="caddiebrain.")
    if not info.name.endswith("__main__")
)
FENCE = re.compile(r"^```(?P<language>\w*)[^\n]*\n(?P<code>.*?)^```\s*$", re.MULTILINE | re.DOTALL)
LINK = re.compile(r"\[[^\]]*\]\((?!https?:|mailto:|#)(?P<target>[^)#\s]+)[^)]*\)")


def blocks(page: Path, language: str) -> list[tuple[int, str]]:
    """Line number and code of every fenced block in this language."""
    text = page.read_text(encoding="utf-8")
    return [
        (text[: m.start()].count("\n") + 2, m["code"])
        for m in FENCE.finditer(text)
        if m["language"] == language
    ]


def name(path: Path) -> str:
    return str(path.relative_to(ROOT))


@pytest.fixture
def quickly(monkeypatch: pytest.MonkeyPatch) -> None:
    """Rounds are planned on the coarsest grid unless the code asks for another: here it need only run."""
    for plan in ("plan_round", "plan_many"):
        monkeypatch.setattr(caddiebrain, plan, functools.partial(getattr(caddiebrain, plan), grid=BLUNT))


@pytest.mark.parametrize("page", [p for p in PAGES if blocks(p, "python")], ids=name)
def test_python_code_runs(page, quickly, monkeypatch, tmp_path):
    """Blocks of one page run in order and share their names; ``>>>`` blocks must print what they show."""
    monkeypatch.chdir(ROOT)
    names: dict[str, object] = {"__name__": "__page__", "tmp_path": tmp_path}
    runner = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE)
    for line, code in blocks(page, "python"):
        if code.lstrip().startswith(">>>"):
            test = doctest.DocTestParser().get_doctest(code, names, page.name, str(page), line)
            report = io.StringIO()
            assert runner.run(test, out=report.write, clear_globs=False).failed == 0, report.getvalue()
            names.update(test.globs)
        else:
            exec(compile("\n" * (line - 1) + code, str(page), "exec"), names)


@pytest.mark.parametrize("page", [p for p in PAGES if blocks(p, "console")], ids=name)
def test_command_lines_run(page):
    """``$ caddiebrain ...`` ends well and prints what the page shows (``...`` stands for anything)."""
    checker = doctest.OutputChecker()
    for line, code in blocks(page, "console"):
        for command, shown in re.findall(r"^\$ (.*)\n((?:(?!\$ ).*\n)*)", code, re.MULTILINE):
            words = shlex.split(command, comments=True)
            assert words[0] == "caddiebrain", f"{page.name}:{line}: {command}"
            done = run("-m", *words)
            assert done.returncode == 0, done.stderr
            flags = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE
            assert not shown or checker.check_output(shown, done.stdout, flags), (
                f"{page.name}:{line}\n{done.stdout}"
            )


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    """Run Python in the project's top folder, warnings as errors, 80 columns wide."""
    environment = os.environ | {"COLUMNS": "80", "NO_COLOR": "1"}
    command = [sys.executable, "-W", "error", *arguments]
    return subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)


@pytest.mark.parametrize("module", MODULES)
def test_doctests(module):
    mod = importlib.import_module(module)
    report = io.StringIO()
    with contextlib.redirect_stdout(report):
        failed = doctest.testmod(mod, optionflags=doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE).failed
    assert failed == 0, report.getvalue()


OF_THE_DEMO = "cb.plan_round(cb.demo.course(), cb.demo.player(), target=79)"
KEPT = {
    found
    for page in PAGES
    for found in re.findall(r"<!-- (\w+) -->\n```text", page.read_text(encoding="utf-8"))
}
"""Examples whose output stands in the docs: tests/insight/test_kept_pages.py runs them and compares."""


@pytest.mark.parametrize(
    "example", [e for e in EXAMPLES if OF_THE_DEMO in e.read_text() and e.stem not in KEPT], ids=name
)
def test_example_of_the_demo_runs(example, made_already, capsys):
    """In this process, with the demo's plan that is made already: it is most of an example's time."""
    runpy.run_path(str(example), run_name="__main__")
    shown = capsys.readouterr()
    assert shown.out.strip(), "an example shows something"
    assert shown.err == ""


PLANS_ITSELF = [e for e in EXAMPLES if OF_THE_DEMO not in e.read_text() and "plan_round" in e.read_text()]


@pytest.mark.parametrize("example", PLANS_ITSELF, ids=name)
def test_example_that_plans_runs_on_a_coarse_grid(example, quickly, capsys):
    runpy.run_path(str(example), run_name="__main__")
    shown = capsys.readouterr()
    assert shown.out.strip(), "an example shows something"
    assert shown.err == ""


def as_it_stands() -> list[object]:
    """Examples that plan nothing of the demo's; those that plan on the usual grid take a while."""
    some = [e for e in EXAMPLES if OF_THE_DEMO not in e.read_text()]
    return [pytest.param(e, marks=pytest.mark.slow if e in PLANS_ITSELF else (), id=name(e)) for e in some]


@pytest.mark.parametrize("example", as_it_stands())
def test_example_runs(example):
    done = run(str(example))
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip(), "an example shows something"
    assert done.stderr == ""


@pytest.mark.parametrize("page", PAGES, ids=name)
def test_links_lead_somewhere(page):
    text = page.read_text(encoding="utf-8")
    missing = [m["target"] for m in LINK.finditer(text) if not (page.parent / m["target"]).exists()]
    assert missing == []


def test_every_page_of_the_docs_stands_in_its_index():
    index = ROOT / "docs" / "README.md"
    listed = {
        (index.parent / m["target"]).resolve() for m in LINK.finditer(index.read_text(encoding="utf-8"))
    }
    assert {p.resolve() for p in (ROOT / "docs").rglob("*.md")} - {index.resolve()} <= listed


def test_readme_opens_with_the_job_and_two_commands():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    first = text.split("\n\n")[1]
    assert "target" in first
    assert not first.startswith(("#", "```", "-"))
    commands = re.findall(r"^python3 -m venv .*$", text, re.MULTILINE)
    assert len(commands) == 2
    assert commands[0].endswith("caddiebrain plan")
    assert "'.[test]'" in commands[1]
    assert commands[1].endswith("pytest")


@pytest.mark.parametrize("page", PAGES, ids=name)
def test_pages_name_no_machine(page):
    found = re.search(r"(?<![\w.])/(?:work|tmp|root|home|Users)/", page.read_text(encoding="utf-8"))
    assert found is None
