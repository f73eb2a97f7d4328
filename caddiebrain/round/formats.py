"""Formats: what a score on a hole is worth, beside plain stroke play.

A format turns the gross score on a hole, the par and the strokes received there into a whole number, its result;
results add up over the holes. Stableford counts points, par/bogey holes won less holes lost against par, maximum
score capped strokes (fewer is better), match play holes won less holes lost against an opponent.
Source: Rules of Golf (2023), rules 3.2 and 21.1 to 21.3.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from caddiebrain.errors import Fault, InputError
from caddiebrain.round.handicap import net_double_bogey

__all__ = ["Format", "MatchPlay", "MaximumScore", "ParBogey", "Results", "Stableford"]

_SELDOM = 1e-9
"""Scores of an opponent that are rarer than this are not told apart from worse ones."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Results:
    """Chances of every result of a hole for every gross score.

    Attributes
    ----------
    least : int
        Result that column 0 stands for.
    chance : array of float64, shape (n + 1, R)
        Row t: gross score t; the last row stands for every higher score, too.
    """

    least: int
    chance: Floats

    @classmethod
    def of(cls, result: Sequence[int]) -> "Results":
        """Make them from one sure result for each gross score 0, 1, ... n."""
        found = np.asarray(result, dtype=np.int64)
        least = int(found.min())
        chance = np.zeros((len(found), int(found.max()) - least + 1))
        chance[np.arange(len(found)), found - least] = 1.0
        return cls(least, chance)

    @property
    def values(self) -> NDArray[np.int64]:
        """Result of each column, shape (R,)."""
        return np.arange(self.least, self.least + self.chance.shape[1])


class Format(Protocol):
    """What every format answers."""

    @property
    def name(self) -> str:
        """Name in a golfer's words."""

    @property
    def unit(self) -> str:
        """What results are counted in."""

    @property
    def low_wins(self) -> bool:
        """Whether fewer is better."""

    def results(self, hole: int, par: int, received: int) -> Results:
        """Results on a hole.

        Parameters
        ----------
        hole : int
            Place in the playing order, from 0.
        par, received : int
            Par, and strokes received there.
        """


@dataclass(frozen=True)
class Stableford:
    """Points by hole (rule 21.1): 0 for more than one over par, 1 for one over, 2 for par, 3 for one under, ...

    Parameters
    ----------
    table : tuple of int
        Points for two over par or worse, one over, par, one under, two under, three under, four under or better.
    """

    table: tuple[int, ...] = (0, 1, 2, 3, 4, 5, 6)

    name = "Stableford"
    unit = "points"
    low_wins = False

    def __post_init__(self) -> None:
        if len(self.table) < 2 or list(self.table) != sorted(self.table):
            raise InputError.one(
                "Stableford", "table", str(self.table), "points that never fall as scores get better"
            )

    def results(self, hole: int, par: int, received: int) -> Results:
        """Points for each gross score; see `Format`."""
        del hole
        worst = par + received + 2
        top = len(self.table) - 1
        return Results.of([self.table[int(np.clip(worst - t, 0, top))] for t in range(max(worst, 1) + 1)])


@dataclass(frozen=True)
class MaximumScore:
    """Stroke play with a highest score for each hole (rule 21.2).

    Parameters
    ----------
    maximum : {"net double bogey", "double par"} or int
        What the committee has set; a whole number is the same score for every hole.
    """

    maximum: str | int = "net double bogey"

    name = "maximum score"
    unit = "strokes"
    low_wins = True

    def __post_init__(self) -> None:
        number = (
            isinstance(self.maximum, int | np.integer)
            and not isinstance(self.maximum, bool)
            and self.maximum >= 3
        )
        if not number and self.maximum not in ("net double bogey", "double par"):
            expected = '"net double bogey", "double par" or a whole number from 3'
            raise InputError.one("MaximumScore", "maximum", repr(self.maximum), expected)

    def results(self, hole: int, par: int, received: int) -> Results:
        """Strokes that count for each gross score, strokes received taken off; see `Format`."""
        del hole
        if self.maximum == "net double bogey":
            most = net_double_bogey(par, received)
        else:
            most = 2 * par if self.maximum == "double par" else int(self.maximum)
        most = max(most, 1)
        return Results.of([min(t, most) - received for t in range(most + 1)])


@dataclass(frozen=True)
class ParBogey:
    """Each hole won, halved or lost against par, strokes received taken off (rule 21.3)."""

    name = "par/bogey"
    unit = "holes up on par"
    low_wins = False

    def results(self, hole: int, par: int, received: int) -> Results:
        """+1, 0 or -1 for each gross score; see `Format`."""
        del hole
        fixed = max(par + received, 0)
        return Results.of([int(np.sign(par + received - t)) for t in range(fixed + 2)])


@dataclass(frozen=True)
class MatchPlay:
    """Holes won, halved or lost against an opponent (rule 3.2).

    The opponent's scores on different holes are taken as independent of each other and of the match.

    Parameters
    ----------
    opponent : sequence of array_like
        For each hole in playing order the chance of 0, 1, 2, ... strokes by the opponent, for instance
        ``[hole.score_pmf for hole in plan.holes]``.
    opponent_received : sequence of int, optional
        Strokes the opponent receives; none by default.
    """

    opponent: Sequence[ArrayLike]
    opponent_received: Sequence[int] | None = None

    name = "match play"
    unit = "holes up"
    low_wins = False

    def __post_init__(self) -> None:
        faults = []
        for i, one in enumerate(self.opponent):
            pmf = np.asarray(one, dtype=np.float64)
            if pmf.ndim != 1 or len(pmf) < 2 or not np.all(pmf >= 0.0) or abs(pmf.sum() - 1.0) > 1e-6:
                found = f"shape {pmf.shape}, sum {pmf.sum():.6g}, least {pmf.min(initial=0.0):.6g}"
                faults.append(Fault(f"opponent[{i}]", found, "chances of 0, 1, 2, ... strokes that sum to 1"))
        if self.opponent_received is not None and len(self.opponent_received) != len(self.opponent):
            found = f"{len(self.opponent_received)} numbers"
            faults.append(Fault("opponent_received", found, f"one for each of {len(self.opponent)} holes"))
        if faults:
            raise InputError("MatchPlay", faults)

    def results(self, hole: int, par: int, received: int) -> Results:
        """Chances of losing, halving and winning the hole for each gross score; see `Format`."""
        del par
        if not 0 <= hole < len(self.opponent):
            raise InputError.one(
                "MatchPlay", "opponent", f"{len(self.opponent)} holes", "one for each hole played"
            )
        pmf = np.asarray(self.opponent[hole], dtype=np.float64)
        theirs = 0 if self.opponent_received is None else int(self.opponent_received[hole])
        net = np.arange(len(pmf)) - theirs
        top = max(int(net[pmf > _SELDOM].max()) + received + 1, 1)  # from here on the hole is lost
        mine = np.arange(top + 1)[:, None] - received
        chance = np.stack([((mine > net) @ pmf), ((mine == net) @ pmf), ((mine < net) @ pmf)], axis=1)
        return Results(-1, chance / pmf.sum())
