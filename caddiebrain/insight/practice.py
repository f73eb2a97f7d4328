"""What to practise: which skill, made better by the same effort, moves the target most.

Gains are to first order (`caddiebrain.insight.marginal`): the improved shots are compiled anew, the places they
are played from and the choices made there stay as they are. Right for small improvements, and somewhat modest for
those a golfer hopes for, who would then choose anew.

What counts as the same effort is a judgement, stated with every line and open to change: by default it takes away a
fifth of what separates an error from that of a golfer of handicap index +4, so that a skill already good has little
left to give, and puts 3 % on the driver's length. Nothing here says how to swing: that is for a licensed coach.
"""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from caddiebrain.errors import InputError, UnknownError, kind_faults, number_faults
from caddiebrain.insight.better import passes_of
from caddiebrain.insight.contrasts import contrasts_of
from caddiebrain.insight.hours import HoursSplit, LearningCurve, split_hours
from caddiebrain.insight.marginal import HoleVisits, hole_margins, hole_visits
from caddiebrain.insight.skills import Skill, room, skills_of
from caddiebrain.player import Level, Player
from caddiebrain.player.patterns import Record
from caddiebrain.round import RoundPlan
from caddiebrain.round.plan import check_plan

__all__ = ["EFFORT", "LENGTH_EFFORT", "PracticeReport", "Priority", "practice_priorities"]

EFFORT = 0.20
"""Share of the gap to a golfer of index +4 that a season's regular practice closes (common practice, no source)."""
_BEST_INDEX = -4.0
LENGTH_EFFORT = 0.03
"""Share by which the driver's carry grows for the same effort (common practice, no source)."""

_PROBE = 0.1
"""Share by which errors are made smaller and larger to see what moves; wide, because the points that stand for a
shot move from one square of the map to the next in jumps."""

Floats = NDArray[np.float64]


class Priority(Record):
    """One skill and what getting better at it brings."""

    skill: str
    improvement: float = Field(ge=0.0, description="share of the error taken off, or of the length put on")
    improvement_words: str
    strokes: float = Field(description="change of the expected score of the round; fewer is negative")
    chance: float = Field(description="change of the chance of the target")
    strokes_slope: float = Field(description="change of the expected score per unit of share")
    chance_slope: float = Field(description="change of the chance per unit of share")
    words: str


class PracticeReport(Record):
    """What to practise, most useful first."""

    schema_version: int = Field(default=1, ge=1, le=1)
    target: int
    chance: float = Field(description="of the target as things are")
    expected_score: float
    priorities: tuple[Priority, ...]
    hours: HoursSplit | None = None


def practice_priorities(
    plan: RoundPlan,
    *,
    efforts: Mapping[str, float] | None = None,
    weekly_hours: float | None = None,
    curves: Mapping[str, LearningCurve] | None = None,
    probe: float = _PROBE,
) -> PracticeReport:
    """Rank what to practise by how much it raises the chance of the target.

    Parameters
    ----------
    plan : RoundPlan
    efforts : mapping of str to float, optional
        Share of the error that the same effort takes away, by skill (`skills_of`); by default ``EFFORT`` of its
        `room`, and ``LENGTH_EFFORT`` for length.
    weekly_hours : float, optional
        Hours to split among the skills; without them no split is made.
    curves : mapping of str to LearningCurve, optional
        By skill; see `split_hours`.
    probe : float
        Share by which errors are made smaller and larger to see what moves; length by three tenths of it.

    Returns
    -------
    PracticeReport
        Best first: by the chance of the target while that hangs in the balance, else by strokes.

    Raises
    ------
    UnknownError
        For a skill this player does not have.
    InputError
        If an effort or the probe is not a share, or the hours make no sense.
    """
    check_plan(plan, "practice_priorities")
    player = plan.holes[0].compiler.player
    skills = skills_of(player)
    share = _efforts(player, skills, efforts)
    if not 0.0 < probe <= 0.5:
        raise InputError.one("practice_priorities", "probe", f"{probe:g}", "a share, above 0 to 0.5")
    slopes = _slopes(plan, skills, [0.3 * probe if s.length else probe for s in skills])
    priorities = [
        _priority(plan, s, share[s.name], *row) for s, row in zip(skills, slopes.tolist(), strict=True)
    ]
    by_chance = 1e-6 < plan.chance() < 1.0 - 1e-6
    priorities.sort(key=lambda p: -p.chance if by_chance else p.strokes)
    hours = None
    if weekly_hours is not None:
        gains = {p.skill: p.chance if by_chance else -p.strokes for p in priorities}
        hours = split_hours(gains, weekly_hours, curves, unit="chance" if by_chance else "strokes")
    return PracticeReport(
        target=plan.target,
        chance=plan.chance(),
        expected_score=plan.expected_score,
        priorities=tuple(priorities),
        hours=hours,
    )


def _efforts(
    player: Player, skills: Sequence[Skill], efforts: Mapping[str, float] | None
) -> dict[str, float]:
    best = Level(handicap_index=_BEST_INDEX).player()
    share = {s.name: LENGTH_EFFORT if s.length else EFFORT * room(player, s, best) for s in skills}
    faults = kind_faults("efforts", efforts or {}, Mapping, "a mapping of skills to shares")
    if faults:
        raise InputError("practice_priorities", faults)
    for name, value in (efforts or {}).items():
        if name not in share:
            raise UnknownError(f"no skill {name!r}; there are {', '.join(share)}")
        faults = number_faults(name, value, 0.0, np.nextafter(0.9, 0.0), "a share, 0 or more and below 0.9")
        if faults:
            raise InputError("practice_priorities", faults)
    return share | dict(efforts or {})


def _slopes(plan: RoundPlan, skills: Sequence[Skill], by: Sequence[float]) -> Floats:
    """Gains per unit of share, (skills, 2), in the expected score and in the chance of the target."""
    first, day, firmness = plan.holes[0].compiler, plan.conditions, plan.setup.firmness
    better = passes_of(first, skills, by, day, firmness)
    sides = list(zip(better, passes_of(first, skills, [-b for b in by], day, firmness), strict=True))
    contrasts = contrasts_of(first, sides)
    pairs = zip(plan.holes, _visits(plan), strict=True)
    gains = [hole_margins(hole, seen, contrasts, len(skills)) for hole, seen in pairs]
    return np.asarray(np.sum(gains, axis=0) / np.array(by)[:, None])


def _visits(plan: RoundPlan) -> list[HoleVisits]:
    """Play the round under both policies."""
    least, mass = plan.target, np.ones(1)
    found = []
    for hole in plan.holes:
        visits = hole_visits(hole, least, mass)
        found.append(visits)
        least, mass = visits.least, visits.cup
    return found


def _priority(plan: RoundPlan, skill: Skill, share: float, strokes: float, chance: float) -> Priority:
    words = f"{skill.name}, {skill.words(share)}: {_rounds(chance * share, plan.target)}"
    if abs(strokes * share) >= 0.005:
        words += f", {abs(strokes * share):.2f} strokes a round {'saved' if strokes < 0 else 'lost'}"
    return Priority(
        skill=skill.name,
        improvement=share,
        improvement_words=skill.words(share),
        strokes=strokes * share,
        chance=chance * share,
        strokes_slope=strokes,
        chance_slope=chance,
        words=words,
    )


_COUNT = ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"]


def _rounds(gain: float, target: int) -> str:
    """Say a gain in chance as rounds."""
    if abs(gain) < 5e-4:
        return f"no more rounds under {target + 1} to speak of"
    every = round(1.0 / abs(gain))
    number = _COUNT[every - 1] if every <= len(_COUNT) else str(every)
    return f"one {'more' if gain > 0 else 'fewer'} round in {number} under {target + 1}"
