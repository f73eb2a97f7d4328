"""What a fit says: the prior where nothing is known, the records where they are many, and honest in between."""

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from player_notebook import LEVEL, interval, pattern, shot_rows, strokes, tally_row
from scipy.special import ndtri

from caddiebrain.player import Level, fit_player, load_player, save_player, update_player
from caddiebrain.player.counts import TallyRows, event_chances
from caddiebrain.player.uncertainty import mishit_shape, theta_of


def distance(one, other):
    """Largest difference of any fitted number."""
    assert [(p.club, p.shape, p.height) for p in one.patterns] == [
        (p.club, p.shape, p.height) for p in other.patterns
    ]
    gaps = [np.abs(theta_of(one.patterns) - theta_of(other.patterns)).max()]
    gaps += [abs(a.depth_sd - b.depth_sd) for a, b in zip(one.short_game, other.short_game, strict=True)]
    gaps += [abs(a.mishit - b.mishit) for a, b in zip(one.short_game, other.short_game, strict=True)]
    gaps += [
        abs(one.putting.aim_sd_deg - other.putting.aim_sd_deg),
        abs(one.putting.pace_sd - other.putting.pace_sd),
    ]
    gaps.append(float(np.abs(one.beliefs().covariance - other.beliefs().covariance).max()))
    return max(gaps)


def test_no_records_are_the_prior():
    player, level = fit_player([], LEVEL), LEVEL.player()
    assert player.patterns == level.patterns
    assert player.putting == level.putting
    assert player.short_game == level.short_game
    np.testing.assert_allclose(player.beliefs().covariance, level.beliefs().covariance, rtol=1e-12)
    assert "no shots on record" in player.describe()[0]


def test_five_of_five_fairways_is_not_never_a_miss():
    rows = [{"club": "driver", "tries": 11, "fairway": 6}, {"club": "5-wood", "tries": 5, "fairway": 5}]
    player, level = fit_player(rows, LEVEL), LEVEL.player()
    wood, driver = pattern(player, "5-wood"), pattern(player, "driver")
    assert wood.line_sd_deg < driver.line_sd_deg
    assert (
        pattern(level, "5-wood").line_sd_deg * 0.75 < wood.line_sd_deg < pattern(level, "5-wood").line_sd_deg
    )
    assert 0.55 < fairway_chance(player, "5-wood") < 0.95
    assert 0.45 < fairway_chance(player, "driver") < 0.75
    spread = interval(player, "5-wood", "line spread")
    assert spread.high / spread.low > 1.5, "five shots say little"


def fairway_chance(player, club, width=32.0):
    """Chance of hitting a fairway of this width, from the tee."""
    at = [p.club for p in player.patterns].index(club)
    one = np.ones(1)
    p = player.patterns[at]
    row = TallyRows(
        np.array([at]), np.array([False]), width * one, 28 * one, p.rollout_yd / p.carry_yd * one, one, 0 * one,
        np.zeros((1, 5)), 0 * one, np.zeros((1, 5), dtype=bool),
    )  # fmt: skip
    return float(event_chances(theta_of(player.patterns), mishit_shape(player.patterns), row)[0, 0])


@pytest.mark.parametrize(("width", "found"), [(26.0, 0.45), (32.0, 0.60), (40.0, 0.70)])
def test_the_fairway_chance_agrees_with_tallies_as_they_grow(width, found):
    gaps = []
    for tries in (20, 200, 5000):
        rows = [{"club": "driver", "tries": tries, "fairway": round(found * tries), "width_yd": width}]
        gaps.append(abs(fairway_chance(fit_player(rows, LEVEL), "driver", width) - found))
    assert gaps[2] < 0.01
    assert gaps[2] <= gaps[1] + 1e-9 <= gaps[0] + 2e-9


def test_clubs_share_strength_along_the_bag():
    """A dozen drives, 9 degrees wide and 3 to the right."""
    level = LEVEL.player()
    carry = pattern(level, "driver").carry_yd
    turns = np.deg2rad(3.0 + 9.0 * ndtri((np.arange(12) + 0.5) / 12))
    drive = {"club": "driver", "lie": "tee", "carry_yd": carry}
    player = fit_player([{**drive, "offline_yd": carry * np.tan(turn)} for turn in turns], LEVEL)
    wider, turned = (
        {
            club: getattr(pattern(player, club), field) - getattr(pattern(level, club), field)
            for club in ("driver", "3-wood", "5-wood", "lob wedge")
        }
        for field in ("line_sd_deg", "line_deg")
    )
    assert wider["driver"] > 1.0
    assert wider["driver"] > wider["3-wood"] > wider["lob wedge"] > 0
    assert 0.05 < wider["5-wood"] < 0.6 * wider["driver"]
    assert turned["driver"] > turned["5-wood"] > 0


def test_the_same_records_in_any_order_give_the_same_player():
    rng = np.random.default_rng(3)
    level = LEVEL.player()
    rows = [
        {**row, "date": f"2024-06-{1 + i % 28:02d}"}
        for club in ("driver", "7-iron", "9-iron")
        for i, row in enumerate(shot_rows(pattern(level, club), 15, rng))
    ]
    others = [
        tally_row(pattern(level, "5-iron"), 14, rng),
        {"distance_ft": 7, "tries": 9, "holed": 4},
        {"distance_ft": 25, "putts": 3},
        {"lie": "sand", "distance_yd": 12, "tries": 6, "up_and_down": 1},
        {"lie": "rough", "distance_yd": 20, "leave_ft": 8},
    ]
    options = {"level": LEVEL, "half_life_days": 200.0, "units": "yards"}
    first = fit_player(rows + others, **options)
    for seed in range(3):
        mixed = [(rows + others)[i] for i in np.random.default_rng(seed).permutation(len(rows) + len(others))]
        assert distance(fit_player(mixed, **options), first) < 1e-9
    by_parts = fit_player(others[:2], **options)
    for part in (rows[20:], others[2:], rows[:20]):
        by_parts = update_player(by_parts, part, units="yards")
    assert distance(by_parts, first) < 1e-9


def test_an_update_makes_a_new_player_and_leaves_the_old_one(tmp_path):
    rng = np.random.default_rng(4)
    old = fit_player(shot_rows(pattern(LEVEL.player(), "7-iron"), 10, rng), LEVEL)
    before = old.model_dump_json()
    new = update_player(old, [{"club": "7-iron", "carry_yd": 190.0}] * 10)
    assert old.model_dump_json() == before
    assert pattern(new, "7-iron").carry_yd > pattern(old, "7-iron").carry_yd
    assert pattern(new, "7-iron").shots == 20
    save_player(old, tmp_path / "p.json")
    assert (
        distance(
            update_player(load_player(tmp_path / "p.json"), [{"club": "7-iron", "carry_yd": 190.0}] * 10), new
        )
        < 1e-9
    )


def test_a_hand_made_player_is_the_prior_of_his_update(demo_player):
    rng = np.random.default_rng(5)
    hybrid = pattern(demo_player, "4-hybrid")
    new = update_player(demo_player, shot_rows(hybrid.model_copy(update={"carry_yd": 200.0}), 120, rng))
    assert pattern(new, "4-hybrid").carry_yd == pytest.approx((37 * 190 + 120 * 200) / 157, abs=2.5)
    assert pattern(new, "driver").line_sd_deg == pytest.approx(
        pattern(demo_player, "driver").line_sd_deg, rel=0.05
    )
    assert pattern(new, "4-hybrid").shots == hybrid.shots + 120
    again = update_player(new, [{"club": "4-hybrid", "carry_yd": 185}])
    assert pattern(again, "4-hybrid").shots == hybrid.shots + 121


def test_old_rounds_fade():
    old = [{"date": "2022-05-01", "club": "7i", "carry_yd": 130.0}] * 30
    new = [{"date": "2024-05-01", "club": "7i", "carry_yd": 155.0}] * 30
    even, fading = fit_player(old + new, LEVEL), fit_player(old + new, LEVEL, half_life_days=180.0)
    assert pattern(fading, "7-iron").carry_yd > pattern(even, "7-iron").carry_yd + 5
    assert pattern(even, "7-iron").shots == 60
    days = 731
    assert pattern(fading, "7-iron").shots == pytest.approx(30 + 30 * 0.5 ** (days / 180), abs=0.01)
    undated = [{"club": "7i", "carry_yd": 155.0}] * 30
    assert pattern(fit_player(undated, LEVEL, half_life_days=10.0), "7-iron").shots == 30


def test_distances_before_and_after_tell_of_reach_and_scatter():
    rng = np.random.default_rng(6)
    driver = pattern(LEVEL.player(), "driver").model_copy(update={"carry_yd": 235.0, "line_sd_deg": 6.5})
    carry, line = strokes(driver, 150, rng)
    total, turn = carry * (1 + driver.rollout_yd / driver.carry_yd), np.deg2rad(line)
    after = np.hypot(400 - total * np.cos(turn), total * np.sin(turn))
    rows = [
        {"club": "driver", "lie": "tee", "before_yd": 400, "after_yd": a, "lie_after": "fairway"}
        for a in after
    ]
    player = fit_player(rows, LEVEL)
    assert pattern(player, "driver").carry_yd == pytest.approx(235, abs=5)
    iron = pattern(LEVEL.player(), "8-iron")
    tight, loose = (
        fit_player([{"club": "8i", "before_yd": 126, "after_yd": leave} for leave in leaves], LEVEL)
        for leaves in (rng.rayleigh(5, 60), rng.rayleigh(13, 60))
    )
    assert pattern(tight, "8-iron").line_sd_deg < iron.line_sd_deg < pattern(loose, "8-iron").line_sd_deg
    form = [pattern(p, "8-iron").line_sd_deg / pattern(p, "8-iron").carry_sd for p in (tight, loose)]
    assert form[0] == pytest.approx(form[1], rel=0.02), (
        "a leave does not say whether balls missed long or wide"
    )


def test_lies_are_taken_into_account():
    rough = [{"club": "6i", "lie": "rough", "carry_yd": 140.0}] * 25
    clean = [{"club": "6i", "lie": "fairway", "carry_yd": 140.0}] * 25
    assert (
        pattern(fit_player(rough, LEVEL), "6-iron").carry_yd
        > pattern(fit_player(clean, LEVEL), "6-iron").carry_yd + 3
    )


def limits(player):
    return {lie: e.longest_carry_yd for lie, e in player.lies.items() if e.longest_carry_yd is not None}


def test_the_longest_club_from_a_lie_is_as_much_longer_as_the_player():
    """A bag a tenth longer than the level's goes as far from a lie as the level with a driver so much longer."""
    level = LEVEL.player()
    shares = np.linspace(1.02, 1.18, 40)
    rows = [{"club": p.club, "carry_yd": share * p.carry_yd} for p in level.patterns for share in shares]
    player = fit_player(rows, LEVEL)
    driver = 1.1 * pattern(level, "driver").carry_yd
    known = Level(handicap_index=LEVEL.handicap_index, driver_carry_yd=driver).player()
    for lie, longest in limits(known).items():
        assert limits(player)[lie] == pytest.approx(longest, abs=2.0)
        assert limits(player)[lie] / limits(level)[lie] == pytest.approx(1.1, abs=0.01)
    # An update begins at the level again: it does not stretch what was stretched.
    assert limits(update_player(player, [])) == limits(player)
    assert limits(fit_player([], LEVEL)) == limits(level)
    one = fit_player([row for row in rows if row["club"] == "7-iron"], LEVEL)
    assert all(limits(level)[lie] < limits(one)[lie] < limits(player)[lie] for lie in limits(level))


def test_shots_hold_putts_and_short_shots_too():
    rows = [
        {"club": "putter", "lie": "green", "before": "9 ft", "after": "0 ft"},
        {"club": "putter", "lie": "green", "before": "20 ft", "after": "2 ft"},
        {"club": "sw", "lie": "sand", "before": 14, "after": 3},
        {"club": "pw", "lie": "rough", "before": 18, "after": 2},
        {"club": "8i", "lie": "fairway", "before": 124, "after": 6},
    ]
    player = fit_player(rows, LEVEL, units="yards")
    assert player.putting.putts == 2
    assert {s.lie for s in player.short_game if s.shots > 0} == {"sand", "rough"}
    assert sum(p.shots for p in player.patterns) == 1


@pytest.mark.parametrize("lie", ["fringe", "fairway", "rough"])
def test_a_putter_off_the_green_tells_neither_of_putts_nor_of_chips(lie):
    row = {"club": "putter", "lie": lie, "before": "30 ft", "after": "2 ft"}
    player = fit_player([row, {"club": "8i", "carry": 150}], LEVEL, units="yards")
    assert player.putting == LEVEL.player().putting
    assert player.short_game == LEVEL.player().short_game
    assert player.posterior.warnings[-1] == (
        "fit: 1 stroke on record without word of a full shot, short shot or putt: not used"
    )


def test_what_cannot_be_used_is_said():
    chip = {"club": "9i", "lie": "rough", "before": 30, "lie_after": "green"}
    notes = fit_player([chip, {"club": "pw", "carry": 100}], LEVEL, units="yards").posterior.warnings
    assert notes == ("fit: 1 stroke on record without word of a full shot, short shot or putt: not used",)
    far = fit_player([{"lie": "fairway", "distance_yd": 110, "leave_ft": 30}], LEVEL)
    assert far.posterior.warnings == (
        "fit: 1 short shot on record beyond the longest of the short game: not used",
    )
    both = fit_player([chip, chip | {"before": 31}, {"club": "pw", "carry": 100}], LEVEL, units="yards")
    assert both.posterior.warnings[0].startswith("fit: 2 strokes on record without")
    assert update_player(far, []).posterior.warnings == far.posterior.warnings


def test_up_and_downs_move_their_lie():
    good = fit_player([{"lie": "sand", "distance_yd": 12, "tries": 40, "up_and_down": 26}], LEVEL)
    poor = fit_player([{"lie": "sand", "distance_yd": 12, "tries": 40, "up_and_down": 2}], LEVEL)

    def sand(player):
        return next(s for s in player.short_game if s.name == "bunker shot")

    level = LEVEL.player()
    assert sand(good).depth_sd < sand(level).depth_sd < sand(poor).depth_sd
    assert sand(good).mishit < sand(level).mishit < sand(poor).mishit


def test_cards_alone_give_a_level():
    def card(day, extra):
        return [
            {"date": day, "hole": h, "par": 4, "score": 5 if h <= extra else 4, "rating": 71.0, "slope": 125}
            for h in range(1, 19)
        ]

    cards = [
        row
        for day, extra in (("2024-05-01", 14), ("2024-05-08", 12), ("2024-05-15", 17))
        for row in card(day, extra)
    ]
    player = fit_player(cards)
    best = 113 / 125 * (72 + 12 - 71.0)
    assert player.handicap_index == pytest.approx(best - 2.0, abs=0.06), (
        "lowest of three, less two (WHS 5.2a)"
    )
    later = update_player(player, card("2024-05-22", 8))
    assert later.handicap_index == pytest.approx(113 / 125 * (72 + 8 - 71.0) - 1.0, abs=0.06)


def test_what_cards_and_shots_both_tell_counts_once():
    shots = [
        {"date": "2024-05-01", "round": "1", "hole": 1, "stroke": 1, "club": "driver", "lie_after": "fairway"}
    ]
    card = [
        {"date": "2024-05-01", "round": "1", "hole": h, "par": 4, "score": 5, "fairway": "y"} for h in (1, 2)
    ]
    player = fit_player([shots, card], LEVEL)
    assert pattern(player, "driver").shots == 2


def test_golf_words():
    rng = np.random.default_rng(7)
    player = fit_player(shot_rows(pattern(LEVEL.player(), "7-iron"), 14, rng), LEVEL)
    line = next(text for text in player.describe() if text.startswith("7-iron"))
    assert "yards carry, two thirds within" in line
    assert line.endswith("14 shots on record")
    row = next(row for row in player.summary() if row.shot == "7-iron")
    assert row.two_thirds_low_yd < row.two_thirds_yd < row.two_thirds_high_yd
    seven = pattern(player, "7-iron")
    carry, turn = strokes(seven, 200_000, rng)
    side = seven.carry_yd * np.deg2rad(turn - seven.line_deg)
    assert np.mean(np.abs(side) < row.two_thirds_yd) == pytest.approx(2 / 3, abs=0.03)
    assert carry.mean() < seven.carry_yd


def test_draws_have_the_spread_of_the_intervals():
    rng = np.random.default_rng(8)
    player = fit_player(shot_rows(pattern(LEVEL.player(), "driver"), 25, rng), LEVEL)
    draws = player.draws(2000, rng)
    for what, read in (
        ("carry", lambda p: p.carry_yd),
        ("line spread", lambda p: p.line_sd_deg),
        ("mishits", lambda p: p.mishit),
    ):
        band = interval(player, "driver", what)
        values = np.array([read(pattern(d, "driver")) for d in draws])
        assert np.quantile(values, [0.05, 0.95]) == pytest.approx([band.low, band.high], rel=0.08)
    aims = np.array([d.putting.aim_sd_deg for d in draws])
    band = interval(player, "putting", "aim")
    assert np.quantile(aims, [0.05, 0.95]) == pytest.approx([band.low, band.high], rel=0.05)
    assert all(d.posterior is None for d in draws)
    same = player.draws(2, np.random.default_rng(1))
    assert same == player.draws(2, np.random.default_rng(1))


def test_more_shots_would_make_us_surer(demo_player):
    for player in (demo_player, fit_player([{"club": "driver", "carry_yd": 200}], LEVEL)):
        more = player.with_shots("driver", 50)
        assert more.patterns[0].carry_yd == player.patterns[0].carry_yd
        before, after = interval(player, "driver", "line spread"), interval(more, "driver", "line spread")
        assert after.high - after.low < before.high - before.low
        assert more.patterns[0].shots == player.patterns[0].shots + 50
    with pytest.raises(LookupError, match="mashie"):
        demo_player.with_shots("mashie", 5)


@settings(max_examples=25, deadline=None)
@given(
    rows=st.lists(
        st.fixed_dictionaries(
            {
                "club": st.sampled_from(["driver", "3w", "7i", "pw", "2-iron"]),
                "lie": st.sampled_from(["tee", "fairway", "rough", "sand", "thick", "trees"]),
                "carry_yd": st.floats(0, 450),
                "offline_yd": st.floats(-400, 400),
                "shape": st.sampled_from(["", "draw", "fade"]),
            }
        ),
        min_size=1,
        max_size=25,
    )
)
def test_any_notebook_settles(rows):
    """However wild the shots, the fit ends in a player that a file can hold."""
    player = fit_player(rows, LEVEL)
    assert type(player).model_validate_json(player.model_dump_json()) == player
    json.loads(player.model_dump_json())
    assert np.all(np.linalg.eigvalsh(player.beliefs().covariance) > 0)
