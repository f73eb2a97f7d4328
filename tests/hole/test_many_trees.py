"""Trees of a surveyed map: nearly every one has a height of its own, and few canopies are looked through."""

import numpy as np
import pytest
from shapely import Point
from small_holes import straight_hole, trees

from caddiebrain.hole import GridSpec
from caddiebrain.hole.ground import survey


def tops_at(ground, spots):
    """Height of the trees at each of some spots; every spot is under one canopy."""
    cells = ground.frame.index(*np.array(spots, dtype=float).T)
    stand = np.array([canopy.stands[cells] for canopy in ground.canopies])
    assert (stand.sum(axis=0) == 1).all()
    return np.array([canopy.top for canopy in ground.canopies])[stand.argmax(axis=0)]


@pytest.mark.parametrize(("kinds", "off"), [(5, 1e-9), (16, 1e-9), (40, 0.75), (160, 0.75)])
def test_heights_are_told_apart_to_a_share_of_their_range(kinds, off):
    """From 8 to 20 yards there are 16 classes of 0.75 yards; a tree is off by less than one class."""
    spots = [(side * (20 + 9 * (i % 5)), 20 + 12 * (i // 5)) for i in range(80) for side in (-1, 1)]
    heights = 8.0 + 12.0 * (np.arange(len(spots)) % kinds) / (kinds - 1)
    wood = [trees(Point(spot).buffer(3), height_yd=top) for spot, top in zip(spots, heights, strict=True)]
    ground = survey(straight_hole(*wood), GridSpec())
    assert len(ground.canopies) == min(kinds, 16)
    assert tops_at(ground, spots) == pytest.approx(heights, abs=off)


def test_woods_that_are_not_alike_in_density_are_not_taken_together():
    wood = [
        trees(Point(-40, 20 + 9 * i).buffer(3), height_yd=10.0 + 0.1 * i, canopy_gap_yd=5.0 + 15 * (i % 2))
        for i in range(40)
    ]
    ground = survey(straight_hole(*wood), GridSpec())
    assert {canopy.gap for canopy in ground.canopies} == {5.0, 20.0}
    assert sum(int(canopy.stands.sum()) for canopy in ground.canopies) > 40 * 20
