"""One hole of a plan."""

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from caddiebrain.course.model import Hole
from caddiebrain.hole import ChoiceTable, HoleCompiler, HoleModel
from caddiebrain.round.chain import HoleChances
from caddiebrain.round.options import Option, describe, kinds_of
from caddiebrain.round.place import check_strokes
from caddiebrain.round.prepare import SolvedHole
from caddiebrain.round.ranking import LIVE, best_for_target, order_for_target
from caddiebrain.round.record import HoleRecord, SwitchRecord
from caddiebrain.round.results import shares_of
from caddiebrain.round.worth import MOST_STROKES, Worth
from caddiebrain.terms import Lie

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["HolePlan", "Switch", "read_only"]


Floats = NDArray[np.float64]


def read_only(array: Floats) -> Floats:
    """Return a view nobody can write through: what a plan hands out stays its own."""
    view = array.view()
    view.flags.writeable = False
    return view


@dataclass(frozen=True)
class Switch:
    """A tee choice and the standings (strokes over par) at which it holds; None where there is no end."""

    from_standing: int | None
    to_standing: int | None
    option: Option


class HolePlan:
    """What a plan says about one hole.

    Parameters
    ----------
    hole : Hole
    solved : SolvedHole
        Lowest expected score.
    chances : HoleChances
        Best chances of the rest of the round.
    level_left : int
        Strokes left under the target on this tee when level par.
    table : ChoiceTable
        Every choice the hole was solved with; ``solved`` and ``chances`` hold those that some policy uses.
    """

    standings: tuple[int, int] | None = None
    """Least and most strokes over par that come up on this tee; None where all do, as on the first."""

    def __init__(
        self, hole: Hole, solved: SolvedHole, chances: HoleChances, level_left: int, table: ChoiceTable
    ) -> None:
        self.hole, self.solved, self.chances, self.level_left = hole, solved, chances, level_left
        self.table = table

    @classmethod
    def of(cls, hole: Hole, solved: SolvedHole, chances: HoleChances, level_left: int) -> "HolePlan":
        """Make the plan of a solved hole, letting go of the choices no policy uses."""
        small, new = solved.trimmed(chances.choice)
        return cls(hole, small, chances.renumbered(new), level_left, solved.model.table)

    def compiled(self) -> HoleModel:
        """Compile the hole again with every choice it was solved with: for those who want other policies."""
        return self.compiler.build(self.table)

    @property
    def compiler(self) -> HoleCompiler:
        """The compiler of the hole."""
        return self.solved.model.compiler

    @property
    def number(self) -> int:
        """Number on the card."""
        return self.hole.number

    @property
    def par(self) -> int:
        """Par."""
        return self.hole.par

    @property
    def length_yd(self) -> float:
        """Length along the line of play."""
        return self.hole.length_yd

    @property
    def stroke_index(self) -> int:
        """Stroke index."""
        return self.hole.stroke_index

    @property
    def expected_score(self) -> float:
        """Mean score under the lowest-expected-score policy."""
        return float(self.solved.expected.value[self.solved.model.tee])

    @property
    def score_pmf(self) -> Floats:
        """Chance of 0, 1, 2, ... strokes under that policy; read-only."""
        return read_only(self.solved.score_pmf)

    @property
    def double_bogey_or_worse(self) -> float:
        """Chance of two over par or more under that policy."""
        return float(1.0 - self.score_pmf[: self.par + 2].sum())

    def strokes_worth(self) -> Worth:
        """Strokes to hole out, as worth of states after 0 to 3 strokes."""
        return Worth((self.solved.expected.value[: self.solved.model.numbering.spot],))

    def chance_worth(self, strokes_left: int) -> Worth:
        """Chance of the round with ``strokes_left`` now, as worth of states after 0 to 3 strokes."""
        return Worth(tuple(self._chance_row(strokes_left - cost) for cost in range(MOST_STROKES + 1)))

    def chances_with(self, strokes_left: NDArray[np.integer]) -> Floats:
        """Chance of the round, (numbers of strokes left, kept states): cup, putts and nodes."""
        return np.stack([self._chance_row(int(left)) for left in strokes_left])

    def _chance_row(self, strokes_left: int) -> Floats:
        at = strokes_left - self.chances.least
        value = self.chances.value
        if at < 0:
            return np.zeros(value.shape[1])
        return value[at] if at < len(value) else np.ones(value.shape[1])

    @cached_property
    def _tee_span(self) -> tuple[int, int]:
        graph, tee = self.solved.model.graph, self.solved.model.tee
        return int(graph.choice_start[tee]), int(graph.choice_start[tee + 1])

    @cached_property
    def _tee_table(self) -> ChoiceTable:
        first, last = self._tee_span
        offset = self.solved.model.first_choice
        return self.solved.model.table.take(np.arange(first - offset, last - offset))

    def tee_options(self, standing: int = 0, *, every_aim: bool = False) -> tuple[Option, ...]:
        """Rank the choices on the tee.

        Parameters
        ----------
        standing : int
            Strokes over par of the holes before this one.
        every_aim : bool
            List every aim of every club and shape, not only the best.

        Returns
        -------
        tuple of Option
            Best first.

        Raises
        ------
        InputError
            If the standing is no whole number.
        """
        check_strokes(self.number, standing)
        row = self.level_left - standing - self.chances.least
        expected = self._tee_strokes
        if row < 0:
            chance = np.zeros(len(expected))
        elif row >= len(self.chances.tee):
            chance = np.ones(len(expected))
        else:
            chance = np.clip(self.chances.tee[row], 0.0, 1.0)
        rows = self.ranked(expected, chance, None if every_aim else kinds_of(self._tee_table))
        return tuple(self._tee_options(rows, expected[rows], chance[rows]))

    def _tee_options(self, rows: NDArray[np.int64], expected: Floats, chance: Floats) -> list[Option]:
        shares = shares_of(self.solved.model, self._tee_span[0] + rows)
        place = (*self.hole.tee, Lie.TEE)
        return describe(self.compiler, self._tee_table.take(rows), place, expected, chance, shares)

    @staticmethod
    def ranked(expected: Floats, chance: Floats, kinds: NDArray[np.int64] | None) -> NDArray[np.int64]:
        """Order choices best first, by chance and then by expected score; see `caddiebrain.round.ranking`.

        Of the choices of one kind (see `caddiebrain.round.options.kinds_of`) only the best is listed; without kinds,
        every one.
        """
        order = order_for_target(expected, chance)
        if kinds is None:
            return order
        _, first = np.unique(kinds[order], return_index=True)
        best: NDArray[np.int64] = order[np.sort(first)].astype(np.int64)
        return best

    @cached_property
    def tee_choice(self) -> Option:
        """The tee choice with the lowest expected score; its chance is that of standing level par."""
        expected = self._tee_strokes
        best = np.array([np.argmin(expected)])
        chance = np.clip(self.chances.tee[self.chances.row(self.level_left), best], 0.0, 1.0)
        (option,) = self._tee_options(best, expected[best], chance)
        return option

    @cached_property
    def switches(self) -> tuple[Switch, ...]:
        """Tee choices that serve the target best, by standing, from best standing to worst.

        Standings at which the target is all but sure or out of reach are not told apart, nor are those that do not
        come up.
        """
        tee = self.chances.tee
        best = tee.max(axis=1)
        live = np.flatnonzero((best > LIVE[0]) & (best < LIVE[1]))
        if self.standings is not None:
            over = self.level_left - (self.chances.least + live)
            live = live[(over >= self.standings[0]) & (over <= self.standings[1])]
        if live.size == 0:
            return (Switch(None, None, self.tee_choice),)
        # More strokes left is a better standing: go from many left to few.
        runs: list[tuple[int, int, int]] = []
        for row in live[::-1]:
            choice = best_for_target(self._tee_strokes, tee[row])
            if runs and self._swing_of(choice) == self._swing_of(runs[-1][2]):
                runs[-1] = (runs[-1][0], int(row), choice)
            else:
                runs.append((int(row), int(row), choice))
        return tuple(self._switch(i, runs) for i in range(len(runs)))

    def _swing_of(self, choice: int) -> tuple[int, int]:
        """Club and shape of a choice on the tee."""
        return int(self._tee_table.kind[choice]), int(self._tee_table.index[choice])

    @cached_property
    def _tee_strokes(self) -> Floats:
        """Expected score of each choice on the tee."""
        return self.solved.choice_strokes[slice(*self._tee_span)]

    def _switch(self, i: int, runs: list[tuple[int, int, int]]) -> Switch:
        high, low, _ = runs[i]
        row = (high + low) // 2
        choice = np.array([best_for_target(self._tee_strokes, self.chances.tee[row])])
        chance = np.clip(self.chances.tee[row, choice], 0.0, 1.0)
        (option,) = self._tee_options(choice, self._tee_strokes[choice], chance)
        start = None if i == 0 else self._standing(high)
        stop = None if i == len(runs) - 1 else self._standing(low)
        return Switch(start, stop, option)

    def _standing(self, row: int) -> int:
        return self.level_left - (self.chances.least + row)

    def draw(self, *, standing: int | None = None, ax: "Axes | None" = None, **kwargs: Any) -> "Axes":
        """Draw the hole to scale with its tee choice and where its balls come down, as matplotlib axes.

        Parameters
        ----------
        standing : int, optional
            Strokes over par before this hole: the choice that serves the target best there. By default the
            choice with the lowest expected score.
        ax : matplotlib Axes, optional
            Where to draw; by default a new figure.
        **kwargs
            For the balls, as `matplotlib.axes.Axes.scatter` takes them.

        Raises
        ------
        ImportError
            If matplotlib, the extra ``plots``, is not installed.
        """
        from caddiebrain import plots  # a later room, opened only when a picture is asked for

        return plots.hole(self, standing=standing, ax=ax, **kwargs)

    def __repr__(self) -> str:
        size = f"hole {self.number}, par {self.par}, {self.length_yd:.0f} yards"
        return f"HolePlan({size}: expected {self.expected_score:.2f})"

    def record(self) -> HoleRecord:
        """Return the hole as a record."""
        return HoleRecord(
            number=self.number,
            par=self.par,
            length_yd=round(self.length_yd, 2),
            stroke_index=self.stroke_index,
            expected_score=self.expected_score,
            score_pmf=tuple(self.score_pmf.tolist()),
            double_bogey_or_worse=min(1.0, max(0.0, self.double_bogey_or_worse)),
            tee_choice=self.tee_choice.record(),
            switches=tuple(
                SwitchRecord(
                    from_standing=s.from_standing, to_standing=s.to_standing, choice=s.option.record()
                )
                for s in self.switches
            ),
        )
