"""What a fit says of putting: the published figures from the published putts, and honest intervals from few."""

import numpy as np
import pytest
from player_notebook import LEVEL, interval

from caddiebrain.player import Level, fit_player, holing_chance

# Gelman A. (2019), Model building and expansion for golf putting: 1.25 million tour putts of Broadie's 2018 data
# set, distance in feet, tries, holed; the fitted model is printed with 1.020 degrees and 0.080.
TOUR_PUTTS = [
    (0.28, 45198, 45183), (0.97, 183020, 182899), (1.93, 169503, 168594), (2.92, 113094, 108953),
    (3.93, 73855, 64740), (4.94, 53659, 41106), (5.94, 42991, 28205), (6.95, 37050, 21334), (7.95, 33275, 16615),
    (8.95, 30836, 13503), (9.95, 28637, 11060), (10.95, 26239, 9032), (11.95, 24636, 7687), (12.95, 22876, 6432),
    (14.43, 41267, 9813), (16.43, 35712, 7196), (18.44, 31573, 5290), (20.44, 28280, 4086), (21.95, 13238, 1642),
    (24.39, 46570, 4767), (28.40, 38422, 2980), (32.39, 31641, 1996), (36.39, 25604, 1327), (40.37, 20366, 834),
    (44.38, 15977, 559), (48.37, 11770, 311), (52.36, 8708, 231), (57.25, 8878, 204), (63.23, 5492, 103),
]  # fmt: skip


def test_published_tour_putts_give_the_published_parameters():
    for level in (Level(handicap_index=0.0), Level(handicap_index=20.0)):
        putts = [{"distance_ft": x, "tries": n, "holed": k} for x, n, k in TOUR_PUTTS]
        skill = fit_player(putts, level).putting
        assert round(skill.aim_sd_deg, 2) == 1.02
        assert skill.aim_sd_deg == pytest.approx(1.020, abs=0.001)
        assert round(skill.pace_sd, 3) == 0.080
        assert skill.putts == sum(n for _, n, _ in TOUR_PUTTS)


def test_an_amateurs_five_distances():
    """Invented: five distances, 67 putts. A sensible skill, with wide intervals."""
    rows = [(3, 20, 18), (5, 15, 9), (8, 12, 4), (12, 10, 2), (20, 10, 1)]
    player = fit_player(
        [{"distance_ft": x, "tries": n, "holed": k} for x, n, k in rows], Level(handicap_index=14.0)
    )
    aim, pace = interval(player, "putting", "aim"), interval(player, "putting", "pace")
    assert 1.1 < aim.low < aim.middle < aim.high < 2.4
    assert aim.high / aim.low > 1.3
    assert pace.high / pace.low > 1.7
    for x, n, k in rows:
        chance, spread = float(holing_chance(player.putting, x)), np.sqrt(k / n * (1 - k / n) / n)
        assert abs(chance - k / n) < 2.5 * max(spread, 0.05)
    tour = fit_player([{"distance_ft": x, "tries": n, "holed": k} for x, n, k in TOUR_PUTTS], LEVEL)
    narrow = interval(tour, "putting", "aim")
    assert narrow.high / narrow.low < 1.03


def test_putts_per_green_agree_with_putts_by_distance():
    rng = np.random.default_rng(1)
    truth = LEVEL.player().putting.model_copy(update={"aim_sd_deg": 1.35, "pace_sd": 0.09})
    rows = []
    for first in rng.uniform(4, 45, 3000):
        x, putts = float(first), 0
        while True:
            putts += 1
            angle = rng.normal(0, np.deg2rad(truth.aim_sd_deg))
            roll = rng.normal(x + 1, (x + 1) * truth.pace_sd)
            if abs(angle) < np.arcsin(min(1, (4.25 - 1.68) / 24 / x)) and x <= roll <= x + 3:
                break
            x = max(float(np.hypot(roll * np.sin(angle), x - roll * np.cos(angle))), 0.1)
        rows.append({"distance_ft": round(float(first)), "putts": putts})
    skill = fit_player(rows, LEVEL).putting
    assert skill.aim_sd_deg == pytest.approx(1.35, rel=0.06)
    assert skill.pace_sd == pytest.approx(0.09, rel=0.10)
