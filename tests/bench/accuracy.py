"""Every comparison of docs/trust.md, printed as its tables; with --write put on the page.

python tests/bench/accuracy.py                      # all of it; the played rounds take a quarter of an hour
python tests/bench/accuracy.py tour putts --write   # some: tour, putts, levels, halving, play, decisions, recovery
"""

import argparse
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "round"))
sys.path.insert(0, str(Path(__file__).parents[1] / "player"))

import test_putting
import test_recovery
import trust_page
from trust_studies import decision_study, demo_plan, level_study, play_study, tour_strokes

from caddiebrain.hole import GridSpec


def tour() -> list[str]:
    """Strokes to hole out of the tour-like player beside the published baseline."""
    return trust_page.tour(tour_strokes())


def putts() -> list[str]:
    """The published putting model played out beside the published expected putts."""
    x, mean = test_putting.expected_putts(test_putting.TOUR)
    published = test_putting.EXPECTED_PUTTS
    return trust_page.putts([(d, p, float(np.interp(d, x, mean))) for d, p in published.items()])


def levels() -> list[str]:
    """Levels on the demo course beside yardage ratings and the odds of exceptional rounds."""
    return trust_page.levels({i: level_study(i, np.random.default_rng(1)) for i in (0.0, 20.0, 17.0, 4.0)})


def halving() -> list[str]:
    """Expected score of every tee on the grid users get and on one with every cell halved."""
    return trust_page.halving(demo_plan(), demo_plan(GridSpec().halved()))


def play() -> list[str]:
    """A hundred thousand rounds played ball by ball in continuous positions beside what is computed."""
    return trust_page.play(play_study(demo_plan(), 100_000, seed=79), 100_000)


def decisions() -> list[str]:
    """What deciding where the ball lies gains, and what deciding as at the nearest place costs."""
    return trust_page.decisions(decision_study(demo_plan(), 1_000, 200, seed=79))


def recovery() -> list[str]:
    """How often 90 % intervals hold the truth, for players drawn from a level and notes made from them."""
    found = {
        (kind, n): float(test_recovery.covered(n, kind, test_recovery.FITS, seed=20).mean())
        for kind in ("shots", "tallies", "both")
        for n in (10, 50, 300)
    }
    return trust_page.recovery(found)


STUDIES = {f.__name__: f for f in (tour, putts, levels, halving, play, decisions, recovery)}


def main() -> None:
    """Run the studies asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("study", nargs="*", default=[*STUDIES])
    parser.add_argument("--write", action="store_true", help="put the tables on the page")
    asked = parser.parse_args()
    for name in asked.study:
        lines = STUDIES[name]()
        print(f"\n{name}\n", *lines, sep="\n", flush=True)
        if asked.write:
            trust_page.write(name, lines)


if __name__ == "__main__":
    main()
