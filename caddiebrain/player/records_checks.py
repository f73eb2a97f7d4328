"""Checks across the columns of a table: what cannot be is a fault, what is missing or odd a warning."""

import datetime as dt
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caddiebrain.player.records_cells import Ledger
from caddiebrain.player.records_open import RawTable

__all__ = ["check_dates", "check_table"]

Table = dict[str, NDArray[Any]]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]
_MOST_CLUBS = 14
_SHORT_LIES = ("fairway", "tight", "rough", "thick", "sand", "trees")
_ROWS_NAMED = 8
_ODD_SHARE = 0.5
_FEWEST_TO_JUDGE = 3


class _Checker:
    """One table under check."""

    def __init__(self, table: Table, raw: RawTable, headings: Mapping[str, str], ledger: Ledger) -> None:
        self.table, self.raw, self.headings, self.ledger = table, raw, headings, ledger

    def fault(self, wrong: Bools, column: str, expected: str) -> None:
        """Name every row where ``wrong`` holds."""
        for i in np.flatnonzero(wrong):
            heading = self.headings.get(column, column)
            value = self.raw.columns[heading][i] if heading in self.raw.columns else "nothing"
            self.ledger.fault(f"{self.raw.rows[int(i)]}, column {heading}", repr(value), expected)

    def warn(self, odd: Bools, text: str) -> None:
        """Warn once, naming the rows where ``odd`` holds."""
        at = np.flatnonzero(odd)
        if not len(at):
            return
        named = ", ".join(self.raw.rows[int(i)] for i in at[:_ROWS_NAMED])
        more = f" and {len(at) - _ROWS_NAMED} more" if len(at) > _ROWS_NAMED else ""
        self.ledger.warn(f"{named}{more}: {text}")

    def known(self, column: str) -> Bools:
        """Where a column has a value."""
        values = self.table[column]
        return np.asarray(np.isfinite(values) if values.dtype.kind == "f" else values != "")

    def at_most_tries(self, *columns: str) -> None:
        """Counts together may not exceed the tries."""
        total = np.nansum([self.table[c] for c in columns], axis=0)
        over = total > np.nan_to_num(self.table["tries"], nan=np.inf)
        named = next((c for c in columns if c in self.headings), columns[0])
        self.fault(over, named, "no more than the tries")


def check_table(kind: str, table: Table, raw: RawTable, headings: Mapping[str, str], ledger: Ledger) -> Bools:
    """Check a table of one kind, mend what the notes themselves tell, and return which rows to keep.

    Parameters
    ----------
    kind : str
    table : Table
        Complete; ``after`` of shots is filled in place from the next stroke.
    raw : RawTable
        For naming rows and cells.
    headings : mapping of str to str
        Column name to the source's heading.
    ledger : Ledger
        Takes faults and warnings.
    """
    return _CHECKS[kind](_Checker(table, raw, headings, ledger))


def check_dates(
    table: Table, raw: RawTable, headings: Mapping[str, str], today: dt.date, ledger: Ledger
) -> None:
    """Refuse dates yet to come; the table need not be complete or otherwise sound."""
    if "date" in table:
        late = table["date"] > today.toordinal()
        _Checker(table, raw, headings, ledger).fault(late, "date", f"a date up to {today.isoformat()}")


def _shots(c: _Checker) -> Bools:
    _same_club_two_ways(c)
    _too_many_clubs(c)
    club = c.known("club")
    c.warn(~club, "no club: left out")
    _fill_from_next(c)
    useful = (
        c.known("carry") | c.known("offline") | (c.known("before") & c.known("after")) | c.known("lie_after")
    )
    _unfinished(c, club & ~useful)
    _odd_shots(c)
    return club & useful


def _following(t: Table) -> tuple[Ints, Ints, Bools]:
    """Strokes in the order of play, each with the one after it, and whether both are of one hole."""
    date = np.nan_to_num(t["date"], nan=-1.0)
    order = np.lexsort((t["stroke"], t["hole"], date, t["round"]))
    this, after = order[:-1], order[1:]
    same = (t["round"][this] == t["round"][after]) & (date[this] == date[after])
    return this, after, same & (t["hole"][this] == t["hole"][after])


def _fill_from_next(c: _Checker) -> None:
    """A ball without a distance after it lies where the next stroke of the hole begins, unless dropped."""
    t = c.table
    this, after, same = _following(t)
    same &= t["stroke"][after] == t["stroke"][this] + 1
    undropped = ~(t["penalty"][this] > 0)
    gone = np.isnan(t["after"][this]) & undropped & same & c.known("before")[after]
    unsaid = (t["lie_after"][this] == "") & undropped & same & c.known("lie")[after]
    t["after"] = t["after"].copy()
    t["after"][this[gone]] = t["before"][after[gone]]
    t["lie_after"] = t["lie_after"].astype("<U12")
    t["lie_after"][this[unsaid]] = t["lie"][after[unsaid]]


def _unfinished(c: _Checker, empty: Bools) -> None:
    """Rows without an outcome: the end of an unfinished hole, or nothing written."""
    this, _, same = _following(c.table)
    last = c.known("hole") & c.known("stroke")
    last[this[same]] = False
    c.warn(empty & last, "the hole is not finished: its last stroke has no outcome and is left out")
    c.warn(empty & ~last, "nothing to learn from (no carry, offline, distance after or lie after): left out")


def _odd_shots(c: _Checker) -> None:
    """Say which carries fall far short of the same club's: they are kept and count as mishits."""
    t = c.table
    flown = np.where(c.known("carry"), t["carry"], np.nan)
    odd = np.zeros(len(flown), dtype=bool)
    for club in np.unique(t["club"][c.known("carry")]):
        mine = (t["club"] == club) & c.known("carry")
        if mine.sum() > _FEWEST_TO_JUDGE:
            odd |= mine & (flown < _ODD_SHARE * np.median(flown[mine]))
    c.warn(odd, "carried less than half of what the club usually does: kept, most likely a mishit")


def _same_club_two_ways(c: _Checker) -> None:
    spellings: dict[str, set[str]] = {}
    for spelt, club in zip(c.raw.columns[c.headings["club"]], c.table["club"].tolist(), strict=True):
        if club:
            spellings.setdefault(club, set()).add(" ".join(str(spelt).lower().split()))
    for club, ways in sorted(spellings.items()):
        if len(ways) > 1:
            c.ledger.warn(f"{' and '.join(repr(way) for way in sorted(ways))} are both read as {club}")


def _too_many_clubs(c: _Checker) -> None:
    clubs = set(np.unique(c.table["club"]).tolist()) - {""} | {"putter"}
    if len(clubs) > _MOST_CLUBS:
        c.ledger.warn(
            f"{len(clubs)} clubs with the putter: a round may be played with at most 14 (Rule 4.1b)"
        )


def _tallies(c: _Checker) -> Bools:
    _too_many_clubs(c)
    t = c.table
    c.fault(t["club"] == "putter", "club", "a club of full shots; putts have a table of their own")
    twice = c.known("fairway") & c.known("green")
    c.fault(twice, "green", "a tally of fairways or of greens, not both in one row")
    c.at_most_tries("hit", "fairway", "green", "left", "right", "short", "long")
    misses = t["tries"] - np.nansum([t["hit"], t["fairway"], t["green"]], axis=0)
    c.fault(c.known("penalty") & (t["penalty"] > misses), "penalty", "no more than the misses")
    return _complete_rows(c, c.known("club") & c.known("tries") & _hits(c) & (t["tries"] > 0))


def _hits(c: _Checker) -> Bools:
    return np.asarray(c.known("fairway") | c.known("green") | (c.known("hit") & c.known("target")))


def _short_game(c: _Checker) -> Bools:
    c.at_most_tries("up_and_down")
    c.fault(c.known("lie") & ~np.isin(c.table["lie"], _SHORT_LIES), "lie", f"one of {', '.join(_SHORT_LIES)}")
    counted = c.known("tries") & c.known("up_and_down") & (c.table["tries"] > 0)
    return _complete_rows(c, c.known("lie") & c.known("distance") & (counted | c.known("leave")))


def _putts(c: _Checker) -> Bools:
    c.at_most_tries("holed")
    counted = c.known("tries") & c.known("holed") & (c.table["tries"] > 0)
    return _complete_rows(c, c.known("distance") & (counted | c.known("putts")))


def _cards(c: _Checker) -> Bools:
    t = c.table
    c.fault(c.known("putts") & (t["putts"] >= t["score"]), "putts", "fewer than the strokes of the hole")
    unfinished = ~c.known("score")
    c.warn(unfinished, "no score: the hole is not finished and its score is left out")
    return np.asarray(c.known("hole"))


def _complete_rows(c: _Checker, complete: Bools) -> Bools:
    c.warn(~complete, "something is missing: left out")
    return complete


_CHECKS: dict[str, Callable[[_Checker], Bools]] = {
    "shots": _shots,
    "tallies": _tallies,
    "short_game": _short_game,
    "putts": _putts,
    "cards": _cards,
}
