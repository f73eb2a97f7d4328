"""Shots derived from stock shots: the stated changes, the stated penalty, and nothing done to the player's own."""

import pytest

from caddiebrain.player import Level
from caddiebrain.player.model import Player
from caddiebrain.player.shapes import (
    LESS_PRACTISED_MISHIT,
    LESS_PRACTISED_SPREAD,
    club_lengths,
    derive,
    with_derived_shots,
)
from caddiebrain.terms import Height, Shape


@pytest.fixture(scope="module")
def stock(demo_player):
    return next(p for p in demo_player.patterns if p.club == "3-wood" and p.shape is Shape.STRAIGHT)


@pytest.fixture(scope="module")
def derived(demo_player):
    return [p for p in with_derived_shots(demo_player).patterns if p.derived]


@pytest.mark.parametrize(
    ("shape", "height"),
    [(s, h) for s in Shape for h in Height if (s, h) != (Shape.STRAIGHT, Height.STOCK)],
)
def test_a_derived_shot_is_a_quarter_wider_with_three_more_mishits_in_a_hundred(stock, shape, height):
    shot = derive(stock, shape, height)
    assert (LESS_PRACTISED_SPREAD, LESS_PRACTISED_MISHIT) == (1.25, 0.03)
    assert shot.carry_sd == pytest.approx(1.25 * stock.carry_sd)
    assert shot.line_sd_deg == pytest.approx(1.25 * stock.line_sd_deg)
    assert shot.mishit == pytest.approx(stock.mishit + 0.03)
    assert shot.derived
    assert shot.shots == 0.0
    assert (shot.club, shot.shape, shot.height) == (stock.club, shape, height)


def test_shapes_and_heights_change_the_flight_as_stated(stock):
    # Common practice, no source: the figures of the page on conditions.
    draw, fade = derive(stock, Shape.DRAW), derive(stock, Shape.FADE)
    low, high = derive(stock, height=Height.LOW), derive(stock, height=Height.HIGH)
    assert [s.carry_yd / stock.carry_yd for s in (draw, fade, low, high)] == pytest.approx(
        [1.0, 0.97, 0.90, 0.96]
    )
    assert [s.apex_yd / stock.apex_yd for s in (draw, fade, low, high)] == pytest.approx(
        [0.92, 1.05, 0.45, 1.25]
    )
    assert [s.rollout_yd / stock.rollout_yd for s in (draw, fade, low, high)] == pytest.approx(
        [1.25, 0.8, 1.7, 0.6]
    )
    assert [s.descent_deg - stock.descent_deg for s in (draw, fade, low, high)] == pytest.approx(
        [-2.0, 2.0, -13.0, 6.0]
    )
    assert [s.curve_yd / s.carry_yd for s in (draw, fade, low, high)] == pytest.approx(
        [-0.055, 0.055, 0.0, 0.0]
    )


def test_a_low_draw_is_both(stock):
    both = derive(stock, Shape.DRAW, Height.LOW)
    assert both.carry_yd == pytest.approx(0.9 * stock.carry_yd)
    assert both.apex_yd == pytest.approx(0.92 * 0.45 * stock.apex_yd)
    assert both.curve_yd == pytest.approx(-0.055 * both.carry_yd)


def test_limits_hold_for_the_wildest_player(stock):
    wild = stock.model_copy(
        update={"carry_sd": 0.45, "line_sd_deg": 28.0, "mishit": 0.59, "descent_deg": 14.0, "carry_yd": 21.0}
    )
    low = derive(wild, height=Height.LOW)
    assert (low.carry_sd, low.line_sd_deg, low.mishit) == (0.5, 30.0, 0.6)
    assert (low.descent_deg, low.carry_yd) == (12.0, 20.0)


def test_the_players_own_patterns_come_first_and_untouched(demo_player):
    more = with_derived_shots(demo_player)
    assert more.patterns[: len(demo_player.patterns)] == demo_player.patterns
    assert not any(p.derived for p in demo_player.patterns)
    # The posterior is of the player's own patterns only.
    assert more.posterior is None
    assert more.putting == demo_player.putting


def test_nothing_the_player_has_is_derived(demo_player, derived):
    own = {(p.club, p.shape, p.height) for p in demo_player.patterns}
    assert ("4-hybrid", Shape.DRAW, Height.STOCK) in own
    assert own.isdisjoint({(p.club, p.shape, p.height) for p in derived})
    assert any(p.club == "4-hybrid" and p.shape is Shape.FADE for p in derived)


def test_a_driver_for_the_tee_alone_is_shaped_but_not_hit_low_or_high(demo_player, derived):
    (driver,) = (p for p in demo_player.patterns if p.tee_only and p.shape is Shape.STRAIGHT)
    kinds = {(p.shape, p.height) for p in derived if p.club == driver.club}
    assert kinds == {(Shape.DRAW, Height.STOCK), (Shape.FADE, Height.STOCK)}
    assert all(p.tee_only for p in derived if p.club == driver.club)


def test_every_club_but_a_wedge_is_bent_both_ways(demo_player, derived):
    shots = {(p.club, p.shape) for p in (*demo_player.patterns, *derived) if p.height is Height.STOCK}
    wedges = {c for c in demo_player.clubs if "wedge" in c}
    for club in demo_player.clubs:
        bent = {shape for shape in (Shape.DRAW, Shape.FADE) if (club, shape) in shots}
        assert len(bent) == (0 if club in wedges else 2)
    assert len(wedges) == 4


@pytest.mark.parametrize("index", [0, 12, 28])
def test_no_level_bends_its_wedges(index):
    player = with_derived_shots(Level(handicap_index=index).player())
    bent = {p.club for p in player.patterns if p.shape is not Shape.STRAIGHT}
    assert bent == {c for c in player.clubs if "wedge" not in c}


def test_low_and_high_shots_are_for_clubs_in_the_middle(demo_player, derived):
    longest = max(p.carry_yd for p in demo_player.patterns if p.shape is Shape.STRAIGHT)
    stock = {
        p.club: p.carry_yd / longest
        for p in demo_player.patterns
        if (p.shape, p.height) == (Shape.STRAIGHT, Height.STOCK)
    }
    for shot in derived:
        least, most = {Height.STOCK: (0.55, 1.0), Height.LOW: (0.5, 0.8), Height.HIGH: (0.4, 0.7)}[
            shot.height
        ]
        assert least <= stock[shot.club] <= most
    assert {p.height for p in derived} == set(Height)


def test_deriving_twice_adds_nothing(demo_player):
    once = with_derived_shots(demo_player)
    assert with_derived_shots(once).patterns == once.patterns


def test_a_player_without_stock_shots_gets_none(demo_player):
    draw = demo_player.patterns[0].model_copy(update={"shape": Shape.DRAW})
    only: Player = demo_player.model_copy(update={"patterns": (draw,)})
    assert with_derived_shots(only).patterns == (draw,)


def test_a_club_is_as_long_as_its_stock_shot_wherever_that_stands(stock):
    draw, fade = (
        derive(stock, shape).model_copy(update={"derived": False}) for shape in (Shape.DRAW, Shape.FADE)
    )
    assert club_lengths((fade, stock, draw)) == {"3-wood": stock.carry_yd}
    assert club_lengths((fade, draw)) == {"3-wood": fade.carry_yd}
