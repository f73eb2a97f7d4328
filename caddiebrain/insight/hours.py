r"""How to split weekly practice hours: a linear program under stated learning curves.

A learning curve says how much of a skill's improvement so many weekly hours bring; it starts at nothing, never
falls and flattens (each hour brings no more than the one before), so that with pieces of slope f the split

.. math:: \max \sum_i g_i \sum_j f_{ij} \, h_{ij} \quad \text{s.t.} \quad \sum h_{ij} \le H, \quad
          0 \le h_{ij} \le \text{length}_{ij}

is a linear program that fills steep pieces first (g: what the whole improvement brings). The curves are common
practice without a source: change them.
"""

from collections.abc import Mapping
from itertools import pairwise
from typing import Any, Self

from pydantic import Field, model_validator

from caddiebrain.errors import InputError, UnknownError, number_faults
from caddiebrain.player.patterns import Record

__all__ = ["USUAL_CURVE", "HoursSplit", "LearningCurve", "SkillHours", "split_hours"]


class LearningCurve(Record):
    """Share of a skill's improvement that weekly hours bring, piecewise linear; flat beyond the last hour given."""

    hours: tuple[float, ...] = Field(min_length=2)
    share: tuple[float, ...] = Field(min_length=2)

    @model_validator(mode="after")
    def _flattens(self) -> Self:
        if len(self.hours) != len(self.share):
            raise ValueError(
                f"{len(self.hours)} hours and {len(self.share)} shares; give one share for each hour"
            )
        if self.hours[0] != 0.0 or self.share[0] != 0.0:
            raise ValueError("a curve starts at no hours and no improvement")
        slopes = self.slopes
        if any(h2 <= h1 for h1, h2 in pairwise(self.hours)):
            raise ValueError("hours must rise")
        if any(s < 0.0 for s in slopes) or any(b > a + 1e-12 for a, b in pairwise(slopes)):
            raise ValueError("shares must rise and flatten: each hour brings no more than the one before")
        return self

    @property
    def pieces(self) -> tuple[float, ...]:
        """Length of each piece, hours."""
        return tuple(b - a for a, b in pairwise(self.hours))

    @property
    def slopes(self) -> tuple[float, ...]:
        """Share an hour brings on each piece."""
        rises = (b - a for a, b in pairwise(self.share))
        return tuple(r / h if h > 0.0 else 0.0 for r, h in zip(rises, self.pieces, strict=True))

    def at(self, hours: float) -> float:
        """Share that so many weekly hours bring."""
        return sum(
            s * min(max(hours - h, 0.0), p)
            for s, h, p in zip(self.slopes, self.hours, self.pieces, strict=False)
        )


USUAL_CURVE = LearningCurve(hours=(0.0, 0.5, 1.0, 2.0, 4.0), share=(0.0, 0.40, 0.65, 1.0, 1.3))
"""Two hours a week for a season bring the improvement named, half an hour two fifths of it (common practice, no
source)."""


class SkillHours(Record):
    """Weekly hours for one skill."""

    skill: str
    hours: float = Field(ge=0.0)
    share: float = Field(ge=0.0, description="of the improvement named for the skill")
    gain: float


class HoursSplit(Record):
    """Hours by skill, most first."""

    weekly_hours: float
    unit: str = Field(description='"chance" of the target, or "strokes" saved')
    skills: tuple[SkillHours, ...]
    gain: float
    status: str


def split_hours(
    gains: Mapping[str, float],
    weekly_hours: float,
    curves: Mapping[str, LearningCurve] | None = None,
    *,
    unit: str = "chance",
) -> HoursSplit:
    """Split weekly hours to gain most.

    Parameters
    ----------
    gains : mapping of str to float
        What the whole improvement of each skill brings.
    weekly_hours : float
        Above 0, at most 100.
    curves : mapping of str to LearningCurve, optional
        By skill; ``USUAL_CURVE`` for the others.
    unit : str
        What gains are counted in.

    Raises
    ------
    InputError
        If the hours make no sense.
    UnknownError
        If a curve is for a skill without a gain.
    """
    faults = number_faults("weekly_hours", weekly_hours, 1e-9, 100.0, "hours, above 0 to 100")
    if faults:
        raise InputError("split_hours", faults)
    for name in curves or {}:
        if name not in gains:
            raise UnknownError(f"no skill {name!r}; there are {', '.join(gains)}")
    import pulp  # slow to import

    from caddiebrain.solve.highs import run_program

    curve = {name: (curves or {}).get(name, USUAL_CURVE) for name in gains}
    problem: Any = pulp.LpProblem("weekly_hours", pulp.LpMinimize)
    piece = {
        (name, j): problem.add_variable(f"h{i}_{j}", 0, length)
        for i, name in enumerate(gains)
        for j, length in enumerate(curve[name].pieces)
    }
    problem.setObjective(
        pulp.lpSum(-gains[name] * curve[name].slopes[j] * h for (name, j), h in piece.items())
    )
    problem += pulp.lpSum(piece.values()) <= weekly_hours, "hours"
    run = run_program(problem)
    hours = {name: 0.0 for name in gains}
    for (name, _), h in piece.items():
        hours[name] += h.value() or 0.0
    rows = [
        SkillHours(skill=n, hours=h, share=curve[n].at(h), gain=gains[n] * curve[n].at(h))
        for n, h in hours.items()
        if h > 1e-9
    ]
    rows.sort(key=lambda row: (-row.hours, -row.gain))
    return HoursSplit(
        weekly_hours=weekly_hours,
        unit=unit,
        skills=tuple(rows),
        gain=sum(row.gain for row in rows),
        status=str(run.status),
    )
