"""Every comparison of docs/trust.md, printed as its tables.

python tests/bench/accuracy.py                      # all of it; the played rounds take a quarter of an hour
python tests/bench/accuracy.py play --rounds 20000  # one study: tour, levels, halving or play
"""

import argparse
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "round"))

from trust_studies import (
    EXCEPTIONAL_ODDS,
    TOUR_STROKES,
    demo_plan,
    level_study,
    play_study,
    tour_strokes,
    yardage_rating,
)

import caddiebrain as cb
from caddiebrain.hole import GridSpec


def tour() -> None:
    """Strokes to hole out of the tour-like player beside the published baseline."""
    rows = tour_strokes()
    for lie in TOUR_STROKES:
        print(
            f"\n| {lie}, {'ft' if lie == 'green' else 'yd'} | published | ours | difference |\n|---|---|---|---|"
        )
        for kind, distance, published, ours in rows:
            if kind == lie:
                print(f"| {distance} | {published:.2f} | {ours:.2f} | {ours - published:+.2f} |")
    off = np.array([ours - published for _, _, published, ours in rows])
    print(f"\nmean absolute difference {np.abs(off).mean():.3f}, largest {np.abs(off).max():.3f}")


def levels() -> None:
    """Levels on the demo course beside yardage ratings and the odds of exceptional rounds."""
    length = cb.demo.course().length_yd
    print("\n| level | mean | better half | yardage rating | difference | index from 20 rounds here |")
    print("|---|---|---|---|---|---|")
    for player, index in (("scratch", 0.0), ("bogey", 20.0)):
        study, rating = level_study(index, np.random.default_rng(1)), yardage_rating(player, length)
        print(
            f"| {player} | {study.mean:.2f} | {study.better_half:.2f} | {rating:.2f} "
            f"| {study.better_half - rating:+.2f} | {study.index:.1f} |"
        )
    print("\n| handicap index | net differential | published, 1 in | ours, 1 in |\n|---|---|---|---|")
    for group, index in (("13 to 21.9", 17.0), ("5.9 or less", 4.0)):
        odds = level_study(index, np.random.default_rng(1)).odds
        for least, published in EXCEPTIONAL_ODDS[group].items():
            print(f"| {group} (level {index:.0f}) | {least} or better | {published} | {odds[least]:.0f} |")


def halving() -> None:
    """Expected score of every tee on the grid users get and on one with every cell halved."""
    plan, half = demo_plan(), demo_plan(GridSpec().halved())
    print("\n| hole | expected | every cell halved | difference |\n|---|---|---|---|")
    for a, b in zip(plan.holes, half.holes, strict=True):
        moved = b.expected_score - a.expected_score
        print(f"| {a.number} | {a.expected_score:.3f} | {b.expected_score:.3f} | {moved:+.4f} |")
    moved = half.expected_score - plan.expected_score
    print(f"| round | {plan.expected_score:.3f} | {half.expected_score:.3f} | {moved:+.4f} |")
    for name, ask in (("for 79", cb.RoundPlan.chance), ("lowest score", cb.RoundPlan.chance_expected_policy)):
        a, b = ask(plan, 79), ask(half, 79)
        print(f"| P(79 or better), {name} | {a:.4f} | {b:.4f} | {b - a:+.4f} |")


def play(rounds: int) -> None:
    """Rounds played ball by ball in continuous positions beside what is computed."""
    plan = demo_plan()
    studies = play_study(plan, rounds, seed=79)
    print(f"\n{rounds} rounds\n\n| policy | | computed | played | difference | standard error |")
    print("|---|---|---|---|---|---|")
    for s in studies:
        error = np.sqrt(s.chance * (1 - s.chance) / rounds)
        print(f"| {s.policy} | score | {s.computed:.3f} | {s.played:.3f} | {s.played - s.computed:+.3f} "
              f"| {s.standard_error:.3f} |")  # fmt: skip
        print(f"| {s.policy} | P(79 or better) | {s.chance:.4f} | {s.chance_played:.4f} "
              f"| {s.chance_played - s.chance:+.4f} | {error:.4f} |")  # fmt: skip
    print("\n| hole | played less computed, expected policy |\n|---|---|")
    for hole, off in zip(plan.holes, studies[0].holes, strict=True):
        print(f"| {hole.number} | {off:+.3f} |")


def main() -> None:
    """Run the studies asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("study", nargs="*", default=["tour", "levels", "halving", "play"])
    parser.add_argument("--rounds", type=int, default=100_000)
    asked = parser.parse_args()
    studies = {"tour": tour, "levels": levels, "halving": halving, "play": lambda: play(asked.rounds)}
    for name in asked.study:
        studies[name]()


if __name__ == "__main__":
    main()
