"""Full shots on record as points of the law of a shot.

Carry and offline are a point. A distance before and after, without more, puts the ball on a circle around the
hole, and the law is summed along it: all around where the ball finished near, and on the arc toward the player,
as wide as any shot scatters, where it is still far out.

A finish counts rollout as the pattern's, scaled by where it ended (`ROLL_BY_FINISH`), from which the carry follows.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from caddiebrain.player.evidence import PUTTER, Bag, age_weights
from caddiebrain.player.mixture import ShotRows
from caddiebrain.player.records import Table
from caddiebrain.terms import Lie

__all__ = ["GONE", "ROLL_BY_FINISH", "Split", "full_shot_rows", "split_shots", "start_lie"]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

ROLL_BY_FINISH = {
    "fairway": 1.0, "tight": 1.0, "tee": 1.0, "rough": 0.5, "thick": 0.3, "sand": 0.2, "trees": 0.3,
    "green": 0.6, "holed": 0.6, "": 0.7,
}  # fmt: skip
"""Rollout beside that on fairway, by where the ball ended (common practice, no source)."""
GONE = ("red", "yellow", "out")
_PARTIAL = 0.75
"""A wedge or iron from inside this share of its full carry is a short shot."""
_CLOSE, _NEAR, _ARC = 2.0, 3.5, 6.0
"""In standard deviations: a leave few angles sum, a leave that may be past the hole, the half-width of an arc."""
_FEW_ANGLES, _MANY_ANGLES, _ARC_ANGLES = 12, 24, 16
_CHOICE_SD = 0.04
_IN_REACH = 1.25
"""A hole nearer than this share of what the club usually goes was meant to be reached."""
_LEAST_LEAVE_YD = 0.1
_WIDEST_DEG = 75.0


@dataclass(frozen=True)
class Split:
    """Which rows of a table of shots are what, as masks (N,)."""

    putts: Bools
    short: Bools
    measured: Bools
    event: Bools


def split_shots(bag: Bag, table: Table) -> Split:
    """Sort shots into putts, short shots, full shots with a distance, and full shots with a lie after alone."""
    putter = table["club"] == PUTTER
    putts = (putter & (table["lie"] == "")) | ((table["lie"] == Lie.GREEN.value) & (table["club"] != ""))
    putter |= putts  # from off the green a putter tells neither of putts nor of chips
    full_carry = _carry_of_club(bag, table["club"])
    inside = table["before"] < _PARTIAL * full_carry
    inside &= (table["lie"] != Lie.TEE.value) & ~putter
    dropped = (table["penalty"] > 0) | np.isin(table["lie_after"], GONE)
    span = np.isfinite(table["before"]) & np.isfinite(table["after"]) & ~dropped
    flight = np.isfinite(table["carry"]) | np.isfinite(table["offline"])
    measured = (flight | span) & ~putter & ~inside
    event = ~measured & ~putter & ~inside & ((table["lie_after"] != "") | dropped)
    return Split(putts, inside & np.isfinite(table["after"]) & ~dropped, measured, event)


def _carry_of_club(bag: Bag, club: NDArray[Any]) -> Floats:
    """Longest carry of each row's club; infinite where it has no full shot."""
    longest: dict[str, float] = {}
    for pattern in bag.patterns:
        longest[pattern.club] = max(longest.get(pattern.club, 0.0), pattern.carry_yd)
    known = {name: longest.get(name, np.inf) for name in np.unique(club).tolist()}
    return np.array([known[name] for name in club.tolist()])


def start_lie(bag: Bag, table: Table) -> NDArray[Any]:
    """Lie before each shot; where none is given, the tee for a first stroke or a club of the tee alone."""
    first = table["stroke"] == 1
    tee_clubs = [p.club for p in bag.patterns if p.tee_only]
    tee = first | np.isin(table["club"], tee_clubs)
    return np.where(table["lie"] == "", np.where(tee, Lie.TEE.value, Lie.FAIRWAY.value), table["lie"])


@dataclass(frozen=True)
class _Full:
    """Full shots with their patterns and lies."""

    bag: Bag
    table: Table
    weight: Floats
    pattern: NDArray[np.int64]
    factors: tuple[Floats, Floats, Floats]
    roll: Floats

    def part(self, mask: Bools) -> "_Full":
        return _Full(
            self.bag,
            {name: column[mask] for name, column in self.table.items()},
            self.weight[mask],
            self.pattern[mask],
            (self.factors[0][mask], self.factors[1][mask], self.factors[2][mask]),
            self.roll[mask],
        )

    @property
    def aim_deg(self) -> Floats:
        """Intended line beside the hole, degrees."""
        aim = np.nan_to_num(self.table["aim"])
        return np.asarray(np.degrees(np.arctan2(aim, np.nan_to_num(self.table["before"], nan=np.inf))))

    @property
    def expected_yd(self) -> Floats:
        """Carry and rollout to be expected of the base pattern, yards."""
        return np.asarray(self.bag.carry[self.pattern] * self.factors[0] * (1.0 + self.roll))

    @property
    def scatter_yd(self) -> tuple[Floats, Floats]:
        """Smaller and larger of the base pattern's spreads in length and sideways, yards."""
        carry = self.bag.carry[self.pattern] * self.factors[1]
        length = carry * np.array([p.carry_sd for p in self.bag.patterns])[self.pattern]
        side = carry * np.deg2rad([p.line_sd_deg for p in self.bag.patterns])[self.pattern]
        return np.minimum(length, side), np.maximum(length, side)

    def rows(
        self, carry: Floats, line: Floats, log_weight: Floats, variance: Floats, *, knows_carry: bool = True,
        knows_line: bool = True, tells: Literal["all", "scatter"] = "all",
    ) -> ShotRows:  # fmt: skip
        factor, spread, mishit = self.factors
        return ShotRows(
            pattern=self.pattern,
            carry_yd=carry / factor[:, None],
            line_deg=np.clip(line, -_WIDEST_DEG, _WIDEST_DEG),
            log_weight=log_weight,
            spread=spread,
            mishit=mishit,
            variance=variance / factor**2,
            weight=self.weight,
            knows_carry=knows_carry,
            knows_line=knows_line,
            tells=tells,
        )


def full_shot_rows(
    bag: Bag, table: Table, measured: Bools, newest: float, half_life_days: float | None
) -> list[ShotRows]:
    """Evidence of the measured full shots, in groups that know the same."""
    t = {name: column[measured] for name, column in table.items()}
    if not measured.any():
        return []
    pattern = bag.pattern_of(t["club"], t["shape"], t["height"])
    lies = bag.lie_factors(pattern, start_lie(bag, t))
    by_finish = {name: ROLL_BY_FINISH.get(name, 0.5) for name in np.unique(t["lie_after"]).tolist()}
    finish = np.array([by_finish[name] for name in t["lie_after"].tolist()])
    full = _Full(
        bag, t, age_weights(t, newest, half_life_days), pattern, (lies.carry, lies.spread, lies.mishit),
        bag.roll[pattern] * finish,
    )  # fmt: skip
    has_carry, has_side = np.isfinite(t["carry"]), np.isfinite(t["offline"])
    span = np.isfinite(t["before"]) & np.isfinite(t["after"])
    bare = ~has_carry & ~has_side & span
    least, most = full.scatter_yd
    close = t["after"] <= _CLOSE * least
    near = ~close & ((t["after"] <= _NEAR * most) | (t["after"] > t["before"]))
    groups: list[tuple[Bools, Callable[[_Full], ShotRows]]] = [
        (has_carry & has_side, _points),
        (has_carry & ~has_side, _carries),
        (~has_carry & has_side & span, _located),
        (~has_carry & has_side & ~span, _sides),
    ]
    at_hole = t["before"] <= _IN_REACH * full.expected_yd
    for tied, rows in ((True, bare & at_hole), (False, bare & ~at_hole)):
        for mask, angles in ((close, _FEW_ANGLES), (near, _MANY_ANGLES), (~close & ~near, _ARC_ANGLES)):
            groups.append((rows & mask, partial(_around, angles=angles, tied=tied)))
    groups.append((bare & at_hole, _chosen_carries))
    return [read(full.part(mask)) for mask, read in groups if mask.any()]


def _zeros(full: _Full) -> Floats:
    return np.zeros((len(full.pattern), 1))


def _points(full: _Full) -> ShotRows:
    """Carry and offline."""
    carry = np.maximum(full.table["carry"], 1.0)
    line = np.degrees(np.arctan2(full.table["offline"], carry))
    return full.rows(carry[:, None], line[:, None], _zeros(full), np.zeros(len(carry)))


def _carries(full: _Full) -> ShotRows:
    """Carry alone."""
    carry = np.maximum(full.table["carry"], 1.0)[:, None]
    return full.rows(carry, _zeros(full), _zeros(full), np.zeros(len(carry)), knows_line=False)


def _sides(full: _Full) -> ShotRows:
    """Offline alone: at the carry that was to be expected."""
    expected = full.bag.carry[full.pattern] * full.factors[0]
    line = np.degrees(np.arctan2(full.table["offline"], expected))[:, None]
    return full.rows(expected[:, None], line, _zeros(full), np.zeros(len(line)), knows_carry=False)


def _located(full: _Full) -> ShotRows:
    """Distances before and after with the offline: short of the hole or past it, as the club suggests."""
    t = full.table
    rest = np.sqrt(np.maximum(t["after"] ** 2 - t["offline"] ** 2, 0.0))
    expected = full.expected_yd
    short, past = t["before"] - rest, t["before"] + rest
    along = np.where(np.abs(short - expected) <= np.abs(past - expected), short, past)
    total = np.maximum(np.hypot(along, t["offline"]), 1.0)
    line = np.degrees(np.arctan2(t["offline"], along))[:, None]
    return full.rows((total / (1.0 + full.roll))[:, None], line, _zeros(full), np.zeros(len(total)))


def _around(full: _Full, angles: int, tied: bool) -> ShotRows:
    """Points on the circle of the leave, or on the arc of it that shots from so far can reach.

    Where the hole was in reach (``tied``) the shot was meant to finish there: the leave tells the size of the
    scatter around the hole and nothing else.
    """
    t = full.table
    far = angles == _ARC_ANGLES
    half = (
        np.minimum(_ARC * full.scatter_yd[1] / t["after"], np.pi)
        if far
        else np.full(len(full.pattern), np.pi)
    )
    r = np.maximum(t["after"], _LEAST_LEAVE_YD)[:, None]
    angle = half[:, None] * (2.0 * (np.arange(angles) + 0.5) / angles - 1.0)
    along, across = t["before"][:, None] - r * np.cos(angle), r * np.sin(angle)
    total = np.maximum(np.hypot(along, across), 1.0)
    line = np.degrees(np.arctan2(across, along)) - full.aim_deg[:, None]
    to_carry = (1.0 + full.roll)[:, None]
    each = np.degrees(2.0 * half / angles)[:, None]
    log_weight = np.log(r * each / (total * to_carry * full.factors[0][:, None]))
    if tied:
        to_carry = to_carry * (t["before"] / full.expected_yd)[:, None]
    return full.rows(total / to_carry, line, log_weight, np.zeros(len(r)), tells="scatter" if tied else "all")


def _chosen_carries(full: _Full) -> ShotRows:
    """The distances a club was chosen for, one row a club: worth one shot of an uncertain carry.

    Golfers choose more or less club than they hit, and all their shots share that habit, so many such shots say
    hardly more of the carry than one (common practice, no source).
    """
    implied = full.table["before"] / (1.0 + full.roll) / full.factors[0]
    club = np.unique(full.pattern)
    weight = np.array([full.weight[full.pattern == k].max() for k in club])
    carry = np.array([np.median(implied[full.pattern == k]) for k in club])[:, None]
    none = np.zeros_like(carry)
    return ShotRows(
        pattern=club, carry_yd=carry, line_deg=none, log_weight=none, spread=np.ones(len(club)),
        mishit=none[:, 0], variance=(_CHOICE_SD * carry[:, 0]) ** 2, weight=weight, knows_line=False, tells="carry",
        counted=False,
    )  # fmt: skip
