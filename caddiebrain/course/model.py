"""Holes in yards, as every later room sees them.

Local axes of a hole: the origin is the tee, y runs toward the pin in a straight line, x to the right of it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields

import numpy as np
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from caddiebrain.errors import UnknownError
from caddiebrain.terms import Lie

__all__ = ["Area", "Course", "Hole", "Point"]

Point = tuple[float, float]


@dataclass(frozen=True)
class Area:
    """A piece of ground with one lie.

    Parameters
    ----------
    lie : Lie
        What a ball on it lies in.
    shape : Polygon or MultiPolygon
        In the hole's yards; cut-outs allowed.
    name : str
        For messages and pictures; may be empty.
    height_yd : float
        Trees only: height of the canopy's top.
    canopy_base_yd : float
        Trees only: below this there are trunks, no branches.
    canopy_gap_yd : float
        Trees only: mean distance a ball flies through the canopy before it is stopped.
    trunk_gap_yd : float
        Trees only: the same below the canopy.
    lost : float
        Chance (0 to 1) that a ball that comes to rest here is not found within three minutes (Rule 18.2).
    """

    lie: Lie
    shape: Polygon | MultiPolygon
    name: str = ""
    height_yd: float = 0.0
    canopy_base_yd: float = 2.0
    canopy_gap_yd: float = 12.0
    trunk_gap_yd: float = 45.0
    lost: float = 0.0


@dataclass(frozen=True)
class Hole:
    """One hole in its own yards.

    Parameters
    ----------
    number, par, stroke_index : int
        ``stroke_index`` 1 to 18.
    line : ndarray of shape (n, 2)
        The line of play from tee to pin through the turns of a dogleg.
    areas : tuple of Area
        Overlaps allowed: where two cover a spot, the lie that comes first in
        ``caddiebrain.course.lies.PRECEDENCE`` holds. Ground under no area is rough.
    bearing_deg : float
        Compass bearing of the y axis, degrees clockwise from north.
    origin_lonlat : tuple of float
        Longitude and latitude of the origin.
    tees, pins : mapping of str to Point
        All that the map shows; ``tee`` and ``pin`` are the ones in play.
    local_rule_e5 : bool
        Whether the committee has adopted the alternative to stroke and distance.
    """

    number: int
    par: int
    stroke_index: int
    line: NDArray[np.float64]
    areas: tuple[Area, ...]
    tee: Point = (0.0, 0.0)
    bearing_deg: float = 0.0
    origin_lonlat: tuple[float, float] = (0.0, 0.0)
    name: str = ""
    tees: Mapping[str, Point] = field(default_factory=dict)
    pins: Mapping[str, Point] = field(default_factory=dict)
    heights: "NDArray[np.float64] | None" = None
    """Spot heights (n, 3): x, y, height in yards; None where the ground is level."""
    local_rule_e5: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "line", np.asarray(self.line, dtype=np.float64))
        if self.heights is not None:
            object.__setattr__(self, "heights", np.asarray(self.heights, dtype=np.float64))
        object.__setattr__(self, "areas", tuple(self.areas))

    # Of their own, because arrays are compared point by point.
    def __eq__(self, other: object) -> bool:
        if self is other:
            return True
        if not isinstance(other, Hole):
            return NotImplemented
        pairs = ((getattr(self, f.name), getattr(other, f.name)) for f in fields(self))
        return all(
            np.array_equal(a, b) if isinstance(a, np.ndarray) and isinstance(b, np.ndarray) else _equal(a, b)
            for a, b in pairs
        )

    def __hash__(self) -> int:
        return hash((self.number, self.par, self.stroke_index, self.line.tobytes()))

    def __repr__(self) -> str:
        return f"Hole({self.number!r}, par {self.par!r}, {len(self.line)} points, {len(self.areas)} areas)"

    @property
    def pin(self) -> Point:
        """The pin in play: the end of the line."""
        return float(self.line[-1, 0]), float(self.line[-1, 1])

    @property
    def length_yd(self) -> float:
        """Length along the line of play, in yards."""
        return float(np.hypot(*np.diff(self.line, axis=0).T).sum())


def _equal(a: object, b: object) -> bool:
    return not isinstance(a, np.ndarray) and not isinstance(b, np.ndarray) and a == b


@dataclass(frozen=True)
class Course:
    """Holes in playing order."""

    name: str
    holes: tuple[Hole, ...]
    source: str = ""
    notes: tuple[str, ...] = ()
    """What the reader assumed, one line each."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "holes", tuple(self.holes))

    def __repr__(self) -> str:
        return f"Course({self.name!r}, {len(self.holes)} holes)"

    @property
    def par(self) -> int:
        """Par of all holes."""
        return sum(hole.par for hole in self.holes)

    @property
    def length_yd(self) -> float:
        """Length of all holes, in yards."""
        return sum(hole.length_yd for hole in self.holes)

    def hole(self, number: int) -> Hole:
        """Return the hole with this number.

        Raises
        ------
        UnknownError
            If the course has no such hole.
        """
        for hole in self.holes:
            if hole.number == number:
                return hole
        have = ", ".join(str(h.number) for h in self.holes)
        raise UnknownError(f"hole {number!r} is not on {self.name or 'this course'}; it has {have}")
