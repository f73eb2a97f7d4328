"""How far a plan can be trusted, judged: long studies of trust_studies.py; docs/trust.md shows their figures."""

import re

import numpy as np
import pytest
import trust_page as page
from trust_studies import (
    EXCEPTIONAL_ODDS,
    TOUR_STROKES,
    decision_study,
    demo_plan,
    level_study,
    play_study,
    tour_strokes,
    yardage_rating,
)

import caddiebrain as cb
from caddiebrain.hole import GridSpec

ROUNDS = 50_000
"""Under each of the two policies; docs/trust.md shows twice as many."""

# -- what the page says, by itself ----------------------------------------------------------------------------


def rows(name):
    """Cells of a table's rows as the page has them, heads left out."""
    found = [
        re.split(r" *\| *", line.strip("| ")) for line in page.tables()[name].splitlines() if "|" in line
    ]
    return [row for i, row in enumerate(found) if "---" not in (row[0], *(found[i + 1 : i + 2] or [[""]])[0])]


def test_the_page_has_every_table_and_its_version():
    assert list(page.tables()) == ["tour", "putts", "levels", "halving", "play", "decisions", "recovery"]
    (version,) = page.VERSION.findall(page.text())
    assert f"## {version}" in (page.PAGE.parent / "changes.md").read_text(encoding="utf-8")


def test_the_page_is_within_the_aims_it_names():
    off = np.array([float(row[3]) for row in rows("tour")])
    assert len(off) == sum(len(table) for table in TOUR_STROKES.values())
    assert np.abs(off).mean() <= page.TOUR_WITHIN
    assert np.abs(off).max() <= page.TOUR_WITHIN_MOST
    assert max(abs(float(row[3])) for row in rows("putts")) < 0.02
    assert all(abs(float(row[4])) <= page.RATING_WITHIN for row in rows("levels") if len(row) == 6)
    assert all(1 / 3 < float(row[4]) < 3 for row in rows("levels") if len(row) == 5)
    tees = [float(row[3]) for row in rows("halving") if row[0].isdigit()]
    assert len(tees) == 18
    assert max(map(abs, tees)) <= page.HALVING_TEE
    played = {(row[0], row[1]): float(row[4]) for row in rows("play") if len(row) == 6}
    assert all(abs(off) <= page.PLAY_SCORE for (_, what), off in played.items() if what == "score")
    assert all(abs(off) <= page.PLAY_CHANCE for (_, what), off in played.items() if what != "score")
    covered = [float(cell) for row in rows("recovery") for cell in row[1:]]
    assert len(covered) == 9
    assert page.COVERED[0] <= min(covered) <= max(covered) <= page.COVERED[1]


# -- the studies ----------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def plan():
    return demo_plan()


@pytest.fixture(scope="module")
def half():
    return demo_plan(GridSpec().halved())


@pytest.fixture(scope="module")
def tour():
    return tour_strokes()


@pytest.fixture(scope="module")
def level():
    """Level studies by index, each made once."""
    made = {}

    def of(index):
        if index not in made:
            made[index] = level_study(index, np.random.default_rng(1))
        return made[index]

    return of


@pytest.mark.slow
def test_a_hundred_thousand_played_rounds_agree_with_the_plan(plan):
    studies = play_study(plan, ROUNDS, seed=79)
    for study in studies:
        assert study.played == pytest.approx(study.computed, abs=page.PLAY_SCORE), study
        assert study.chance_played == pytest.approx(study.chance, abs=page.PLAY_CHANCE), study
    assert page.apart("play", page.play(studies, ROUNDS)) <= 0.15


@pytest.mark.slow
def test_deciding_where_the_ball_lies_is_worth_more_than_computed_and_than_the_nearest_places_choice(plan):
    study = decision_study(plan, 500, 100, seed=79)
    assert -0.25 < study.there[0] < 0.0
    assert 0.0 < study.nearest[0] < 0.3
    assert page.errors_apart("decisions", page.decisions(study)) <= 4.0


@pytest.mark.slow
def test_halving_every_cell_changes_little(plan, half):
    moved = {
        a.number: b.expected_score - a.expected_score for a, b in zip(plan.holes, half.holes, strict=True)
    }
    assert max(abs(m) for m in moved.values()) <= page.HALVING_TEE, moved
    assert half.chance(79) == pytest.approx(plan.chance(79), abs=page.HALVING_CHANCE)
    assert half.chance_expected_policy(79) == pytest.approx(
        plan.chance_expected_policy(79), abs=page.HALVING_CHANCE
    )
    assert page.apart("halving", page.halving(plan, half)) <= 0.15  # the round's sum; a hole moves less


@pytest.mark.slow
def test_a_tour_like_player_on_open_holes_needs_the_published_strokes(tour):
    off = np.array([ours - published for _, _, published, ours in tour])
    assert len(off) == 66
    assert np.abs(off).mean() <= page.TOUR_WITHIN
    assert np.abs(off).max() <= page.TOUR_WITHIN_MOST
    assert page.apart("tour", page.tour(tour)) <= 0.03


@pytest.mark.slow
@pytest.mark.parametrize(("player", "index"), [("scratch", 0.0), ("bogey", 20.0)])
def test_the_better_half_of_a_levels_rounds_is_near_the_yardage_rating(player, index, level):
    study = level(index)
    rating = yardage_rating(player, cb.demo.course().length_yd)
    assert study.better_half == pytest.approx(rating, abs=page.RATING_WITHIN)
    # Twenty rounds here would give a player of this level about the index the level has.
    assert study.index == pytest.approx(index, abs=2.0)
    (shown,) = [row for row in rows("levels") if row[0] == player]
    fresh = (study.mean, study.better_half, rating, study.better_half - rating, study.index)
    np.testing.assert_allclose([float(cell) for cell in shown[1:]], fresh, atol=0.15)


@pytest.mark.slow
@pytest.mark.parametrize("group", EXCEPTIONAL_ODDS)
def test_exceptional_rounds_are_as_rare_as_published_in_order_of_magnitude(group, level):
    index, published = EXCEPTIONAL_ODDS[group]
    odds = level(index).odds
    for least, one_in in published.items():
        assert 1 / page.ODDS_FACTOR < odds[least] / one_in < page.ODDS_FACTOR, (least, odds[least], one_in)
        (shown,) = [row for row in rows("levels") if row[:2] == [group, f"{least} or better"]]
        assert float(shown[3]) == pytest.approx(odds[least], rel=0.25, abs=1)
