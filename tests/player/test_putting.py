"""Putting against the published model and the published expected putts."""

import re
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from caddiebrain.player import PuttingSkill, holing_chance, leave_distribution
from caddiebrain.player.putting import miss_chance

TOUR = PuttingSkill(aim_sd_deg=1.020, pace_sd=0.080)
"""Gelman A. (2019), Model building and expansion for golf putting (Stan case study)."""

EXPECTED_PUTTS = {3: 1.04, 5: 1.23, 8: 1.50, 10: 1.61, 15: 1.78, 20: 1.87, 30: 1.98, 40: 2.06}
"""Broadie M. (2012), Assessing Golfer Performance on the PGA TOUR, Interfaces 42(2); from memory."""


def expected_putts(skill, overshoot_ft=1.0, points=6):
    """Play every putt to the last one: grid of distances and expected putts from each."""
    x = np.concatenate([np.arange(0.05, 6, 0.05), np.arange(6, 70, 0.25)])
    after = leave_distribution(skill, x, overshoot_ft, points)
    putts = np.ones_like(x)
    for _ in range(200):
        new = 1 + (1 - after.holing) * (after.weight * np.interp(after.leave_ft, x, putts)).sum(-1)
        if np.abs(new - putts).max() < 1e-12:
            break
        putts = new
    return x, putts


def test_played_out_the_published_model_gives_the_published_putts():
    x, putts = expected_putts(TOUR)
    found = {d: float(np.interp(d, x, putts)) for d in EXPECTED_PUTTS}
    gaps = {d: found[d] - EXPECTED_PUTTS[d] for d in found}
    assert max(abs(gap) for gap in gaps.values()) < 0.02, gaps
    shown = {int(d): (float(p), float(ours)) for d, p, ours in table_on_the_page()}
    assert {d: published for d, (published, _) in shown.items()} == EXPECTED_PUTTS
    assert {d: ours for d, (_, ours) in shown.items()} == pytest.approx(found, abs=0.005)


def table_on_the_page():
    """Distance, published and played out, as docs/trust.md shows them."""
    page = (Path(__file__).parents[2] / "docs" / "trust.md").read_text(encoding="utf-8")
    table = re.search(r"<!-- putts -->(.*?)<!-- /putts -->", page, re.DOTALL)[1]
    return re.findall(r"^\| (\d+) \| ([\d.]+) \| ([\d.]+)", table, re.MULTILINE)


def test_more_quadrature_points_change_nothing_that_matters():
    x, coarse = expected_putts(TOUR)
    _, fine = expected_putts(TOUR, points=20)
    assert np.abs(coarse - fine)[x <= 60].max() < 0.002


@pytest.mark.parametrize(("distance", "overshoot"), [(4.0, 1.0), (15.0, 0.3), (15.0, 2.5), (45.0, 1.0)])
def test_quadrature_agrees_with_simulated_putts(distance, overshoot):
    rng = np.random.default_rng(11)
    skill, n = PuttingSkill(aim_sd_deg=1.8, pace_sd=0.12), 400_000
    angle = rng.normal(0, np.deg2rad(skill.aim_sd_deg), n)
    roll = rng.normal(distance + overshoot, (distance + overshoot) * skill.pace_sd, n)
    gap = (4.25 - 1.68) / 24
    holed = (np.abs(angle) < np.arcsin(gap / distance)) & (roll >= distance) & (roll <= distance + 3)
    left = np.hypot(roll * np.sin(angle), distance - roll * np.cos(angle))[~holed]
    after = leave_distribution(skill, distance, overshoot)
    assert float(after.holing) == pytest.approx(holed.mean(), abs=0.004)
    assert float(after.weight @ after.leave_ft) == pytest.approx(left.mean(), rel=0.02)
    three_feet = after.weight @ (after.leave_ft**2)
    assert float(three_feet) == pytest.approx((left**2).mean(), rel=0.03)


@given(
    aim=st.floats(0.3, 5), pace=st.floats(0.02, 0.4), distance=st.floats(0.05, 120), overshoot=st.floats(0, 3)
)
def test_chances_are_chances(aim, pace, distance, overshoot):
    skill = PuttingSkill(aim_sd_deg=aim, pace_sd=pace)
    after = leave_distribution(skill, distance, overshoot)
    assert 0 <= float(after.holing) <= 1
    assert float(after.holing) + float(miss_chance(skill, distance, overshoot)) == pytest.approx(1, abs=1e-12)
    assert float(after.weight.sum()) == pytest.approx(1, abs=1e-9)
    assert np.all(np.isfinite(after.leave_ft))
    assert np.all(after.leave_ft >= 0)


def test_arrays_broadcast_and_longer_putts_drop_less():
    chance = holing_chance(TOUR, np.arange(1, 60)[:, None], [0.5, 1.0, 1.5])
    assert chance.shape == (59, 3)
    assert np.all(np.diff(chance, axis=0) < 0)


def test_the_best_overshoot_shrinks_with_the_holing_chance():
    """Trend only: Hoadley (1994), Science and Golf II."""
    x, putts = expected_putts(TOUR)
    pace = np.arange(0.1, 3.0, 0.1)

    def best(distance):
        after = leave_distribution(TOUR, distance, pace)
        score = (1 - after.holing) * (after.weight * np.interp(after.leave_ft, x, putts)).sum(-1)
        return pace[score.argmin()]

    assert best(4.0) >= best(12.0) >= best(40.0)
    assert best(4.0) > best(40.0)
