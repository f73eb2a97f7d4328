"""What is known of a player, as rows of a table, as intervals and in golf words."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import expit, ndtr, ndtri

from caddiebrain.player.patterns import ShotPattern
from caddiebrain.player.prior import place
from caddiebrain.player.putting import holing_chance
from caddiebrain.player.uncertainty import Beliefs, lies_of, putting_of, short_of, theta_of
from caddiebrain.terms import Height, Shape

__all__ = ["ClubRow", "Interval", "club_rows", "describe", "intervals", "pattern_label", "two_thirds_yd"]

Floats = NDArray[np.float64]
_TWO_THIRDS = 2.0 / 3.0


@dataclass(frozen=True)
class Interval:
    """An equal-tailed interval: what of, its unit, and the numbers."""

    of: str
    what: str
    unit: str
    low: float
    middle: float
    high: float
    level: float


@dataclass(frozen=True)
class ClubRow:
    """One line of the summary table: yards, degrees, shares; ``shots`` is the weight on record."""

    shot: str
    carry_yd: float
    carry_give_yd: float
    two_thirds_yd: float
    two_thirds_low_yd: float
    two_thirds_high_yd: float
    line_yd: float
    line_give_yd: float
    mishit: float
    mishit_low: float
    mishit_high: float
    shots: float


def pattern_label(pattern: ShotPattern) -> str:
    """The club, with its shape and height where they are not the stock ones: "4-hybrid draw"."""
    extra = [] if pattern.height is Height.STOCK else [pattern.height.value]
    shape = [] if pattern.shape is Shape.STRAIGHT else [pattern.shape.value]
    return " ".join([*extra, pattern.club, *shape])


def two_thirds_yd(pattern: ShotPattern) -> float:
    """Yards left and right of its own line within which two thirds of all shots finish, mishits included."""
    return _two_thirds(pattern, pattern.line_sd_deg)


def _two_thirds(pattern: ShotPattern, line_sd_deg: float) -> float:
    solid = pattern.carry_yd * np.deg2rad(line_sd_deg)
    poor = pattern.mishit_carry * pattern.carry_yd * np.deg2rad(pattern.mishit_line_sd_deg)

    def inside(yards: float) -> float:
        share = (1.0 - pattern.mishit) * (2.0 * ndtr(yards / solid) - 1.0)
        return float(share + pattern.mishit * (2.0 * ndtr(yards / poor) - 1.0)) - _TWO_THIRDS

    return float(brentq(inside, 0.0, 10.0 * max(solid, poor)))


def intervals(beliefs: Beliefs, level: float = 0.9) -> tuple[Interval, ...]:
    """Intervals for every parameter, patterns first, then short game by lie, then putting.

    Parameters
    ----------
    beliefs : Beliefs
    level : float
        Chance the interval holds the parameter, 0 to 1.
    """
    z = float(ndtri(0.5 * (1.0 + level)))
    out = []
    for pattern, centre, sd in zip(beliefs.patterns, theta_of(beliefs.patterns), beliefs.sd(), strict=True):
        ends = np.array([centre - z * sd, centre, centre + z * sd])
        for i, (what, unit, read) in enumerate(_READINGS):
            low, middle, high = (float(v) for v in read(ends[:, i]))
            out.append(Interval(pattern_label(pattern), what, unit, low, middle, high, level))
    return (*out, *_short_intervals(beliefs, z, level), *_putting_intervals(beliefs, z, level))


_READINGS: tuple[tuple[str, str, Callable[[Floats], Floats]], ...] = (
    ("carry", "yd", np.exp),
    ("carry spread", "share", np.exp),
    ("line", "deg", np.asarray),
    ("line spread", "deg", np.exp),
    ("correlation", "", np.tanh),
    ("mishits", "share", expit),
)


def _short_intervals(beliefs: Beliefs, z: float, level: float) -> list[Interval]:
    sd = np.sqrt(np.diag(beliefs.short_covariance)).reshape(-1, 2)
    out = []
    for i, lie in enumerate(lies_of(beliefs.short_game)):
        shot = next(s for s in beliefs.short_game if s.lie is lie)
        low, high = short_of(shot, -z * sd[i]), short_of(shot, z * sd[i])
        of = f"{shot.name} from {lie.value}"
        out.append(Interval(of, "depth spread", "share", low.depth_sd, shot.depth_sd, high.depth_sd, level))
        out.append(Interval(of, "mishits", "share", low.mishit, shot.mishit, high.mishit, level))
    return out


def _putting_intervals(beliefs: Beliefs, z: float, level: float) -> list[Interval]:
    sd = np.sqrt(np.diag(beliefs.putting_covariance))
    skill = beliefs.putting
    low, high = putting_of(skill, -z * sd), putting_of(skill, z * sd)
    return [
        Interval("putting", "aim", "deg", low.aim_sd_deg, skill.aim_sd_deg, high.aim_sd_deg, level),
        Interval("putting", "pace", "share", low.pace_sd, skill.pace_sd, high.pace_sd, level),
    ]


def club_rows(beliefs: Beliefs, level: float = 0.9) -> tuple[ClubRow, ...]:
    """Rows of the summary table, longest club first; gives and ranges at the level given."""
    z = float(ndtri(0.5 * (1.0 + level)))
    longest = max(p.carry_yd for p in beliefs.patterns)
    rows = []
    for pattern, centre, sd in zip(beliefs.patterns, theta_of(beliefs.patterns), beliefs.sd(), strict=True):
        per_degree = pattern.carry_yd * float(np.deg2rad(1.0))
        spread_low, spread_high = np.exp(centre[3] - z * sd[3]), np.exp(centre[3] + z * sd[3])
        row = ClubRow(
            shot=pattern_label(pattern),
            carry_yd=pattern.carry_yd,
            carry_give_yd=pattern.carry_yd * float(np.expm1(z * sd[0])),
            two_thirds_yd=two_thirds_yd(pattern),
            two_thirds_low_yd=_two_thirds(pattern, float(spread_low)),
            two_thirds_high_yd=_two_thirds(pattern, float(spread_high)),
            line_yd=pattern.line_deg * per_degree,
            line_give_yd=z * float(sd[2]) * per_degree,
            mishit=pattern.mishit,
            mishit_low=float(expit(centre[5] - z * sd[5])),
            mishit_high=float(expit(centre[5] + z * sd[5])),
            shots=pattern.shots,
        )
        rows.append((-place(pattern.club, pattern.carry_yd, longest), row))
    return tuple(row for _, row in sorted(rows, key=lambda pair: (pair[0], pair[1].shot)))


def describe(beliefs: Beliefs, level: float = 0.9) -> tuple[str, ...]:
    """One sentence per pattern, then short game and putting, as a golfer would say it."""
    lines = [_club_words(row) for row in club_rows(beliefs, level)]
    for interval in _short_intervals(beliefs, float(ndtri(0.5 * (1.0 + level))), level):
        if interval.what == "mishits":
            lines.append(
                f"{interval.of}: {interval.middle:.0%} mishits ({interval.low:.0%} to {interval.high:.0%})"
            )
    lines.append(_putting_words(beliefs, level))
    return tuple(lines)


def _club_words(row: ClubRow) -> str:
    side = "right" if row.line_yd > 0 else "left"
    lean = "" if abs(row.line_yd) <= row.line_give_yd else f", on average {abs(row.line_yd):.0f} yards {side}"
    count = f"{row.shots:.0f} shots" if round(row.shots) != 1 else "1 shot"
    record = f"{count} on record" if row.shots > 0 else "no shots on record: the level's numbers"
    return (
        f"{row.shot}: {row.carry_yd:.0f} ± {row.carry_give_yd:.0f} yards carry, two thirds within "
        f"{row.two_thirds_yd:.0f} yards ({row.two_thirds_low_yd:.0f} to {row.two_thirds_high_yd:.0f}) of its "
        f"line{lean}, {row.mishit:.0%} mishits ({row.mishit_low:.0%} to {row.mishit_high:.0%}); {record}"
    )


def _putting_words(beliefs: Beliefs, level: float) -> str:
    z = float(ndtri(0.5 * (1.0 + level)))
    sd = np.sqrt(np.diag(beliefs.putting_covariance))
    middle, better, worse = (_even_putt_ft(beliefs, shift) for shift in (np.zeros(2), -z * sd, z * sd))
    putts = f"{beliefs.putting.putts:.0f} putts on record" if beliefs.putting.putts else "no putts on record"
    return f"putting: even chance from {middle:.1f} feet ({worse:.1f} to {better:.1f}); {putts}"


def _even_putt_ft(beliefs: Beliefs, shift: Floats) -> float:
    """Distance, feet, from which every second putt drops."""
    skill = putting_of(beliefs.putting, shift)
    return float(brentq(lambda x: float(holing_chance(skill, x)) - 0.5, 0.2, 60.0))
