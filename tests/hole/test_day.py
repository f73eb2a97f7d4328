"""What the day's set-up does to a player: rough, preferred lies, green speed, shapes."""

import pytest

from caddiebrain.course import Setup
from caddiebrain.hole import player_today
from caddiebrain.player.model import LieEffect
from caddiebrain.terms import Lie


def effects(player, lie):
    effect = player.lies.get(lie, LieEffect())
    ramps = (effect.carry, effect.spread, effect.mishit, effect.rollout)
    return [end for ramp in ramps for end in (ramp.short, ramp.long)]


def halfway(one, other):
    return [pytest.approx(0.5 * (a + b)) for a, b in zip(one, other, strict=True)]


def test_the_usual_day_changes_no_lie_and_no_putt(demo_player):
    today = player_today(demo_player, Setup())
    assert today.lies == demo_player.lies
    assert today.putting == demo_player.putting


def test_short_rough_is_halfway_to_fairway(demo_player):
    today = player_today(demo_player, Setup(rough="short"))
    assert effects(today, Lie.ROUGH) == halfway(
        effects(demo_player, Lie.ROUGH), effects(demo_player, Lie.FAIRWAY)
    )
    assert effects(today, Lie.ROUGH) != effects(demo_player, Lie.ROUGH)
    assert effects(today, Lie.THICK) == effects(demo_player, Lie.THICK)


def test_long_rough_is_halfway_to_thick(demo_player):
    today = player_today(demo_player, Setup(rough="long"))
    assert effects(today, Lie.ROUGH) == halfway(
        effects(demo_player, Lie.ROUGH), effects(demo_player, Lie.THICK)
    )
    assert effects(today, Lie.ROUGH) != effects(demo_player, Lie.ROUGH)


def test_rough_without_figures_of_its_own_starts_from_a_perfect_lie(demo_player):
    lies = {k: v for k, v in demo_player.lies.items() if k is not Lie.ROUGH}
    bare = demo_player.model_copy(update={"lies": lies})
    today = player_today(bare, Setup(rough="long"))
    perfect = [1.0, 1.0, 1.0, 1.0, 0.0, 0.0, 1.0, 1.0]
    assert effects(today, Lie.ROUGH) == halfway(perfect, effects(demo_player, Lie.THICK))


def test_with_preferred_lies_the_fairway_is_a_perfect_lie(demo_player):
    poor = demo_player.lies | {Lie.FAIRWAY: demo_player.lies[Lie.ROUGH]}
    player = demo_player.model_copy(update={"lies": poor})
    assert effects(player_today(player, Setup()), Lie.FAIRWAY) == effects(demo_player, Lie.ROUGH)
    assert player_today(player, Setup(preferred_lies=True)).lies[Lie.FAIRWAY] == LieEffect()


@pytest.mark.parametrize(("feet", "factor"), [(6.5, 0.91), (9.5, 1.0), (12.5, 1.09)])
def test_pace_errors_grow_by_three_in_a_hundred_for_each_foot_of_speed(demo_player, feet, factor):
    today = player_today(demo_player, Setup(green_speed_ft=feet)).putting
    assert today.pace_sd == pytest.approx(factor * demo_player.putting.pace_sd)
    assert today.aim_sd_deg == demo_player.putting.aim_sd_deg


def test_the_player_gets_the_shots_the_file_lacks(demo_player):
    today = player_today(demo_player, Setup())
    assert today.patterns[: len(demo_player.patterns)] == demo_player.patterns
    assert any(p.derived for p in today.patterns)
