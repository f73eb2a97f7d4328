"""docs/why.md shows what its examples print."""

import re

import pytest
from why_page import kept, printed

NUMBER = re.compile(r"[+-]?\d+(?:\.\d+)?")


def test_the_page_keeps_the_output_of_three_examples():
    outputs = kept()
    assert list(outputs) == ["why_this_club", "press_or_protect", "review_a_round"]
    assert all(len(text) > 1000 for text in outputs.values())


@pytest.mark.slow  # the break-evens solve a hole of the demo some ten times over
@pytest.mark.parametrize("name", ["why_this_club", "press_or_protect", "review_a_round"])
def test_the_output_is_current(demo_plan, name):
    """Words to the letter; numbers to what another processor's last bit may change in the last digit shown."""
    page, fresh = kept()[name].split(), printed(name, demo_plan).split()
    assert [NUMBER.sub("#", word) for word in page] == [NUMBER.sub("#", word) for word in fresh]
    for old, new in zip(NUMBER.findall(" ".join(page)), NUMBER.findall(" ".join(fresh)), strict=True):
        assert float(old) == pytest.approx(float(new), abs=1.01 * 10.0 ** -len(new.partition(".")[2]))
