"""Which lie holds where areas of a map overlap."""

from caddiebrain.terms import Lie

__all__ = ["PRECEDENCE"]

PRECEDENCE: tuple[Lie, ...] = (
    Lie.OUT,
    Lie.SAND,
    Lie.GREEN,
    Lie.YELLOW,
    Lie.RED,
    Lie.TEE,
    Lie.TIGHT,
    Lie.FAIRWAY,
    Lie.TREES,
    Lie.THICK,
    Lie.ROUGH,
)
"""First match holds. Maps draw a bunker over a green's edge and a fairway through a wood, not the reverse."""
