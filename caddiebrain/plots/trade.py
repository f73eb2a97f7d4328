"""What is traded for what: strokes for safety, hours for rounds."""

from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from caddiebrain.errors import InputError
from caddiebrain.insight.disasters import DisasterFrontier
from caddiebrain.insight.practice import PracticeReport
from caddiebrain.plots.look import FAINT, INK, MARKS, bare, new_axes

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["frontier", "practice"]


def frontier(curve: DisasterFrontier, *, ax: "Axes | None" = None, **kwargs: Any) -> "Axes":
    """Draw what fewer doubles cost on a hole: strokes on average against the chance of double bogey or worse.

    Parameters
    ----------
    curve : DisasterFrontier
        What `disaster_frontier` answered.
    ax : matplotlib Axes, optional
        Where to draw; by default a new figure.
    **kwargs
        For the line and its points, as `matplotlib.axes.Axes.plot` takes them.

    Returns
    -------
    matplotlib Axes
        Chances of 0 to 1 across, strokes upward.

    Raises
    ------
    ImportError
        If matplotlib is not installed.
    """
    if ax is None:
        ax = new_axes(5.2, 3.6)
    chance = np.array([p.double_bogey_or_worse for p in curve.points])
    strokes = np.array([p.expected for p in curve.points])
    look: dict[str, Any] = {
        "color": MARKS[0].ink,
        "marker": "o",
        "ms": 5,
        "lw": 1.4,
        "mec": "white",
        "mew": 0.6,
    }
    ax.plot(chance, strokes, **(look | kwargs))
    before = ""
    for i, point in enumerate(curve.points):
        if point.tee_choice != before:
            right = chance[i] > (chance[0] + chance[-1]) / 2  # the curve bends away from either label
            ax.annotate(
                point.tee_choice, (chance[i], strokes[i]), (-6, -7) if right else (7, 2),
                textcoords="offset points", ha="right" if right else "left", va="top" if right else "bottom",
                fontsize=8, color=INK,
            )  # fmt: skip
        before = point.tee_choice
    ax.margins(0.12, 0.18)
    bare(ax)
    ax.spines["left"].set(visible=True, color=FAINT)
    ax.xaxis.set_major_formatter(lambda value, _: f"{100 * value:.1f}%")
    ax.yaxis.set_major_formatter(lambda value, _: f"{value:.2f}")
    ax.set_xlabel("double bogey or worse", fontsize=9, color=INK)
    ax.set_ylabel("strokes on average", fontsize=9, color=INK)
    ax.set_title(
        f"Hole {curve.hole}, par {curve.par}: what fewer doubles cost", loc="left", fontsize=9, color=INK
    )
    return ax


def practice(
    report: PracticeReport,
    *,
    by: Literal["chance", "strokes"] = "chance",
    ax: "Axes | None" = None,
    **kwargs: Any,
) -> "Axes":
    """Draw what the same effort at each skill brings, the most at the top, with its hours where they were split.

    Parameters
    ----------
    report : PracticeReport
        What `practice_priorities` answered.
    by : {"chance", "strokes"}
        Rounds in a hundred gained that make the target, or strokes saved a round.
    ax : matplotlib Axes, optional
        Where to draw; by default a new figure.
    **kwargs
        For the bars, as `matplotlib.axes.Axes.barh` takes them.

    Returns
    -------
    matplotlib Axes
        Gains across, one bar for each skill.

    Raises
    ------
    InputError
        For another ``by``.
    ImportError
        If matplotlib is not installed.
    """
    if by not in ("chance", "strokes"):
        raise InputError.one("practice", "by", repr(by), '"chance" or "strokes"')
    gains = {p.skill: 100 * p.chance if by == "chance" else -p.strokes for p in report.priorities}
    ranked = sorted(gains, key=lambda skill: gains[skill], reverse=True)
    if ax is None:
        ax = new_axes(7.2, 0.9 + 0.27 * len(ranked))
    look: dict[str, Any] = {"color": MARKS[0].ink, "height": 0.62}
    ax.barh(ranked, [gains[skill] for skill in ranked], **(look | kwargs))
    ax.invert_yaxis()
    hours = {row.skill: row.hours for row in report.hours.skills} if report.hours else {}
    for at, skill in enumerate(ranked):
        words = f"{gains[skill]:z.1f}" if by == "chance" else f"{gains[skill]:z.2f}"
        spent = f"   {hours[skill]:g} h a week" if hours.get(skill) else ""
        ax.annotate(
            words + spent, (max(gains[skill], 0.0), at), (4, 0), textcoords="offset points", va="center",
            fontsize=8, color=INK,
        )  # fmt: skip
    ax.margins(x=0.25)
    bare(ax)
    what = (
        f"more rounds in a hundred of {report.target} or better"
        if by == "chance"
        else "strokes saved a round"
    )
    ax.set_title(f"The same effort at one thing: {what}", loc="left", fontsize=9, color=INK)
    ax.xaxis.set_visible(False)
    ax.spines["bottom"].set_visible(False)
    return ax
