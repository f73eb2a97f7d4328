"""Uphill and down, the look-ups of a book say the carries and marks that options say of the same spots."""

import numpy as np
import pytest

import caddiebrain as cb
from caddiebrain.course.model import Course
from caddiebrain.insight.book import book_of
from caddiebrain.terms import Lie
from tests.conftest import COARSE
from tests.round.single_hole import straight


@pytest.mark.parametrize("rise", [14.0, -14.0])
def test_carries_and_ovals_are_those_of_the_slope(demo_player, rise):
    hole = straight(360.0, 4, rise_yd=rise)
    plan = cb.plan_round(Course("Slope", (hole,)), demo_player, target=5, grid=COARSE)
    (page,) = book_of(plan).holes
    level = {p.club: p.carry_yd for p in demo_player.patterns if (p.shape, p.height) == ("straight", "stock")}
    compared = 0
    for spot in page.spots:
        if spot.lie != Lie.FAIRWAY:
            continue
        options = {o.label: o for o in plan.options(1, (spot.x, spot.y), lie=spot.lie)}
        for choice in spot.choices:
            if choice.label not in level or choice.label not in options:
                continue
            option = options[choice.label]
            assert choice.carry_yd == pytest.approx(option.carry_yd, abs=0.3)
            reach = np.hypot(choice.aim_xy[0] - spot.x, choice.aim_xy[1] - spot.y)
            assert reach == pytest.approx(option.aim.distance_yd, abs=0.4)
            assert np.hypot(choice.oval[0] - spot.x, choice.oval[1] - spot.y) == pytest.approx(reach, abs=2.0)
            compared += 1
    assert compared >= 3
