"""Spot heights to ground: a tilted plane comes back, wherever on it the heights were taken."""

from dataclasses import replace

import numpy as np
import pytest
from small_holes import straight_hole

from caddiebrain.hole import GridSpec
from caddiebrain.hole.ground import survey

Y = np.array([10.0, 100.0, 200.0, 300.0, 390.0])


def heights_at(spots, x):
    ground = survey(replace(straight_hole(), heights=np.array(spots, dtype=float)), GridSpec())
    return ground.height_at(np.full_like(Y, x), Y)


@pytest.mark.parametrize("across", [0.0, 0.05])
def test_spots_all_over_give_the_plane(across):
    spots = [(x, y, 7.0 + y / 20 + across * x) for x in (-60, 0, 60) for y in range(-20, 441, 40)]
    for x in (-30.0, 0.0, 30.0):
        assert heights_at(spots, x) == pytest.approx(Y / 20 + across * x, abs=0.4)


@pytest.mark.parametrize("step", [400, 200, 40, 10])
@pytest.mark.parametrize("bend", [0.0, 3.0])
def test_spots_along_the_line_alone_say_nothing_of_the_sides(step, bend):
    """Tee, bend and green, or every ten yards: from tee to green as told, and to the side about level."""
    spots = [(bend * np.sin(y / 100), y, 10.0 + y / 20) for y in range(0, 401, step)]
    assert heights_at(spots, 0.0) == pytest.approx(Y / 20, abs=1.0)
    for x in (-40.0, 40.0):
        assert heights_at(spots, x) == pytest.approx(Y / 20, abs=2.0)


def test_a_knoll_between_level_spots():
    spots = [(0.0, y, 20.0 if y == 200 else 0.0) for y in range(0, 401, 100)]
    foot, top, end = heights_at(spots, 0.0)[[0, 2, 4]]
    assert (foot, end) == pytest.approx((0.0, 0.0), abs=1.0)
    assert 18.0 < top <= 20.0  # the surface is worked out every ten yards


def test_two_heights_of_one_spot_are_level_ground():
    assert heights_at([(0, 0, 10), (0, 0, 12)], 0.0) == pytest.approx(np.zeros(5), abs=1e-6)
