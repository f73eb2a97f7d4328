"""Whether what a round is to be planned with is all of its kind."""

from collections import Counter
from collections.abc import Iterator

import numpy as np

from caddiebrain.course import Course, Hole, Setup
from caddiebrain.errors import Fault, InputError, kind_faults, number_faults
from caddiebrain.flight import Conditions
from caddiebrain.hole import GridSpec
from caddiebrain.player.model import Player

__all__ = ["check_asked"]


def check_asked(
    course: object,
    player: object,
    target: object,
    conditions: object,
    setup: object,
    grid: object,
    progress: object,
) -> None:
    """Raise InputError with everything that is not of its kind; see ``plan_round``."""
    faults = kind_faults("course", course, Course, "a Course, such as load_course(path) reads")
    made = "a Player, such as load_player(path) reads or level.player() makes"
    faults += kind_faults("player", player, Player, made)
    if conditions is not None:
        faults += kind_faults("conditions", conditions, Conditions, "Conditions(wind_mph=..., ...)")
    if setup is not None:
        faults += kind_faults("setup", setup, Setup, "Setup(...)")
    if grid is not None:
        faults += kind_faults("grid", grid, GridSpec, "GridSpec(...)")
    if progress is not None and not callable(progress):
        faults += [
            Fault("progress", repr(progress)[:60], "a function of (steps done, steps in all, what was done)")
        ]
    if faults or not isinstance(course, Course):
        raise InputError("plan", faults)
    holes = len(course.holes)
    if holes == 0:
        raise InputError.one(course.source or course.name, "holes", "none", "at least one hole")
    faults = [*_hole_faults(course)]
    faults += number_faults(
        "target", target, holes, 300, f"a whole number of strokes, {holes} to 300", whole=True
    )
    if faults:
        raise InputError("plan", faults)


def _hole_faults(course: Course) -> Iterator[Fault]:
    """What is wrong with holes that a program made or put together."""
    strange = [
        Fault("holes", f"{type(h).__name__} object", "Hole(...)")
        for h in course.holes
        if not isinstance(h, Hole)
    ]
    if strange:
        yield strange[0]
        return
    for number, times in Counter(hole.number for hole in course.holes).items():
        if times > 1:  # a nine played twice: plans are asked by number, and add up what came before by it
            yield Fault(
                "holes",
                f"hole {number} {times} times",
                "a number of its own for each, as replace(hole, number=...) gives it",
            )
    for hole in course.holes:
        line = hole.line
        if line.ndim != 2 or line.shape[1] != 2 or len(line) < 2 or not np.isfinite(line).all():
            yield Fault(
                f"hole {hole.number}: line",
                f"shape {line.shape}",
                "two or more points, x and y in yards, shape (n, 2)",
            )
