"""``caddiebrain plan --book``: refused before the work, written after it, silent about itself."""

import json

import pytest

import caddiebrain as cb
from caddiebrain.cli import main


@pytest.fixture
def written(monkeypatch):
    """List what would be written."""
    calls = []
    monkeypatch.setattr(
        cb, "write_book", lambda plan, path, card: calls.append((plan, str(path), card)), raising=False
    )
    return calls


def test_a_book_beside_the_page(planned, written, capsys, tmp_path):
    target = tmp_path / "round.html"
    assert main(("plan", "--book", str(target))) == 0
    assert written == [(planned[0]["plan"], str(target), None)]
    out = capsys.readouterr()
    assert "79 or better" in out.out
    assert out.err == ""


def test_rules_to_carry_come_from_the_card(planned, written, capsys, tmp_path, monkeypatch):
    monkeypatch.setattr(cb, "carry_card", lambda plan, rules: ("card", rules), raising=False)
    assert main(("plan", "--book", str(tmp_path / "round.html"), "--rules", "7")) == 0
    assert written[0][2] == ("card", 7)
    assert main(("plan", "--rules", "7")) == 2
    assert "--rules needs --book" in capsys.readouterr().err


def test_json_stays_json(planned, written, capsys, tmp_path):
    assert main(("plan", "--json", "--book", str(tmp_path / "round.html"))) == 0
    assert json.loads(capsys.readouterr().out)["target"] == 79
    assert len(written) == len(planned) == 1


@pytest.mark.parametrize(
    ("name", "found"), [("missing/round.html", "no directory"), (".", "a directory"), ("", "a directory")]
)
def test_a_place_that_will_not_do_is_refused_before_the_work(planned, written, capsys, tmp_path, name, found):
    assert main(("plan", "--book", str(tmp_path / name))) == 2
    out = capsys.readouterr()
    assert out.out == ""
    (line,) = out.err.splitlines()
    assert found in line
    assert planned == written == []
    assert list(tmp_path.iterdir()) == []
