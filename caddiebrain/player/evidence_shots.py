"""Full shots on record as points of the law of a shot.

Carry and offline are a point. A distance before and after, without more, is either

* *far* (a ball still a long way out): the distance gained, less what the spread in direction costs, with the
  variance that leaves; or
* *near* (a ball that finished around the hole): the circle of its leave, summed over the angle.

A finish counts rollout as the pattern's, scaled by where it ended (`ROLL_BY_FINISH`), from which the carry follows.
"""

from dataclasses import dataclass
from typing import Any

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
_NEAR_YD = 40.0
_ANGLES = 16
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
    putts = (table["club"] == PUTTER) | (table["lie"] == Lie.GREEN.value)
    putts &= table["club"] != ""
    full_carry = _carry_of_club(bag, table["club"])
    inside = table["before"] < _PARTIAL * full_carry
    inside &= (table["lie"] != Lie.TEE.value) & ~putts
    dropped = (table["penalty"] > 0) | np.isin(table["lie_after"], GONE)
    span = np.isfinite(table["before"]) & np.isfinite(table["after"]) & ~dropped
    flight = np.isfinite(table["carry"]) | np.isfinite(table["offline"])
    measured = (flight | span) & ~putts & ~inside
    event = ~measured & ~putts & ~inside & ((table["lie_after"] != "") | dropped)
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

    def rows(
        self, carry: Floats, line: Floats, log_weight: Floats, variance: Floats, *, knows_carry: bool = True,
        knows_line: bool = True,
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
    near = span & ((t["after"] <= _NEAR_YD) | (t["after"] > t["before"]))
    groups = (
        (has_carry & has_side, _points),
        (has_carry & ~has_side, _carries),
        (~has_carry & has_side & span, _located),
        (~has_carry & has_side & ~span, _sides),
        (~has_carry & ~has_side & span & near, _circles),
        (~has_carry & ~has_side & span & ~near, _gains),
    )
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
    expected = full.bag.carry[full.pattern] * full.factors[0] * (1.0 + full.roll)
    short, past = t["before"] - rest, t["before"] + rest
    along = np.where(np.abs(short - expected) <= np.abs(past - expected), short, past)
    total = np.maximum(np.hypot(along, t["offline"]), 1.0)
    line = np.degrees(np.arctan2(t["offline"], along))[:, None]
    return full.rows((total / (1.0 + full.roll))[:, None], line, _zeros(full), np.zeros(len(total)))


def _gains(full: _Full) -> ShotRows:
    """A ball still far out: what it gained on the hole, with the share that the direction takes away."""
    t = full.table
    gained = np.maximum(t["before"] - t["after"], 1.0)
    patterns = full.bag.patterns
    sd = np.deg2rad(np.array([p.line_sd_deg for p in patterns]))[full.pattern] * full.factors[1]
    bend = t["before"] * gained / (2.0 * t["after"]) * sd**2
    carry = (gained + bend) / (1.0 + full.roll)
    variance = 2.0 * (bend / (1.0 + full.roll)) ** 2
    return full.rows(carry[:, None], _zeros(full), _zeros(full), variance, knows_line=False)


def _circles(full: _Full) -> ShotRows:
    """A ball around the hole: all places on the circle of its leave."""
    t = full.table
    r = np.maximum(t["after"], _LEAST_LEAVE_YD)[:, None]
    angle = 2.0 * np.pi * (np.arange(_ANGLES) + 0.5) / _ANGLES
    along, across = t["before"][:, None] - r * np.cos(angle), r * np.sin(angle)
    total = np.maximum(np.hypot(along, across), 1.0)
    line = np.degrees(np.arctan2(across, along)) - full.aim_deg[:, None]
    to_carry = (1.0 + full.roll)[:, None]
    log_weight = np.log(r * (360.0 / _ANGLES) / (total * to_carry * full.factors[0][:, None]))
    return full.rows(total / to_carry, line, log_weight, np.zeros(len(r)))
