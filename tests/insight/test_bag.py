"""Bags against every bag there is, against plans made anew, and the program against every choice."""

from functools import cache
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import caddiebrain as cb
from caddiebrain import solve
from caddiebrain.errors import InputError, UnknownError
from caddiebrain.insight.bag import choose_bag
from caddiebrain.insight.club_holes import club_hole
from caddiebrain.insight.club_program import ClubLosses, pick_clubs
from tests.conftest import COARSE

SET = ("driver", "4-hybrid", "6-iron", "8-iron", "pitching wedge", "sand wedge")


def with_clubs(player: cb.Player, clubs) -> cb.Player:
    patterns = tuple(p for p in player.patterns if p.club in clubs)
    return player.model_copy(update={"patterns": patterns, "posterior": None})


@pytest.fixture(scope="module")
def six_clubs(three_holes, demo_player):
    return cb.plan_round(three_holes, with_clubs(demo_player, SET), target=13, grid=COARSE)


@pytest.fixture(scope="module")
def chosen(six_clubs):
    """What is chosen within a limit; each limit is asked for once."""
    return cache(lambda limit: choose_bag(six_clubs, limit=limit))


@pytest.fixture(scope="module")
def every_bag(six_clubs):
    """Expected score of every bag of one to six clubs, by the solver that proves its bounds."""
    holes = [club_hole(hole, six_clubs.player.clubs) for hole in six_clubs.holes]
    found = {}
    for size in range(1, 7):
        for bag in map(frozenset, combinations(range(6), size)):
            solved = [hole.proven(bag) for hole in holes]
            assert all(one.status is solve.Status.PROVEN for one in solved)
            found[bag] = sum(one.value[hole.tee] for one, hole in zip(solved, holes, strict=True))
    return found


@pytest.mark.parametrize("limit", [2, 3, 4, 5, 6, 7])
def test_the_bag_is_the_best_of_all_bags(six_clubs, chosen, every_bag, limit):
    clubs = six_clubs.player.clubs
    found = chosen(limit)
    bag = frozenset(clubs.index(row.club) for row in found.clubs)
    best = min((bag for bag in every_bag if len(bag) == limit - 1), key=every_bag.__getitem__)
    assert found.status == "proven"
    assert bag == best
    assert found.expected == pytest.approx(every_bag[best], abs=1e-6)
    assert found.expected_all == pytest.approx(every_bag[frozenset(range(6))], abs=1e-6)
    for row in found.clubs:
        fewer = bag - {clubs.index(row.club)}
        if fewer:
            assert row.worth == pytest.approx(every_bag[fewer] - every_bag[bag], abs=1e-6)
    fewer = min((every_bag[b] for b in every_bag if len(b) == limit - 2), default=None)
    expected = None if fewer is None else fewer - every_bag[best]
    assert found.last_club == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("club", ["sand wedge", "pitching wedge", "8-iron"])
def test_a_plan_made_without_one_club_agrees_on_its_worth(six_clubs, chosen, three_holes, club):
    """A wedge's own distance is also the longest short shot's: both must stay open, or the wedge is indispensable."""
    worth = next(row.worth for row in chosen(14).clubs if row.club == club)
    fewer = [name for name in SET if name != club]
    again = cb.plan_round(three_holes, with_clubs(six_clubs.player, fewer), target=13, grid=COARSE)
    # Within what the next test allows a bag, and why.
    assert worth == pytest.approx(again.expected_score - six_clubs.expected_score, abs=0.03)
    assert 0.0 < worth < 0.2


def test_any_bag_leaves_a_choice_everywhere(six_clubs):
    for hole in six_clubs.holes:
        found = club_hole(hole, six_clubs.player.clubs)
        left = np.bincount(
            found.graph.choice_state, found.open_with(frozenset()), minlength=found.graph.n_states
        )
        assert np.flatnonzero(left == 0).tolist() == [found.graph.goal]


def test_a_plan_made_with_the_bag_alone_agrees(six_clubs, chosen, three_holes):
    found = chosen(5)
    bag = [row.club for row in found.clubs]
    again = cb.plan_round(three_holes, with_clubs(six_clubs.player, bag), target=13, grid=COARSE)
    # Not to the last digit: the plan looks for its own aims, and what a lie does to a club runs over the bag's lengths.
    assert again.expected_score == pytest.approx(found.expected, abs=0.03)
    other = next(name for name in found.left_out)
    worse = cb.plan_round(
        three_holes, with_clubs(six_clubs.player, [*bag[:-1], other]), target=13, grid=COARSE
    )
    assert worse.expected_score > again.expected_score - 0.01


def test_shots_with_every_club_are_opened_and_counted(six_clubs):
    hole = six_clubs.hole(1)
    found = club_hole(hole, six_clubs.player.clubs)
    played = found.play(frozenset(range(6)))
    assert played.value[found.tee] <= hole.expected_score + 1e-6
    np.testing.assert_allclose(played.value, solve.fewest_strokes(found.graph).value, atol=1e-8)
    visits, loss, free = found.losses(played)
    best = np.minimum(loss.min(axis=1), free)
    np.testing.assert_allclose(best, 0.0, atol=1e-9)  # the best choice costs nothing beyond itself
    assert found.uses(played).sum() > 1.5
    assert visits.max() >= 1.0


def test_a_club_kept_stays(six_clubs, chosen):
    free = chosen(4)
    name = free.left_out[0]
    kept = choose_bag(six_clubs, limit=4, keep=[name])
    assert name in {row.club for row in kept.clubs}
    assert kept.expected > free.expected


def test_a_club_no_one_needs_earns_nothing(six_clubs, three_holes, demo_player):
    twin = next(p for p in demo_player.patterns if p.club == "6-iron")
    twin = twin.model_copy(update={"club": "6-iron, bent", "line_sd_deg": 1.3 * twin.line_sd_deg})
    player = with_clubs(demo_player, SET)
    player = player.model_copy(update={"patterns": (*player.patterns, twin)})
    plan = cb.plan_round(three_holes, player, target=13, grid=COARSE)
    found = choose_bag(plan)
    assert "6-iron, bent" in found.earns_nothing
    assert found.left_out == ()
    assert "6-iron, bent" in choose_bag(plan, limit=7).left_out
    assert type(found).model_validate_json(found.model_dump_json()) == found


def test_several_rounds_count_alike(six_clubs, chosen):
    one, two = chosen(5), choose_bag([six_clubs, six_clubs], limit=5)
    assert [row.club for row in one.clubs] == [row.club for row in two.clubs]
    assert two.expected == pytest.approx(one.expected)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000))
def test_the_program_is_the_cheapest_of_all_picks(seed):
    rng = np.random.default_rng(seed)
    places, clubs = 12, 6
    loss = np.where(rng.random((places, clubs)) < 0.3, np.inf, rng.random((places, clubs)))
    free = np.where(rng.random(places) < 0.5, np.inf, rng.random(places))
    visits = np.where(rng.random(places) < 0.2, 0.0, rng.random(places))
    losses = ClubLosses(visits, loss, free)
    count = int(rng.integers(2, clubs))

    def cost(bag) -> float:
        each = np.minimum(loss[:, list(bag)].min(axis=1), free)
        return np.inf if np.isinf(each).any() else float(visits @ each)

    costs = {frozenset(bag): cost(bag) for bag in combinations(range(clubs), count)}
    if np.isinf(min(costs.values())):
        with pytest.raises(InputError, match="enough clubs"):
            pick_clubs(losses, count)
        return
    bag, run = pick_clubs(losses, count)
    assert run.status is solve.Status.PROVEN
    assert costs[bag] == pytest.approx(min(costs.values()), abs=1e-7)
    left = {b: c for b, c in costs.items() if b != bag}
    if np.isfinite(min(left.values())):
        second, _ = pick_clubs(losses, count, passed_over=[bag])
        assert costs[second] == pytest.approx(min(left.values()), abs=1e-7)


@pytest.mark.parametrize("limit", [1, 15, 3.5, True])
def test_the_rules_limit_is_named(six_clubs, limit):
    with pytest.raises(InputError, match=r"Rule 4\.1b"):
        choose_bag(six_clubs, limit=limit)


def test_bad_input_is_named(six_clubs, three_plan):
    with pytest.raises(UnknownError, match="no club '1-iron'"):
        choose_bag(six_clubs, keep=["1-iron"])
    with pytest.raises(InputError, match="at most 2"):
        choose_bag(six_clubs, limit=3, keep=["driver", "6-iron", "8-iron"])
    with pytest.raises(InputError, match="the same in every plan"):
        choose_bag([six_clubs, three_plan])
    with pytest.raises(InputError, match="one plan or more"):
        choose_bag([])
