"""The page of putting: two parameters, log aim and log pace, of the model in `caddiebrain.player.putting`.

Holed k of n from x feet is binomial with the chance of holing; putts taken from a first putt of x feet fall on
1, 2 or more with the chances of the model played on, each putt meant to stop a foot past. No model is exact: a
share of holed putts carries an error of 0.003 beside chance (Gelman 2019 fits that figure), so n tries
count as n / (1 + n 0.003^2 / (p (1 - p))), which changes nothing for one golfer's putts and keeps a
million of them from claiming more than the model can say.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caddiebrain.player.bayes import Terms
from caddiebrain.player.patterns import PuttingSkill
from caddiebrain.player.putting import leave_distribution, miss_chance

__all__ = ["PuttPage", "PuttRows"]

Floats = NDArray[np.float64]

MODEL_ERROR = 0.003
_STEP = 1e-4
_TINY = 1e-300


@dataclass(frozen=True)
class PuttRows:
    """Counts by distance: M distances with tries and putts holed, G with greens by 1, 2, 3 or more putts."""

    distance_ft: Floats
    tries: Floats
    holed: Floats
    first_ft: Floats
    putts: Floats

    @classmethod
    def gather(
        cls, distance_ft: Floats, tries: Floats, holed: Floats, first_ft: Floats, putts: Floats
    ) -> "PuttRows":
        """Sum counts over equal distances; ``putts`` is (G, 3)."""
        x, at = np.unique(distance_ft, return_inverse=True)
        first, green = np.unique(first_ft, return_inverse=True)
        summed = np.stack([np.bincount(green, putts[:, k], len(first)) for k in range(3)], axis=1)
        summed_tries, summed_holed = (np.bincount(at, part, len(x)).astype(float) for part in (tries, holed))
        return cls(x, summed_tries, summed_holed, first, summed.astype(float))


class PuttPage:
    """Evidence on putting; its one unit has parameters (1, 2).

    Parameters
    ----------
    rows : PuttRows
    skill : PuttingSkill
        Near the answer: sets how much the model's own error leaves of many tries.
    """

    def __init__(self, rows: PuttRows, skill: PuttingSkill) -> None:
        self._rows = rows
        miss = miss_chance(skill, rows.distance_ft)
        varies = np.maximum(miss * (1.0 - miss), _TINY)
        self._trust = varies / (varies + rows.tries * MODEL_ERROR**2)

    def terms(self, theta: Floats) -> Terms:
        """Evaluate log-likelihood, gradient and minus the second derivatives at (1, 2)."""
        counts = self._counts()

        def value(aim: float, pace: float) -> float:
            return float((counts * self._log_chances(theta + _STEP * np.array([[aim, pace]]))).sum())

        middle = value(0, 0)
        ends = np.array([[value(1, 0), value(-1, 0)], [value(0, 1), value(0, -1)]])
        cross = (value(1, 1) - value(1, -1) - value(-1, 1) + value(-1, -1)) / (4.0 * _STEP**2)
        gradient = (ends[:, 0] - ends[:, 1]) / (2.0 * _STEP)
        bend = np.diag((ends.sum(axis=1) - 2.0 * middle) / _STEP**2) + cross * (1.0 - np.eye(2))
        return Terms(middle, gradient[None], -bend[None])

    def _counts(self) -> Floats:
        """Counts (M + G, 3): holed, missed, nothing; one putt, two, more."""
        rows = self._rows
        tries = np.stack([rows.holed, rows.tries - rows.holed, np.zeros(len(rows.tries))], axis=1)
        return np.vstack([tries * self._trust[:, None], rows.putts])

    def _log_chances(self, theta: Floats) -> Floats:
        """Logarithms of the chances (M + G, 3) of the counted events."""
        aim, pace = np.exp(np.clip(theta[0], -7.0, [2.2, -0.6]))
        skill = PuttingSkill.model_construct(aim_sd_deg=float(aim), pace_sd=float(pace), putts=0.0)
        miss = miss_chance(skill, self._rows.distance_ft)
        single = np.stack([1.0 - miss, miss, np.ones_like(miss)], axis=1)
        after = leave_distribution(skill, self._rows.first_ft)
        again = (after.weight * miss_chance(skill, np.maximum(after.leave_ft, 0.02))).sum(axis=-1)
        missed = miss_chance(skill, self._rows.first_ft)
        played = np.stack([1.0 - missed, missed * (1.0 - again), missed * again], axis=1)
        return np.asarray(np.log(np.maximum(np.vstack([single, played]), _TINY)))
