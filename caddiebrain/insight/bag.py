"""Which clubs to carry: at most fourteen, the putter among them (Rule 4.1b), and what each is worth.

An integer program over visited positions (`caddiebrain.insight.club_program`) proposes bags; every proposal is solved
again with its own clubs alone, which moves the positions, and the program is asked again from there. At the end
every exchange of one club for another is solved, too. The answer's score is proven by the solver's bounds.

Short shots are taken to be playable whatever wedge is carried, so play goes on with any bag; what a lie does to a
club is taken from the whole set. Strokes are the expected score's; a club may also serve the target or the wind of
another day.
"""

from collections.abc import Iterable, Sequence
from contextlib import closing
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from caddiebrain.errors import Fault, InputError, UnknownError, number_faults
from caddiebrain.insight.club_holes import ClubHole, HoleWith, club_hole
from caddiebrain.player.bag import club_name
from caddiebrain.player.patterns import Record
from caddiebrain.round import RoundPlan
from caddiebrain.round.helpers import processes_for, shared
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.round.plan import check_plan
from caddiebrain.solve import Status

__all__ = ["BagChoice", "ClubWorth", "choose_bag"]

MOST_CLUBS = 14
"""Rule 4.1b."""
_NOTHING = 0.005
"""A club worth fewer strokes a round than this earns nothing."""
_BETTER = 1e-7
_PROPOSALS = 12
"""Most bags the program is asked for."""

Floats = NDArray[np.float64]
Bag = frozenset[int]


class ClubWorth(Record):
    """One club of the bag."""

    club: str
    worth: float = Field(description="strokes a round lost without it, nothing in its place")
    uses: float = Field(ge=0.0, description="expected full shots a round")


class BagChoice(Record):
    """The clubs to carry; the putter comes on top and counts as one of ``limit``."""

    schema_version: int = Field(default=1, ge=1, le=1)
    limit: int
    clubs: tuple[ClubWorth, ...] = Field(description="longest first")
    left_out: tuple[str, ...]
    earns_nothing: tuple[str, ...]
    expected: float = Field(description="expected score of a round with the bag")
    expected_all: float = Field(description="the same with every club owned")
    last_club: float | None = Field(
        description="strokes a round that the best bag of one club fewer costs more; null if there is none"
    )
    exchanges: int = Field(ge=0, description="exchanges of one club for another solved, none of them better")
    proposals: int = Field(ge=0, description="bags proposed by the program and solved")
    status: str
    seconds: float = Field(ge=0.0, description="spent in integer programs")
    words: str


def choose_bag(
    plan: RoundPlan | Sequence[RoundPlan],
    *,
    limit: int = MOST_CLUBS,
    keep: Iterable[str] = (),
    time_limit: float = 30.0,
    workers: int | None = None,
) -> BagChoice:
    """Choose which of the clubs owned to carry for the lowest expected score.

    Parameters
    ----------
    plan : RoundPlan or sequence of RoundPlan
        Made for a player with a pattern for every club owned; several courses or days count alike.
    limit : int
        Clubs in the bag, the putter included: 2 to 14.
    keep : iterable of str
        Clubs that stay in the bag whatever they are worth.
    time_limit : float
        Seconds for each integer program.
    workers : int, optional
        Processes that compile holes, this one and helpers; by default one for each processor, at most 4. The choice
        does not depend on it.

    Raises
    ------
    InputError
        If the limit makes no sense, or plans are for different clubs.
    UnknownError
        If a club to keep is not owned.
    """
    plans = list(plan) if isinstance(plan, Sequence) else [plan]
    for one in plans:
        check_plan(one, "choose_bag")
    clubs = _clubs(plans)
    kept = _kept(clubs, keep, limit)
    tasks = [(hole, clubs) for one in plans for hole in one.holes]
    with closing(shared(_opened, tasks, processes_for(workers, len(tasks)))) as found:
        holes = list(found)
    search = _Search(holes, len(clubs), len(plans), kept, time_limit)
    count = min(limit - 1, len(clubs))
    best = search.best(count)
    exchanges = search.exchanges
    fewer = search.best(count - 1).strokes if count > max(len(kept), 1) else None
    status = Status.PROVEN
    if any(hole.proven(best.bag).status is not Status.PROVEN for hole in holes):
        status = Status.STOPPED
    rows = [
        ClubWorth(club=clubs[c], worth=search.without(best, c), uses=float(best.uses[c]))
        for c in sorted(best.bag)
    ]
    every = search.played(frozenset(range(len(clubs))))
    nothing = tuple(row.club for row in rows if row.worth < _NOTHING)
    left = tuple(name for i, name in enumerate(clubs) if i not in best.bag)
    last = None if fewer is None else fewer - best.strokes
    return BagChoice(
        limit=limit,
        clubs=tuple(rows),
        left_out=left,
        earns_nothing=nothing,
        expected=best.strokes,
        expected_all=every.strokes,
        last_club=last,
        exchanges=exchanges,
        proposals=search.proposals,
        status=str(status),
        seconds=search.seconds,
        words=_words(len(rows) + 1, left, nothing, last, best.strokes - every.strokes),
    )


def _opened(task: tuple[HolePlan, tuple[str, ...]]) -> ClubHole:
    return club_hole(*task)


def _clubs(plans: Sequence[RoundPlan]) -> tuple[str, ...]:
    if not plans:
        raise InputError.one("choose_bag", "plan", "none", "one plan or more")
    clubs = plans[0].player.clubs
    for one in plans[1:]:
        if one.player.clubs != clubs:
            found = ", ".join(one.player.clubs)
            raise InputError.one(
                "choose_bag", "plan", f"clubs {found}", f"the same in every plan: {', '.join(clubs)}"
            )
    return clubs


def _kept(clubs: tuple[str, ...], keep: Iterable[str], limit: int) -> Bag:
    expected = f"2 to {MOST_CLUBS} clubs, the putter included (Rule 4.1b)"
    faults = number_faults("limit", limit, 2, MOST_CLUBS, expected, whole=True)
    if isinstance(keep, str):
        faults.append(Fault("keep", repr(keep), "several names, such as ['driver', '7-iron']"))
    if faults:
        raise InputError("choose_bag", faults)
    names = list(dict.fromkeys(name if name in clubs else club_name(name) or name for name in keep))
    for name in names:
        if name not in clubs:
            raise UnknownError(f"no club {name!r} in this set; it has {', '.join(clubs)}")
    if len(names) > limit - 1:
        found = f"{len(names)} clubs to keep"
        raise InputError.one("choose_bag", "keep", found, f"at most {limit - 1} beside the putter")
    return frozenset(clubs.index(name) for name in names)


@dataclass(frozen=True)
class _Played:
    """A bag and how every hole is played with it; strokes and uses are of one round."""

    bag: Bag
    strokes: float
    uses: Floats
    holes: tuple[HoleWith, ...]


class _Search:
    """Bags solved so far, and the program that proposes more."""

    def __init__(
        self, holes: Sequence[ClubHole], clubs: int, rounds: int, keep: Bag, time_limit: float
    ) -> None:
        self.holes, self.clubs, self.rounds, self.keep, self.time_limit = (
            holes,
            clubs,
            rounds,
            keep,
            time_limit,
        )
        self.exchanges = self.proposals = 0
        self.seconds = 0.0
        self._solved: dict[Bag, _Played] = {}

    def played(self, bag: Bag) -> _Played:
        """Solve every hole with a bag."""
        if bag not in self._solved:
            start = self._solved.get(frozenset(range(self.clubs)))
            found = tuple(
                hole.play(bag, start.holes[i].value if start else None) for i, hole in enumerate(self.holes)
            )
            strokes = sum(float(one.value[h.tee]) for h, one in zip(self.holes, found, strict=True))
            uses = np.sum([h.uses(one) for h, one in zip(self.holes, found, strict=True)], axis=0)
            self._solved[bag] = _Played(bag, strokes / self.rounds, uses / self.rounds, found)
        return self._solved[bag]

    def without(self, best: _Played, club: int) -> float:
        """Strokes a round lost by leaving a club of a bag at home."""
        return self.played(best.bag - {club}).strokes - best.strokes

    def best(self, count: int) -> _Played:
        """Return the best bag of so many clubs found by proposals and exchanges."""
        at = self.played(frozenset(range(self.clubs)))
        if count >= self.clubs:
            return at
        best: _Played | None = None
        tried: list[Bag] = []
        for _ in range(_PROPOSALS):
            try:
                bag, promise = self._propose(at, count, tried)
            except InputError:
                if not tried:
                    raise
                break  # every bag has been tried
            tried.append(bag)
            found = self.played(bag)
            if best is not None and found.strokes > best.strokes - _BETTER and promise >= 0.0:
                break
            if best is None or found.strokes < best.strokes:
                best = found
            at = found
        return self._exchanged(best or at)

    def _propose(self, at: _Played, count: int, tried: Sequence[Bag]) -> tuple[Bag, float]:
        """Ask the program for a bag, seen from a bag already solved; return what it promises to save, too."""
        from caddiebrain.insight.club_program import ClubLosses, pick_clubs  # PuLP is slow to import

        parts = [hole.losses(one) for hole, one in zip(self.holes, at.holes, strict=True)]
        visits, loss, free = (np.concatenate([part[i] for part in parts]) for i in range(3))
        losses = ClubLosses(visits, loss, free)
        bag, run = pick_clubs(losses, count, self.keep, tried, time_limit=self.time_limit)
        self.proposals += 1
        self.seconds += run.seconds
        return bag, run.objective / self.rounds

    def _exchanged(self, best: _Played) -> _Played:
        """Exchange one club for another while that helps."""
        while True:
            better = best
            for out in sorted(best.bag - self.keep):
                for new in sorted(set(range(self.clubs)) - best.bag):
                    bag = best.bag - {out} | {new}
                    self.exchanges += bag not in self._solved
                    if self.played(bag).strokes < better.strokes - _BETTER:
                        better = self.played(bag)
            if better is best:
                return best
            best = better


def _words(count: int, left: Sequence[str], nothing: Sequence[str], last: float | None, price: float) -> str:
    parts = [f"Carry {count} clubs with the putter"]
    if left:
        parts[0] += f" and leave {_listed(left)} at home, {price:.2f} strokes a round dearer than having all"
    if last is not None:
        parts.append(f"the last of them is worth {last:.2f} strokes a round")
    if nothing:
        parts.append(f"{_listed(nothing)} earn{'s' if len(nothing) == 1 else ''} nothing here")
    return "; ".join(parts) + "."


def _listed(names: Sequence[str]) -> str:
    every = [f"the {name}" for name in names]
    return " and ".join([", ".join(every[:-1]), every[-1]] if len(every) > 1 else every)
