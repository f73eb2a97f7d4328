"""Levels against the published distances and accuracy, and worse index never meaning a better player."""

import numpy as np
import pytest

from caddiebrain.errors import PlayerError
from caddiebrain.player import Level, Player, holing_chance, tour_like
from caddiebrain.player.bag import CATALOGUE, STANDARD_BAG, club_name
from caddiebrain.terms import Lie
from caddiebrain.testing import check_player

INDICES = np.arange(-4.0, 36.5, 0.5)

# Course Rating System (memory): total drive, and drive plus second shot, of scratch and bogey golfers.
REACH_YD = {
    ("men", 0.0): (250, 470),
    ("men", 20.0): (200, 370),
    ("women", 0.0): (210, 400),
    ("women", 24.0): (150, 280),
}

# Course Rating System Manual, accuracy table (read): width x depth holding two thirds of the shots, men.
ACCURACY_YD = {
    0.0: {
        90: (11, 14),
        110: (12, 15),
        130: (13, 15),
        150: (15, 16),
        170: (18, 17),
        190: (23, 18),
        210: (29, 19),
    },
    20.0: {90: (16, 19), 110: (17, 21), 130: (18, 23), 150: (20, 25), 170: (24, 28)},
}


@pytest.mark.parametrize("sex", ["men", "women"])
@pytest.mark.parametrize("field", ["carry_yd", "carry_sd", "line_sd_deg", "mishit", "mishit_carry"])
def test_a_worse_index_is_never_a_better_player(sex, field):
    players = [Level(handicap_index=float(i), sex=sex).player() for i in INDICES]
    table = np.array([[getattr(p, field) for p in player.patterns] for player in players])
    sign = -1 if field in ("carry_yd", "mishit_carry") else 1
    assert np.all(sign * np.diff(table, axis=0) >= -1e-9)
    assert np.all(sign * (table[-1] - table[0]) > 0)


def test_a_worse_index_is_never_better_on_and_around_the_green():
    players = [Level(handicap_index=float(i)).player() for i in INDICES]
    putts = np.array([holing_chance(p.putting, [4.0, 10.0, 25.0]) for p in players])
    assert np.all(np.diff(putts, axis=0) < 0)
    for field in ("depth_sd", "line_sd_deg", "mishit"):
        short = np.array([[getattr(s, field) for s in p.short_game] for p in players])
        assert np.all(np.diff(short, axis=0) >= 0)
    for lie in Lie:
        effects = [p.lies[lie].mishit.long for p in players if lie in p.lies]
        assert np.all(np.diff(effects) >= 0)


def test_carries_change_smoothly_with_the_index():
    carries = np.array(
        [[p.carry_yd for p in Level(handicap_index=float(i)).player().patterns] for i in INDICES]
    )
    bends = np.abs(np.diff(carries, n=2, axis=0))
    assert bends.max() < 0.21, "the rounding of a carry to a tenth of a yard is all there is"


@pytest.mark.parametrize(("who", "reach"), REACH_YD.items(), ids=lambda x: str(x))
def test_published_distances(who, reach):
    sex, index = who
    player = Level(handicap_index=index, sex=sex).player()
    driver, wood = player.patterns[:2]
    assert driver.carry_yd + driver.rollout_yd == pytest.approx(reach[0], abs=1)
    two_shots = driver.carry_yd + driver.rollout_yd + wood.carry_yd + wood.rollout_yd
    assert two_shots == pytest.approx(reach[1], rel=0.05), "second shots are those of the bag, within a club"


@pytest.mark.parametrize("index", ACCURACY_YD)
def test_solid_shots_hold_the_published_width_and_depth(index):
    """Two thirds sideways and two thirds in length, for the clubs whose carry the table reaches."""
    rng = np.random.default_rng(5)
    shots, sizes = zip(*ACCURACY_YD[index].items(), strict=True)
    checked = 0
    for pattern in Level(handicap_index=index).player().patterns:
        if not shots[0] <= pattern.carry_yd <= shots[-1] or pattern.club in (
            "driver",
            "3-wood",
            "5-wood",
            "4-hybrid",
        ):
            continue
        width, depth = (np.interp(pattern.carry_yd, shots, side) for side in zip(*sizes, strict=True))
        angle = np.deg2rad(rng.normal(0, pattern.line_sd_deg, 200_000))
        length = pattern.carry_yd * (1 + rng.normal(0, pattern.carry_sd, 200_000))
        assert np.mean(np.abs(pattern.carry_yd * np.tan(angle)) < width / 2) == pytest.approx(2 / 3, abs=0.02)
        assert np.mean(np.abs(length - pattern.carry_yd) < depth / 2) == pytest.approx(2 / 3, abs=0.02)
        checked += 1
    assert checked >= 5


def test_a_known_carry_scales_the_bag():
    long = Level(handicap_index=12.0, driver_carry_yd=240.0).player()
    assert long.patterns[0].carry_yd == 240.0
    by_iron = Level(handicap_index=12.0, seven_iron_carry_yd=155.0).player()
    seven = next(p for p in by_iron.patterns if p.club == "7-iron")
    assert seven.carry_yd == pytest.approx(155.0, abs=0.1)
    both = Level(handicap_index=12.0, driver_carry_yd=240.0, seven_iron_carry_yd=140.0).player()
    named = {p.club: p.carry_yd for p in both.patterns}
    assert (named["driver"], named["7-iron"]) == pytest.approx((240.0, 140.0), abs=0.1)
    carries = [p.carry_yd for p in both.patterns]
    assert carries == sorted(carries, reverse=True)


def test_every_level_is_a_sound_player():
    for index in (*INDICES, 54.0):
        for sex in ("men", "women"):
            player = Level(handicap_index=float(index), sex=sex).player()
            assert Player.model_validate_json(player.model_dump_json()) == player
            assert player.clubs == STANDARD_BAG
            longest_short = max(s.longest_yd for s in player.short_game if s.lie is Lie.FAIRWAY)
            assert longest_short == pytest.approx(player.patterns[-1].carry_yd, abs=0.1)
            shots = {(s.lie, s.name) for s in player.short_game}
            assert (Lie.SAND, "chip") not in shots
            assert (Lie.THICK, "chip") not in shots


def test_the_bag_can_be_chosen():
    player = Level(handicap_index=5.0, clubs=("Driver", "3w", "7i", "PW", "56", "putter")).player()
    assert player.clubs == ("driver", "3-wood", "7-iron", "pitching wedge", "sand wedge")
    assert [p.tee_only for p in player.patterns] == [True, False, False, False, False]


def test_text_is_no_number_and_no_list_of_clubs():
    with pytest.raises(PlayerError) as caught:
        Level(handicap_index="16", driver_carry_yd="230", clubs="driver")
    assert str(caught.value).splitlines() == [
        "level: handicap_index: found '16'; expected -4 (that is +4) to 54",
        "level: driver_carry_yd: found '230'; expected 80 to 340 yards",
        "level: clubs: found 'driver'; expected several names, such as ('driver', '7-iron', 'pw')",
    ]


def test_wrong_levels_name_every_argument():
    with pytest.raises(PlayerError) as caught:
        Level(handicap_index=-7.0, sex="x", driver_carry_yd=20.0, clubs=("spoon",))
    text = str(caught.value)
    assert len(caught.value.faults) == 4
    for word in ("handicap_index", "-7", "sex", "driver_carry_yd", "'spoon'"):
        assert word in text


def test_catalogue_carries_fall_within_each_kind():
    for kind in ("wood", "hybrid", "iron", "wedge"):
        clubs = [club for club in CATALOGUE if club.name.endswith(kind)]
        assert len(clubs) >= 4
        for ratio in ("ratio_fast", "ratio_slow"):
            values = [getattr(club, ratio) for club in clubs]
            assert values == sorted(values, reverse=True)


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("DRIVER", "driver"), ("big stick", "driver"), ("3 Wood", "3-wood"), ("w3", "3-wood"),
        ("three metal", "3-wood"), ("4h", "4-hybrid"), ("Hybrid 4", "4-hybrid"), ("4 rescue", "4-hybrid"),
        ("7i", "7-iron"), ("Seven Iron", "7-iron"), ("i7", "7-iron"), ("PW", "pitching wedge"),
        ("52", "gap wedge"), ("56°", "sand wedge"), ("60 deg", "lob wedge"), ("Putter", "putter"),
        ("gap wedge", "gap wedge"), ("10-iron", None), ("niblick", None), ("", None),
    ],
)  # fmt: skip
def test_nicknames(written, meant):
    assert club_name(written) == meant


@pytest.mark.parametrize(
    ("clubs", "found"),
    [
        (("driver",), "none shorter than the driver, 2"),
        (("driver", "3-wood", "putter"), "none shorter than the 3-wood"),
        (("putter",), "putter"),
    ],
)
def test_a_bag_that_leaves_most_distances_without_a_shot_is_refused(clubs, found):
    with pytest.raises(
        PlayerError, match=rf"level: clubs: found {found}.*; expected a club that carries 150"
    ):
        Level(handicap_index=5.0, clubs=clubs)


def test_without_a_wedge_the_distance_is_chosen_up_to_120_yards():
    player = Level(handicap_index=0.0, clubs=("driver", "7-iron", "9-iron")).player()
    assert max(shot.longest_yd for shot in player.short_game) == 120.0
    assert min(pattern.carry_yd for pattern in player.patterns) > 120.0


def test_tour_like_player_matches_published_figures():
    """Direction spread of tour drives 3.4 degrees, mean leave from 150 yards about 27 ft (Broadie, memory)."""
    player = tour_like()
    check_player(player)
    assert player.patterns[0].line_sd_deg == pytest.approx(3.4, abs=0.1)
    rng = np.random.default_rng(2)
    nine = next(p for p in player.patterns if p.club == "9-iron")
    mishit = rng.random(200_000) < nine.mishit
    carry = nine.carry_yd * np.where(
        mishit, nine.mishit_carry + nine.mishit_carry_sd * rng.standard_normal(200_000),
        1 + nine.carry_sd * rng.standard_normal(200_000),
    )  # fmt: skip
    side = carry * np.tan(
        np.deg2rad(np.where(mishit, nine.mishit_line_sd_deg, nine.line_sd_deg)) * rng.standard_normal(200_000)
    )
    leave_ft = 3 * np.hypot(carry - nine.carry_yd, side).mean()
    assert leave_ft == pytest.approx(27, abs=2.5)
