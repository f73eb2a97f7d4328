"""Records simulated from a player whose numbers are known."""

import numpy as np

from caddiebrain.player import Level, ShotPattern

LEVEL = Level(handicap_index=11.0)
FAIRWAY_YD, GREEN_YD = 32.0, (26.0, 28.0)


def strokes(pattern: ShotPattern, n: int, rng: np.random.Generator):
    """Carry (yards) and direction (degrees) of n strokes, from the words of the pattern's own docstring."""
    poor = rng.random(n) < pattern.mishit
    across, along = rng.standard_normal((2, n))
    rho = pattern.correlation
    along = np.where(poor, along, rho * across + np.sqrt(1 - rho**2) * along)
    share = np.where(
        poor, pattern.mishit_carry + pattern.mishit_carry_sd * along, 1 + pattern.carry_sd * along
    )
    line = pattern.line_deg + np.where(poor, pattern.mishit_line_sd_deg, pattern.line_sd_deg) * across
    return np.maximum(pattern.carry_yd * share, 3.0), np.clip(line, -50.0, 50.0)


def shot_rows(pattern, n, rng):
    carry, line = strokes(pattern, n, rng)
    side = carry * np.tan(np.deg2rad(line))
    return [
        {"club": pattern.club, "lie": "tee", "carry_yd": float(c), "offline_yd": float(s)}
        for c, s in zip(carry, side, strict=True)
    ]


def tally_row(pattern, n, rng):
    """Drivers at a fairway, other clubs at a green."""
    carry, line = strokes(pattern, n, rng)
    fairway = pattern.club == "driver"
    if fairway:
        side = carry * (1 + pattern.rollout_yd / pattern.carry_yd) * np.tan(np.deg2rad(line))
        width, short, long = FAIRWAY_YD, carry < 0.6 * pattern.carry_yd, np.zeros(n, dtype=bool)
    else:
        side, (width, depth) = carry * np.tan(np.deg2rad(line)), GREEN_YD
        short, long = carry < pattern.carry_yd - depth / 2, carry > pattern.carry_yd + depth / 2
    there = ~short & ~long
    row = {
        "club": pattern.club,
        "lie": "tee",
        "tries": n,
        "target": "fairway" if fairway else "green",
        "hit": int((there & (np.abs(side) <= width / 2)).sum()),
        "left": int((there & (side < -width / 2)).sum()),
        "right": int((there & (side > width / 2)).sum()),
        "short": int(short.sum()),
    }
    return row if fairway else {**row, "long": int(long.sum())}


def notebook(player, clubs, n, kind, rng):
    """Records of n shots with each of some clubs: "shots", "tallies" or "both" (half and half)."""
    patterns = [next(p for p in player.patterns if p.club == club) for club in clubs]
    records: dict[str, object] = {"units": "yards"}
    measured = n if kind == "shots" else n // 2 if kind == "both" else 0
    if measured:
        records["shots"] = [row for p in patterns for row in shot_rows(p, measured, rng)]
    if n > measured:
        records["tallies"] = [tally_row(p, n - measured, rng) for p in patterns]
    return records


def pattern(player, club):
    return next(p for p in player.patterns if p.club == club)


def interval(player, of, what):
    return next(i for i in player.intervals() if (i.of, i.what) == (of, what))
