"""A plan on a card: its numbers against simulation and a linear system, its rules against all sets there are."""

from itertools import combinations

import numpy as np
import pytest
from shapely import Point, box

import caddiebrain as cb
from caddiebrain import solve
from caddiebrain.course.model import Area, Hole
from caddiebrain.errors import InputError
from caddiebrain.flight import Conditions
from caddiebrain.hole import GridSpec, HoleCompiler, Kind
from caddiebrain.hole.ground import CODE
from caddiebrain.insight import CarryCard, Play, PlayKind, Side, Situation
from caddiebrain.insight.carry_catalogue import allowed, plays_for
from caddiebrain.insight.carry_cells import CELLS, areas
from caddiebrain.insight.carry_choose import CardMaker
from caddiebrain.insight.carry_hole import CardHole, HoleSetting, card_hole
from caddiebrain.insight.carry_plays import Strokes, stock_swings
from caddiebrain.insight.carry_program import pick_rules
from caddiebrain.insight.carry_tees import TeeSwitch, chance_of, tee_switches
from caddiebrain.insight.carry_ways import middle_line
from caddiebrain.round.day import day_flight
from caddiebrain.terms import Lie


@pytest.fixture(scope="module")
def card(three_plan) -> CarryCard:
    return cb.carry_card(three_plan, rules=6)


@pytest.fixture(scope="module")
def maker(three_plan) -> CardMaker:
    """What cards are made with, for the three holes."""
    plays = plays_for(three_plan.player)
    return CardMaker(tuple(card_hole(hole, plays) for hole in three_plan.holes), plays, 1)


@pytest.fixture(scope="module")
def tables(maker, card) -> list[tuple[CardHole, np.ndarray, np.ndarray | None]]:
    """Each hole with the card's policy over its whole graph, and the policy of its other tee shot."""
    rules = {
        cell: rule.play
        for rule in card.rules
        for area in areas()
        if (area.situations, area.at_least, area.below) == (rule.situations, rule.at_least, rule.below)
        for cell in area.cells
    }
    found = []
    for hole, line in zip(maker.holes, card.holes, strict=True):
        shots = [line.tee] if line.instead is None else [line.tee, line.instead]
        both = []
        for shot in shots:
            aims = np.rad2deg(hole.tee_table.heading)
            names = [hole.model.compiler.player.patterns[i].club for i in hole.tee_table.index]
            fits = [i for i, name in enumerate(names) if shot.label.startswith(name)]
            tee = min(fits, key=lambda i: abs(aims[i] - shot.aim_deg))
            small = hole.policy(rules, HoleSetting(tee, line.side, line.layup_yd))
            whole = hole.small.first_choice.copy()
            whole[hole.small.states] = np.where(small >= 0, hole.small.choices[small], -1)
            both.append(whole)
        found.append((hole, both[0], both[1] if len(both) == 2 else None))
    return found


def test_a_card_is_a_policy_worth_what_it_says_by_a_linear_system(card, tables):
    """Every state of the whole graph has an action; spsolve instead of following play."""
    for (hole, policy, _), line in zip(tables, card.holes, strict=True):
        graph = hole.model.graph
        acting = np.arange(graph.n_states) != graph.goal
        assert np.all(policy[acting] >= graph.choice_start[:-1][acting])
        assert np.all(policy[acting] < graph.choice_start[1:][acting])
        value = solve.evaluate(graph, np.maximum(policy, 0))
        # The hole compiled with more or fewer instructions takes other crossing points together.
        assert value[hole.model.tee] == pytest.approx(line.expected, abs=2e-4)
    assert card.expected == pytest.approx(sum(line.expected for line in card.holes))


def test_simulation_agrees_on_score_and_chance(card, tables, three_plan):
    rng, n = np.random.default_rng(7), 40_000
    left = np.full(n, three_plan.target)
    plain = np.zeros(n)
    for (hole, policy, other), line in zip(tables, card.holes, strict=True):
        graph = hole.model.graph
        taken = solve.simulate(graph, np.maximum(policy, 0), hole.model.tee, n, rng)
        plain += taken
        if other is not None:
            standing = hole.plan.level_left - left
            instead = (
                standing >= line.from_standing
                if line.from_standing is not None
                else (standing <= line.to_standing)
            )
            again = solve.simulate(graph, np.maximum(other, 0), hole.model.tee, n, rng)
            taken = np.where(instead, again, taken)
        left = left - taken
    assert plain.mean() == pytest.approx(card.expected, abs=4 * plain.std() / np.sqrt(n))
    error = 4 * np.sqrt(0.25 / n)
    assert np.mean(left >= 0) == pytest.approx(card.chance, abs=error)
    assert np.mean(plain <= three_plan.target) == pytest.approx(card.chance_one_tee, abs=error)


def test_what_the_card_costs_is_said(card, three_plan):
    assert card.plan_expected == three_plan.expected_score
    assert card.plan_chance == three_plan.chance()
    assert 0.0 < card.cost_strokes < 1.0
    assert card.cost_chance > 0.0
    assert card.chance >= card.chance_one_tee
    assert f"{card.expected:.2f} for {card.plan_expected:.2f}" in card.sentence
    assert card.status == "proven"


def test_more_rules_never_cost_more(card, three_plan):
    none, one = (cb.carry_card(three_plan, rules=n) for n in (0, 1))
    assert [len(c.rules) for c in (none, one)] == [0, 1]
    assert 1 < len(card.rules) <= 6
    assert none.expected > one.expected > card.expected
    steps = [step.expected for step in card.by_rules]
    assert [step.rules for step in card.by_rules] == list(range(len(card.rules) + 1))
    assert steps == sorted(steps, reverse=True)
    assert steps[:2] == [none.expected, one.expected]  # a longer card starts as the shorter one ends


def test_rules_do_not_contradict_each_other_and_earn_their_place(card):
    of = {(a.situations, a.at_least, a.below): set(a.cells) for a in areas()}
    cells = [of[(r.situations, r.at_least, r.below)] for r in card.rules]
    assert all(a.isdisjoint(b) for a, b in combinations(cells, 2))
    assert all(rule.saves > 0.0 and rule.times > 0.0 for rule in card.rules)


def test_a_card_does_not_depend_on_threads_and_survives_a_file(card, three_plan):
    assert (
        cb.carry_card(three_plan, rules=6, workers=1) == cb.carry_card(three_plan, rules=6, workers=2) == card
    )
    assert CarryCard.model_validate_json(card.model_dump_json()) == card


def test_a_card_read_back_costs_the_same(card, three_plan):
    again = cb.price_card(three_plan, CarryCard.model_validate_json(card.model_dump_json()))
    assert again.expected == pytest.approx(card.expected, abs=2e-4)
    assert again.chance == pytest.approx(card.chance, abs=2e-4)
    assert [r.words for r in again.rules] == [r.words for r in card.rules]
    assert [h.words for h in again.holes] == [h.words for h in card.holes]


def test_a_rule_struck_out_by_hand_costs_what_the_card_says(card, three_plan):
    rule = max(card.rules, key=lambda r: r.saves)
    fewer = card.model_copy(update={"rules": tuple(r for r in card.rules if r != rule)})
    dearer = cb.price_card(three_plan, fewer).expected - card.expected
    assert dearer == pytest.approx(rule.saves, abs=4e-4)


def test_a_change_of_policy_is_worth_its_visits_times_its_advantages(maker):
    """Performance difference lemma (Kakade & Langford 2002): exact with the visits of the new policy."""
    setting = HoleSetting(0)
    for i, hole in enumerate(maker.holes):
        old = hole.play({}, setting)
        paces = {cell: Play(kind=PlayKind.PACE, value=0.0) for a in areas() for cell in a.cells}
        new = hole.play(paces, setting)
        strokes = hole.choice_strokes(old)
        acting = new.policy >= 0
        over = strokes[new.policy[acting]] - strokes[old.policy[acting]]
        assert new.expected - old.expected == pytest.approx(float(hole.visits(new)[acting] @ over), abs=1e-7)
        # To first order the maker says the same with the visits of the old one, cell by cell.
        gains = maker._gains(i, {}, setting)[maker.plays.index(Play(kind=PlayKind.PACE, value=0.0))]
        visits = hole.visits(old)
        says = hole.says(Play(kind=PlayKind.PACE, value=0.0), Side.MIDDLE)
        here = np.flatnonzero((says >= 0) & (hole.cell >= 0))
        want = visits[here] @ (strokes[old.policy[here]] - strokes[says[here]])
        assert gains.sum() == pytest.approx(want, abs=1e-10)


@pytest.mark.parametrize("seed", range(4))
def test_the_program_equals_every_set_of_rules(seed):
    rng = np.random.default_rng(seed)
    some = tuple(a for a in areas() if a.situations == (Situation.GREEN,))
    gains = np.full((3, CELLS), -np.inf)
    cells = sorted({c for a in some for c in a.cells})
    gains[:, cells] = rng.normal(0.0, 1.0, (3, len(cells)))
    found, run = pick_rules(some, gains, 3)
    assert run.status == "proven"
    worth = [max(gains[:, list(a.cells)].sum(axis=1)) for a in some]
    best = 0.0
    for n in (1, 2, 3):
        for chosen in combinations(range(len(some)), n):
            sets = [set(some[i].cells) for i in chosen]
            if all(a.isdisjoint(b) for a, b in combinations(sets, 2)):
                best = max(best, sum(worth[i] for i in chosen))
    assert sum(r.saves for r in found) == pytest.approx(best, abs=1e-5)


# -- tee shots by the standing ----------------------------------------------------------------------------


def test_tee_switches_against_every_round_there_is():
    safe, bold = np.array([0, 0, 0, 0, 0.7, 0.3]), np.array([0, 0, 0, 0.35, 0.2, 0.1, 0.35])
    pmfs = [{0: safe, 1: bold}, {0: safe, 2: bold}, {0: safe, 3: bold}]
    target = 13
    switches, chance, plain = tee_switches(pmfs, target)
    assert chance > plain
    assert any(s is not None for s in switches)

    def play(hole: int, left: int) -> float:
        if hole == 3:
            return float(left >= 0)
        switch = switches[hole]
        tee = 0 if switch is None or not switch.holds(np.array([left]))[0] else switch.tee
        return sum(float(p) * play(hole + 1, left - c) for c, p in enumerate(pmfs[hole][tee]) if p)

    assert play(0, target) == pytest.approx(chance, abs=1e-12)
    assert chance_of(pmfs, switches, target) == pytest.approx(chance, abs=1e-12)
    assert chance_of(pmfs, [None] * 3, target) == pytest.approx(plain, abs=1e-12)
    # The best single threshold on the last hole, from all of them.
    last = [
        chance_of(pmfs, [switches[0], switches[1], other], target)
        for k in range(target + 1)
        for other in (None, TeeSwitch(3, None, k), TeeSwitch(3, k, None))
    ]
    assert chance == pytest.approx(max(last), abs=2e-3)


# -- what an instruction makes a golfer do ----------------------------------------------------------------


@pytest.fixture(scope="module")
def strokes(three_plan) -> Strokes:
    return Strokes(three_plan.hole(3).compiler)


def of_kind(strokes: Strokes, kind: PlayKind, **more: object):
    table = strokes.rows(Play(kind=kind, **more))
    assert len(np.unique(table.node)) == len(table)
    return table


def carries(strokes: Strokes, table) -> np.ndarray:
    patterns = strokes.compiler.player.patterns
    return np.array([patterns[i].carry_yd for i in table.index])


def test_to_the_middle_takes_the_nearest_club_straight_at_it(strokes):
    table = of_kind(strokes, PlayKind.MIDDLE)
    full = table.take((table.kind == Kind.FULL) & ~strokes.out_of_reach[table.node])
    fairway = full.take(strokes.lie[full.node] == CODE[Lie.FAIRWAY])
    mx, my = strokes.aims[Side.MIDDLE]
    distance = np.hypot(mx - strokes.x[fairway.node], my - strokes.y[fairway.node])
    swings = stock_swings(strokes.compiler.arsenal.full[CODE[Lie.FAIRWAY]])
    goes = np.array([s.carry[0] + s.roll[0, CODE[Lie.GREEN]] for s in swings])
    taken = np.array([[s.index for s in swings].index(i) for i in fairway.index])
    best = np.abs(goes - distance[:, None])
    assert np.all(best[np.arange(len(taken)), taken] <= best.min(axis=1) + 1e-9)
    bias = np.deg2rad([strokes.compiler.player.patterns[i].line_deg for i in fairway.index])
    toward = np.arctan2(mx - strokes.x[fairway.node], my - strokes.y[fairway.node])
    np.testing.assert_allclose(fairway.heading + bias, toward, atol=1e-12)


def test_one_club_more_one_club_less_and_no_longer_than(strokes):
    usual = of_kind(strokes, PlayKind.MIDDLE)
    for kind, sign in ((PlayKind.MORE, 1), (PlayKind.LESS, -1)):
        other = of_kind(strokes, kind)
        same = usual.take(np.isin(usual.node, other.node)).ordered()
        step = carries(strokes, other.ordered()) - carries(strokes, same)
        assert np.all(sign * step > 0.0)
    capped = of_kind(strokes, PlayKind.AT_MOST, club="7-iron")
    full = capped.take(capped.kind == Kind.FULL)
    limit = next(p.carry_yd for p in strokes.compiler.player.patterns if p.club == "7-iron")
    assert carries(strokes, full).max() <= limit
    assert len(capped) == len(strokes.nodes)


def test_a_layup_aims_at_its_number_down_the_middle(strokes):
    table = of_kind(strokes, PlayKind.LEAVE, value=100.0)
    assert np.all(strokes.to_pin[table.node] >= 140.0)
    line = middle_line(strokes.compiler.ground)
    x, y = line.from_pin(100.0)
    assert np.hypot(x, y - strokes.compiler.hole.pin[1]) == pytest.approx(100.0, abs=2.0)
    assert abs(x) <= 1.0  # the middle of a straight fairway
    bias = np.deg2rad([strokes.compiler.player.patterns[i].line_deg for i in table.index])
    near = (table.kind == Kind.FULL) & (strokes.to_pin[table.node] < 250.0)
    toward = np.arctan2(x - strokes.x[table.node], y - strokes.y[table.node])
    np.testing.assert_allclose((table.heading + bias)[near], toward[near], atol=1e-9)


def test_short_shots_by_name_go_past_the_pin_by_so_much(strokes):
    table = of_kind(strokes, PlayKind.SHOT, club="pitch", value=4.0)
    shots = strokes.compiler.player.short_game
    assert {shots[i].name for i in table.index} == {"pitch"}
    longest = np.array([shots[i].longest_yd for i in table.index])
    want = np.minimum(strokes.to_pin[table.node] + 4.0, longest)
    np.testing.assert_allclose(table.distance, np.maximum(want, 1.0), atol=1e-9)


def test_sides_of_the_green_are_halfway_to_its_edge(strokes):
    (lx, _), (mx, my), (rx, _) = (strokes.aims[side] for side in Side)
    assert (mx, my) == pytest.approx((0.0, 505.0), abs=0.05)
    assert lx == pytest.approx(-6.0, abs=0.05)  # a round green of radius 12
    assert rx == pytest.approx(6.0, abs=0.05)


def in_the_wind(player, from_deg: float) -> Strokes:
    """A straight hole north with 20 mph of wind."""
    areas = (Area(Lie.GREEN, Point(0, 400).buffer(12)), Area(Lie.FAIRWAY, box(-16, 120, 16, 386)))
    hole = Hole(1, 4, 1, np.array([[0.0, 0.0], [0.0, 400.0]]), areas)
    day = Conditions(wind_mph=20.0, wind_from_deg=from_deg)
    grid = GridSpec(lattice=16.0, sparse_lattice=24.0, near_lattice=9.0)
    return Strokes(HoleCompiler(hole, player, day_flight(player, day), day, grid))


def test_the_club_and_the_aim_are_of_the_day(demo_player):
    """Into the wind more club than downwind; across it the aim is held up into the wind."""
    tables, aims = {}, {}
    for name, bearing in (("into", 0.0), ("down", 180.0), ("from the left", 270.0), ("from the right", 90.0)):
        strokes = in_the_wind(demo_player, bearing)
        table = of_kind(strokes, PlayKind.MIDDLE)
        y, x, lie = strokes.y[table.node], strokes.x[table.node], strokes.lie[table.node]
        at = (
            (np.abs(y - 260) < 12) & (np.abs(x) < 12) & (lie == CODE[Lie.FAIRWAY]) & (table.kind == Kind.FULL)
        )
        assert at.any()
        tables[name] = carries(strokes, table.take(at)).mean()
        bias = np.deg2rad([demo_player.patterns[i].line_deg for i in table.index[at]])
        straight = np.arctan2(-strokes.x[table.node[at]], 400.0 - strokes.y[table.node[at]])
        aims[name] = float(np.rad2deg(table.heading[at] + bias - straight).mean())
    assert tables["into"] > tables["from the left"] > tables["down"]
    assert aims["from the left"] < -2.0 < 2.0 < aims["from the right"]
    assert abs(aims["into"]) < 0.5


@pytest.fixture(scope="module")
def wooded(demo_player) -> HoleCompiler:

    wood = Area(Lie.TREES, box(25, 60, 70, 330), height_yd=18.0, canopy_gap_yd=6.0, trunk_gap_yd=15.0)
    areas = (Area(Lie.GREEN, Point(0, 400).buffer(12)), Area(Lie.FAIRWAY, box(-16, 120, 16, 386)), wood)
    hole = Hole(1, 4, 1, np.array([[0.0, 0.0], [0.0, 400.0]]), areas)
    day, grid = Conditions(), GridSpec(lattice=16.0, sparse_lattice=24.0, near_lattice=9.0)
    return HoleCompiler(hole, demo_player, day_flight(demo_player, day), day, grid)


def test_punches_lead_out_of_the_wood(wooded):
    strokes = Strokes(wooded)
    for kind in (PlayKind.PUNCH_OUT, PlayKind.PUNCH_ON):
        table = of_kind(strokes, kind)
        edge = (strokes.x[table.node] < 34.0) & (strokes.y[table.node] > 130.0)
        edge &= strokes.lie[table.node] == CODE[Lie.TREES]
        assert edge.sum() > 3
        near = table.take(edge)
        x = strokes.x[near.node] + near.distance * np.sin(near.heading)
        y = strokes.y[near.node] + near.distance * np.cos(near.heading)
        home = np.isin(wooded.ground.lie_at(x, y), [CODE[Lie.FAIRWAY], CODE[Lie.GREEN]])
        home |= wooded.ground.from_pin(x, y) < 14.0  # or a step short of the green, 12 yards in radius
        assert np.all(home)
        if kind is PlayKind.PUNCH_ON:
            assert np.all(y - strokes.y[near.node] > 20.0)  # and on toward the green
        else:
            assert near.distance.max() <= 50.0


def test_rules_say_only_what_makes_sense_there(demo_player):
    plays = plays_for(demo_player)
    may = allowed(plays)
    of = {(a.situations, a.at_least, a.below): list(a.cells) for a in areas()}
    green = of[((Situation.GREEN,), 0.0, None)]
    trees = of[((Situation.TREES,), 0.0, None)]
    for play, cells in zip(plays, may, strict=True):
        assert cells[green].all() == (play.kind is PlayKind.PACE) == cells[green].any()
        if play.kind in (PlayKind.PUNCH_ON, PlayKind.PUNCH_OUT, PlayKind.UNPLAYABLE):
            assert cells[trees].all()
        if play.kind in (PlayKind.LEAVE, PlayKind.SHOT, PlayKind.PIN):
            assert not cells[trees].any()


# -- bad input --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("rules", [-1, 41, 2.5, True])
def test_a_senseless_number_of_rules_is_refused(three_plan, rules):
    with pytest.raises(InputError, match=r"rules: .*whole number, 0 to 40"):
        cb.carry_card(three_plan, rules=rules)


def test_a_card_that_does_not_fit_is_refused(card, three_plan):
    overlapping = card.model_copy(update={"rules": (card.rules[0], card.rules[0])})
    with pytest.raises(InputError, match="do not overlap"):
        cb.price_card(three_plan, overlapping)
    odd = card.rules[0].model_copy(update={"at_least": 3.0})
    with pytest.raises(InputError, match="distances of 0, "):
        cb.price_card(three_plan, card.model_copy(update={"rules": (odd,)}))
    two = card.model_copy(update={"holes": card.holes[:2]})
    with pytest.raises(InputError, match="holes: found 1, 2; expected 1, 2, 3"):
        cb.price_card(three_plan, two)
    tee = card.holes[0].tee.model_copy(update={"label": "niblick"})
    lines = (card.holes[0].model_copy(update={"tee": tee}), *card.holes[1:])
    with pytest.raises(InputError, match=r"hole 1: tee: found niblick; expected .*driver"):
        cb.price_card(three_plan, card.model_copy(update={"holes": lines}))
