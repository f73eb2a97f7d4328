"""Look-ups leave out aims that trees all but rule out: against the same look-ups with all of them."""

import numpy as np
import pytest
from shapely import box
from single_hole import plan_of, straight

from caddiebrain.course.model import Area
from caddiebrain.round.lookup import spread_from
from caddiebrain.terms import Lie

PLACES = [(x, y) for x in (-45.0, -26.0, 24.0, 38.0) for y in (95.0, 170.0, 262.0, 318.0)]


@pytest.fixture(scope="module")
def avenue(demo_player):
    woods = [
        Area(Lie.TREES, box(left, 60, left + 40, 340), "wood", height_yd=22.0, canopy_gap_yd=7.0)
        for left in (-60.0, 20.0)
    ]
    return plan_of(straight(400.0, 4, *woods), demo_player).hole(1)


def best_of_each(hole, spread):
    """Kinds of choices by name, with their lowest expected scores and best chances."""
    strokes, chance = spread.values(hole.strokes_worth()), spread.values(hole.chance_worth(3))
    kinds = spread.kinds()
    return {kind: (strokes[kinds == kind].min(), chance[kinds == kind].max()) for kind in np.unique(kinds)}


@pytest.mark.parametrize("place", PLACES, ids=str)
def test_every_club_is_listed_and_the_best_shots_are_the_same(avenue, place):
    fewer = spread_from(avenue.compiler, *place)
    every = spread_from(avenue.compiler, *place, pick=lambda table: table)
    assert len(fewer.table) < len(every.table)
    listed, all_of_them = best_of_each(avenue, fewer), best_of_each(avenue, every)
    assert listed.keys() == all_of_them.keys()
    for which, best in enumerate((min, max)):
        have, had = (best(values[which] for values in kinds.values()) for kinds in (listed, all_of_them))
        assert have == pytest.approx(had, abs=1e-12)


def test_most_aims_go_deep_in_a_wood_and_none_in_the_open(avenue):
    def left(x, y):
        full = len(spread_from(avenue.compiler, x, y, pick=lambda table: table).table)
        return len(spread_from(avenue.compiler, x, y).table) / full

    assert np.mean([left(*place) for place in PLACES]) < 0.7
    assert left(0.0, 370.0) == 1.0
