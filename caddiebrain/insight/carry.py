"""A plan a person can carry: about a dozen rules and a line for each hole, and what so little costs.

A rule is part of a policy that any golfer can apply: a lie, a band of distances, an instruction. The rules are
chosen by an integer program over what each saves (``carry_program``), in turns with the lines of the holes
(``carry_choose``). The card so made is a policy like any other, one choice in every state of every hole, and its
score and its chance of the target are worked out exactly, as the plan's are.
"""

from collections.abc import Sequence
from contextlib import closing
from dataclasses import replace

import numpy as np

from caddiebrain.errors import InputError, number_faults
from caddiebrain.hole.ground import CODE, LIES
from caddiebrain.insight.carry_catalogue import plays_for
from caddiebrain.insight.carry_cells import area_of_rule
from caddiebrain.insight.carry_choose import Card, CardMaker
from caddiebrain.insight.carry_hole import CLOSE_YD, CardHole, HoleSetting, Played, card_hole
from caddiebrain.insight.carry_miss import miss_side
from caddiebrain.insight.carry_tees import TeeSwitch, chance_of, tee_pmfs, tee_switches
from caddiebrain.insight.records_carry import (
    CardHoleLine,
    CardStep,
    CarryCard,
    CarryRule,
    Play,
    PlayKind,
    TeeLine,
    check_card,
)
from caddiebrain.insight.stops import tee_stop
from caddiebrain.insight.words_carry import card_sentence, line_words, miss_words, otherwise_words, rule_words
from caddiebrain.round import RoundPlan
from caddiebrain.round.helpers import processes_for, shared
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.round.options import Option, describe
from caddiebrain.round.plan import check_plan
from caddiebrain.terms import Lie

__all__ = ["carry_card", "price_card"]

_MOST_RULES = 40


def carry_card(plan: RoundPlan, rules: int = 12, *, workers: int | None = None) -> CarryCard:
    """Compress a plan into a few rules and one line for each hole.

    Parameters
    ----------
    plan : RoundPlan
    rules : int
        Most rules, 0 to 40; fewer where more would save less than a two-hundredth of a stroke.
    workers : int, optional
        Processes that compile holes, this one and helpers; by default one for each processor, at most 4. The card does
        not depend on it.

    Returns
    -------
    CarryCard
        With its exact expected score and chance of the target, and those of the plan.

    Raises
    ------
    InputError
        If the number of rules is not 0 to 40.
    """
    faults = number_faults("rules", rules, 0, _MOST_RULES, f"a whole number, 0 to {_MOST_RULES}", whole=True)
    if faults:
        raise InputError("carry_card", faults)
    check_plan(plan, "carry_card")
    plays = plays_for(plan.player)
    maker = _maker(plan, plays, workers)
    cards, status = maker.make(int(rules))
    card, played = cards[-1], maker.played(cards[-1])
    pmfs = [
        tee_pmfs(hole, one, setting)
        for hole, one, setting in zip(maker.holes, played, card.settings, strict=True)
    ]
    switches, chance, plain = tee_switches(pmfs, plan.target)
    steps = tuple(CardStep(rules=i, expected=c.total) for i, c in enumerate(cards))
    return _record(plan, maker, card, played, switches, (chance, plain), steps, str(status))


def price_card(plan: RoundPlan, card: CarryCard, *, workers: int | None = None) -> CarryCard:
    """Work out what a card costs under a plan: one changed by hand, or made for another day or player.

    Parameters
    ----------
    plan : RoundPlan
    card : CarryCard
        Its rules, tee shots, standings and layup numbers are taken; everything else is worked out anew.
    workers : int, optional
        As for `carry_card`.

    Raises
    ------
    InputError
        If the card names a hole, a tee shot or a distance that the plan does not have, or two rules overlap.
    """
    _check_holes(plan, card)
    plays = _plays_of(card)
    maker = _maker(plan, plays, workers)
    rules = tuple(sorted((area_of_rule(r), plays.index(r.play)) for r in card.rules))
    _check_rules(maker, rules)
    settings = tuple(
        HoleSetting(_tee_of(hole, line.tee), line.side, line.layup_yd)
        for hole, line in zip(maker.holes, card.holes, strict=True)
    )
    priced = maker.valued(rules, settings)
    played = maker.played(priced)
    switches = [_switch_of(hole, line) for hole, line in zip(maker.holes, card.holes, strict=True)]
    pmfs = []
    for hole, one, setting, switch in zip(maker.holes, played, settings, switches, strict=True):
        tees = [setting.tee] if switch is None else [setting.tee, switch.tee]
        pmfs.append({tee: hole.pmf(one, tee) for tee in tees})
    none: list[TeeSwitch | None] = [None] * len(pmfs)
    chances = chance_of(pmfs, switches, plan.target), chance_of(pmfs, none, plan.target)
    return _record(plan, maker, priced, played, switches, chances, (), "priced")


def _maker(plan: RoundPlan, plays: tuple[Play, ...], workers: int | None) -> CardMaker:
    processes = processes_for(workers, len(plan.holes))
    with closing(shared(_compiled, [(hole, plays) for hole in plan.holes], processes)) as found:
        # What comes from a helper has a copy of the plan's hole in it: the plan's own will do.
        holes = tuple(
            replace(card, plan=hole, model=replace(card.model, compiler=hole.compiler))
            for hole, card in zip(plan.holes, found, strict=True)
        )
    return CardMaker(holes, plays)


def _compiled(task: tuple[HolePlan, tuple[Play, ...]]) -> CardHole:
    return card_hole(*task)


def _record(
    plan: RoundPlan,
    maker: CardMaker,
    card: Card,
    played: Sequence[Played],
    switches: Sequence[TeeSwitch | None],
    chances: tuple[float, float],
    steps: tuple[CardStep, ...],
    status: str,
) -> CarryCard:
    lines = tuple(
        _line(hole, one, setting, switch)
        for hole, one, setting, switch in zip(maker.holes, played, card.settings, switches, strict=True)
    )
    chance, plan_chance = min(1.0, chances[0]), min(1.0, max(0.0, plan.chance()))
    return CarryCard(
        course=plan.course.name,
        player=plan.player.name,
        target=plan.target,
        rules=_rules(maker, card),
        otherwise=otherwise_words(CLOSE_YD),
        holes=lines,
        expected=card.total,
        plan_expected=plan.expected_score,
        chance=chance,
        plan_chance=plan_chance,
        chance_one_tee=min(1.0, chances[1]),
        by_rules=steps or (CardStep(rules=len(card.rules), expected=card.total),),
        status=status,
        sentence=card_sentence(
            len(card.rules), card.total, plan.expected_score, plan.target, (chance, plan_chance)
        ),
    )


def _rules(maker: CardMaker, card: Card) -> tuple[CarryRule, ...]:
    found = []
    for (area, play), (times, saves) in zip(card.rules, maker.savings(card), strict=True):
        where, what = maker.areas[area], maker.plays[play]
        words = rule_words(where.situations, where.at_least, where.below, what)
        found.append(
            CarryRule(
                situations=where.situations,
                at_least=where.at_least,
                below=where.below,
                play=what,
                words=words,
                times=times,
                saves=saves,
            )
        )
    return tuple(found)


def _line(hole: CardHole, played: Played, setting: HoleSetting, switch: TeeSwitch | None) -> CardHoleLine:
    plan = hole.plan
    pmf = hole.pmf(played, setting.tee)
    tee = _tee_line(hole, setting.tee)
    instead = None if switch is None else _tee_line(hole, switch.tee)
    first = None if switch is None or switch.most is None else plan.level_left - switch.most
    last = None if switch is None or switch.least is None else plan.level_left - switch.least
    miss, then = miss_side(plan), _then(hole, played, setting)
    return CardHoleLine(
        number=plan.number,
        par=plan.par,
        length_yd=round(plan.length_yd, 2),
        tee=tee,
        instead=instead,
        from_standing=first,
        to_standing=last,
        leaves_yd=then[0],
        then=then[1],
        layup_yd=setting.layup,
        side=setting.side,
        miss=miss_words(miss),
        miss_saves=miss.saves,
        words=line_words(tee, instead, (first, last), then, setting.layup, setting.side, miss),
        expected=played.expected,
        plan_expected=plan.expected_score,
        double_bogey_or_worse=float(np.clip(1.0 - pmf[: plan.par + 2].sum(), 0.0, 1.0)),
    )


def _then(hole: CardHole, played: Played, setting: HoleSetting) -> tuple[float | None, str]:
    """What a good tee shot leaves, and what the card says from there."""
    if hole.plan.par == 3:
        return None, ""
    compiler = hole.plan.compiler
    places, table = compiler.places, hole.model.table
    stop = tee_stop(compiler, hole.tee_table.take(np.array([setting.tee])))
    x, y = stop.at
    grass = np.flatnonzero(np.isin(places.lie, [CODE[Lie.FAIRWAY], CODE[Lie.TIGHT]]))
    grass = grass if grass.size else np.arange(1, len(places.x))
    node = int(grass[np.argmin(np.hypot(places.x[grass] - x, places.y[grass] - y))])
    choice = played.policy[hole.small.state(hole.model.numbering.node + node)]
    row = int(hole.small.choices[choice]) - hole.model.first_choice
    place = (float(places.x[node]), float(places.y[node]), LIES[places.lie[node]])
    (option,) = describe(compiler, table.take(np.array([row])), place)
    left = stop.leaves_yd
    if option.aim.reference == "pin":
        return left, f"{option.label.partition(' to ')[0]} for the green"
    onward = "down the middle" if setting.layup is None else f"to leave {setting.layup:g}"
    return left, f"{option.label} {onward}"


def _tee_line(hole: CardHole, tee: int) -> TeeLine:
    option = _described(hole, tee)
    return TeeLine(
        label=option.label, aim_words=option.aim_words, aim_deg=option.aim_deg, carry_yd=option.carry_yd
    )


def _described(hole: CardHole, tee: int) -> Option:
    place = (*hole.plan.hole.tee, Lie.TEE)
    (option,) = describe(hole.plan.compiler, hole.tee_table.take(np.array([tee])), place)
    return option


# -- a card read back -------------------------------------------------------------------------------------


def _check_holes(plan: RoundPlan, card: CarryCard) -> None:
    check_plan(plan, "price_card")
    check_card(card, "price_card")
    have, given = [h.number for h in plan.holes], [line.number for line in card.holes]
    if have != given:
        raise InputError.one("price_card", "holes", ", ".join(map(str, given)), ", ".join(map(str, have)))


def _plays_of(card: CarryCard) -> tuple[Play, ...]:
    """Everything the card says, and what goes without saying."""
    layups = {line.layup_yd for line in card.holes if line.layup_yd is not None}
    usual = (PlayKind.MIDDLE, PlayKind.PIN)
    said = [
        *(Play(kind=kind) for kind in usual),
        *(Play(kind=PlayKind.LEAVE, value=yards) for yards in sorted(layups)),
        *(rule.play for rule in card.rules),
    ]
    return tuple(dict.fromkeys(said))


def _check_rules(maker: CardMaker, rules: tuple[tuple[int, int], ...]) -> None:
    taken: set[int] = set()
    for area, play in rules:
        cells = set(maker.areas[area].cells)
        if taken & cells:
            where = maker.areas[area]
            found = rule_words(where.situations, where.at_least, where.below, maker.plays[play])
            raise InputError.one("price_card", "rules", found, "rules that do not overlap")
        taken |= cells


def _tee_of(hole: CardHole, line: TeeLine) -> int:
    """Tee choice with a label, nearest to an aim.

    Raises
    ------
    InputError
        If no tee shot of the hole has the label.
    """
    lines = [_tee_line(hole, i) for i in range(len(hole.tee_choices))]
    same = [i for i, one in enumerate(lines) if one.label == line.label]
    if not same:
        there = ", ".join(dict.fromkeys(one.label for one in lines))
        raise InputError.one(f"hole {hole.plan.number}", "tee", line.label, there)
    return min(same, key=lambda i: abs(lines[i].aim_deg - line.aim_deg))


def _switch_of(hole: CardHole, line: CardHoleLine) -> TeeSwitch | None:
    if line.instead is None:
        return None
    level = hole.plan.level_left
    least = None if line.to_standing is None else level - line.to_standing
    most = None if line.from_standing is None else level - line.from_standing
    return TeeSwitch(_tee_of(hole, line.instead), least, most)
