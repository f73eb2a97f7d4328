"""docs/practice-and-bag.md and docs/formats.md show what their examples print."""

import re

import pytest
from practice_pages import kept, printed

NUMBER = re.compile(r"[+-]?\d+(?:\.\d+)?")
NAMES = ["practice", "bag", "fewer_doubles", "stableford"]


def test_the_pages_keep_the_output_of_four_examples():
    outputs = kept()
    assert list(outputs) == NAMES
    assert all(len(text) > 500 for text in outputs.values())


@pytest.mark.slow  # a round and nine holes are planned, and some dozens of bags solved
@pytest.mark.parametrize("name", NAMES)
def test_the_output_is_current(demo_plan, name):
    """Words to the letter; numbers to what another processor's last bit may change in the last digit shown."""
    page, fresh = kept()[name].split(), printed(name, demo_plan).split()
    assert [NUMBER.sub("#", word) for word in page] == [NUMBER.sub("#", word) for word in fresh]
    for old, new in zip(NUMBER.findall(" ".join(page)), NUMBER.findall(" ".join(fresh)), strict=True):
        assert float(old) == pytest.approx(float(new), abs=1.01 * 10.0 ** -len(new.partition(".")[2]))
