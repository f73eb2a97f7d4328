"""docs/api.md names everything that is public, and nothing that is not there."""

import importlib
import re
from pathlib import Path

import pytest

import caddiebrain as cb

PAGE = (Path(__file__).parents[1] / "docs" / "api.md").read_text(encoding="utf-8")
ROOMS = (
    "batch",
    "course",
    "flight",
    "graph",
    "insight",
    "player",
    "plots",
    "round",
    "service",
    "solve",
    "testing",
)
NAMES = set(re.findall(r"`(?:cb\.)?(\w+)`", PAGE))


@pytest.mark.parametrize("name", cb.__all__)
def test_every_public_name_stands_on_the_page(name):
    assert f"`cb.{name}`" in PAGE, f"docs/api.md says nothing of cb.{name}: give it a line under its task"


@pytest.mark.parametrize("room", ROOMS)
def test_every_name_of_a_room_stands_on_the_page(room):
    missing = set(importlib.import_module(f"caddiebrain.{room}").__all__) - NAMES
    assert missing == set(), f"docs/api.md says nothing of these names of caddiebrain.{room}"


def test_every_name_on_the_page_is_there():
    assert [name for name in re.findall(r"`cb\.(\w+)`", PAGE) if not hasattr(cb, name)] == []
    rooms = [importlib.import_module(f"caddiebrain.{room}") for room in ROOMS]
    for row in re.findall(r"^\| (`\w+`(?:, `\w+`)*) \|", PAGE, re.MULTILINE):
        for name in re.findall(r"`(\w+)`", row):
            assert any(name in room.__all__ for room in rooms), name
