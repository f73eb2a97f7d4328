"""Whether fits find the players that records were made from, and know how sure they may be.

Players are drawn from the prior of a level, so an honest 90% interval holds 90 of 100 of their numbers.
"""

import re
from pathlib import Path

import numpy as np
import pytest
from player_notebook import notebook

from caddiebrain.player import Level, fit_player
from caddiebrain.player.uncertainty import lies_of, theta_of

LEVEL = Level(handicap_index=12.0)
CLUBS = ("driver", "7-iron", "pitching wedge")
FITS = 210
Z90 = 1.6448536


def covered(n, kind, fits, seed):
    """Which of the pattern parameters lie in their 90% intervals: (fits, clubs, 6)."""
    rng = np.random.default_rng([seed, n])
    out = []
    for truth in LEVEL.player().draws(fits, rng):
        fitted = fit_player(notebook(truth, CLUBS, n, kind, rng), LEVEL)
        sd, found = fitted.beliefs().sd(), theta_of(fitted.patterns)
        at = [[p.club for p in fitted.patterns].index(club) for club in CLUBS]
        known = theta_of([next(p for p in truth.patterns if p.club == club) for club in CLUBS])
        out.append(np.abs(found[at] - known) <= Z90 * sd[at])
    return np.array(out)


def on_the_page(kind, n):
    """Coverage as docs/trust.md shows it."""
    page = (Path(__file__).parents[2] / "docs" / "trust.md").read_text(encoding="utf-8")
    table = re.search(r"<!-- recovery -->(.*?)<!-- /recovery -->", page, re.DOTALL)[1]
    row = re.search(rf"^\| {kind} \|(.*)\|$", table, re.MULTILINE)[1].split("|")
    return float(row[(10, 50, 300).index(n)])


@pytest.mark.slow
@pytest.mark.recovery
@pytest.mark.parametrize("kind", ["shots", "tallies", "both"])
@pytest.mark.parametrize("n", [10, 50, 300])
def test_nine_intervals_in_ten_hold_the_truth(n, kind):
    hits = covered(n, kind, FITS, seed=20)
    assert 0.85 <= hits.mean() <= 0.95
    assert on_the_page(kind, n) == pytest.approx(hits.mean(), abs=0.03)
    by_parameter = hits.mean(axis=(0, 1))
    assert by_parameter.min() >= 0.82, by_parameter
    assert by_parameter.max() <= 0.97, by_parameter


@pytest.mark.parametrize("kind", ["shots", "tallies", "both"])
def test_a_few_fits_already_show_it(kind):
    assert 0.80 <= covered(30, kind, 12, seed=21).mean() <= 0.98


def test_many_shots_find_the_player():
    rng = np.random.default_rng(22)
    truth = LEVEL.player().draws(1, rng)[0]
    fitted = fit_player(notebook(truth, CLUBS, 3000, "shots", rng), LEVEL)
    for club in CLUBS:
        p, q = (next(x for x in player.patterns if x.club == club) for player in (truth, fitted))
        assert q.carry_yd == pytest.approx(p.carry_yd, rel=0.01)
        assert q.line_deg == pytest.approx(p.line_deg, abs=0.35)
        assert q.line_sd_deg == pytest.approx(p.line_sd_deg, rel=0.07)
        assert q.carry_sd == pytest.approx(p.carry_sd, rel=0.07)
        assert q.mishit == pytest.approx(p.mishit, abs=0.03)


@pytest.mark.slow
@pytest.mark.recovery
def test_putting_and_short_game_intervals_hold_the_truth():
    """From putts by distance and from up-and-downs and leaves, for players drawn from the prior."""
    rng = np.random.default_rng(23)
    base = LEVEL.player()
    putting, short = [], []
    for truth in base.draws(FITS, rng):
        fitted = fit_player(short_notebook(truth, rng), LEVEL)
        beliefs = fitted.beliefs()
        gap = np.log([
            truth.putting.aim_sd_deg / fitted.putting.aim_sd_deg, truth.putting.pace_sd / fitted.putting.pace_sd
        ])  # fmt: skip
        putting.append(np.abs(gap) <= Z90 * np.sqrt(np.diag(beliefs.putting_covariance)))
        sd = np.sqrt(np.diag(beliefs.short_covariance)).reshape(-1, 2)[:, 0]
        for i, lie in enumerate(lies_of(base.short_game)):
            was, found = (next(s for s in p.short_game if s.lie == lie) for p in (truth, fitted))
            short.append(abs(np.log(was.line_sd_deg / found.line_sd_deg)) <= Z90 * sd[i])
    assert 0.85 <= np.mean(putting) <= 0.95
    assert 0.85 <= np.mean(short) <= 0.95


def short_notebook(truth, rng):
    """Forty putts at each of five distances, thirty leaves from each of two lies."""
    putts = []
    for x in (3.0, 6.0, 10.0, 20.0, 35.0):
        angle = rng.normal(0, np.deg2rad(truth.putting.aim_sd_deg), 40)
        roll = rng.normal(x + 1, (x + 1) * truth.putting.pace_sd, 40)
        holed = (np.abs(angle) < np.arcsin((4.25 - 1.68) / 24 / x)) & (roll >= x) & (roll <= x + 3)
        putts.append({"distance_ft": x, "tries": 40, "holed": int(holed.sum())})
    leaves = []
    for lie, name in (("fairway", "chip"), ("sand", "bunker shot")):
        shot = next(s for s in truth.short_game if s.lie == lie and s.name == name)
        for d in rng.uniform(8, 30, 30):
            poor = rng.random() < shot.mishit
            wide = np.hypot(np.tan(np.deg2rad(shot.line_sd_deg)) * d, shot.line_sd_floor_yd)
            along = np.hypot((shot.mishit_depth_sd if poor else shot.depth_sd) * d, shot.depth_sd_floor_yd)
            y = rng.normal((shot.mishit_depth - 1) * d if poor else 0.0, along)
            x = rng.normal(0, wide * (1.6 if poor else 1.0))
            leaves.append({"lie": lie, "distance_yd": float(d), "leave_ft": float(3 * np.hypot(x, y))})
    return {"putts": putts, "short_game": leaves}
