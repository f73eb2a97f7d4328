"""Lets these tests import the invented maps beside them, and writes maps to files."""

import json
import socket
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from course_maps import Ground


@pytest.fixture
def ground():
    return Ground()


@pytest.fixture
def saved(tmp_path):
    """Write a document, text or bytes to a file and return its path."""

    def save(content, name="course.geojson"):
        path = tmp_path / name
        if isinstance(content, bytes):
            path.write_bytes(content)
        else:
            path.write_text(content if isinstance(content, str) else json.dumps(content), encoding="utf-8")
        return path

    return save


@pytest.fixture
def no_network(monkeypatch):
    """Refuse every socket."""

    def refuse(*args, **kwargs):
        raise AssertionError("a course file must not open a connection")

    monkeypatch.setattr(socket, "socket", refuse)
