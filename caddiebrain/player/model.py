"""The player as files and other rooms see it, with how sure we are of it.

The parts are in `caddiebrain.player.patterns` and offered here again.
"""

from typing import Any, Self

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, model_validator

from caddiebrain.errors import InputError, UnknownError, kind_faults, misfit, number_faults
from caddiebrain.player.patterns import LieEffect, Part, PuttingSkill, Ramp, Record, ShortShot, ShotPattern
from caddiebrain.player.summary import ClubRow, Interval, club_rows, describe, intervals
from caddiebrain.player.uncertainty import (
    Beliefs,
    lies_of,
    pattern_information,
    putting_information,
    short_information,
)
from caddiebrain.terms import Lie

__all__ = ["LieEffect", "Player", "Posterior", "PuttingSkill", "Ramp", "ShortShot", "ShotPattern", "triangle"]


class Posterior(Record):
    """What a fit leaves behind: where it began, the records it read, and the information they brought.

    ``pattern_information`` has one lower triangle (21 numbers, row by row) for each of the player's
    patterns, on the scales of `caddiebrain.player.mixture`; ``short_information`` one (3 numbers) for each
    lie; ``putting_information`` one. ``records`` are the tables that `caddiebrain.player.Records` holds, so
    that an update fits all records again and their order cannot matter. ``clubs`` are those the bag was said
    to hold.
    """

    base: "Player"
    records: dict[str, Any] = Field(default_factory=dict)
    half_life_days: float | None = Field(default=None, gt=0.0)
    fairway_width_yd: float = Field(default=32.0, gt=0.0)
    green_size_yd: tuple[float, float] = (26.0, 28.0)
    pattern_information: tuple[tuple[float, ...], ...]
    short_information: dict[Lie, tuple[float, ...]] = Field(default_factory=dict)
    putting_information: tuple[float, ...] = (0.0, 0.0, 0.0)
    level_from_cards: bool = False
    clubs: tuple[str, ...] | None = None
    warnings: tuple[str, ...] = ()


class Player(Part):
    """A player: everything the compiler needs to know, and nothing of a course."""

    schema_version: int = Field(default=1, ge=1, le=1)
    name: str = "player"
    handicap_index: float | None = Field(default=None, ge=-10.0, le=54.0)
    patterns: tuple[ShotPattern, ...] = Field(min_length=1)
    lies: dict[Lie, LieEffect] = Field(default_factory=dict)
    short_game: tuple[ShortShot, ...] = Field(min_length=1)
    putting: PuttingSkill
    notes: tuple[str, ...] = ()
    posterior: Posterior | None = None

    def __repr__(self) -> str:
        return f"Player({self.name!r}, {len(self.clubs)} clubs, {len(self.patterns)} shot patterns)"

    @model_validator(mode="after")
    def _distinct(self) -> Self:
        keys = [(p.club, p.shape, p.height) for p in self.patterns]
        if len(set(keys)) != len(keys):
            twice = next(k for k in keys if keys.count(k) > 1)
            raise misfit("patterns", f"{' '.join(twice)} given twice", "each club, shape and height once")
        if all(p.derived for p in self.patterns):
            raise misfit("patterns", "derived ones alone", "at least one that the player has, derived false")
        return self

    @model_validator(mode="after")
    def _posterior_fits(self) -> Self:
        found = self.posterior
        if found is None:
            return self
        if found.base.posterior is not None:
            raise misfit("posterior.base", "a posterior of its own", "a player without one")
        told, here = len(found.pattern_information), len(self.patterns)
        if told != here:
            raise misfit(
                "posterior.pattern_information",
                f"what records told of {told} patterns, in a file of {here}",
                "one for each pattern: delete the whole field posterior too, or fit again with clubs (--clubs) named",
            )
        triangles = [(f"pattern_information[{i}]", t, 21) for i, t in enumerate(found.pattern_information)]
        triangles += [(f"short_information.{lie}", t, 3) for lie, t in found.short_information.items()]
        triangles.append(("putting_information", found.putting_information, 3))
        for where, numbers, size in triangles:
            if len(numbers) != size:
                raise misfit(f"posterior.{where}", str(len(numbers)), f"{size} numbers")
        return self

    @property
    def clubs(self) -> tuple[str, ...]:
        """Names of the clubs with a pattern, longest carry first, without repeats."""
        ordered = sorted(self.patterns, key=lambda p: (-p.carry_yd, p.club))
        return tuple(dict.fromkeys(p.club for p in ordered))

    def beliefs(self) -> Beliefs:
        """Return how sure we are of each number.

        A player without a fit is as sure as its ``shots`` and ``putts`` would make it on average; without
        shots on record it is the prior of its level.
        """
        found, lies = self.posterior, lies_of(self.short_game)
        if found is None:
            shots = np.array([p.shots for p in self.patterns])
            information = pattern_information(self.patterns, shots)
            short, putting = short_information(self.short_game), putting_information(self.putting)
        else:
            information = np.array([_square(t, 6) for t in found.pattern_information])
            none = (0.0, 0.0, 0.0)
            short = np.array([_square(found.short_information.get(lie, none), 2) for lie in lies])
            putting = _square(found.putting_information, 2)
        return Beliefs(self.patterns, self.short_game, self.putting, information, short, putting)

    def draws(self, n: int, rng: np.random.Generator) -> tuple["Player", ...]:
        """Draw players from what is known of this one.

        Parameters
        ----------
        n : int
            How many.
        rng : numpy.random.Generator

        Returns
        -------
        tuple of Player
            Same clubs, lies and order of patterns; no posterior of their own.

        Raises
        ------
        InputError
            If ``n`` is no whole number or ``rng`` no generator.
        """
        faults = number_faults("n", n, 0, 10**6, "a whole number of players, 0 or more", whole=True)
        faults += kind_faults(
            "rng", rng, np.random.Generator, "a generator, such as numpy.random.default_rng(1)"
        )
        if faults:
            raise InputError("draws", faults)
        return tuple(
            self.model_copy(
                update={"patterns": patterns, "short_game": short, "putting": putting, "posterior": None}
            )
            for patterns, short, putting in self.beliefs().draw(n, rng)
        )

    def with_shots(self, club: str, n: float) -> Self:
        """Return this player as sure as if n more full shots with a club were on record and changed nothing.

        Parameters
        ----------
        club : str
            One of `clubs`; the shots go to its stock pattern, or its first.
        n : float
            Shots, from good lies, with known distances.

        Raises
        ------
        UnknownError
            If the player has no such club.
        """
        at = next((i for i, p in enumerate(self.patterns) if p.club == club), None)
        if at is None:
            raise UnknownError(f"no club {club!r} in this bag; it has {', '.join(self.clubs)}")
        shots = np.zeros(len(self.patterns))
        shots[at] = n
        more = pattern_information(self.patterns, shots)
        pattern = self.patterns[at].model_copy(update={"shots": self.patterns[at].shots + n})
        patterns = (*self.patterns[:at], pattern, *self.patterns[at + 1 :])
        if self.posterior is None:
            return self.model_copy(update={"patterns": patterns})
        triangles = list(self.posterior.pattern_information)
        triangles[at] = triangle(_square(triangles[at], 6) + more[at])
        posterior = self.posterior.model_copy(update={"pattern_information": tuple(triangles)})
        return self.model_copy(update={"patterns": patterns, "posterior": posterior})

    def intervals(self, level: float = 0.9) -> tuple[Interval, ...]:
        """Return an interval for every parameter that is fitted; ``level`` is its chance, 0 to 1."""
        return intervals(self.beliefs(), level)

    def summary(self, level: float = 0.9) -> tuple[ClubRow, ...]:
        """Rows of a table, longest club first."""
        return club_rows(self.beliefs(), level)

    def describe(self, level: float = 0.9) -> tuple[str, ...]:
        """One sentence per pattern, the short game and putting, in golf words."""
        return describe(self.beliefs(), level)


def triangle(square: NDArray[np.float64]) -> tuple[float, ...]:
    """Lower triangle of a symmetric matrix, row by row."""
    return tuple(square[np.tril_indices(len(square))].tolist())


def _square(numbers: tuple[float, ...], size: int) -> NDArray[np.float64]:
    """Symmetric matrix from its lower triangle."""
    lower = np.zeros((size, size))
    lower[np.tril_indices(size)] = numbers
    return lower + np.tril(lower, -1).T


Posterior.model_rebuild()
