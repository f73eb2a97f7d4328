"""A plan made ready for a book to carry: what a golfer asks of each hole, as one record."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from caddiebrain.course import Setup
from caddiebrain.hole.ground import CODE
from caddiebrain.insight.book_arrivals import places_of
from caddiebrain.insight.book_choices import live_levels, rank_places, rank_tee
from caddiebrain.insight.book_map import distances_of, green_of, map_scale, wind_on
from caddiebrain.insight.book_records import (
    Bar,
    BookHole,
    BookRecord,
    CardLine,
    Cover,
    HoleScore,
    MissSide,
    SwitchLine,
)
from caddiebrain.insight.book_rests import Spreads, miss_side
from caddiebrain.insight.book_spots import next_shots, putting_lookups, spot_lookups
from caddiebrain.insight.book_tee import tee_shot
from caddiebrain.insight.book_worth import Ledger
from caddiebrain.insight.carry_miss import miss_side as miss_of_green
from caddiebrain.insight.records_carry import CarryCard, check_card
from caddiebrain.insight.stops import row_of, tee_stop, trouble_aside
from caddiebrain.insight.words_carry import miss_words
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.round.plan import RoundPlan, check_plan
from caddiebrain.terms import Lie

__all__ = ["book_of"]

_RARE = 0.002
"""Totals less likely than this, under both ways of playing, get no bar."""
_TICK = 5
"""Totals that are multiples of this get a number under their bar."""
_LEAST_BARS = 20
"""A distribution is never drawn with fewer, so that bars stay slender."""
_SCORES = (-1, 0, 1, 2, 3)
"""Scores told apart on a hole, strokes over par; the first and the last take in what lies beyond."""


def book_of(plan: RoundPlan, card: CarryCard | None = None) -> BookRecord:
    """Gather what a book says of a plan.

    Parameters
    ----------
    plan : RoundPlan
    card : CarryCard, optional
        As `caddiebrain.carry_card` makes it: its rules get a page.
    """
    check_plan(plan, "book")
    if card is not None:
        check_card(card, "book")
    spreads = Spreads()
    holes = tuple(_hole(plan, hole, spreads) for hole in plan.holes)
    return BookRecord(cover=_cover(plan), card=_card(holes), holes=holes, **_rules(card))


def _rules(card: CarryCard | None) -> dict[str, Any]:
    if card is None:
        return {}
    rules = tuple(rule.words for rule in card.rules)
    return {"rules": rules, "otherwise": card.otherwise, "rules_cost": card.sentence}


def _cover(plan: RoundPlan) -> Cover:
    chance, plain = plan.chance(), plan.chance_expected_policy()
    target, expected = plan.score_pmf("target"), plan.score_pmf("expected")
    size = max(len(target), len(expected))
    both = np.stack([np.pad(p, (0, size - len(p))) for p in (target, expected)])
    shown = np.flatnonzero((both > _RARE).any(axis=0))
    room = max(0, _LEAST_BARS - (int(shown[-1]) - int(shown[0]) + 1))
    first = max(0, int(shown[0]) - room // 2)
    totals = range(first, max(int(shown[-1]) + 1, first + _LEAST_BARS))
    both = np.pad(both, ((0, 0), (0, max(0, totals[-1] + 1 - size))))
    highest = float(both.max())
    bars = tuple(
        Bar(
            total=t,
            x=10.0 * (t - totals[0]) + 5.0,
            tick=t % _TICK == 0 and totals[0] < t < totals[-1],
            chance=float(both[0, t]),
            tall=100.0 * (float(both[0, t]) / highest),
            plain_tall=100.0 * (float(both[1, t]) / highest),
            within=t <= plan.target,
        )
        for t in totals
    )
    low, high = _middle(both[1])
    day, course = plan.conditions, plan.course
    return Cover(
        course=course.name,
        player=plan.player.name,
        par=course.par,
        length_yd=round(course.length_yd, 2),
        target=plan.target,
        chance=chance,
        chance_plain=plain,
        gain=max(0.0, chance - plain),
        expected_score=plan.expected_score,
        usual_low=low,
        usual_high=high,
        bars=bars,
        wide=10.0 * len(totals),
        target_x=10.0 * (plan.target + 1 - totals[0]),
        wind_mph=day.wind_mph,
        wind_from_deg=day.wind_from_deg,
        temperature_c=day.temperature_c,
        altitude_m=day.altitude_m,
        tees=plan.setup.tees,
        pin=_pin(plan.setup),
        few_shots=plan.record().few_shots,
    )


def _pin(setup: Setup) -> str | None:
    """Name the pin of the day; pins that differ from hole to hole have no one name."""
    if setup.pin is None or isinstance(setup.pin, str):
        return setup.pin
    return "by hole" if isinstance(setup.pin, dict) else "as placed"


def _middle(pmf: NDArray[np.float64]) -> tuple[int, int]:
    """First and last total of the middle two thirds of a distribution."""
    total = np.cumsum(pmf)
    return int(np.searchsorted(total, 1.0 / 6.0)), int(np.searchsorted(total, 5.0 / 6.0))


def _card(holes: tuple[BookHole, ...]) -> tuple[CardLine, ...]:
    return tuple(
        CardLine(
            number=hole.number,
            par=hole.par,
            length_yd=round(hole.length_yd, 2),
            stroke_index=hole.stroke_index,
            label=hole.tee.label,
            aim_words=hole.tee.aim_words,
            expected_score=hole.expected_score,
            pace=hole.pace,
        )
        for hole in holes
    )


def _hole(plan: RoundPlan, hole: HolePlan, spreads: Spreads) -> BookHole:
    places = places_of(hole)
    ledger = Ledger.of(hole, live_levels(hole))
    ranked = rank_places(hole, places, ledger) if places else None
    tee = rank_tee(hole, ledger)
    first = hole is plan.holes[0]
    switches = hole.switches
    longest = max((s.reach_yd for s in hole.compiler.arsenal.full[CODE[Lie.TEE]]), default=0.0)
    scale, letters = map_scale(hole.hole), distances_of(hole.hole, longest)
    green = green_of(hole.hole)
    usual = tee_shot(hole, hole.tee_choice, scale, letters)
    unlike = [s.option for s in switches if s.option.label != usual.label]
    lookups = spot_lookups(hole, places, (tee, ranked), ledger, spreads)
    return BookHole(
        number=hole.number,
        name=hole.hole.name,
        par=hole.par,
        length_yd=round(hole.length_yd, 2),
        stroke_index=hole.stroke_index,
        level_left=hole.level_left,
        first=first,
        expected_score=hole.expected_score,
        double_bogey_or_worse=min(1.0, max(0.0, hole.double_bogey_or_worse)),
        scores=_scores(hole),
        tee=usual,
        other=tee_shot(hole, unlike[0], scale, letters) if unlike else None,
        miss=_miss(hole, ledger, spreads),
        switches=tuple(
            SwitchLine(
                from_standing=s.from_standing,
                to_standing=s.to_standing,
                label=s.option.label,
                aim_words=s.option.aim_words,
            )
            for s in switches
        ),
        distances=letters,
        after=next_shots(hole, places, ranked, spreads),
        pace=_pace(plan, hole),
        wind=wind_on(hole.hole, plan.conditions),
        north_deg=-hole.hole.bearing_deg % 360.0,
        map=scale,
        green=green,
        green_miss="" if green is None else miss_words(miss_of_green(hole)),
        spots=(*lookups, *putting_lookups(hole, ledger)),
    )


def _miss(hole: HolePlan, ledger: Ledger, spreads: Spreads) -> MissSide | None:
    """What wide balls of the tee shot cost, and what is on the cheaper side all the same."""
    row = row_of(hole, hole.tee_choice)
    miss = miss_side(hole.compiler, row, ledger, spreads)
    if miss is None or not miss.better:
        return miss
    there = trouble_aside(hole.compiler, tee_stop(hole.compiler, row), miss.better)
    return miss.model_copy(update={"there": there})


def _scores(hole: HolePlan) -> tuple[HoleScore, ...]:
    """Chances of birdie or better, par, bogey, double bogey, and worse."""
    pmf = hole.score_pmf
    low, high = _SCORES[0], _SCORES[-1]
    over = np.clip(np.arange(len(pmf)) - hole.par, low, high)
    chance = {score: float(pmf[over == score].sum()) for score in _SCORES}
    highest = max(chance.values())
    return tuple(
        HoleScore(
            over_par=score,
            chance=chance[score],
            tall=100.0 * (chance[score] / highest),
            or_worse=score == high,
            or_better=score == low,
        )
        for score in _SCORES
    )


def _pace(plan: RoundPlan, hole: HolePlan) -> int | None:
    """Worst standing on the tee from which the target is at least as likely as it was at the start."""
    start = plan.chance()
    if not 1e-6 < start < 1.0 - 1e-6:
        return None
    standings = np.arange(-40, 60)
    ahead = hole.chances.start.at(hole.level_left - standings) >= start - 1e-9
    return int(standings[ahead].max()) if ahead.any() else None
