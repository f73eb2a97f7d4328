"""Putts from short grass off the green: where they are a choice, what they do, and who is better off with them."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely import Point, box

import caddiebrain as cb
from caddiebrain.course.model import Area, Course, Hole
from caddiebrain.errors import UnknownError
from caddiebrain.hole import Kind
from caddiebrain.hole.green import PACES_FT, split
from caddiebrain.hole.ground import CODE, LIES
from caddiebrain.hole.nearest import NearestNodes
from caddiebrain.hole.off_green import Putter
from caddiebrain.hole.strokes import putt_from_off
from caddiebrain.hole.ways import puttable, way_to_hole
from caddiebrain.insight.book import book_of
from caddiebrain.insight.records_review import PlayedRound
from caddiebrain.player import PuttingSkill
from caddiebrain.round.lookup import spread_from
from caddiebrain.round.simulate import play_rounds
from caddiebrain.terms import Lie

RADIUS, MIDDLE = 14.0, 150.0
FRONT = MIDDLE - RADIUS


def ringed_hole(on: float = 8.0, *extra: Area, grass: Lie = Lie.FAIRWAY, **more) -> Hole:
    """Lay out a par 3 whose round green lies in short grass less what is ``extra``, the pin so many yards on."""
    green = Point(0, MIDDLE).buffer(RADIUS)
    short = Point(0, MIDDLE).buffer(45).difference(shapely.union_all([area.shape for area in extra]))
    areas = (Area(Lie.GREEN, green), Area(grass, short), *extra)
    return Hole(1, 3, 1, np.array([[0.0, 0.0], [0.0, FRONT + on]]), areas, **more)


def planned(hole: Hole, player: cb.Player, **more):
    """Plan a hole by itself."""
    return cb.plan_round(Course("one", (hole,)), player, 3, **more).holes[0]


def strokes(hole, off: float, lie: Lie = Lie.FAIRWAY) -> tuple[float, float]:
    """Expected strokes by the best putt and by the best chip or pitch from so far in front of the green."""
    spread = spread_from(hole.compiler, 0.0, FRONT - off, lie)
    value, kind = spread.values(hole.strokes_worth()), spread.table.kind
    return value[kind == Kind.PUTT].min(), value[kind == Kind.SHORT].min()


@pytest.fixture(scope="module")
def demo_hole(demo_player):
    return planned(ringed_hole(), demo_player)


# -- where a putt is a choice -----------------------------------------------------------------------------------


def can_putt(hole: Hole, off: float, x: float = 0.0, grass: Lie = Lie.FAIRWAY) -> bool:
    """Whether a look-up offers a putt from so far in front of the green."""
    hole = planned(hole, cb.Level(handicap_index=20.0).player())
    return bool((spread_from(hole.compiler, x, FRONT - off, grass).table.kind == Kind.PUTT).any())


def test_a_putt_is_a_choice_from_short_grass_near_the_green():
    assert can_putt(ringed_hole(), 3.0)
    assert can_putt(ringed_hole(grass=Lie.TIGHT), 9.0, grass=Lie.TIGHT)


@pytest.mark.parametrize("lie", [Lie.ROUGH, Lie.THICK, Lie.SAND, Lie.RED, Lie.YELLOW])
def test_nobody_putts_through_anything_else(lie):
    across = Area(lie, box(-30, FRONT - 4, 30, FRONT - 2))
    assert not can_putt(ringed_hole(8.0, across), 6.0)
    assert can_putt(ringed_hole(8.0, across), 1.0)


def test_nobody_putts_from_rough_nor_from_far_off():
    assert not can_putt(ringed_hole(), 3.0, grass=Lie.ROUGH)
    assert not can_putt(ringed_hole(), 12.0)


def test_nobody_putts_over_a_bank():
    across = [-60.0, 0.0, 60.0]
    level = [(x, y, 0.0) for x in across for y in (0.0, 60.0)]
    foot = [(x, FRONT - 9, 0.0) for x in across]
    for height, there in ((0.3, True), (4.0, False)):
        top = [(x, y, height) for x in across for y in (FRONT, 165.0, 200.0)]
        assert can_putt(ringed_hole(heights=np.array(level + foot + top)), 6.0) is there


def test_only_places_that_stand_for_such_ground_have_putts(demo_hole):
    places, table = demo_hole.compiler.places, demo_hole.solved.model.table
    assert places.putts[table.node[table.kind == Kind.PUTT]].all()
    spots = places.putts[places.spot_node]
    assert (spots.all(axis=1) == spots.any(axis=1)).all()
    some = spots.any(axis=1)
    assert puttable(demo_hole.compiler.ground, places.spot_x[some], places.spot_y[some]).mean() > 0.97


# -- what it does -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("grass", "firmness", "counts"),
    [(Lie.FAIRWAY, 0.5, 2.0), (Lie.TIGHT, 0.5, 1.6), (Lie.FAIRWAY, 0.0, 2.5), (Lie.FAIRWAY, 1.0, 1.5)],
)
def test_longer_grass_counts_for_more(demo_player, grass, firmness, counts):
    compiler = planned(ringed_hole(grass=grass), demo_player).compiler
    putter = Putter.of(demo_player.putting, firmness)
    way = way_to_hole(compiler.ground, putter.slowing, np.zeros(1), np.array([FRONT - 6.0]))
    assert way.to_pin == pytest.approx([14.0])
    assert way.off_yd == pytest.approx([6.0])
    assert way.counts_yd == pytest.approx([8.0 + 6.0 * counts])
    # s_d (E + o + F), in feet
    own = demo_player.putting.pace_sd * (3.0 * (8.0 + 12.0 * counts) + 1.0)
    assert putter.spread_ft(way, np.ones(1)) == pytest.approx([own])
    # a ball that rolls for half of that rests where half of it is used up
    assert way.length(np.array([[3.0 * counts, 6.0 * counts + 2.0, 6.0 * counts + 8.0]])) == pytest.approx(
        np.array([[3.0, 8.0, 14.0]])
    )


@pytest.mark.parametrize("off", [2.0, 8.0])
def test_putts_struck_one_by_one_do_what_is_computed(demo_hole, off):
    compiler, n = demo_hole.compiler, 100_000
    ground, putter = compiler.ground, compiler.arsenal.putter
    worth, number = demo_hole.strokes_worth(), compiler.numbering
    spread = spread_from(compiler, 0.0, FRONT - off)
    computed = spread.values(worth)
    for pace in (0, 4):
        row = int(np.flatnonzero((spread.table.kind == Kind.PUTT) & (spread.table.index == pace))[0])
        ball = np.zeros(n), np.full(n, FRONT - off)
        past = np.full(n, PACES_FT[pace])
        x, y, holed = putt_from_off(ground, *ball, past, putter, np.random.default_rng(5))
        states = number.spot + compiler.places.spot_of_cell[ground.frame.index(x, y)].astype(np.int64)
        green = ground.lie_at(x, y) == CODE[Lie.GREEN]
        states[green] = number.bin_of(3.0 * ground.from_pin(x[green], y[green]))
        left = (compiler.resting @ worth.layers[0])[states]
        assert 1.0 + np.where(holed, 0.0, left).mean() == pytest.approx(computed[row], abs=0.01)
        (shares,) = spread.shares(np.array([row]))
        assert holed.mean() == pytest.approx(shares["holed"], abs=0.002)


def test_a_putt_that_runs_through_the_green_is_caught_by_sand(demo_player):
    behind = Area(Lie.SAND, box(-30, FRONT + 12, 30, FRONT + 20))
    hole = planned(ringed_hole(8.0, behind), cb.Level(handicap_index=36.0).player())
    spread = spread_from(hole.compiler, 0.0, FRONT - 9.0)
    charge = np.flatnonzero((spread.table.kind == Kind.PUTT) & (spread.table.index == len(PACES_FT) - 1))
    (shares,) = spread.shares(charge)
    assert shares["sand"] > 0.02


def test_played_rounds_agree_with_the_plan(demo_player):
    course = Course(
        "three", tuple(replace(ringed_hole(on), number=i + 1) for i, on in enumerate((5.0, 8.0, 20.0)))
    )
    plan = cb.plan_round(course, demo_player, 9)
    n = 20_000
    scores = play_rounds(plan, n, np.random.default_rng(4)).scores
    for hole, own in zip(plan.holes, scores.T, strict=True):
        assert own.mean() == pytest.approx(hole.expected_score, abs=3 * own.std() / np.sqrt(n) + 0.005)


def test_a_ball_takes_the_decision_of_a_place_like_its_own(demo_hole):
    places = demo_hole.compiler.places
    nearest = NearestNodes(places)
    fairway = np.full(2, CODE[Lie.FAIRWAY])
    node, lie = nearest.of(np.zeros(2), np.full(2, FRONT - 9.5), fairway, np.array([True, False]))
    assert places.putts[node].tolist() == [True, False]
    assert (places.lie[node] == CODE[Lie.FAIRWAY]).all()
    node, lie = nearest.of(np.zeros(1), np.zeros(1), np.array([CODE[Lie.THICK]]), np.zeros(1, bool))
    assert LIES[lie[0]] in (Lie.ROUGH, Lie.FAIRWAY), "a lie without nodes is played as the commonest"


# -- against published figures ----------------------------------------------------------------------------------

TOUR = PuttingSkill(aim_sd_deg=1.020, pace_sd=0.080)
"""Gelman A. (2019), Model building and expansion for golf putting (Stan case study)."""
FROM_FAIRWAY = {20: 2.40, 60: 2.70}
"""Strokes to hole out of tour players: Broadie M. (2012), Interfaces 42(2):146-165, baseline table; from memory."""


def bounds(yards: float) -> tuple[float, float]:
    """Strokes of tour players from so far on the green, and on fairway, by the line through the nearest two figures."""
    near, far = FROM_FAIRWAY.items()
    slope = (far[1] - near[1]) / (far[0] - near[0])
    return near[1] + slope * (yards - near[0])


def tour_table() -> list[tuple[float, ...]]:
    """Yards to the hole, of them off the green; strokes on the green, of the putt, and from fairway."""
    player = cb.demo.player().model_copy(update={"putting": TOUR})
    rows = []
    for yards in (10, 15, 20):
        for off in (1, 3, 5, 7, 10):
            if off > yards - 5:
                continue
            hole = planned(ringed_hole(yards - off), player)
            number = hole.compiler.numbering
            putts = hole.strokes_worth().layers[0][number.putt : number.node]
            low, upper = split(np.array([3.0 * yards]))
            green = float(putts[low[0]] * (1 - upper[0]) + putts[low[0] + 1] * upper[0])
            rows.append((yards, off, green, strokes(hole, off)[0], bounds(yards)))
    return rows


def table_on_the_page() -> list[tuple[float, ...]]:
    """Rows of the table in docs/method.md."""
    page = (Path(__file__).parents[2] / "docs" / "method.md").read_text(encoding="utf-8")
    table = re.search(r"<!-- off the green -->(.*?)<!-- /off the green -->", page, re.DOTALL)[1]
    rows = [line.strip("| \n").split("|") for line in table.splitlines()[3:] if "|" in line]
    return [tuple(map(float, row)) for row in rows]


def test_a_tour_player_s_putts_lie_between_green_and_fairway():
    """Short grass is no green; and up to seven yards off it a putt is no worse than what tour players do there.

    From ten yards off they chip (common practice, no source), so a putt from there should be no better.
    """
    found = tour_table()
    for _, off, green, putt, fairway in found:
        assert green + 0.02 < putt
        assert putt < fairway if off <= 7 else putt >= fairway
    np.testing.assert_allclose(table_on_the_page(), found, atol=0.006)


# -- who putts --------------------------------------------------------------------------------------------------


def gap(hole, off: float) -> float:
    """Strokes by which the putt costs more than the chip."""
    putt, chip = strokes(hole, off)
    return putt - chip


def test_a_nine_handicap_putts_from_two_yards_off():
    course = Course("one", (ringed_hole(25 / 3 - 2),))  # 25 feet to the hole
    plan = cb.plan_round(course, cb.Level(handicap_index=9.0).player(), 3)
    assert gap(plan.holes[0], 2.0) < 0.0
    best = plan.options(hole=1, to_pin=25 / 3)[0]
    assert best.label.startswith("putt to ")
    assert best.aim_words == "at the pin"


def test_the_worse_the_player_the_more_putts():
    holes = [planned(ringed_hole(), cb.Level(handicap_index=i).player()) for i in (0.0, 10.0, 20.0, 30.0)]
    for off in (2.0, 5.0, 8.0):
        gaps = [gap(hole, off) for hole in holes]
        assert gaps == sorted(gaps, reverse=True), off
    assert gap(holes[0], 8.0) > 0.1, "the scratch golfer chips from there"


def test_the_worse_the_chips_the_more_putts(demo_player, demo_hole):
    poor = tuple(
        shot.model_copy(
            update={
                "depth_sd": 1.4 * shot.depth_sd,
                "line_sd_deg": 1.4 * shot.line_sd_deg,
                "mishit": shot.mishit + 0.05,
            }
        )
        for shot in demo_player.short_game
    )
    hole = planned(ringed_hole(), demo_player.model_copy(update={"short_game": poor}))
    for off in (2.0, 5.0, 8.0):
        assert gap(hole, off) < gap(demo_hole, off) - 0.1


def test_a_wet_day_is_a_day_for_the_chip(demo_player):
    soft, firm = (planned(ringed_hole(), demo_player, setup=cb.Setup(firmness=f)) for f in (0.0, 1.0))
    for off in (2.0, 5.0, 8.0):
        assert gap(soft, off) > gap(firm, off) + 0.02


# -- where else they are told -------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def bogey_plan():
    course = Course("two", (ringed_hole(5.0), replace(ringed_hole(12.0), number=2)))
    return cb.plan_round(course, cb.Level(handicap_index=20.0).player(), 7)


def test_the_book_lists_them(bogey_plan):
    spots = [
        s for page in book_of(bogey_plan).holes for s in page.spots if s.lie == "fairway" and s.to_pin_yd < 25
    ]
    first = [spot.choices[0] for spot in spots]
    putts = [choice for choice in first if choice.label.startswith("putt to ")]
    assert putts
    assert all(choice.carry_yd == 0.0 and choice.oval is not None for choice in putts)


def test_the_card_may_say_so(bogey_plan):
    words = [rule.words for rule in cb.carry_card(bogey_plan, rules=4).rules]
    assert any("where short grass leads all the way, putt it to" in line for line in words), words


def test_a_recorded_putt_is_weighed_against_putts(bogey_plan):
    stroke = {"club": "putter", "lie": "fairway", "to_pin": 8.0}
    shots = [
        {"club": "7-iron"},
        stroke,
        {"club": "putter", "feet": 3},
        {"club": "putter", "feet": 1, "result": "holed"},
    ]
    played = PlayedRound.model_validate({"holes": [{"number": 1, "shots": shots}]})
    review = cb.review(bogey_plan, played)
    (mine,) = [shot for shot in review.shots if shot.stroke == 2]
    assert mine.decision < 0.02
    assert "short_game" not in review.records


def test_they_are_compared_with_chips_by_name(bogey_plan):
    told = cb.compare(bogey_plan, hole=1, first="putt", second="chip", to_pin=8.0, lie="fairway")
    assert told.sentence.startswith("The putt to ")
    with pytest.raises(UnknownError, match="no choice 'putt' from here"):
        cb.compare(bogey_plan, hole=1, first="putt", second="chip", to_pin=30.0, lie="fairway")


def test_practice_counts_them():
    """What practice says of pace is what planning again for a player with a better and a worse pace says."""
    course, player = Course("one", (ringed_hole(),)), cb.Level(handicap_index=20.0).player()
    (pace,) = [
        skill
        for skill in cb.practice_priorities(cb.plan_round(course, player, 3)).priorities
        if skill.skill == "lag putting (pace)"
    ]
    own, step = player.putting.pace_sd, 0.05
    better, worse = (
        cb.plan_round(
            course,
            player.model_copy(
                update={"putting": player.putting.model_copy(update={"pace_sd": own * (1 - s)})}
            ),
            3,
        ).expected_score
        for s in (step, -step)
    )
    assert pace.strokes_slope * step == pytest.approx((better - worse) / 2, rel=0.1)
