"""Shots a player has no pattern for, derived from the stock shot of the same club.

A derived shot is less practised: its spreads are a quarter wider and its mishits 3 in 100 more. What shape and
height do to carry, apex, descent, rollout and curve is common practice, no source: a draw flies a little lower and
runs on, a fade climbs and sits, a low shot keeps nine tenths of its carry under half the height.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from caddiebrain.player.model import Player
from caddiebrain.player.patterns import ShotPattern
from caddiebrain.terms import Height, Shape

__all__ = ["LESS_PRACTISED_MISHIT", "LESS_PRACTISED_SPREAD", "club_lengths", "derive", "with_derived_shots"]

LESS_PRACTISED_SPREAD = 1.25
LESS_PRACTISED_MISHIT = 0.03
_BENDING_SHARE = 0.55
"""Draws and fades are derived for clubs that carry at least this share of the longest: all but the wedges, whose loft
puts so much backspin on a ball that it hardly bends (common practice, no source)."""
_LOW_SHARES, _HIGH_SHARES = (0.5, 0.8), (0.4, 0.7)
"""Low and high shots are derived for every second club between these shares: neighbours would differ little."""


@dataclass(frozen=True)
class _Change:
    """Factors on a stock shot, degrees added to its descent, and its curve as a share of the carry."""

    carry: float = 1.0
    apex: float = 1.0
    descent_deg: float = 0.0
    rollout: float = 1.0
    curve: float = 0.0


_SHAPES = {
    Shape.STRAIGHT: _Change(),
    Shape.DRAW: _Change(carry=1.0, apex=0.92, descent_deg=-2.0, rollout=1.25, curve=-0.055),
    Shape.FADE: _Change(carry=0.97, apex=1.05, descent_deg=2.0, rollout=0.8, curve=0.055),
}
_HEIGHTS = {
    Height.STOCK: _Change(),
    Height.LOW: _Change(carry=0.90, apex=0.45, descent_deg=-13.0, rollout=1.7),
    Height.HIGH: _Change(carry=0.96, apex=1.25, descent_deg=6.0, rollout=0.6),
}


def derive(stock: ShotPattern, shape: Shape = Shape.STRAIGHT, height: Height = Height.STOCK) -> ShotPattern:
    """Work out a shot from the player's stock shot with the same club.

    Parameters
    ----------
    stock : ShotPattern
        Straight, of stock height.
    shape, height : Shape, Height
        The shot wanted; at least one other than the stock's.

    Returns
    -------
    ShotPattern
        Marked ``derived``; on record it has no shots.
    """
    bend, flight = _SHAPES[shape], _HEIGHTS[height]
    carry = stock.carry_yd * bend.carry * flight.carry
    return ShotPattern.model_validate(
        stock.model_dump()
        | {
            "shape": shape,
            "height": height,
            "carry_yd": max(20.0, carry),
            "carry_sd": min(0.5, stock.carry_sd * LESS_PRACTISED_SPREAD),
            "line_sd_deg": min(30.0, stock.line_sd_deg * LESS_PRACTISED_SPREAD),
            "mishit": min(0.6, stock.mishit + LESS_PRACTISED_MISHIT),
            "apex_yd": stock.apex_yd * bend.apex * flight.apex,
            "descent_deg": min(75.0, max(12.0, stock.descent_deg + bend.descent_deg + flight.descent_deg)),
            "rollout_yd": stock.rollout_yd * bend.rollout * flight.rollout,
            "curve_yd": bend.curve * carry,
            "derived": True,
            "shots": 0.0,
        }
    )


def club_lengths(patterns: Sequence[ShotPattern]) -> dict[str, float]:
    """How long each club is, yards: the carry of its stock shot, else of its first."""
    lengths: dict[str, float] = {}
    for pattern in patterns:
        lengths.setdefault(pattern.club, pattern.carry_yd)
        if pattern.shape is Shape.STRAIGHT and pattern.height is Height.STOCK:
            lengths[pattern.club] = pattern.carry_yd
    return lengths


def with_derived_shots(player: Player) -> Player:
    """Give a player the shapes and heights the file lacks: draws and fades of all but wedges, low and high shots.

    The player's own patterns come first and are left as they are.
    """
    have = {(p.club, p.shape, p.height) for p in player.patterns}
    stock = [p for p in player.patterns if p.shape is Shape.STRAIGHT and p.height is Height.STOCK]
    longest = max((p.carry_yd for p in stock), default=0.0)
    ordered = sorted((p for p in stock if not p.tee_only), key=lambda p: (-p.carry_yd, p.club))
    low, high = (
        [p for p in ordered if shares[0] * longest <= p.carry_yd <= shares[1] * longest][::2]
        for shares in (_LOW_SHARES, _HIGH_SHARES)
    )
    bending = [p for p in stock if p.carry_yd >= _BENDING_SHARE * longest]
    kinds = [
        *((p, Shape.STRAIGHT, Height.LOW) for p in low),
        *((p, Shape.STRAIGHT, Height.HIGH) for p in high),
        *((p, shape, Height.STOCK) for p in bending for shape in (Shape.DRAW, Shape.FADE)),
    ]
    wanted = [derive(p, s, h) for p, s, h in kinds if (p.club, s, h) not in have]
    # A posterior speaks of the player's own patterns only, so it stays behind.
    return player.model_copy(update={"patterns": (*player.patterns, *wanted), "posterior": None})
