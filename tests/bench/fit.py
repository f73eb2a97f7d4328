"""How long a fit takes and how its memory grows: 100,000 shots as a CSV file, read and fitted.

Run: python tests/bench/fit.py [rows]
"""

import resource
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from caddiebrain.player import Level, fit_player, load_records


def write_shots(path: Path, rows: int, distances: bool, rng: np.random.Generator) -> None:
    """Write shots of a 12-handicapper, with carry and offline, or with distances before and after alone."""
    patterns = Level(handicap_index=12.0).player().patterns
    which = rng.integers(0, len(patterns), rows)
    carry = np.array([p.carry_yd for p in patterns])[which]
    flown = np.maximum(carry * (1.0 + 0.07 * rng.standard_normal(rows)), 5.0)
    offline = flown * np.tan(np.deg2rad(4.0 * rng.standard_normal(rows)))
    long = np.where(rng.random(rows) < 0.4, 150.0, 0.0)
    before = np.round(carry + long + rng.integers(-6, 7, rows))
    after = np.round(np.hypot(before - flown, offline), 1)
    dates = (np.datetime64("2021-01-01") + rng.integers(0, 1500, rows)).astype(str)
    lies = np.where(long > 0, "tee", "fairway")
    heading = "date,club,lie,before_yd,after_yd" if distances else "date,club,lie,carry_yd,offline_yd"
    first, second = (before, after) if distances else (np.round(flown, 1), np.round(offline, 1))
    lines = [
        f"{d},{patterns[k].club},{lie},{a},{b}"
        for d, k, lie, a, b in zip(dates, which, lies, first, second, strict=True)
    ]
    path.write_text("\n".join([heading, *lines]) + "\n", encoding="utf-8")


def main(rows: int) -> None:
    """Time reading and fitting at a tenth and at all of the rows."""
    rng = np.random.default_rng(7)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "shots.csv"
        for distances in (False, True):
            for n in (rows // 10, rows):
                write_shots(path, n, distances, rng)
                start = time.perf_counter()
                records = load_records(path)
                read = time.perf_counter() - start
                player = fit_player(records, Level(handicap_index=12.0), half_life_days=365.0)
                fitted = time.perf_counter() - start - read
                peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
                what = "distances before and after" if distances else "carry and offline"
                spread = player.patterns[0].line_sd_deg
                print(
                    f"{n:7d} shots, {what}: read {read:.2f} s, fit {fitted:.2f} s, "
                    f"together {read + fitted:.2f} s; peak {peak:.0f} MB; driver {spread:.2f} deg"
                )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100_000)
