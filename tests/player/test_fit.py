"""What a fit says: the prior where nothing is known, the records where they are many, and honest in between."""

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from player_notebook import shot_rows, strokes, tally_row
from scipy.special import ndtri

from caddiebrain.errors import RecordsError
from caddiebrain.player import Level, fit_player, holing_chance, load_player, save_player, update_player
from caddiebrain.player.counts import TallyRows, event_chances
from caddiebrain.player.uncertainty import mishit_shape, theta_of

LEVEL = Level(handicap_index=11.0)

# Gelman A. (2019), Model building and expansion for golf putting: 1.25 million tour putts of Broadie's 2018 data
# set, distance in feet, tries, holed; the fitted model is printed with 1.020 degrees and 0.080.
TOUR_PUTTS = [
    (0.28, 45198, 45183), (0.97, 183020, 182899), (1.93, 169503, 168594), (2.92, 113094, 108953),
    (3.93, 73855, 64740), (4.94, 53659, 41106), (5.94, 42991, 28205), (6.95, 37050, 21334), (7.95, 33275, 16615),
    (8.95, 30836, 13503), (9.95, 28637, 11060), (10.95, 26239, 9032), (11.95, 24636, 7687), (12.95, 22876, 6432),
    (14.43, 41267, 9813), (16.43, 35712, 7196), (18.44, 31573, 5290), (20.44, 28280, 4086), (21.95, 13238, 1642),
    (24.39, 46570, 4767), (28.40, 38422, 2980), (32.39, 31641, 1996), (36.39, 25604, 1327), (40.37, 20366, 834),
    (44.38, 15977, 559), (48.37, 11770, 311), (52.36, 8708, 231), (57.25, 8878, 204), (63.23, 5492, 103),
]  # fmt: skip


def pattern(player, club):
    return next(p for p in player.patterns if p.club == club)


def interval(player, of, what):
    return next(i for i in player.intervals() if (i.of, i.what) == (of, what))


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


def test_published_tour_putts_give_the_published_parameters():
    for level in (Level(handicap_index=0.0), Level(handicap_index=20.0)):
        putts = [{"distance_ft": x, "tries": n, "holed": k} for x, n, k in TOUR_PUTTS]
        skill = fit_player(putts, level).putting
        assert round(skill.aim_sd_deg, 2) == 1.02
        assert skill.aim_sd_deg == pytest.approx(1.020, abs=0.001)
        assert round(skill.pace_sd, 3) == 0.080
        assert skill.putts == sum(n for _, n, _ in TOUR_PUTTS)


def test_an_amateurs_five_distances():
    """Invented: five distances, 67 putts. A sensible skill, with wide intervals."""
    rows = [(3, 20, 18), (5, 15, 9), (8, 12, 4), (12, 10, 2), (20, 10, 1)]
    player = fit_player(
        [{"distance_ft": x, "tries": n, "holed": k} for x, n, k in rows], Level(handicap_index=14.0)
    )
    aim, pace = interval(player, "putting", "aim"), interval(player, "putting", "pace")
    assert 1.1 < aim.low < aim.middle < aim.high < 2.4
    assert aim.high / aim.low > 1.3
    assert pace.high / pace.low > 1.7
    for x, n, k in rows:
        chance, spread = float(holing_chance(player.putting, x)), np.sqrt(k / n * (1 - k / n) / n)
        assert abs(chance - k / n) < 2.5 * max(spread, 0.05)
    tour = fit_player([{"distance_ft": x, "tries": n, "holed": k} for x, n, k in TOUR_PUTTS], LEVEL)
    narrow = interval(tour, "putting", "aim")
    assert narrow.high / narrow.low < 1.03


def test_putts_per_green_agree_with_putts_by_distance():
    rng = np.random.default_rng(1)
    truth = LEVEL.player().putting.model_copy(update={"aim_sd_deg": 1.35, "pace_sd": 0.09})
    rows = []
    for first in rng.uniform(4, 45, 3000):
        x, putts = float(first), 0
        while True:
            putts += 1
            angle = rng.normal(0, np.deg2rad(truth.aim_sd_deg))
            roll = rng.normal(x + 1, (x + 1) * truth.pace_sd)
            if abs(angle) < np.arcsin(min(1, (4.25 - 1.68) / 24 / x)) and x <= roll <= x + 3:
                break
            x = max(float(np.hypot(roll * np.sin(angle), x - roll * np.cos(angle))), 0.1)
        rows.append({"distance_ft": round(float(first)), "putts": putts})
    skill = fit_player(rows, LEVEL).putting
    assert skill.aim_sd_deg == pytest.approx(1.35, rel=0.06)
    assert skill.pace_sd == pytest.approx(0.09, rel=0.10)


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


def test_shapes_on_record_get_patterns_of_their_own():
    rows = [{"club": "4h", "shape": "draw", "carry_yd": 180, "offline_yd": -6}] * 12
    player = fit_player(rows, LEVEL)
    draw = next(p for p in player.patterns if p.shape == "draw")
    assert draw.club == "4-hybrid"
    assert draw.curve_yd < 0
    assert not draw.derived
    assert draw.shots == 12
    assert "4-hybrid draw" in " ".join(player.describe())


def test_the_bag_follows_the_records():
    rows = [{"club": club, "carry_yd": 170} for club in ("7w", "5h", "4i")]
    player = fit_player(rows, LEVEL)
    assert {"7-wood", "5-hybrid", "4-iron"} <= set(player.clubs)
    assert len(player.clubs) == 13, "the putter makes fourteen"
    assert "driver" in player.clubs


OWN = ("driver", "5w", "4 hybrid", "7i", "old faithful", "PW", "sw")


def test_the_clubs_named_are_the_bag(tmp_path):
    rows = [
        {"club": "driver", "carry_yd": 215},
        {"club": "lw", "carry_yd": 60},
        {"club": "sw", "carry_yd": 82},
    ]
    aliases = {"Old Faithful": "9-iron"}
    player = fit_player(rows, LEVEL, clubs=OWN, aliases=aliases)
    assert player.clubs == (
        "driver", "5-wood", "4-hybrid", "7-iron", "9-iron", "pitching wedge", "sand wedge",
    )  # fmt: skip
    assert max(shot.longest_yd for shot in player.short_game) == pytest.approx(
        Level(handicap_index=11.0, clubs=player.clubs).player().patterns[-1].carry_yd
    )
    # A club that was sold still tells of its neighbours, and is named.
    assert pattern(player, "sand wedge") != pattern(
        fit_player(rows[::2], LEVEL, clubs=OWN, aliases=aliases), "sand wedge"
    )
    assert [note for note in player.posterior.warnings if "lob wedge" in note]
    save_player(player, tmp_path / "me.json")
    later = update_player(load_player(tmp_path / "me.json"), [{"club": "lw", "carry_yd": 62}])
    assert later.clubs == player.clubs
    assert len(later.beliefs().sd()) == len(later.patterns)


def test_named_clubs_stay_whatever_is_on_record():
    rows = [{"club": club, "carry_yd": 170} for club in ("7w", "5h", "4i")]
    named = LEVEL.player().clubs
    assert fit_player(rows, LEVEL, clubs=named).clubs == named


@pytest.mark.parametrize(
    ("clubs", "found"),
    [
        (["driver", "spoon", "pw"], "'spoon'; expected one of driver, 2-wood"),
        (["driver", "3w"], "none shorter than the 3-wood"),
        ([], r"\[\]; expected a list of names"),
        ("driver", "'driver'; expected a list of names"),
    ],
)
def test_clubs_that_will_not_do_are_named(clubs, found):
    with pytest.raises(RecordsError, match=f"^fit: clubs: found {found}"):
        fit_player([], LEVEL, clubs=clubs)


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
