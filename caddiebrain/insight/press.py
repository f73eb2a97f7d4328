"""Protect or press: a round in progress, and what the strokes in hand ask for.

The chance of the target is looked up for every standing from the same spot; nothing is solved again. A choice that
gives up expected strokes to vary less protects; one that gives them up to vary more presses.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.insight.at_hand import Choices, choices_at
from caddiebrain.insight.records_press import Press, PressOption, PressResult, PressStep, Stance
from caddiebrain.insight.spots import Spot, best_row, spot_of
from caddiebrain.insight.words_press import count_words, press_sentence
from caddiebrain.round.plan import RoundPlan
from caddiebrain.round.ranking import LIVE, best_for_target, order_for_target
from caddiebrain.round.results import RESULTS
from caddiebrain.round.worth import MOST_STROKES

__all__ = ["press"]

_STANDINGS = np.arange(-18, 37)
"""Standings looked at, strokes over par before the hole."""

Floats = NDArray[np.float64]


def press(
    plan: RoundPlan,
    hole: int,
    *,
    standing: int = 0,
    position: tuple[float, float] | None = None,
    to_pin: float | None = None,
    lie: str | None = None,
    strokes_on_hole: int = 0,
) -> Press:
    """Say whether to protect or to press, and at which standings the choice changes.

    Parameters
    ----------
    plan : RoundPlan
    hole : int
    standing : int
        Strokes over par before this hole.
    position : (x, y), optional
        Yards: right of the straight line from tee to pin, and toward the pin. By default the tee.
    to_pin : float, optional
        Instead of a position: yards to the pin, on the line of play.
    lie : str, optional
        A member of ``Lie``; by default what the map shows. On the green the choice is the pace of the putt.
    strokes_on_hole : int
        Strokes taken on this hole so far, penalties included.

    Returns
    -------
    Press

    Raises
    ------
    UnknownError
        For a hole or lie that is not there.
    InputError
        If no ball is played from the position.
    """
    spot = spot_of(plan, hole, position, to_pin, lie, strokes_on_hole, standing)
    table = _Table.of(spot)
    left = spot.strokes_left
    options = table.options(left)
    steps = table.steps(spot)
    later = plan.holes[[h.number for h in plan.holes].index(hole) + 1 :]
    finish = float(table.strokes.min()) + sum(h.expected_score for h in later)
    spare = left - (spot.hole.par - strokes_on_hole) - sum(h.par for h in later)
    now = max(o.target for o in options)
    return Press(
        sentence=press_sentence(options, plan.target, now),
        count=count_words(spare, len(later) + 1, len(plan.holes), plan.target, strokes_on_hole, now),
        hole=hole,
        par=spot.hole.par,
        position=(spot.x, spot.y),
        to_pin_yd=spot.to_pin,
        lie=str(spot.lie),
        strokes_on_hole=strokes_on_hole,
        standing=standing,
        target=plan.target,
        holes_left=len(later) + 1,
        strokes_left=left,
        expected_to_finish=finish,
        strokes_in_hand=left - finish,
        to_spare=spare,
        target_now=now,
        options=options,
        by_standing=tuple(step(finish, left, standing) for step in steps),
    )


@dataclass(frozen=True)
class _Table:
    """Choices from a spot with what they cost on average, (rows,)."""

    spot: Spot
    choices: Choices
    strokes: Floats
    club: NDArray[np.int64]

    @classmethod
    def of(cls, spot: Spot) -> "_Table":
        choices = choices_at(spot)
        return cls(spot, choices, choices.values(spot.hole.strokes_worth()), choices.club)

    def chances(self, left: int) -> Floats:
        """Chance of the target after each row with so many strokes left."""
        return np.clip(self.choices.values(self.spot.hole.chance_worth(left)), 0.0, 1.0)

    @property
    def usual(self) -> int:
        """Row with the lowest expected score."""
        return int(np.argmin(self.strokes))

    def spread(self, row: int) -> float:
        """Standard deviation of strokes over where the ball ends."""
        ends = self.choices.ends(row, (self.spot.hole.strokes_worth(),))
        mean = float(ends.prob @ ends.worth[0])
        return float(np.sqrt(max(0.0, float(ends.prob @ (ends.worth[0] - mean) ** 2))))

    def best(self, club: int, chance: Floats) -> int:
        """Row of a club's best aim for the target."""
        return best_row(np.flatnonzero(self.club == club), self.strokes, chance, "target")

    def stance(self, row: int, chance: Floats) -> Stance:
        """What a row is against the club with the lowest expected score, that club aimed for the target as well."""
        club = int(self.club[self.usual])
        if self.club[row] == club:
            return "usual"
        return "protect" if self.spread(row) < self.spread(self.best(club, chance)) else "press"

    def options(self, left: int) -> tuple[PressOption, ...]:
        """The best row of every club, best first: by the chance, then by expected score."""
        chance = self.chances(left)
        rows = [self.best(club, chance) for club in np.unique(self.club)]
        order = order_for_target(self.strokes[rows], chance[rows])
        return tuple(self._option(rows[i], chance, left) for i in order)

    def _option(self, row: int, chance: Floats, left: int) -> PressOption:
        return PressOption(
            label=self.choices.label(row),
            aim_words=self.choices.aim_words(row),
            stance=self.stance(row, chance),
            expected=float(self.strokes[row]),
            spread=self.spread(row),
            target=float(chance[row]),
            results=self._results(row, left),
        )

    def _results(self, row: int, left: int) -> tuple[PressResult, ...]:
        ends = self.choices.ends(row, (self.spot.hole.chance_worth(left),))
        chance = np.bincount(ends.code, ends.prob, len(RESULTS))
        total = np.bincount(ends.code, ends.prob * ends.worth[0], len(RESULTS))
        order = [int(r) for r in np.argsort(-chance, kind="stable") if chance[r] > 0]
        return tuple(
            PressResult(
                result=RESULTS[r],
                chance=min(1.0, float(chance[r])),
                target=float(np.clip(total[r] / chance[r], 0.0, 1.0)),
            )
            for r in order
        )

    def steps(self, spot: Spot) -> "list[_Step]":
        """Runs of standings with one choice, from the best standing to the worst."""
        lefts = [spot.strokes_left + spot.standing - int(s) for s in _STANDINGS]
        window = spot.hole.chances
        undecided = range(window.least, window.least + len(window.value) + MOST_STROKES + 1)
        chance = np.stack([self.chances(k) if k in undecided else 0.0 * self.strokes for k in lefts])
        best = chance.max(axis=1)
        live = np.flatnonzero((best > LIVE[0]) & (best < LIVE[1]))
        steps: list[_Step] = []
        for i in live.tolist():
            club = int(self.club[best_for_target(self.strokes, chance[i])])
            if not steps or steps[-1].club != club:
                steps.append(_Step(self, club, [], chance))
            steps[-1].at.append(i)
        for step in steps:
            step.ends = (step is steps[0], step is steps[-1])
        return steps


@dataclass
class _Step:
    """Standings (indices ``at``) served best by one club; ``chance`` is (standings, rows)."""

    table: _Table
    club: int
    at: list[int]
    chance: Floats
    ends: tuple[bool, bool] = (False, False)

    def __call__(self, finish: float, left: int, standing: int) -> PressStep:
        """Make the record; ``finish`` and ``left`` are the strokes expected and left at ``standing``."""
        table = self.table
        rows = np.flatnonzero(table.club == self.club)
        middle = self.chance[self.at[len(self.at) // 2]]
        row = table.best(self.club, middle)
        own = self.chance[self.at][:, rows].max(axis=1)
        usual = self.chance[self.at][:, table.club == table.club[table.usual]].max(axis=1)
        first, last = (int(_STANDINGS[self.at[i]]) for i in (0, -1))
        return PressStep(
            from_standing=None if self.ends[0] else first,
            to_standing=None if self.ends[1] else last,
            in_hand_most=left + standing - first - finish,
            in_hand_least=left + standing - last - finish,
            label=table.choices.label(row),
            aim_words=table.choices.aim_words(row),
            stance=table.stance(row, middle),
            target_most=float(own.max()),
            target_least=float(own.min()),
            gain_most=float((own - usual).max()),
        )
