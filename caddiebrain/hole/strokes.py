"""One stroke for many balls at once, drawn from the player's own distribution (see `caddiebrain.hole.play`)."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from caddiebrain.flight import curve_profile, drift_profile
from caddiebrain.hole.crossings import Arc
from caddiebrain.hole.ground import CODE, Ground
from caddiebrain.hole.off_green import Putter, rolled_to
from caddiebrain.hole.points import ErrorPoints
from caddiebrain.hole.short_shots import HOLE_RADIUS_YD, PACE_WINDOW_YD, fly_short
from caddiebrain.hole.short_swings import Allowance, ShortSwing
from caddiebrain.hole.swings import FullSwing
from caddiebrain.hole.travel import fly, roll_out
from caddiebrain.hole.ways import way_to_hole
from caddiebrain.player.model import PuttingSkill
from caddiebrain.player.putting import BALL_RADIUS_FT, CAPTURE_FT, HOLE_RADIUS_FT
from caddiebrain.terms import Lie

__all__ = ["Balls", "Way", "fly_full", "hit_short", "putt_from_off", "putt_once", "stop_in_trees"]

_STEP_YD = 2.0
"""Length of the steps in which a path through trees is followed."""

Floats = NDArray[np.float64]
Ends = tuple[Floats, Floats, NDArray[np.bool_]]


@dataclass
class Balls:
    """Balls in play: position in yards, code of the lie, strokes taken, whether holed; all (n,)."""

    x: Floats
    y: Floats
    lie: NDArray[np.int64]
    strokes: NDArray[np.int64]
    holed: NDArray[np.bool_] = field(init=False)

    def __post_init__(self) -> None:
        self.holed = np.zeros(len(self.x), dtype=bool)

    @classmethod
    def on_the_tee(cls, n: int, tee: tuple[float, float]) -> "Balls":
        """Set n balls on a tee."""
        at = np.full(n, CODE[Lie.TEE], dtype=np.int64)
        return cls(np.full(n, float(tee[0])), np.full(n, float(tee[1])), at, np.zeros(n, dtype=np.int64))


def _draws(n: int, mishit: float, rng: np.random.Generator) -> ErrorPoints:
    """Errors of n strokes, one row each."""
    z = rng.standard_normal((2, n, 1))
    return ErrorPoints(z[0], z[1], rng.random((n, 1)) >= mishit, np.ones((n, 1)))


def fly_full(
    ground: Ground,
    x: Floats,
    y: Floats,
    heading: Floats,
    swing: FullSwing,
    wind_to_deg: float | None,
    rng: np.random.Generator,
) -> Ends:
    """Hit full shots.

    Parameters
    ----------
    x, y, heading : ndarray (n,)
        Yards and radians clockwise from the y axis.
    wind_to_deg : float or None
        Compass bearing the wind blows toward.

    Returns
    -------
    x, y : ndarray (n,)
        Where the balls come to rest.
    holed : ndarray of bool (n,)
    """
    bins = np.zeros(len(x), dtype=np.int64)
    if wind_to_deg is not None:
        bins = swing.bin_of(wind_to_deg - ground.hole.bearing_deg - np.rad2deg(heading))
    offsets = swing.offsets(_draws(len(x), swing.mishit, rng), bins)
    at_x, at_y = x.astype(np.float32), y.astype(np.float32)
    landing = fly(
        ground,
        at_x,
        at_y,
        heading.astype(np.float32),
        offsets.along,
        offsets.across,
        np.hypot(offsets.along, offsets.across),
        swing.yards_per_height[bins],
    )
    roll = swing.roll[bins[:, None], ground.lie[landing.cell]]
    turn = np.full(len(x), swing.landing_turn)
    far_x, far_y, _ = roll_out(ground, at_x, at_y, landing, roll, turn)
    end_x, end_y = far_x[:, 0].astype(np.float64), far_y[:, 0].astype(np.float64)
    if ground.canopies:
        arc = Arc(*(np.asarray(a.mean()) for a in (swing.carry, swing.apex, swing.apex_share)))
        way = _way(ground, arc, swing.pattern.curve_yd / swing.carry.mean())
        drift = swing.drift[bins] / swing.carry.mean()
        direction = np.arctan2(landing.dx[:, 0], landing.dy[:, 0]).astype(float)
        stopped, stop_x, stop_y = stop_in_trees(
            ground, x, y, direction, landing.length[:, 0].astype(float), way, rng, drift
        )
        end_x, end_y = np.where(stopped, stop_x, end_x), np.where(stopped, stop_y, end_y)
    return end_x, end_y, np.zeros(len(x), dtype=bool)


@dataclass(frozen=True)
class Way:
    """A flight in steps: share flown, sideways place as a share of the carry, and stops per yard of each canopy."""

    share: Floats
    aside: Floats
    per_yard: tuple[Floats, ...]


def _way(ground: Ground, arc: Arc | None, bend: float = 0.0, carry: float = 120.0) -> Way:
    """Lay out a flight; without an arc the ball stays under the branches."""
    far = carry if arc is None else float(arc.carry)
    steps = max(4, int(np.ceil(far / _STEP_YD)))
    share = (np.arange(steps) + 0.5) / steps
    per_yard = []
    for canopy in ground.canopies:
        if arc is None:
            per_yard.append(np.full(steps, 1.0 / canopy.trunk_gap))
            continue
        base, top = arc.crossings(canopy.base), arc.crossings(canopy.top)
        above = (share > top[0]) & (share < top[1])
        within = (share > base[0]) & (share < base[1])
        per_yard.append(np.where(above, 0.0, np.where(within, 1.0 / canopy.gap, 1.0 / canopy.trunk_gap)))
    return Way(share, curve_profile(share, bend), tuple(per_yard))


def stop_in_trees(
    ground: Ground,
    x: Floats,
    y: Floats,
    direction: Floats,
    length: Floats,
    way: Way,
    rng: np.random.Generator,
    drift: Floats | None = None,
) -> tuple[NDArray[np.bool_], Floats, Floats]:
    """Follow each ball along its own path until trees stop it.

    Parameters
    ----------
    direction, length : ndarray (n,)
        From the ball to where it would land, radians and yards.
    way : Way
        Scaled to each ball's length.
    drift : ndarray (n,), optional
        What the wind does sideways by the landing, as a share of the carry.

    Returns
    -------
    stopped : ndarray of bool (n,)
    x, y : ndarray (n,)
        Where it stopped.
    """
    spare = rng.exponential(size=len(x))
    stopped = np.zeros(len(x), dtype=bool)
    stop_x, stop_y = x.copy(), y.copy()
    push = np.zeros(len(x)) if drift is None else drift
    step = length / len(way.share)
    for j, (share, bent) in enumerate(zip(way.share, way.aside, strict=True)):
        rates = [rate[j] for rate in way.per_yard]
        live = np.flatnonzero(~stopped)
        if not any(rates) or live.size == 0:
            continue
        s, c = length[live] * np.sin(direction[live]), length[live] * np.cos(direction[live])
        aside = bent + push[live] * (drift_profile(share, 1.0) - share)
        at_x, at_y = x[live] + share * s + aside * c, y[live] + share * c - aside * s
        cell = ground.frame.index(at_x, at_y)
        inside = ground.frame.holds(at_x, at_y)
        for rate, canopy in zip(rates, ground.canopies, strict=True):
            spare[live] -= rate * step[live] * (canopy.stands[cell] & inside)
        now = spare[live] < 0.0
        hit = live[now]
        stopped[hit], stop_x[hit], stop_y[hit] = True, at_x[now], at_y[now]
    return stopped, stop_x, stop_y


def hit_short(
    ground: Ground,
    x: Floats,
    y: Floats,
    heading: Floats,
    distance: Floats,
    swing: ShortSwing,
    allowed: Allowance | None,
    low: bool,
    rng: np.random.Generator,
) -> Ends:
    """Hit short shots meant to stop after ``distance`` yards, under the branches where ``low``; see `fly_full`."""
    points = _draws(len(x), swing.shot.mishit, rng)
    offsets = swing.offsets(points, distance, allowed)
    ball = x.astype(np.float32), y.astype(np.float32), heading.astype(np.float32)
    (far_x, far_y, _), _ = fly_short(ground, ball, offsets, swing.shot, allowed)
    end_x, end_y = far_x[:, 0].astype(np.float64), far_y[:, 0].astype(np.float64)
    if low:
        if ground.canopies:
            direction, length = np.arctan2(end_x - x, end_y - y), np.hypot(end_x - x, end_y - y)
            stopped, stop_x, stop_y = stop_in_trees(ground, x, y, direction, length, _way(ground, None), rng)
            end_x, end_y = np.where(stopped, stop_x, end_x), np.where(stopped, stop_y, end_y)
        return end_x, end_y, np.zeros(len(x), dtype=bool)
    return end_x, end_y, _drops_in(ground, x, y, heading, offsets.along[:, 0], offsets.across[:, 0], points)


def _drops_in(
    ground: Ground,
    x: Floats,
    y: Floats,
    heading: Floats,
    along: NDArray[np.float32],
    across: NDArray[np.float32],
    points: ErrorPoints,
) -> NDArray[np.bool_]:
    """Whether solid short shots cross the hole at a pace that lets them fall."""
    px, py = ground.hole.pin
    if ground.lie_at(np.array([px]), np.array([py]))[0] != CODE[Lie.GREEN]:
        return np.zeros(len(x), dtype=bool)
    to_pin, turn = np.hypot(px - x, py - y), np.arctan2(px - x, py - y) - heading
    ahead, aside = to_pin * np.cos(turn), to_pin * np.sin(turn)
    on_line = np.abs(across - aside) < HOLE_RADIUS_YD
    paced = (along >= ahead) & (along <= ahead + PACE_WINDOW_YD)
    return np.asarray(on_line & paced & points.solid[:, 0])


def putt_once(
    skill: PuttingSkill, feet: Floats, past: Floats, rng: np.random.Generator
) -> tuple[NDArray[np.bool_], Floats]:
    """Strike putts on a level green by the published model of two errors (Gelman 2019).

    Parameters
    ----------
    feet : ndarray (n,)
        Distance to the hole.
    past : ndarray (n,)
        How far past the hole the putt is meant to stop, feet.

    Returns
    -------
    holed : ndarray of bool (n,)
    leave : ndarray (n,)
        Feet left after a miss.
    """
    angle = np.deg2rad(skill.aim_sd_deg) * rng.standard_normal(len(feet))
    meant = feet + past
    rolled = np.maximum(meant * (1.0 + skill.pace_sd * rng.standard_normal(len(feet))), 0.0)
    holed = _on_line(feet, angle) & (rolled >= feet) & (rolled <= feet + CAPTURE_FT)
    leave = np.sqrt((feet - rolled) ** 2 + 4.0 * feet * rolled * np.sin(0.5 * angle) ** 2)
    return holed, leave


def putt_from_off(
    ground: Ground, x: Floats, y: Floats, past: Floats, putter: Putter, rng: np.random.Generator
) -> Ends:
    """Strike putts from off the green, meant to stop ``past`` (n,) feet past the hole; see `fly_full`."""
    way = way_to_hole(ground, putter.slowing, x, y)
    roll, angle = putter.struck(way, past, _draws(len(x), 0.0, rng))
    needed = 3.0 * way.counts_yd[:, None]
    holed = _on_line(3.0 * way.to_pin[:, None], angle) & (roll >= needed) & (roll <= needed + CAPTURE_FT)
    end_x, end_y, _ = rolled_to(ground, x, y, way.heading[:, None] + angle, way.length(roll / 3.0))
    return end_x[:, 0].astype(np.float64), end_y[:, 0].astype(np.float64), holed[:, 0]


def _on_line(feet: Floats, angle: Floats) -> NDArray[np.bool_]:
    """Whether putts that start at an angle, radians, meet the hole squarely enough."""
    half = np.arcsin(np.minimum((HOLE_RADIUS_FT - BALL_RADIUS_FT) / np.maximum(feet, 1e-6), 1.0))
    return np.asarray((np.abs(angle) < half) | (feet <= HOLE_RADIUS_FT - BALL_RADIUS_FT))
