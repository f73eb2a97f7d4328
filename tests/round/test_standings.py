"""Which standings a plan tells apart: those that come up."""

import caddiebrain as cb
from tests.conftest import COARSE


def test_no_advice_for_standings_that_never_come_up(three_holes, demo_player, three_plan):
    """A target far below what can be done used to bring switches at standings below one stroke a hole."""
    par = 0
    for number, hole in enumerate(three_plan.holes):
        least, most = hole.standings or (0, 0)
        assert least >= number - par  # no hole takes less than a stroke
        assert least <= 0 <= most
        par += hole.par
    hopeless = cb.plan_round(three_holes, demo_player, target=3, grid=COARSE)
    for hole in hopeless.holes[1:]:
        (only,) = hole.switches
        assert only.option == hole.tee_choice
    assert [h.standings for h in hopeless.holes] == [h.standings for h in three_plan.holes]
