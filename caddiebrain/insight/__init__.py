"""Reasons, reviews and practice: what a finished plan can be asked."""

from caddiebrain.insight.bag import BagChoice, ClubWorth, choose_bag
from caddiebrain.insight.breakeven import break_evens
from caddiebrain.insight.carry import carry_card, price_card
from caddiebrain.insight.compare import compare
from caddiebrain.insight.disasters import (
    DisasterFrontier,
    DisasterLimit,
    RoundDisasterLimit,
    disaster_frontier,
    limit_disasters,
    limit_disasters_of_round,
)
from caddiebrain.insight.hours import HoursSplit, LearningCurve, split_hours
from caddiebrain.insight.played import load_played_round
from caddiebrain.insight.practice import PracticeReport, Priority, practice_priorities
from caddiebrain.insight.press import press
from caddiebrain.insight.records_breakeven import BreakEven, BreakEvens
from caddiebrain.insight.records_carry import (
    CardHoleLine,
    CarryCard,
    CarryRule,
    Play,
    PlayKind,
    Side,
    Situation,
    TeeLine,
)
from caddiebrain.insight.records_compare import Comparison
from caddiebrain.insight.records_press import Press
from caddiebrain.insight.records_review import PlayedHole, PlayedRound, PlayedShot, RoundReview
from caddiebrain.insight.review import review

__all__ = [
    "BagChoice",
    "BreakEven",
    "BreakEvens",
    "CardHoleLine",
    "CarryCard",
    "CarryRule",
    "ClubWorth",
    "Comparison",
    "DisasterFrontier",
    "DisasterLimit",
    "HoursSplit",
    "LearningCurve",
    "Play",
    "PlayKind",
    "PlayedHole",
    "PlayedRound",
    "PlayedShot",
    "PracticeReport",
    "Press",
    "Priority",
    "RoundDisasterLimit",
    "RoundReview",
    "Side",
    "Situation",
    "TeeLine",
    "break_evens",
    "carry_card",
    "choose_bag",
    "compare",
    "disaster_frontier",
    "limit_disasters",
    "limit_disasters_of_round",
    "load_played_round",
    "practice_priorities",
    "press",
    "price_card",
    "review",
    "split_hours",
]
