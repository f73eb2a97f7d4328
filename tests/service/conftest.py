"""Lets these tests import the small service beside them, and starts it once."""

import sys
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

sys.path.insert(0, str(Path(__file__).parent))

import small_service


@pytest.fixture(scope="session")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A service on loopback; its demo is one short hole and a player of few clubs."""
    settings = small_service.settings(tmp_path_factory.mktemp("service"))
    with small_service.running(settings) as address:
        yield address


@pytest.fixture
def client(address: str) -> Iterator[httpx.Client]:
    with httpx.Client(base_url=address, timeout=120.0) as client:
        yield client
