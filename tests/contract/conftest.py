"""Lets these tests import the samples beside them, and makes them once."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

import sample_records

from caddiebrain.round import RoundPlan


@pytest.fixture(scope="session")
def tiny_plan() -> RoundPlan:
    return sample_records.tiny_plan()


@pytest.fixture(scope="session")
def samples(tiny_plan: RoundPlan) -> dict[str, object]:
    """What the library answers about the tiny plan, by the name of its schema."""
    return sample_records.written(tiny_plan)
