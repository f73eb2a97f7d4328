"""Where a ball lies, as a caller says it: a position, or a distance to the pin and a lie."""

import numpy as np

from caddiebrain.course.model import Hole
from caddiebrain.errors import InputError, UnknownError, number_faults
from caddiebrain.hole.compile import TEE_YD
from caddiebrain.terms import Lie

__all__ = ["check_strokes", "lie_named", "on_the_tee", "pair_of", "place_of"]

_OFF_BY_YD = 5.0
"""How far the line of play may miss a distance to the pin before the hole is called too short for it."""


def place_of(hole: Hole, position: tuple[float, float] | None, to_pin: float | None) -> tuple[float, float]:
    """Yards in the hole's axes of a position, or of the point of the line of play so far from the pin.

    Raises
    ------
    InputError
        If both or neither are given, or no point of the line is that far from the pin.
    """
    if (position is None) == (to_pin is None):
        found = "neither" if position is None else "both"
        raise InputError.one(f"hole {hole.number}", "position", found, "either position or to_pin")
    if position is not None:
        return pair_of(hole, "position", position)
    faults = number_faults("to_pin", to_pin, 1e-9, 800.0, "yards, above 0 to 800")
    if faults:
        raise InputError(f"hole {hole.number}", faults)
    wanted = float(to_pin or 0.0)
    share = np.linspace(0.0, 1.0, 4001)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(hole.line, axis=0).T))])
    x = np.interp(share * along[-1], along, hole.line[:, 0])
    y = np.interp(share * along[-1], along, hole.line[:, 1])
    to_hole = np.hypot(x - hole.pin[0], y - hole.pin[1])
    off = np.abs(to_hole - wanted)
    nearest = len(off) - 1 - int(np.argmin(off[::-1]))
    if off[nearest] > _OFF_BY_YD:
        longest = f"yards, at most {to_hole.max():.0f} on this hole"
        raise InputError.one(f"hole {hole.number}", "to_pin", f"{wanted:g}", longest)
    return float(x[nearest]), float(y[nearest])


def pair_of(hole: Hole, name: str, given: tuple[float, float]) -> tuple[float, float]:
    """Return the two numbers of an argument that is a place; whether they are on the hole is seen later.

    Raises
    ------
    InputError
        If it is no pair of numbers.
    """
    try:
        x, y = (float(v) for v in given)
    except (TypeError, ValueError):
        raise InputError.one(
            f"hole {hole.number}", name, repr(given)[:60], "a pair of yards, such as (-20, 180)"
        ) from None
    return x, y


def check_strokes(hole: int, standing: int, strokes_on_hole: int = 0) -> None:
    """Refuse a standing or strokes taken on a hole that are no whole numbers."""
    faults = number_faults(
        "standing", standing, -999, 999, "whole strokes over par before the hole", whole=True
    )
    faults += number_faults("strokes_on_hole", strokes_on_hole, 0, 30, "whole strokes, 0 to 30", whole=True)
    if faults:
        raise InputError(f"hole {hole}", faults)


def on_the_tee(hole: Hole, x: float, y: float) -> bool:
    """Whether a position is the tee in play."""
    return float(np.hypot(x - hole.tee[0], y - hole.tee[1])) <= TEE_YD


def lie_named(lie: str | None) -> Lie | None:
    """Member of ``Lie`` with this name; None stays None.

    Raises
    ------
    UnknownError
        If there is no such lie.
    """
    if lie is None:
        return None
    try:
        return Lie(lie)
    except ValueError:
        raise UnknownError(f"no lie {lie!r}; there are {', '.join(Lie)}") from None
