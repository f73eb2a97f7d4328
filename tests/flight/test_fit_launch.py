import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from caddiebrain.flight import find_launch, fly

YARD = 0.9144


def test_a_known_launch_is_found_again():
    # The flight of 68 m/s at 12.5 degrees with 3,000 rpm, asked for by what a player would know of it.
    carry, apex, descent = 232.0, 29.4, 38.6
    own = find_launch(carry, apex, descent)
    assert own.launch.speed_m_s[0] == pytest.approx(67.3, abs=1.5)
    assert own.launch.angle_deg[0] == pytest.approx(12.2, abs=1.0)
    assert own.apex_yd[0] == pytest.approx(apex, abs=0.3)
    assert own.descent_deg[0] == pytest.approx(descent, abs=1.0)


@settings(max_examples=40, deadline=None)
@given(
    carry=st.floats(20.0, 400.0),
    apex=st.floats(0.5, 80.0),
    descent=st.floats(5.0, 80.0),
    curve=st.floats(-80.0, 80.0),
)
def test_the_carry_is_exact_whatever_else_is_asked(carry, apex, descent, curve):
    own = find_launch(carry, apex, descent, curve)
    flight = fly(own.launch)
    assert np.hypot(flight.forward_m, flight.right_m)[0] / YARD == pytest.approx(carry, abs=1e-6)
    assert 0.0 < own.apex_share[0] < 1.0


def test_consistent_shots_keep_apex_descent_and_curve():
    carry = np.array([250.0, 228.0, 190.0, 163.0, 140.0, 115.0, 86.0])
    apex = np.array([29.0, 25.7, 25.4, 25.4, 25.4, 24.1, 21.8])
    descent = np.array([38.0, 36.0, 42.0, 43.0, 46.0, 48.0, 51.0])
    curve = np.array([0.0, 12.0, -14.0, 0.0, 7.0, 0.0, -3.0])
    own = find_launch(carry, apex, descent, curve)
    np.testing.assert_allclose(own.apex_yd, apex, atol=0.2)
    np.testing.assert_allclose(own.descent_deg, descent, atol=3.0)
    np.testing.assert_allclose(own.curve_yd, curve, atol=0.1)
    assert np.all(np.diff(own.launch.speed_m_s) < 0.0)
    assert np.all(np.diff(own.launch.spin_rpm) > 0.0)


def test_shots_do_not_depend_on_their_company():
    carry, apex, descent = (
        np.array([228.0, 150.0, 90.0]),
        np.array([26.0, 26.0, 22.0]),
        np.array([37.0, 45.0, 52.0]),
    )
    together = find_launch(carry, apex, descent).launch
    alone = [find_launch(*shot).launch for shot in zip(carry, apex, descent, strict=True)]
    np.testing.assert_allclose(together.spin_rpm, [one.spin_rpm[0] for one in alone], rtol=0.01)
    np.testing.assert_allclose(together.angle_deg, [one.angle_deg[0] for one in alone], atol=0.1)
