"""Where the balls of a choice come down, on the hole itself."""

from typing import TYPE_CHECKING, Any

import numpy as np

from caddiebrain.insight.picture import dispersion as balls
from caddiebrain.insight.records_compare import Comparison, Ellipse, Side
from caddiebrain.insight.spots import Picker
from caddiebrain.insight.stops import row_of, tee_stop
from caddiebrain.plots.ground import Frame, ground
from caddiebrain.plots.look import INK, MARKS, Mark
from caddiebrain.round import HolePlan, RoundPlan
from caddiebrain.round.lookup import spread_from
from caddiebrain.round.options import Option
from caddiebrain.terms import Lie

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["dispersion", "hole"]

Point = tuple[float, float]

_AROUND_YD = 25.0
_NARROWEST_YD = 70.0


def hole(plan: HolePlan, *, standing: int | None = None, ax: "Axes | None" = None, **kwargs: Any) -> "Axes":
    """Draw a planned hole: its ground, the tee choice, its aim, and where its balls come down.

    Parameters
    ----------
    plan : HolePlan
    standing : int, optional
        Strokes over par before this hole: the choice that serves the target best there. By default the choice
        with the lowest expected score.
    ax : matplotlib Axes, optional
        Where to draw; by default a new figure.
    **kwargs
        For the balls, as `matplotlib.axes.Axes.scatter` takes them.

    Returns
    -------
    matplotlib Axes

    Raises
    ------
    ImportError
        If matplotlib is not installed.
    """
    option = plan.tee_choice if standing is None else plan.tee_options(standing)[0]
    ax = ground(plan.hole, ax=ax)
    points, ellipse = _off_the_tee(plan, option)
    _choice(ax, plan.hole.tee, option.aim_xy, points, ellipse, MARKS[0], option.label, kwargs)
    x, y = option.aim_xy
    stop = tee_stop(plan.compiler, row_of(plan, option))
    leaves = f"\nleaves {stop.leaves_yd:.0f}" if stop.leaves_yd > 20 else ""
    ax.annotate(
        f"{option.label}\n{stop.total_yd:.0f} yards{leaves}", (x, y), (1.03, y),
        xycoords="data", textcoords=("axes fraction", "data"), ha="left", va="center", fontsize=8,
        color=INK, zorder=6, arrowprops={"arrowstyle": "-", "color": MARKS[0].ink, "lw": 0.7},
    )  # fmt: skip
    ax.set_title("\n".join(_title(plan, option, standing)), loc="left", fontsize=9, color=INK)
    return ax


def _off_the_tee(plan: HolePlan, option: Option) -> tuple[tuple[Point, ...], Ellipse | None]:
    picker = Picker(plan.compiler, [(option.label, option.aim_deg)])
    return balls(spread_from(plan.compiler, *plan.hole.tee, Lie.TEE, picker), 0)


def _title(plan: HolePlan, option: Option, standing: int | None) -> list[str]:
    first = f"Hole {plan.number}, par {plan.par}, {plan.length_yd:.0f} yards"
    aim = f"{option.label}, {option.aim_words}"
    worth = f"{option.expected:.2f} on average"
    if standing is not None:
        over = "level par" if standing == 0 else f"{abs(standing)} {'over' if standing > 0 else 'under'}"
        return [f"{first}; {over} so far", aim, f"{worth}; {option.chance:.1%} to make the target"]
    return [first, aim, f"{worth}; double or worse {plan.double_bogey_or_worse:.0%}"]


def dispersion(plan: RoundPlan, found: Comparison, *, ax: "Axes | None" = None, **kwargs: Any) -> "Axes":
    """Draw where the balls of two compared choices come down, at their real size on the ground.

    Eighty-nine equally likely balls of each, mishits among them in their share; the ellipse holds two thirds of
    the solid ones. Full shots are shown where they land, short ones where they stop.

    Parameters
    ----------
    plan : RoundPlan
        The plan that was asked.
    found : Comparison
        What `compare` answered.
    ax : matplotlib Axes, optional
        Where to draw; by default a new figure.
    **kwargs
        For the balls, as `matplotlib.axes.Axes.scatter` takes them.

    Returns
    -------
    matplotlib Axes

    Raises
    ------
    ImportError
        If matplotlib is not installed.
    UnknownError
        If the plan has no such hole.
    """
    sides = (found.first, found.second)
    ax = ground(plan.hole(found.hole).hole, ax=ax, frame=_frame(found.position, sides))
    for side, mark in zip(sides, MARKS, strict=True):
        label = f"{side.label}: {side.expected:.2f} strokes"
        _choice(ax, found.position, side.aim_xy, side.points, side.ellipse, mark, label, kwargs)
    ax.legend(
        loc="upper left", bbox_to_anchor=(0.0, -0.005), ncols=1, fontsize=8, frameon=False, labelcolor=INK
    )
    ax.set_title(
        f"Hole {found.hole}, {found.to_pin_yd:.0f} yards to the pin", loc="left", fontsize=9, color=INK
    )
    return ax


def _frame(position: Point, sides: tuple[Side, Side]) -> Frame:
    """What holds the ball, every landing and both aims, with some ground around; never a mere strip."""
    spots = np.array([position, *(p for side in sides for p in (*side.points, side.aim_xy))])
    (left, bottom), (right, top) = spots.min(axis=0) - _AROUND_YD, spots.max(axis=0) + _AROUND_YD
    wider = max(0.0, max(_NARROWEST_YD, 0.4 * (top - bottom)) - (right - left)) / 2
    taller = max(0.0, _NARROWEST_YD - (top - bottom)) / 2
    return float(left - wider), float(right + wider), float(bottom - taller), float(top + taller)


def _choice(
    ax: "Axes",
    start: Point,
    aim: Point,
    points: tuple[Point, ...],
    ellipse: Ellipse | None,
    mark: Mark,
    label: str,
    kwargs: dict[str, Any],
) -> None:
    """Draw the aimed line, the balls and the ellipse of one choice."""
    ax.plot(*zip(start, aim, strict=True), color=mark.ink, lw=1.2, ls=mark.dashes, zorder=3, label="_aimed")
    look: dict[str, Any] = {
        "s": 11,
        "marker": mark.marker,
        "facecolors": mark.ink if mark.filled else "none",
        "edgecolors": "white" if mark.filled else mark.ink,
        "linewidths": 0.4 if mark.filled else 0.8,
        "zorder": 5,
        "label": label,
    }
    ax.scatter(*np.array(points).T, **(look | kwargs))
    if ellipse is not None:
        _ellipse(ax, ellipse, mark)


def _ellipse(ax: "Axes", ellipse: Ellipse, mark: Mark) -> None:
    from matplotlib.patches import Ellipse as Outline

    ax.add_patch(
        Outline(
            ellipse.centre, 2 * ellipse.short_yd, 2 * ellipse.long_yd, angle=-ellipse.turn_deg,
            fill=False, ec=mark.ink, lw=1.3, ls=mark.dashes, zorder=4.5, label="_two thirds",
        )
    )  # fmt: skip
