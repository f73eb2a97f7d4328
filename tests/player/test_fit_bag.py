"""Which clubs and shapes a fitted player has: those on record, or those that were named."""

import pytest
from player_notebook import LEVEL, pattern

from caddiebrain.errors import RecordsError
from caddiebrain.player import Level, fit_player, load_player, save_player, update_player


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
