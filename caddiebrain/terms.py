"""The words the whole house shares: lies, shapes and heights of a shot. Imports nothing of ours."""

from enum import StrEnum

__all__ = ["Height", "Lie", "Shape"]


class Lie(StrEnum):
    """Where a ball can be played from, or where it can come to rest."""

    TEE = "tee"
    FAIRWAY = "fairway"
    TIGHT = "tight"
    ROUGH = "rough"
    THICK = "thick"
    SAND = "sand"
    TREES = "trees"
    GREEN = "green"
    YELLOW = "yellow"
    """Yellow penalty area (Rule 17)."""
    RED = "red"
    """Red penalty area (Rule 17)."""
    OUT = "out"
    """Out of bounds (Rule 18.2)."""


class Shape(StrEnum):
    """Curve of a shot, named for a right-handed player; a left-hander's draw is entered as a fade."""

    STRAIGHT = "straight"
    DRAW = "draw"
    FADE = "fade"


class Height(StrEnum):
    """Flight height of a shot."""

    LOW = "low"
    STOCK = "stock"
    HIGH = "high"
