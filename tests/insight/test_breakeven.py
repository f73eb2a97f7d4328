"""Break-evens: what would have to be true for the other choice, on the hole solved again."""

import numpy as np
import pytest
from shapely import Point, box
from shapely.geometry import Polygon

import caddiebrain as cb
from caddiebrain.course.model import Area, Hole
from caddiebrain.errors import InputError, UnknownError
from caddiebrain.insight.breakeven import _answer, _Question, _root, break_evens
from caddiebrain.insight.breakeven_lab import Lab
from caddiebrain.insight.records_breakeven import BreakEvens
from caddiebrain.insight.spots import spot_of
from caddiebrain.insight.what_if import pin_moved, room_for_pin, with_fairway, with_spread, with_wind
from caddiebrain.round.lookup import spread_from
from caddiebrain.terms import Lie

PAIR = ("driver", "5-iron")
QUESTIONS = ("fairway", "spread", "wind")


def straight(width: float = 30.0) -> Hole:
    areas = (
        Area(Lie.GREEN, Point(0, 400).buffer(15)),
        Area(Lie.FAIRWAY, box(-width / 2, 150, width / 2, 380)),
        Area(Lie.SAND, box(14, 240, 20, 250)),
    )
    return Hole(1, 4, 1, np.array([[0.0, 0.0], [0.0, 400.0]]), areas)


def fairway(hole: Hole) -> Polygon:
    return next(a.shape for a in hole.areas if a.lie is Lie.FAIRWAY)


@pytest.mark.parametrize("wider", [-12.0, -3.0, 0.0, 5.0, 20.0])
def test_a_fairway_grows_sideways_only(wider):
    low_x, low_y, high_x, high_y = fairway(with_fairway(straight(), wider)).bounds
    assert high_x - low_x == pytest.approx(30.0 + wider, abs=0.05)
    assert (low_y, high_y) == (pytest.approx(150.0, abs=0.05), pytest.approx(380.0, abs=0.05))


def test_a_fairway_round_a_corner_keeps_its_ends():
    line = np.array([[0.0, 0.0], [0.0, 220.0], [150.0, 380.0]])
    shape = Polygon([(-15, 120), (15, 120), (15, 210), (120, 320), (95, 345), (-15, 228)])
    hole = Hole(1, 4, 1, line, (Area(Lie.FAIRWAY, shape),))
    wide = fairway(with_fairway(hole, 16.0))
    assert wide.contains(shape)
    assert wide.bounds[1] == pytest.approx(120.0, abs=0.05)
    assert wide.area > 1.3 * shape.area
    assert shape.buffer(0.01).contains(fairway(with_fairway(hole, -10.0)))


def test_a_fairway_may_be_mown_away():
    assert [a.lie for a in with_fairway(straight(), -40.0).areas] == [Lie.GREEN, Lie.SAND]


def test_pins_keep_four_yards_from_the_edge():
    hole = straight()
    assert room_for_pin(hole, (0.0, 1.0)) == pytest.approx(15 - 4, abs=1.0)
    moved = pin_moved(hole, (1.0, 0.0), 6.0)
    assert (moved.pin, hole.pin) == ((6.0, 400.0), (0.0, 400.0))


def test_winds_add_as_vectors():
    calm = with_wind(cb.Conditions(), 90.0, 10.0)
    assert (calm.wind_mph, calm.wind_from_deg) == (pytest.approx(10.0), pytest.approx(270.0))
    # 6 mph from the west and 8 mph blowing north make 10 mph from the south-west quarter.
    both = with_wind(cb.Conditions(wind_mph=6.0, wind_from_deg=270.0), 0.0, 8.0)
    assert both.wind_mph == pytest.approx(10.0)
    assert both.wind_from_deg == pytest.approx(180.0 + np.rad2deg(np.arctan2(6.0, 8.0)))
    against = with_wind(cb.Conditions(wind_mph=6.0, wind_from_deg=270.0), 270.0, 6.0)
    assert against.wind_mph == pytest.approx(0.0, abs=1e-9)


def test_a_tighter_club(demo_player):
    tight = with_spread(demo_player, 0, 0.5)
    assert tight.patterns[0].line_sd_deg == 0.5 * demo_player.patterns[0].line_sd_deg
    assert tight.patterns[0].carry_sd == 0.5 * demo_player.patterns[0].carry_sd
    assert tight.patterns[0].mishit == demo_player.patterns[0].mishit
    assert tight.patterns[1:] == demo_player.patterns[1:]


@pytest.mark.parametrize("root", [0.3, 7.0, 24.6])
@pytest.mark.parametrize("bend", [0.2, 1.0, 4.0])
def test_roots_are_closed_in_on(root, bend):
    asked = []

    def lead(t):
        asked.append(t)
        return 1.0 - (t / root) ** bend

    found = _root(lead, (0.0, lead(0.0)), (25.0, lead(25.0)), 1.0)
    assert found == pytest.approx(root, abs=0.5)
    assert len(asked) <= 16


def test_a_lead_that_turns_and_turns_back_is_found():
    """Behind only in the middle of the span."""
    found = _answer(
        _Question("tail wind", "mph", 20.0, 0.5, lambda t: (t - 6) * (t - 16) / 96), 1.0, "driver", "score"
    )
    assert found.change == pytest.approx(6.0, abs=0.5)


def test_never_within_the_bound():
    found = _answer(
        _Question("head wind", "mph", 25.0, 0.5, lambda t: 1.0 - 0.02 * t), 1.0, "driver", "score"
    )
    assert (found.change, found.lead_at_bound) == (None, pytest.approx(0.5))
    assert found.words.startswith(
        "Not even a head wind of 25 mph would make it the driver: it would still be 0.50"
    )
    further = _answer(_Question("head wind", "mph", 25.0, 0.5, lambda t: 1.0 + t), 1.0, "driver", "score")
    assert further.solved == 1  # moving away: the end alone is looked at


@pytest.fixture(scope="module")
def found(three_plan) -> BreakEvens:
    return break_evens(three_plan, 1, "driver", "5-iron", questions=QUESTIONS, workers=1)


def test_today_is_the_plan_itself(three_plan, found):
    hole = three_plan.hole(1)
    spread = spread_from(hole.compiler, 0.0, 0.0, Lie.TEE)
    best = {}
    for row, expected in enumerate(spread.values(hole.strokes_worth())):
        label = spread.named(row).label
        best[label] = min(expected, best.get(label, np.inf))
    lead = abs(best["driver"] - best["5-iron"])
    assert found.lead == pytest.approx(lead, abs=1e-9)
    assert found.better == min(("driver", "5-iron"), key=best.__getitem__)
    assert {found.better, found.other} == {"driver", "5-iron"}


def test_a_hole_left_as_it_is_solves_to_the_same(three_plan):
    """The search starts from the plan's own hole: solved again unchanged, the lead is today's."""
    lab = Lab.of(spot_of(three_plan, 1, None, None, None, 0, 0), *PAIR, "score")
    today = lab.today()
    assert lab.lead(player=lab.hole.compiler.player) == pytest.approx(today, abs=1e-4)
    assert lab.lead(hole=lab.hole.hole) == pytest.approx(today, abs=0.01)


def test_answers_hold_on_the_hole_solved_again(three_plan, found):
    """At each break-even the lead changes hands between one step before and one step after."""
    lab = Lab.of(spot_of(three_plan, 1, None, None, None, 0, 0), *PAIR, "score")
    lab.today()
    player, hole = lab.hole.compiler.player, lab.hole.hole
    other = lab.pattern[1 if lab.sign > 0 else 0]
    change = {
        "fairway wider": lambda t: lab.lead(hole=with_fairway(hole, t)),
        "fairway narrower": lambda t: lab.lead(hole=with_fairway(hole, -t)),
        f"{found.other} tighter": lambda t: lab.lead(player=with_spread(player, other, 1.0 - t)),
    }
    # The wind's way, clockwise from the way of play.
    turns = {"head wind": 180.0, "tail wind": 0.0, "wind from the left": 90.0, "wind from the right": -90.0}
    for name, turn in turns.items():
        way = hole.bearing_deg + turn
        change[name] = lambda t, way=way: lab.lead(day=with_wind(lab.conditions, way, t))
    assert {a.question for a in found.answers} == set(change)
    for answer in found.answers:
        lead = change[answer.question]
        assert lead(answer.bound) == pytest.approx(answer.lead_at_bound, abs=1e-9)
        if answer.change is not None:
            low, high = (lead(answer.change + s * answer.within) for s in (-1.0, 1.0))
            assert min(low, high) <= 0.0 <= max(low, high)
        else:
            assert answer.lead_at_bound >= 0.0


def test_a_tail_wind_that_brings_the_pond_into_play_turns_it_round(found):
    """The pond begins at 235 yards: in still air the driver mostly stays short of it, down the wind it does not."""
    tail = next(a for a in found.answers if a.question == "tail wind")
    assert found.better == "driver"
    assert tail.change is not None
    assert 0.0 < tail.change < 25.0
    assert tail.lead_at_bound < 0.0
    assert "a tail wind of" in found.sentence
    assert "would turn it round" in found.sentence


def test_for_the_target(three_plan):
    found = break_evens(three_plan, 1, "driver", "5-iron", by="target", questions=("spread",), standing=1)
    hole = three_plan.hole(1)
    spread = spread_from(hole.compiler, 0.0, 0.0, Lie.TEE)
    chance = spread.values(hole.chance_worth(three_plan.strokes_left(1, 1)))
    label = np.array([spread.named(row).label for row in range(len(chance))])
    best = {name: chance[label == name].max() for name in ("driver", "5-iron")}
    assert found.lead == pytest.approx(abs(best["driver"] - best["5-iron"]), abs=1e-9)
    assert found.measure == "target"


def test_standings(three_plan, found):
    """The ranges name, for each open standing, the one of the two that the plan ranks higher."""
    for run in found.by_standing:
        for standing in range(run.from_standing, run.to_standing + 1):
            options = three_plan.options(1, (0.0, 0.0), standing=standing, every_aim=True)
            best = {n: max(o.chance for o in options if o.label == n) for n in ("driver", "5-iron")}
            assert best[run.label] == max(best.values())
            assert abs(best["driver"] - best["5-iron"]) <= run.gain_most + 1e-12


def test_wind_and_pin_from_the_fairway(three_plan):
    found = break_evens(
        three_plan, 3, "9-iron", "8-iron", to_pin=130.0, lie="fairway", questions=("wind", "pin"), workers=1
    )
    names = [a.question for a in found.answers]
    assert names[:4] == ["head wind", "tail wind", "wind from the left", "wind from the right"]
    assert names[4:] == ["pin further back", "pin further forward", "pin further right", "pin further left"]
    # Into the wind the longer club gains, down it the shorter one: one of the two tips or draws nearer.
    head, tail = found.answers[0], found.answers[1]
    helped, hurt = (head, tail) if found.other == "8-iron" else (tail, head)
    assert helped.lead_at_bound < found.lead
    assert hurt.lead_at_bound > helped.lead_at_bound


def test_helpers_find_the_same(three_plan, found):
    shared = break_evens(three_plan, 1, "driver", "5-iron", questions=QUESTIONS, workers=2)
    assert shared == found


def test_record_round_trip(found):
    assert BreakEvens.model_validate_json(found.model_dump_json()) == found


def test_bad_input(three_plan):
    with pytest.raises(InputError, match="'luck'; expected fairway, spread, wind, pin"):
        break_evens(three_plan, 1, "driver", "5-iron", questions=("luck",))
    with pytest.raises(
        InputError, match=r"questions: found 'fairway'; expected several, such as \('fairway', 'wind'\)"
    ):
        break_evens(three_plan, 1, "driver", "5-iron", questions="fairway")
    with pytest.raises(InputError, match="score"):
        break_evens(three_plan, 1, "driver", "5-iron", by="glory")
    with pytest.raises(UnknownError, match="2-iron"):
        break_evens(three_plan, 1, "2-iron", "driver")


def test_level_choices_need_no_answer(three_plan):
    found = break_evens(three_plan, 1, "driver", "driver")
    assert found.answers == ()
    assert "as good as level" in found.sentence
