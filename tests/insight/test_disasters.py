"""A limit on disasters on the three holes; the programs themselves are tested in tests/solve."""

from functools import cache

import numpy as np
import pytest

from caddiebrain import solve
from caddiebrain.errors import InputError, UnknownError
from caddiebrain.insight import disasters
from caddiebrain.insight.disasters import disaster_frontier, limit_disasters, limit_disasters_of_round
from caddiebrain.report.doubles_text import hole_doubles_page
from caddiebrain.report.insight_text import as_text
from caddiebrain.round.policy_words import Words


@pytest.fixture(scope="module")
def a_twentieth_less(three_plan):
    """A hole by itself with one in twenty of its disasters cut; each is asked for once."""
    return cache(
        lambda number: limit_disasters(
            three_plan, number, 0.95 * three_plan.hole(number).double_bogey_or_worse
        )
    )


def test_a_limit_on_a_hole_is_kept_where_it_costs_least_and_never_by_a_drive_nearer_out_of_bounds(
    three_plan, a_twentieth_less
):
    hole = three_plan.hole(3)  # out of bounds all along the right
    found = a_twentieth_less(3)
    assert found.status == "proven"
    assert found.expected_free == pytest.approx(hole.expected_score, abs=1e-6)
    assert found.chance_free == pytest.approx(hole.double_bogey_or_worse, abs=1e-6)
    assert found.chance <= found.cap + 1e-9
    assert found.bound - 1e-6 <= found.expected <= found.usable_expected + 1e-9
    assert found.usable_chance <= found.cap + 1e-9
    assert len(found.coins) == 1  # one cap, one coin
    assert sum(share for _, share in found.coins[0].shares) == pytest.approx(1.0)
    left_free, left = (
        int(c.split(" yards left")[0].split()[-1]) for c in (found.tee_choice_free, found.tee_choice)
    )
    assert left >= left_free
    assert "costs 0.00" in found.words
    assert type(found).model_validate_json(found.model_dump_json()) == found


def test_a_limit_may_be_kept_by_another_club_off_the_tee(three_plan):
    found = limit_disasters(three_plan, 2, 0.9 * three_plan.hole(2).double_bogey_or_worse)
    assert (found.tee_choice_free.split()[0], found.tee_choice.split()[0]) == ("6-iron", "7-iron")
    (coin,) = found.coins
    assert coin.where == "on the tee"
    said = " ".join(as_text(hole_doubles_page(disaster_frontier(three_plan, 2), found), 100).split())
    assert "by lot at one place" in said
    assert "on the tee, 6-iron 1 left of pin 61 in 100, 7-iron" in said
    assert "0 strokes" not in said
    clubs = {name.split()[0] for name, _ in coin.shares}
    assert clubs == {"6-iron", "7-iron"}


def test_a_limit_that_does_not_bind_changes_nothing(three_plan):
    found = limit_disasters(three_plan, 2, 0.5)
    assert found.price == 0.0
    assert found.expected == pytest.approx(three_plan.hole(2).expected_score, abs=1e-6)
    assert "changes nothing" in found.words


def test_the_frontier_starts_at_the_plan_and_names_tee_choices(three_plan):
    hole = three_plan.hole(1)
    found = disaster_frontier(three_plan, 1)
    assert found.points[0].expected == pytest.approx(hole.expected_score, abs=1e-6)
    chance = [p.double_bogey_or_worse for p in found.points]
    assert chance == sorted(chance, reverse=True)
    assert len(chance) >= 4
    assert found.gap <= 1e-3
    assert found.points[0].tee_choice.startswith(hole.tee_choice.label)


def test_a_round_spends_its_limit_where_it_is_cheapest(three_plan, a_twentieth_less):
    free = sum(h.double_bogey_or_worse for h in three_plan.holes)
    cap = 0.95 * free
    found = limit_disasters_of_round(three_plan, cap)
    assert found.status == found.usable_status == "proven"
    assert found.number_free == pytest.approx(free, abs=1e-6)
    assert found.expected_free == pytest.approx(three_plan.expected_score, abs=1e-6)
    assert found.number <= cap + 1e-9
    assert found.usable_number <= cap + 1e-9
    assert sum(h.chance for h in found.holes) == pytest.approx(found.usable_number)
    assert found.bound - 1e-6 <= found.expected <= found.usable_expected + 1e-9
    # The same cut on each hole by itself costs more than the cut shared out.
    apart = sum(a_twentieth_less(hole.number).expected for hole in three_plan.holes)
    assert found.expected < apart - 1e-4


def test_without_a_limit_a_round_saves_what_it_can(three_plan, monkeypatch):
    free = sum(h.double_bogey_or_worse for h in three_plan.holes)
    assert limit_disasters_of_round(three_plan).cap == pytest.approx(0.95 * free)
    monkeypatch.setattr(disasters, "_USUAL_SHARE", 0.01)  # as on a course where hardly anything can be saved
    fewest = sum(
        disaster_frontier(three_plan, h.number).points[-1].double_bogey_or_worse for h in three_plan.holes
    )
    found = limit_disasters_of_round(three_plan)
    assert found.cap == pytest.approx(0.5 * (free + fewest), abs=1e-3)
    assert found.number <= found.cap + 1e-9


def test_impossible_and_senseless_limits_are_named(three_plan):
    with pytest.raises(InputError, match="at least 0"):
        limit_disasters(three_plan, 2, 0.0)
    with pytest.raises(InputError, match="cap"):
        limit_disasters(three_plan, 2, 1.5)
    with pytest.raises(InputError, match="at least 0"):
        limit_disasters_of_round(three_plan, 0.01)
    with pytest.raises(InputError, match="expected number"):
        limit_disasters_of_round(three_plan, float("nan"))
    with pytest.raises(UnknownError, match="hole 4"):
        limit_disasters(three_plan, 4, 0.1)


def test_places_and_choices_in_words(three_plan):
    model = three_plan.hole(1).compiled()
    words, number = Words.of(model), model.numbering
    assert words.place(number.node) == "on the tee"
    assert words.place(number.putt) == "a putt of 0.5 feet"
    node = int(np.argmax(model.compiler.places.y > 250.0))
    assert "yards from the pin" in words.place(number.node + node)
    assert words.choice(0) == "putt to die at the hole"
    best = solve.fewest_strokes(model.graph).choice[model.tee]
    assert words.choice(int(best)).startswith(three_plan.hole(1).tee_choice.label)
