"""The tables of docs/trust.md: made from the studies, and read back from the page.

A table on the page is older than the model it stands beside by whatever was tuned since; `apart` says how far.
"""

import re
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

import numpy as np
from trust_studies import (
    EXCEPTIONAL_ODDS,
    TOUR_STROKES,
    DecisionStudy,
    LevelStudy,
    PlayStudy,
    TourRow,
    yardage_rating,
)

import caddiebrain as cb
from caddiebrain.round import RoundPlan

PAGE = Path(__file__).parents[2] / "docs" / "trust.md"
BLOCK = re.compile(r"<!-- (?P<name>\w+) -->\n(?P<table>.*?)\n<!-- /(?P=name) -->", re.DOTALL)
VERSION = re.compile(r"(?<=measured with caddiebrain )\d+\.\d+\.\d+")
NUMBER = re.compile(r"(?<![\w.])[+-]?\d+(?:\.\d+)?(?![\w.]*\w)")

TOUR_WITHIN, TOUR_WITHIN_MOST = 0.10, 0.25
RATING_WITHIN = 2.0
ODDS_FACTOR = 3.0
HALVING_TEE, HALVING_CHANCE = 0.01, 0.01
PLAY_SCORE, PLAY_CHANCE = 0.15, 0.01
COVERED = (0.85, 0.95)


def text() -> str:
    return PAGE.read_text(encoding="utf-8")


def tables() -> dict[str, str]:
    """Tables by name as the page has them."""
    return {m["name"]: m["table"] for m in BLOCK.finditer(text())}


def write(name: str, lines: Iterable[str]) -> None:
    """Put a fresh table on the page, and the version it was made with."""
    fresh = f"<!-- {name} -->\n" + "\n".join(lines) + f"\n<!-- /{name} -->"
    page = BLOCK.sub(lambda m: fresh if m["name"] == name else m[0], text())
    PAGE.write_text(VERSION.sub(cb.__version__, page), encoding="utf-8")


def numbers(table: str) -> list[float]:
    return [float(n) for n in NUMBER.findall(table)]


def apart(name: str, lines: Iterable[str]) -> float:
    """Largest difference of a number on the page from a fresh one; infinite where the words differ."""
    old, new = tables()[name], "\n".join(lines)
    if NUMBER.sub("#", old) != NUMBER.sub("#", new):
        return float("inf")
    return float(np.max(np.abs(np.subtract(numbers(old), numbers(new)))))


def errors_apart(name: str, lines: Iterable[str]) -> float:
    """Largest difference of a mean on the page from a fresh one, in standard errors of the difference.

    For tables that end in the columns mean and standard error.
    """
    columns = [np.reshape(numbers(text), (-1, 2)) for text in (tables()[name], "\n".join(lines))]
    (old, old_error), (new, new_error) = (found.T for found in columns)
    return float(np.max(np.abs(old - new) / np.hypot(old_error, new_error)))


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    return ["| " + " | ".join(row) + " |" for row in (head, ["---"] * len(head), *rows)]


def tour(rows: Sequence[TourRow]) -> list[str]:
    """Strokes to hole out of the tour-like player beside the published baseline, a table for each lie."""
    lines = []
    for lie in TOUR_STROKES:
        head = (f"{lie}, {'ft' if lie == 'green' else 'yd'}", "published", "ours", "difference")
        ours = [(d, p, o) for kind, d, p, o in rows if kind == lie]
        lines += [*table(head, ((f"{d}", f"{p:.2f}", f"{o:.2f}", f"{o - p:+.2f}") for d, p, o in ours)), ""]
    off = np.abs([ours - published for _, _, published, ours in rows])
    return [*lines, f"Mean absolute difference {off.mean():.3f} strokes, largest {off.max():.3f}."]


def putts(rows: Sequence[tuple[float, float, float]]) -> list[str]:
    """Expected putts of the published model played out, beside the published ones."""
    head = ("first putt, ft", "published", "played out", "difference")
    return table(head, ((f"{d:g}", f"{p:.2f}", f"{o:.3f}", f"{o - p:+.3f}") for d, p, o in rows))


def levels(studies: dict[float, LevelStudy]) -> list[str]:
    """Levels on the demo course beside yardage ratings and the odds of exceptional rounds."""
    length = cb.demo.course().length_yd
    head = ("level", "mean", "better half", "yardage rating", "difference", "index from rounds here")
    rows = []
    for player, index in (("scratch", 0.0), ("bogey", 20.0)):
        study, rating = studies[index], yardage_rating(player, length)
        shown = (study.mean, study.better_half, rating)
        off = f"{study.better_half - rating:+.2f}"
        rows.append((player, *(f"{x:.2f}" for x in shown), off, f"{study.index:.1f}"))
    odds = []
    for group, (index, published) in EXCEPTIONAL_ODDS.items():
        for least, one_in in published.items():
            ours = studies[index].odds[least]
            odds.append((group, f"{least} or better", f"{one_in}", f"{ours:.0f}", f"{one_in / ours:.2f}"))
    second = ("handicap index", "net differential", "published, 1 in", "ours, 1 in", "times as often")
    return [*table(head, rows), "", *table(second, odds)]


def halving(plan: RoundPlan, half: RoundPlan) -> list[str]:
    """Every tee on the grid users get and on one with every cell halved."""
    rows = [
        (f"{a.number}", f"{a.expected_score:.3f}", f"{b.expected_score:.3f}",
         f"{b.expected_score - a.expected_score:+.4f}")
        for a, b in zip(plan.holes, half.holes, strict=True)
    ]  # fmt: skip
    a, b = plan.expected_score, half.expected_score
    rows.append(("round", f"{a:.3f}", f"{b:.3f}", f"{b - a:+.4f}"))
    asks: dict[str, Callable[[RoundPlan, int], float]] = {
        "playing for 79": RoundPlan.chance,
        "playing for the average": RoundPlan.chance_expected_policy,
    }
    for name, ask in asks.items():
        a, b = ask(plan, 79), ask(half, 79)
        rows.append((f"79 or better, {name}", f"{a:.4f}", f"{b:.4f}", f"{b - a:+.4f}"))
    return table(("hole", "expected score", "every cell halved", "difference"), rows)


def play(studies: Sequence[PlayStudy], rounds: int) -> list[str]:
    """Rounds played ball by ball in continuous positions beside what is computed."""
    rows = []
    for s in studies:
        name = {"expected": "the average", "target": "79"}[s.policy]
        error = np.sqrt(s.chance * (1 - s.chance) / rounds)
        rows += [
            (name, "score", f"{s.computed:.3f}", f"{s.played:.3f}", f"{s.played - s.computed:+.3f}",
             f"{s.standard_error:.3f}"),
            (name, "79 or better", f"{s.chance:.4f}", f"{s.chance_played:.4f}",
             f"{s.chance_played - s.chance:+.4f}", f"{error:.4f}"),
        ]  # fmt: skip
    off = [(f"{i + 1}", f"{x:+.3f}") for i, x in enumerate(studies[0].holes)]
    head = ("playing for", "", "computed", "played", "difference", "standard error")
    return [*table(head, rows), "", *table(("hole", "played less computed, for the average"), off)]


def decisions(study: DecisionStudy) -> list[str]:
    """What deciding where the ball lies gains, and what deciding as at the nearest place costs."""
    figures = (
        ("shots a round off the tee and the green", study.shots, ".2f"),
        ("best where the ball lies, less computed", study.there, "+.3f"),
        ("as at the nearest place, less best", study.nearest, "+.3f"),
    )
    rows = [(name, f"{mean:{form}}", f"{error:.3f}") for name, (mean, error), form in figures]
    return table(("a round", "mean", "standard error"), rows)


def recovery(found: dict[tuple[str, int], float]) -> list[str]:
    """Share of the parameters of simulated players that lie in their 90 % intervals."""
    counts = sorted({n for _, n in found})
    kinds = list(dict.fromkeys(kind for kind, _ in found))
    rows = ((kind, *(f"{found[kind, n]:.3f}" for n in counts)) for kind in kinds)
    return table(("records of", *(f"{n} of each club" for n in counts)), rows)
