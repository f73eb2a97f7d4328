"""Reasons, reviews and practice: what a finished plan can be asked."""

from caddiebrain.insight.breakeven import break_evens
from caddiebrain.insight.compare import compare
from caddiebrain.insight.played import load_played_round
from caddiebrain.insight.press import press
from caddiebrain.insight.records_breakeven import BreakEven, BreakEvens
from caddiebrain.insight.records_compare import Comparison
from caddiebrain.insight.records_press import Press
from caddiebrain.insight.records_review import PlayedHole, PlayedRound, PlayedShot, RoundReview
from caddiebrain.insight.review import review

__all__ = [
    "BreakEven",
    "BreakEvens",
    "Comparison",
    "PlayedHole",
    "PlayedRound",
    "PlayedShot",
    "Press",
    "RoundReview",
    "break_evens",
    "compare",
    "load_played_round",
    "press",
    "review",
]
