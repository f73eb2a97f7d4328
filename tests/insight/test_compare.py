"""Why one choice beats another: the parts add up, the sentence says what the parts say."""

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from caddiebrain.errors import InputError, UnknownError
from caddiebrain.insight.compare import compare, split_by_result
from caddiebrain.insight.picture import two_thirds_ellipse
from caddiebrain.insight.records_compare import Comparison, ResultPart, Side
from caddiebrain.insight.spots import clubs_from
from caddiebrain.insight.words_compare import sentence_of, share_words, verdict_of
from caddiebrain.round.lookup import spread_from
from caddiebrain.round.results import RESULTS
from caddiebrain.terms import Lie

EXACT = 1e-9


def adds_up(found: Comparison) -> None:
    assert sum(p.strokes for p in found.parts) == pytest.approx(found.strokes_difference, abs=EXACT)
    assert sum(p.target for p in found.parts) == pytest.approx(found.target_difference, abs=EXACT)
    assert sum(p.chance_first for p in found.parts) == pytest.approx(1.0, abs=EXACT)
    assert sum(p.chance_second for p in found.parts) == pytest.approx(1.0, abs=EXACT)


PLAYED = st.tuples(
    st.floats(-25.0, 25.0),
    st.floats(0.12, 0.95),
    st.sampled_from([Lie.FAIRWAY, Lie.ROUGH, Lie.SAND, None]),
)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    hole=st.sampled_from([1, 2, 3]),
    where=st.none() | PLAYED,
    pair=st.tuples(st.integers(0, 99), st.integers(0, 99)),
    standing=st.integers(-2, 6),
    strokes=st.integers(0, 3),
)
def test_parts_sum_to_the_difference(three_plan, hole, where, pair, standing, strokes):
    plan = three_plan.hole(hole)
    x, y, lie = (0.0, 0.0, Lie.TEE)
    if where is not None:
        x, y, lie = where[0], where[1] * plan.length_yd, where[2]
    try:
        spread = spread_from(plan.compiler, x, y, lie)
    except InputError:  # water, out of bounds or the green
        return
    names = clubs_from(plan.compiler, spread.table)
    first, second = (names[i % len(names)] for i in pair)
    found = compare(
        three_plan, hole, first, second, position=(x, y), lie=lie, standing=standing, strokes_on_hole=strokes
    )
    adds_up(found)
    # Both sides are choices a look-up ranks, at the same worth.
    listed = {
        o.label: o
        for o in three_plan.options(
            hole, (x, y), lie=lie, standing=standing, strokes_on_hole=strokes, every_aim=True
        )
    }
    assert found.first.label in listed
    assert found.second.label in listed


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(1, 40), st.integers(1, 40))
def test_split_of_any_two_distributions(seed, n, m):
    """The identity at the head of compare.py, on made-up outcomes."""
    rng = np.random.default_rng(seed)

    def outcomes(size):
        prob = rng.random(size) ** 3
        return rng.integers(0, len(RESULTS), size), prob / prob.sum(), rng.normal(5.0, 2.0, size)

    one, other = outcomes(n), outcomes(m)
    split = split_by_result(one, other)
    difference = float(one[1] @ one[2] - other[1] @ other[2])
    assert float((split.how_often + split.how_good).sum()) == pytest.approx(difference, abs=EXACT)
    swapped = split_by_result(other, one)
    np.testing.assert_allclose(swapped.how_often, -split.how_often, atol=EXACT)
    np.testing.assert_allclose(swapped.how_good, -split.how_good, atol=EXACT)


def test_split_by_hand():
    """Two results: 80/20 at 4 and 6 strokes against 50/50 at 3.8 and 6 (worked by hand)."""
    codes = np.array([1, 7])
    split = split_by_result(
        (codes, np.array([0.8, 0.2]), np.array([4.0, 6.0])),
        (codes, np.array([0.5, 0.5]), np.array([3.8, 6.0])),
    )
    base = (4.4 + 4.9) / 2
    assert split.how_often[1] == pytest.approx(0.3 * (3.9 - base))
    assert split.how_often[7] == pytest.approx(-0.3 * (6.0 - base))
    assert split.how_good[1] == pytest.approx(0.65 * 0.2)
    assert split.how_good[7] == pytest.approx(0.0, abs=EXACT)
    assert (split.how_often + split.how_good).sum() == pytest.approx(4.4 - 4.9)


def test_sides_are_the_ones_that_options_ranks(three_plan):
    place = (4.0, 230.0)
    best = {}
    for option in three_plan.options(1, place, every_aim=True):
        if option.label not in best or option.expected < best[option.label].expected:
            best[option.label] = option
    found = compare(three_plan, 1, "6-iron", "8-iron", position=place)
    for side in (found.first, found.second):
        assert side.expected == pytest.approx(best[side.label].expected, abs=EXACT)
        assert side.aim_deg == pytest.approx(best[side.label].aim_deg)
        shares = {p.result: p.chance_first if side is found.first else p.chance_second for p in found.parts}
        for result, share in best[side.label].shares.items():
            assert shares[result] == pytest.approx(share, abs=EXACT)


def test_on_the_tee_sides_are_those_of_the_plan_but_for_how_crossing_points_are_taken_together(three_plan):
    planned = {o.label: o for o in three_plan.options(1, (0.0, 0.0))}
    found = compare(three_plan, 1, "driver", "6-iron")
    for side in (found.first, found.second):
        assert side.expected == pytest.approx(planned[side.label].expected, abs=1e-4)
        assert side.aim_deg == pytest.approx(planned[side.label].aim_deg)
        assert side.carry_yd == pytest.approx(planned[side.label].carry_yd)


def test_best_aim_for_the_target(three_plan):
    hole = three_plan.hole(1)
    spread = spread_from(hole.compiler, 0.0, 0.0, Lie.TEE)
    chance = spread.values(hole.chance_worth(three_plan.strokes_left(1, 0)))
    drivers = [row for row in range(len(chance)) if spread.named(row).label == "driver"]
    found = compare(three_plan, 1, "driver", "6-iron", aim_for="target")
    assert len(drivers) > 10
    assert found.first.chance == pytest.approx(chance[drivers].max(), abs=EXACT)


def test_an_aim_may_be_given(three_plan):
    found = compare(three_plan, 1, "driver", "driver", first_aim_deg=-3.0, second_aim_deg=4.5)
    assert (found.first.aim_deg, found.second.aim_deg) == (pytest.approx(-3.0), pytest.approx(4.5))
    assert "aimed" in found.sentence
    adds_up(found)


def test_swapped_sides_mirror(three_plan):
    one = compare(three_plan, 1, "driver", "6-iron", standing=1)
    other = compare(three_plan, 1, "6-iron", "driver", standing=1)
    assert one.strokes_difference == -other.strokes_difference
    assert {p.result: p.strokes for p in one.parts} == pytest.approx(
        {p.result: -p.strokes for p in other.parts}, abs=EXACT
    )


def test_water_is_named_where_it_matters(three_plan):
    """The pond of hole 1 lies at 235 to 265 yards, where a straight driver ends and the 6-iron does not."""
    found = compare(three_plan, 1, "6-iron", "driver", second_aim_deg=0.0)
    water = next(p for p in found.parts if p.result == "yellow")
    assert water.chance_second > 0.2 > 0.02 > water.chance_first
    assert water.strokes_how_often < 0.0
    assert water.strokes_second > next(p for p in found.parts if p.result == "fairway").strokes_second + 0.5
    assert "of the balls in the penalty area, which saves" in found.sentence
    assert found.sentence.startswith("The 6-iron gives up ")


def test_record_round_trip(three_plan):
    found = compare(three_plan, 3, "5-iron", "driver", standing=2)
    assert Comparison.model_validate_json(found.model_dump_json()) == found
    assert "properties" in Comparison.model_json_schema()


def test_picture(three_plan):
    found = compare(three_plan, 2, "7-iron", "6-iron")
    x, y = np.array(found.first.points).T
    assert abs(y.mean() - found.first.carry_yd) < 8.0  # a few mishits pull the mean short
    ellipse = found.first.ellipse
    assert ellipse.long_yd >= ellipse.short_yd > 0.0
    assert abs(ellipse.centre[1] - found.first.carry_yd) < 4.0
    assert len(x) == len(found.second.points)


def test_two_thirds_of_a_normal_cloud_lie_in_the_ellipse():
    """By the chi-square distribution with two degrees of freedom: radius sqrt(-2 ln(1/3)) holds 2/3."""
    rng = np.random.default_rng(5)
    x, y = rng.multivariate_normal([3.0, 200.0], [[90.0, 40.0], [40.0, 200.0]], 200_000).T
    ellipse = two_thirds_ellipse(x, y)
    turn = np.deg2rad(ellipse.turn_deg)
    dx, dy = x - ellipse.centre[0], y - ellipse.centre[1]
    along, across = dx * np.sin(turn) + dy * np.cos(turn), dx * np.cos(turn) - dy * np.sin(turn)
    inside = np.hypot(along / ellipse.long_yd, across / ellipse.short_yd) <= 1.0
    assert inside.mean() == pytest.approx(2.0 / 3.0, abs=0.005)


@pytest.mark.parametrize(
    ("call", "error", "says"),
    [
        (
            dict(hole=1, first="2-iron"),
            UnknownError,
            "no choice '2-iron' from here on hole 1; there are driver",
        ),
        (dict(hole=9), UnknownError, "hole 9 is not in this plan; it has 1, 2, 3"),
        (dict(hole=1, lie="sofa"), UnknownError, "no lie 'sofa'"),
        (dict(hole=1, position=(0.0, 9000.0)), InputError, "hole 1: position"),
        (dict(hole=1, position=(0.0, 250.0)), InputError, "yellow"),
        (dict(hole=1, to_pin=700.0), InputError, "at most 390"),
        (dict(hole=1, position=(0.0, 5.0), to_pin=100.0), InputError, "either position or to_pin"),
        (dict(hole=1, strokes_on_hole=-1), InputError, "strokes_on_hole"),
        (dict(hole=1, aim_for="glory"), InputError, "score"),
    ],
)
def test_bad_input(three_plan, call, error, says):
    with pytest.raises(error, match=says):
        compare(three_plan, **({"first": "driver", "second": "6-iron"} | call))


def side(label="5-iron", total=180.0, expected=4.5, chance=0.2) -> Side:
    return Side(
        label=label,
        aim_words="down the centre, at 180",
        aim_deg=0.0,
        aim_xy=(0.0, total),
        carry_yd=total - 5.0,
        total_yd=total,
        expected=expected,
        chance=chance,
        points=((0.0, 0.0),),
        ellipse=None,
    )


def part(result, first, second, often, good=0.0) -> ResultPart:
    return ResultPart(
        result=result,
        chance_first=first,
        chance_second=second,
        strokes_first=3.0,
        strokes_second=3.0,
        target_first=0.0,
        target_second=0.0,
        strokes_how_often=often,
        strokes_how_good=good,
        target_how_often=0.0,
        target_how_good=0.0,
    )


def test_the_sentence_follows_the_parts():
    hybrid, driver = side("4-hybrid", 200.0), side("driver", 231.0)
    parts = (part("fairway", 0.7, 0.68, -0.001, 0.11), part("red", 0.04, 0.12, -0.24))
    assert sentence_of(hybrid, driver, parts) == (
        "The 4-hybrid gives up 31 yards, which costs 0.11 strokes, but takes out two thirds of the balls in "
        "the penalty area, which saves 0.24."
    )
    back = (part("fairway", 0.68, 0.7, 0.001, -0.11), part("red", 0.12, 0.04, 0.24))
    assert sentence_of(driver, hybrid, back) == (
        "The driver gains 31 yards, which saves 0.11 strokes, but puts 8 more balls in 100 into the penalty "
        "area, which costs 0.24."
    )


@pytest.mark.parametrize(
    ("parts", "says"),
    [
        ((part("fairway", 0.5, 0.5, 0.0),), "The 5-iron and the 6-iron come to the same, wherever the ball ends."),
        ((part("out", 0.01, 0.0, 0.02),), "The 5-iron puts 1 ball in 100 out of bounds or where they are lost, "),
        ((part("fairway", 0.7, 0.5, -0.05),), "5-iron finds 20 more fairways in 100, which saves 0.05 strokes."),
        ((part("fairway", 0.7, 0.5, 0.05),), "The 5-iron leaves 20 more balls in 100 on the fairway, which costs"),
        ((part("green", 0.4, 0.41, 0.03),), "The 5-iron finds 1 fewer green in 100, which costs 0.03 strokes."),
        ((part("rough", 0.4, 0.5, -0.03),), "ends in the rough 10 times fewer in 100, which saves"),
        ((part("sand", 0.0, 0.2, -0.1),), "takes out all of the balls in the sand, which saves 0.10 strokes."),
        ((part("green", 0.5, 0.5, 0.0, -0.04),), "The 5-iron leaves shorter putts"),
        ((part("rough", 0.5, 0.5, 0.0, 0.04),), "The 5-iron leaves the harder next shot, which costs 0.04"),
    ],
)  # fmt: skip
def test_sentences(parts, says):
    assert says in sentence_of(side("5-iron"), side("6-iron", 179.0), parts)


def test_clubs_go_by_any_name_and_from_places_where_nobody_would_hit_them(three_plan):
    assert compare(three_plan, 1, "6i", "DRIVER") == compare(three_plan, 1, "6-iron", "driver")
    offered = {option.label for option in three_plan.hole(2).tee_options()}
    assert "driver" not in offered  # far past the green of a par 3
    found = compare(three_plan, 2, "driver", three_plan.hole(2).tee_choice.label)
    assert found.first.label == "driver"
    assert found.strokes_difference > 0.3


def test_verdicts():
    one, other = side("5-iron", expected=4.5, chance=0.21), side("6-iron", expected=4.62, chance=0.2)
    assert verdict_of(one, other, 79) == (
        "In all the 5-iron is 0.12 strokes better than the 6-iron; 79 or better comes 21.0 times in 100 with "
        "the 5-iron, 20.0 with the 6-iron."
    )
    brave = side("6-iron", expected=4.62, chance=0.3)
    assert "; yet 79 or better comes 30.0 times in 100 with the 6-iron" in verdict_of(one, brave, 79)
    assert "nothing to choose" in verdict_of(one, side("6-iron", expected=4.501, chance=0.21), 79)
    assert "does not hang on it" in verdict_of(one, side("6-iron", expected=4.7, chance=0.21), 79)


def test_fractions_never_shrink():
    said = [share_words(s) for s in np.linspace(0.0, 1.0, 201)]
    assert list(dict.fromkeys(said)) == [
        "", "a tenth", "a fifth", "a quarter", "a third", "half", "two thirds", "three quarters",
        "four fifths", "nine tenths", "nearly all", "all",
    ]  # fmt: skip
