"""Every page's derivatives against central differences of its value: a fit stands on them."""

import numpy as np
import pytest

from caddiebrain.player.counts import TallyRows, event_chances, tally_terms
from caddiebrain.player.mixture import ShotRows, expected_information, shot_terms
from caddiebrain.player.putts import PuttPage, PuttRows
from caddiebrain.player.short_shots import ShortPage, ShortRows
from caddiebrain.player.uncertainty import lies_of, mishit_shape, theta_of

STEP = 1e-5


def check(evaluate, theta, rtol=1e-5, atol=1e-5, bend_tol=1e-4):
    terms = evaluate(theta)
    for unit, parameter in np.ndindex(theta.shape):
        shift = np.zeros_like(theta)
        shift[unit, parameter] = STEP
        up, down = evaluate(theta + shift), evaluate(theta - shift)
        slope = (up.value - down.value) / (2 * STEP)
        assert terms.gradient[unit, parameter] == pytest.approx(slope, rel=rtol, abs=atol)
        bend = -(up.gradient[unit] - down.gradient[unit]) / (2 * STEP)
        np.testing.assert_allclose(terms.information[unit, parameter], bend, rtol=bend_tol, atol=1e-3)


@pytest.fixture(scope="module")
def patterns(demo_player):
    """Every third, from the driver to the wedges: every row looks at its own alone."""
    return demo_player.patterns[::3]


def shots(patterns, rng, *, points, carry, line, tells="all"):
    n = 120
    pattern = rng.integers(0, len(patterns), n)
    middle = np.array([p.carry_yd for p in patterns])[pattern, None]
    return ShotRows(
        pattern=pattern,
        carry_yd=middle * (1 + 0.12 * rng.standard_normal((n, points))),
        line_deg=8 * rng.standard_normal((n, points)),
        log_weight=0.3 * rng.standard_normal((n, points)),
        spread=1 + rng.random(n),
        mishit=0.1 * rng.random(n),
        variance=9.0 * rng.random(n),
        weight=rng.random(n),
        knows_carry=carry,
        knows_line=line,
        tells=tells,
    )


@pytest.mark.parametrize(
    ("points", "carry", "line", "tells"),
    [(1, True, True, "all"), (6, True, True, "all"), (1, True, False, "all"), (1, False, True, "all"),
     (6, True, True, "scatter"), (1, True, False, "carry")],
)  # fmt: skip
def test_shots(patterns, points, carry, line, tells):
    rows = shots(patterns, np.random.default_rng(1), points=points, carry=carry, line=line, tells=tells)
    check(lambda theta: shot_terms(theta, mishit_shape(patterns), rows), theta_of(patterns))


def tallies(patterns, rng):
    n = 24
    counts = rng.integers(0, 5, (n, 5)).astype(float)
    green = rng.random(n) < 0.5
    counts[~green, 4] = 0
    lumped = rng.random((n, 5)) < 0.4
    lumped[:, 0] = False
    counts[lumped] = 0
    return TallyRows(
        pattern=rng.integers(0, len(patterns), n),
        green=green,
        width_yd=np.full(n, 30.0),
        depth_yd=np.full(n, 28.0),
        roll=np.full(n, 0.08),
        spread=1 + rng.random(n),
        mishit=0.1 * rng.random(n),
        counts=counts,
        other=np.where(lumped.any(axis=1), 3.0, 0.0),
        lumped=lumped,
    )


def test_tallies(patterns):
    rows = tallies(patterns, np.random.default_rng(2))
    check(lambda theta: tally_terms(theta, mishit_shape(patterns), rows), theta_of(patterns), bend_tol=1e-3)


def test_event_chances_are_those_of_simulated_shots(patterns):
    """The chance of each counted event, against a million strokes of the pattern itself."""
    rng = np.random.default_rng(3)
    n = 1_000_000
    rows = tallies(patterns, rng)
    chances = event_chances(theta_of(patterns), mishit_shape(patterns), rows)
    np.testing.assert_allclose(chances.sum(axis=1), 1.0, atol=1e-12)
    for i in (0, 1, 2, 3):
        p, s = patterns[rows.pattern[i]], rows.spread[i]
        poor = rng.random(n) < p.mishit + rows.mishit[i]
        z, along = rng.standard_normal((2, n))
        along = np.where(poor, along, p.correlation * z + np.sqrt(1 - p.correlation**2) * along)
        share = np.where(poor, p.mishit_carry + p.mishit_carry_sd * s * along, 1 + p.carry_sd * s * along)
        turn = np.deg2rad(p.line_deg + s * np.where(poor, p.mishit_line_sd_deg, p.line_sd_deg) * z)
        carry = p.carry_yd * share
        if rows.green[i]:
            short, long = carry < p.carry_yd - 14, carry > p.carry_yd + 14
            side, middle = carry * np.tan(turn), ~short & ~long
        else:
            short, long = share < 0.6, np.zeros(n, dtype=bool)
            side, middle = 1.08 * carry * np.tan(turn), share >= 0.6
        told = [(middle & (np.abs(side) <= 15)), middle & (side < -15), middle & (side > 15), short, long]
        np.testing.assert_allclose(chances[i], [event.mean() for event in told], atol=0.003)


def test_short_game(demo_player):
    rng = np.random.default_rng(4)
    shots_, lies = demo_player.short_game, lies_of(demo_player.short_game)
    n = 60
    shot = rng.integers(0, len(shots_), n)
    leave = np.where(rng.random(n) < 0.5, rng.gamma(2, 5, n), np.nan)
    counted = np.isnan(leave)
    rows = ShortRows(
        lie=np.array([lies.index(shots_[i].lie) for i in shot]),
        shot=shot,
        distance_yd=rng.uniform(5, 35, n),
        leave_ft=leave,
        tries=np.where(counted, 10.0, 1.0),
        saves=np.where(counted, rng.integers(0, 10, n), 0.0).astype(float),
        weight=rng.random(n),
    )
    page = ShortPage(shots_, len(lies), rows, demo_player.putting)
    check(page.terms, 0.2 * rng.standard_normal((len(lies), 2)))


def test_leave_densities_integrate_to_one(demo_player):
    pitch = next(s for s in demo_player.short_game if s.name == "pitch" and s.lie == "rough")
    step = 2.0
    total = 0.0
    for leave_ft in np.arange(step / 2, 300, step):
        one = np.ones(1)
        rows = ShortRows(np.zeros(1, int), np.zeros(1, int), 30 * one, leave_ft * one, one, 0 * one, one)
        value = ShortPage((pitch,), 1, rows, demo_player.putting).terms(np.zeros((1, 2))).value
        total += np.exp(value) * step / 3
    assert total == pytest.approx(1.0, abs=0.01)


def test_putts(demo_player):
    rows = PuttRows.gather(
        np.array([3.0, 8.0, 8.0, 20.0]), np.array([10.0, 20, 5, 8]), np.array([9.0, 7, 3, 1]),
        np.array([15.0, 40.0]), np.array([[1.0, 8, 1], [0, 6, 4]]),
    )  # fmt: skip
    assert rows.tries.tolist() == [10, 25, 8]
    check(PuttPage(rows, demo_player.putting).terms, np.log([[1.5, 0.11]]))


def test_expected_information_is_the_mean_of_simulated_curvature(patterns):
    rng = np.random.default_rng(6)
    p, n = patterns[0], 400_000
    poor = rng.random(n) < p.mishit
    z, along = rng.standard_normal((2, n))
    along = np.where(poor, along, p.correlation * z + np.sqrt(1 - p.correlation**2) * along)
    carry = p.carry_yd * np.where(poor, p.mishit_carry + p.mishit_carry_sd * along, 1 + p.carry_sd * along)
    line = p.line_deg + np.where(poor, p.mishit_line_sd_deg, p.line_sd_deg) * z
    zeros = np.zeros(n)
    rows = ShotRows(
        np.zeros(n, int), carry[:, None], line[:, None], zeros[:, None], zeros + 1, zeros, zeros, zeros + 1
    )
    one = (p,)
    found = shot_terms(theta_of(one), mishit_shape(one), rows).information[0] / n
    expected = expected_information(theta_of(one), mishit_shape(one))[0]
    scale = np.sqrt(np.diag(found))
    assert np.abs((expected - found) / np.outer(scale, scale)).max() < 0.02
