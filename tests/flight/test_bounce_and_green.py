import numpy as np
import pytest

from caddiebrain.errors import UnknownError
from caddiebrain.flight import ROLLOUT_BY_LIE, green_deceleration, level_green_speed, rollout_yd
from caddiebrain.terms import Lie


def test_on_the_player_s_own_ground_the_rollout_is_the_player_s_own():
    assert rollout_yd([18.0, 4.0], [38.0, 50.0], Lie.FAIRWAY, [38.0, 50.0]) == pytest.approx([18.0, 4.0])


def test_every_lie_has_its_share():
    assert set(ROLLOUT_BY_LIE) == set(Lie)
    got = rollout_yd(10.0, 40.0, list(Lie), 40.0)
    assert got == pytest.approx([10.0 * ROLLOUT_BY_LIE[lie] for lie in Lie])
    assert rollout_yd(10.0, 40.0, "rough", 40.0) == pytest.approx(4.0)


def test_water_and_sand_keep_the_ball():
    wet = [Lie.SAND, Lie.YELLOW, Lie.RED]
    assert not rollout_yd(30.0, 35.0, wet, 20.0, firmness=1.0, slope=-0.2).any()


def test_flatter_firmer_and_downhill_run_farther():
    assert np.all(np.diff(rollout_yd(15.0, 40.0, Lie.FAIRWAY, np.arange(20.0, 61.0, 5.0))) < 0.0)
    assert np.all(np.diff(rollout_yd(15.0, 40.0, Lie.FAIRWAY, 40.0, np.linspace(0.0, 1.0, 9))) > 0.0)
    slopes = np.linspace(-0.15, 0.3, 9)
    assert np.all(np.diff(rollout_yd(15.0, 40.0, Lie.FAIRWAY, 40.0, slope=slopes)) < 0.0)


def test_limits_hold_for_extreme_ground():
    runaway = rollout_yd(20.0, 40.0, Lie.FAIRWAY, 40.0, 0.5, [-0.2, -1.0, -5.0])
    assert runaway[1] == runaway[2] == pytest.approx(60.0)
    assert rollout_yd(20.0, 60.0, Lie.FAIRWAY, 5.0) == pytest.approx(60.0)


def test_slope_acts_as_gravity_does():
    # What c g slows on the level, (c + s) g slows up a slope s: v^2 = 2 a L, so lengths go as 1 / a.
    level, up = rollout_yd(10.0, 40.0, Lie.FAIRWAY, 40.0, slope=[0.0, 0.05])
    assert level / up == pytest.approx((0.25 + 0.05) / 0.25)


def test_shapes_broadcast():
    lies = np.array([[Lie.FAIRWAY], [Lie.ROUGH]], dtype=object)
    assert rollout_yd(10.0, 40.0, lies, [30.0, 40.0, 50.0]).shape == (2, 3)


def test_an_unknown_lie_is_named():
    with pytest.raises(UnknownError, match=r"'moss'.*fairway"):
        rollout_yd(10.0, 40.0, ["fairway", "moss"], 40.0)


def test_level_speed_from_two_rolls():
    # Worked example (published): 14 ft down, 9 ft up -> 10 ft 11 in.
    feet = float(level_green_speed(14.0, 9.0))
    assert (int(feet), int(12.0 * (feet - int(feet)))) == (10, 11)
    assert level_green_speed(10.0, 10.0) == pytest.approx(10.0)


def test_deceleration_stops_a_ball_in_the_measured_roll():
    # 1.83 m/s at release; 10 ft = 3.048 m: 1.83^2 / 6.096 = 0.549 m/s2, a rolling resistance of 0.056 g.
    assert green_deceleration(10.0) == pytest.approx(0.5494, abs=1e-4)
    assert 1.83**2 / (2.0 * green_deceleration(12.0)) == pytest.approx(12.0 * 0.3048)


def test_two_rolls_on_a_slope_give_the_level_speed_back():
    level, slope = green_deceleration(11.0), 0.15
    down, up = (1.83**2 / (2.0 * (level + s)) / 0.3048 for s in (-slope, slope))
    assert level_green_speed(down, up) == pytest.approx(11.0)
