"""From records to a player: the mode of each page under the level's prior, and how sure it is.

The steps, each a page of its own on the shared machinery of `caddiebrain.player.bayes`:

1. full shots (`mixture`) and counted shots (`counts`) give the patterns of all clubs together;
2. putts (`putts`) give aim and pace;
3. the short game (`short_shots`) gives a factor and a mishit share for each lie, with the putting as fitted.

Records are put in an order of their own first, so that the order they came in cannot matter.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caddiebrain.errors import PlayerError, RecordsError, kind_faults, number_faults
from caddiebrain.player.bag import club_key, club_name
from caddiebrain.player.bayes import Mode, Terms, block_precision, maximise
from caddiebrain.player.counts import TallyRows, tally_terms
from caddiebrain.player.evidence import Bag, bag_for, counted_once, newest_day
from caddiebrain.player.evidence_counts import Targets, card_tallies, event_tallies, gathered, tally_rows
from caddiebrain.player.evidence_short import putt_rows, short_rows
from caddiebrain.player.evidence_shots import Split, full_shot_rows, split_shots
from caddiebrain.player.level import Level
from caddiebrain.player.level_from_cards import level_from_cards
from caddiebrain.player.mixture import MishitShape, ShotRows, shot_terms
from caddiebrain.player.model import Player, Posterior, triangle
from caddiebrain.player.patterns import PuttingSkill, ShortShot
from caddiebrain.player.prior import pattern_precision, putting_precision, short_precision
from caddiebrain.player.putts import PuttPage
from caddiebrain.player.records import Records, load_records
from caddiebrain.player.short_shots import ShortPage
from caddiebrain.player.uncertainty import (
    lies_of,
    mishit_shape,
    pattern_information,
    pattern_of,
    places_of,
    putting_information,
    putting_of,
    short_information,
    short_of,
    theta_of,
)

__all__ = ["fit_player", "update_player"]

Floats = NDArray[np.float64]
_NOTE = "fit: "
_PUTTING_PASSES = 4
"""The weight of many putts depends on the answer; it settles to all digits in three passes."""


def fit_player(
    records: Any = (),
    level: Level | None = None,
    *,
    name: str = "player",
    clubs: Sequence[str] | None = None,
    half_life_days: float | None = None,
    units: str | None = None,
    aliases: Mapping[str, str] | None = None,
    fairway_width_yd: float = Targets.fairway_width_yd,
    green_size_yd: tuple[float, float] = (Targets.green_width_yd, Targets.green_depth_yd),
    today: dt.date | None = None,
) -> Player:
    """Make a player from records of any kind and a level.

    Parameters
    ----------
    records : path, rows, mapping, frame, Records, or a sequence of these
        See ``docs/record-files.md``. None at all gives the level's player.
    level : Level, optional
        What to expect before the records; where not given it is taken from the scores of round cards.
    name : str
    clubs : sequence of str, optional
        Those in the bag, by any name records may use; the others of the level are left out, and so are clubs on
        record that are not named, though their shots still tell of those that are. All by default.
    half_life_days : float, optional
        After so many days a record counts half as much as the newest; nothing fades by default.
    units, aliases, today
        As for `load_records`.
    fairway_width_yd : float
        Width of fairways where a tally states none, yards.
    green_size_yd : tuple of float
        Width and depth of greens where a tally states none, yards.

    Returns
    -------
    Player
        With a ``posterior``: `Player.draws`, `Player.intervals` and `Player.describe` know how sure it is.

    Raises
    ------
    RecordsError
        If the records are wrong, a club is unknown, or neither a level nor scores are there.
    SolveError
        If the fit does not settle.

    Examples
    --------
    >>> drives = [{"club": "driver", "tries": 11, "fairway": 6}, {"club": "5-wood", "tries": 5, "fairway": 5}]
    >>> player = fit_player(drives, Level(handicap_index=11.0))
    >>> driver, wood = (next(p for p in player.patterns if p.club == c) for c in ("driver", "5-wood"))
    >>> wood.line_sd_deg < driver.line_sd_deg, wood.line_sd_deg > 3.0
    (True, True)
    """
    _check_kind("name", name, str, "a text")
    _check_options(half_life_days, fairway_width_yd, green_size_yd)
    if level is not None:
        _check_kind("level", level, Level, "a Level, such as Level(handicap_index=11.0)")
    read = _read(records, units, aliases, today)
    targets = Targets(fairway_width_yd, *green_size_yd)
    named = None if clubs is None else _names(clubs, aliases or {})
    fitted = _fit(_base(level, read, name, named), read, targets, half_life_days, named)
    return fitted if level is not None else _marked(fitted)


def update_player(
    player: Player,
    records: Any,
    *,
    units: str | None = None,
    aliases: Mapping[str, str] | None = None,
    today: dt.date | None = None,
) -> Player:
    """Return a new player who also knows these records; the given one stays as it is.

    A player from `fit_player` is fitted again to old and new records together, with the same half-life and
    target sizes, so that rounds may be added in any order. Any other player is the prior of the fit, as sure
    as its ``shots`` and ``putts`` say.

    Parameters
    ----------
    player : Player
    records, units, aliases, today
        As for `fit_player`.
    """
    _check_kind("player", player, Player, "a Player, such as load_player(path) reads")
    read = _read(records, units, aliases, today)
    found = player.posterior
    if found is None:
        return _fit(player, read, Targets(), None, None)
    before = Records.from_plain(found.records)
    targets = Targets(found.fairway_width_yd, *found.green_size_yd)
    whole = Records((before + read).tables, (*found.warnings, *read.warnings))
    if not found.level_from_cards:
        return _fit(found.base, whole, targets, found.half_life_days, found.clubs)
    base = _base(None, whole, player.name, found.clubs)
    return _marked(_fit(base, whole, targets, found.half_life_days, found.clubs))


def _base(level: Level | None, records: Records, name: str, clubs: tuple[str, ...] | None) -> Player:
    """The level's player under a name, with the clubs named if any are."""
    level = level or level_from_cards(records)
    if clubs is not None:
        try:
            level = replace(level, clubs=clubs)
        except PlayerError as error:
            raise RecordsError("fit", error.faults) from None
    return level.player().model_copy(update={"name": name, "notes": ()})


def _names(clubs: Sequence[str], aliases: Mapping[str, str]) -> tuple[str, ...]:
    """Names of the catalogue for clubs by any name; what is unknown stays as it is."""
    if isinstance(clubs, str) or not clubs:
        raise RecordsError.one(
            "fit", "clubs", repr(clubs), "a list of names, such as ['driver', '7-iron', 'pw']"
        )
    own = {club_key(spelt): club for spelt, club in aliases.items()}
    plain = (own.get(club_key(club), club) for club in clubs)
    return tuple(club_name(club) or club for club in plain)


def _marked(player: Player) -> Player:
    """Note that the level came from the scores, so that an update takes it from all of them."""
    if player.posterior is None:
        return player
    posterior = player.posterior.model_copy(update={"level_from_cards": True})
    return player.model_copy(update={"posterior": posterior})


def _read(
    records: Any, units: str | None, aliases: Mapping[str, str] | None, today: dt.date | None
) -> Records:
    if isinstance(records, list | tuple) and not records:
        return Records()
    return load_records(records, units=units, aliases=aliases, today=today)


def _check_kind(where: str, value: object, kind: type, expected: str) -> None:
    faults = kind_faults(where, value, kind, expected)
    if faults:
        raise RecordsError("fit", faults)


def _check_options(half_life: float | None, fairway: float, green: tuple[float, float]) -> None:
    faults = []
    if half_life is not None:
        faults = number_faults("half_life_days", half_life, 1e-9, 1e9, "a number of days above 0")
    sizes = (("fairway_width_yd", fairway), ("green_size_yd", green[0]), ("green_size_yd", green[1]))
    for where, size in sizes:
        faults += number_faults(where, size, 5.0, 120.0, "5 to 120 yards")
    if faults:
        raise RecordsError("fit", faults)


@dataclass(frozen=True)
class _FullShots:
    """The page of full shots: measured ones and counted ones together."""

    shape: MishitShape
    groups: tuple[ShotRows, ...]
    tallies: TallyRows | None

    def terms(self, theta: Floats) -> Terms:
        """Evaluate both kinds of evidence at (K, 6)."""
        count = len(theta)
        total = Terms(0.0, np.zeros((count, 6)), np.zeros((count, 6, 6)))
        for rows in self.groups:
            total = total + shot_terms(theta, self.shape, rows)
        if self.tallies is not None:
            total = total + tally_terms(theta, self.shape, self.tallies)
        return total

    def shots(self, count: int) -> Floats:
        """Weight of the shots behind each pattern."""
        total = np.zeros(count)
        for rows in (group for group in self.groups if group.counted):
            total += np.bincount(rows.pattern, rows.weight, count)
        if self.tallies is not None:
            tried = self.tallies.counts.sum(axis=1) + self.tallies.other
            total += np.bincount(self.tallies.pattern, tried, count)
        return total


def _fit(
    base: Player,
    records: Records,
    targets: Targets,
    half_life: float | None,
    clubs: tuple[str, ...] | None,
) -> Player:
    """Fit all pages; keep the patterns of some clubs if they are named."""
    records = records.ordered()
    kept, records = records, counted_once(records)
    newest = newest_day(records)
    bag = bag_for(base, records, named=clubs is not None)
    logged = records.tables.get("shots")
    split = split_shots(bag, logged) if logged is not None else None
    page = _full_page(bag, records, split, targets, newest, half_life)
    mode = _fit_patterns(bag, page)
    shots = page.shots(len(bag.patterns))
    start = theta_of(bag.patterns)
    longer = float(np.exp(np.mean(mode.theta[:, 0] - start[:, 0])))
    patterns = tuple(
        (pattern_of(p, after) if np.any(after != before) else p).model_copy(
            update={"shots": p.shots + float(n)}
        )
        for p, before, after, n in zip(bag.patterns, start, mode.theta, shots, strict=True)
    )
    owned = [i for i, p in enumerate(patterns) if clubs is None or p.club in clubs]
    sold = dict.fromkeys(p.club for i, p in enumerate(patterns) if i not in owned)
    putting, putt_mode = _fit_putting(base.putting, records, split, newest, half_life)
    short, short_mode = _fit_short(base.short_game, records, split, newest, half_life, putting)
    posterior = Posterior.model_construct(
        base=base.model_copy(update={"posterior": None}),
        records=kept.to_plain(),
        half_life_days=half_life,
        fairway_width_yd=targets.fairway_width_yd,
        green_size_yd=(targets.green_width_yd, targets.green_depth_yd),
        pattern_information=tuple(triangle(mode.information[i]) for i in owned),
        short_information={
            lie: triangle(block) for lie, block in zip(lies_of(short), short_mode.information, strict=True)
        },
        putting_information=triangle(putt_mode.information[0]),
        clubs=clubs,
        warnings=(
            *(w for w in records.warnings if not w.startswith(_NOTE)),
            *_notes(base, records, split),
            *(f"{_NOTE}{club} is on record and not in the bag: it tells of the other clubs" for club in sold),
        ),
    )
    return base.model_copy(
        update={
            "patterns": tuple(patterns[i] for i in owned),
            "lies": {lie: effect.stretched(longer) for lie, effect in base.lies.items()},
            "putting": putting,
            "short_game": short,
            "posterior": posterior,
        }
    )


def _full_page(
    bag: Bag, records: Records, split: Split | None, targets: Targets, newest: float, half_life: float | None
) -> _FullShots:
    groups: list[ShotRows] = []
    tallies: list[TallyRows] = []
    if split is not None:
        table = records.tables["shots"]
        groups = full_shot_rows(bag, table, split.measured, newest, half_life)
        if split.event.any():
            tallies.append(event_tallies(bag, table, split.event, targets, newest, half_life))
    if "tallies" in records.tables:
        tallies.append(tally_rows(bag, records.tables["tallies"], targets, newest, half_life))
    if "cards" in records.tables:
        tallies += card_tallies(bag, records.tables["cards"], targets, newest, half_life)
    return _FullShots(mishit_shape(bag.patterns), tuple(groups), gathered(tallies))


def _fit_patterns(bag: Bag, page: _FullShots) -> Mode:
    """Mode of all patterns; the information includes what the base player's own shots brought."""
    before = pattern_information(bag.patterns, np.array([p.shots for p in bag.patterns]))
    precision = block_precision(pattern_precision(places_of(bag.patterns)), before)
    mode = maximise(page, theta_of(bag.patterns), precision)
    return Mode(mode.theta, mode.information + before, mode.gap)


def _fit_putting(
    base: PuttingSkill, records: Records, split: Split | None, newest: float, half_life: float | None
) -> tuple[PuttingSkill, Mode]:
    rows, putts = putt_rows(records, split, newest, half_life)
    before = putting_information(base)[None]
    precision = block_precision(putting_precision(), before)
    skill, centre = base, np.log([[base.aim_sd_deg, base.pace_sd]])
    for _ in range(_PUTTING_PASSES):
        mode = maximise(PuttPage(rows, skill), centre, precision)
        skill = putting_of(base, (mode.theta - centre)[0])
    skill = skill.model_copy(update={"putts": base.putts + putts})
    return skill, Mode(mode.theta, mode.information + before, mode.gap)


def _fit_short(
    base: tuple[ShortShot, ...],
    records: Records,
    split: Split | None,
    newest: float,
    half_life: float | None,
    putting: PuttingSkill,
) -> tuple[tuple[ShortShot, ...], Mode]:
    rows, _ = short_rows(base, records, split, newest, half_life)
    lies = lies_of(base)
    before = short_information(base)
    precision = block_precision(short_precision(len(lies)), before)
    mode = maximise(ShortPage(base, len(lies), rows, putting), np.zeros((len(lies), 2)), precision)
    played = np.bincount(rows.shot, rows.tries * rows.weight, len(base))
    short = tuple(
        _moved(shot, mode.theta[lies.index(shot.lie)]).model_copy(update={"shots": shot.shots + float(n)})
        for shot, n in zip(base, played, strict=True)
    )
    return short, Mode(mode.theta, mode.information + before, mode.gap)


def _moved(shot: ShortShot, shift: Floats) -> ShortShot:
    """Return the shot shifted; the very same where nothing was learned."""
    return short_of(shot, shift) if np.any(shift != 0.0) else shot


def _notes(base: Player, records: Records, split: Split | None) -> list[str]:
    """Say what was read and could not be used."""
    logged = records.tables.get("shots")
    idle = 0
    if split is not None and logged is not None:
        known = np.isfinite(logged["before"]) & (np.isfinite(logged["after"]) | (logged["lie_after"] != ""))
        used = (split.putts & known) | split.short | split.measured | split.event
        idle = int((~used).sum())
    _, unreached = short_rows(base.short_game, records, split, float("nan"), None)
    found = (
        (idle, "stroke", "on record without word of a full shot, short shot or putt: not used"),
        (unreached, "short shot", "on record beyond the longest of the short game: not used"),
    )
    return [f"{_NOTE}{count} {what}{'s' * (count != 1)} {text}" for count, what, text in found if count]
