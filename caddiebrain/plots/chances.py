"""Chances of every score, of a round and of a hole."""

from typing import TYPE_CHECKING, Any

import numpy as np

from caddiebrain.plots.look import FAINT, INK, MARKS, PALE, bare, new_axes
from caddiebrain.round import HolePlan, RoundPlan

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["hole_scores", "scores"]

_TAIL = 1e-3
"""Totals with less than this chance beyond them are left of the frame or right of it."""
_NAMES = {-3: "three under", -2: "two under", -1: "birdie", 0: "par", 1: "bogey", 2: "double", 3: "triple"}


def scores(plan: RoundPlan, *, ax: "Axes | None" = None, **kwargs: Any) -> "Axes":
    """Draw the chance of every total: bars when playing for the target, a line when playing for the average.

    Parameters
    ----------
    plan : RoundPlan
    ax : matplotlib Axes, optional
        Where to draw; by default a new figure.
    **kwargs
        For the bars, as `matplotlib.axes.Axes.bar` takes them.

    Returns
    -------
    matplotlib Axes
        Totals across, chances of 0 to 1 upward; every total has its bar, the frame shows those that matter.

    Raises
    ------
    ImportError
        If matplotlib is not installed.
    """
    if ax is None:
        ax = new_axes(7.0, 3.4)
    target, average = plan.score_pmf("target"), plan.score_pmf("expected")
    totals = np.arange(len(target))
    made = totals <= plan.target
    look: dict[str, Any] = {
        "width": 0.78,
        "color": [MARKS[0].ink if m else PALE for m in made],
        "label": f"playing for {plan.target}",
    }
    ax.bar(totals, target, **(look | kwargs))
    edges = np.arange(len(average) + 1) - 0.5
    ax.stairs(average, edges, color=MARKS[1].ink, lw=1.4, label="playing for the lowest average", zorder=3)
    below = np.cumsum(target)
    shown = np.flatnonzero((below > _TAIL) & (below < 1 - _TAIL))
    ax.set_xlim(shown[0] - 1, shown[-1] + 1)
    top = float(max(target.max(), average.max()))
    ax.set_ylim(0, 1.22 * top)
    ax.axvline(plan.target + 0.5, color=INK, lw=0.8, ls=(0, (4, 3)))
    ax.text(
        plan.target + 0.2, 1.2 * top,
        f"{plan.target} or better: {plan.chance():.1%}\n{plan.chance_expected_policy():.1%} on the lowest average",
        ha="right", va="top", fontsize=9, color=INK,
    )  # fmt: skip
    _mean(ax, plan.expected_score)
    bare(ax)
    ax.yaxis.set_visible(False)
    ax.set_xlabel("total", color=INK, fontsize=9)
    ax.legend(loc="upper right", fontsize=8, frameon=False, labelcolor=INK)
    return ax


def _mean(ax: "Axes", mean: float) -> None:
    """Mark the lowest average under the foot of the bars."""
    ax.plot([mean], [0], marker="^", ms=7, color=MARKS[1].ink, clip_on=False, zorder=4, label="_mean")
    ax.annotate(
        f"{mean:.1f} on average", (mean, 0), (0, 10), textcoords="offset points", ha="center", fontsize=8,
        color=INK, bbox={"boxstyle": "round,pad=0.2", "fc": "white", "ec": "none", "alpha": 0.8}, zorder=5,
    )  # fmt: skip


def hole_scores(plan: HolePlan, *, ax: "Axes | None" = None, **kwargs: Any) -> "Axes":
    """Draw the chance of every score on one hole, playing for the lowest average.

    Parameters
    ----------
    plan : HolePlan
    ax : matplotlib Axes, optional
        Where to draw; by default a new figure.
    **kwargs
        For the bars, as `matplotlib.axes.Axes.bar` takes them.

    Returns
    -------
    matplotlib Axes
        Scores across, chances of 0 to 1 upward; double bogey or worse is hatched.

    Raises
    ------
    ImportError
        If matplotlib is not installed.
    """
    if ax is None:
        ax = new_axes(4.2, 2.8)
    pmf = plan.score_pmf
    over = np.arange(len(pmf)) - plan.par
    look: dict[str, Any] = {
        "width": 0.78,
        "color": [MARKS[0].ink if o <= 0 else PALE for o in over],
        "hatch": ["////" if o >= 2 else "" for o in over],
        "edgecolor": [INK if o >= 2 else "none" for o in over],
        "linewidth": 0,
    }
    bars = ax.bar(np.arange(len(pmf)), pmf, **(look | kwargs))
    shown = np.flatnonzero(pmf > 0.004)
    for score in shown:
        ax.annotate(
            f"{pmf[score]:.0%}", (score, bars[score].get_height()), (0, 3), textcoords="offset points",
            ha="center", fontsize=9, color=INK,
        )  # fmt: skip
    ax.set_xlim(shown[0] - 0.6, shown[-1] + 0.6)
    ax.set_xticks(shown, [f"{s}\n{_NAMES.get(int(s) - plan.par, '')}" for s in shown])
    ax.set_ylim(0, 1.12 * float(pmf.max()))
    bare(ax)
    ax.yaxis.set_visible(False)
    ax.tick_params(axis="x", labelsize=8, colors=INK)
    ax.spines["bottom"].set_color(FAINT)
    ax.set_title(
        f"Hole {plan.number}, par {plan.par}: {plan.expected_score:.2f} on average, "
        f"double bogey or worse {plan.double_bogey_or_worse:.0%}",
        loc="left", fontsize=9, color=INK,
    )  # fmt: skip
    return ax
