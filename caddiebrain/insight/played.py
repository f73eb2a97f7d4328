"""Reading a played round: every stroke given its place on the planned hole, every fault named."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from caddiebrain.course import Course, Hole, Setup
from caddiebrain.course import prepare as prepare_course
from caddiebrain.errors import CaddieError, Fault, InputError, path_faults, told
from caddiebrain.hole import GridSpec, player_today
from caddiebrain.hole.ground import CODE, SPECIAL, Ground, survey
from caddiebrain.insight.records_review import PlayedHole, PlayedRound, PlayedShot
from caddiebrain.insight.spots import Spot, lie_on_map
from caddiebrain.player.bag import club_name
from caddiebrain.player.model import Player
from caddiebrain.player.records_columns import FINISHES, LIE_WORDS
from caddiebrain.round.hole_plan import HolePlan
from caddiebrain.round.place import on_the_tee, place_of
from caddiebrain.round.plan import RoundPlan
from caddiebrain.terms import Lie

__all__ = ["PlacedHole", "PlacedShot", "check_round", "club_names", "load_played_round", "place_round"]

_COSTLY = frozenset({"yellow", "red", "out"})
_SHORT_GAME = ("putter", "chip", "pitch", "bunker shot", "long bunker shot", "punch", "wedge")
_LONGEST_PUTT_FT = 200.0


@dataclass(frozen=True)
class PlacedShot:
    """A stroke and its place; ``result`` is a lie or "holed"."""

    shot: PlayedShot
    number: int
    spot: Spot
    result: str


@dataclass(frozen=True)
class PlacedHole:
    """A hole whose strokes have their places."""

    plan: HolePlan
    score: int
    shots: tuple[PlacedShot, ...]


def load_played_round(source: str | Path | Mapping[str, Any] | PlayedRound) -> PlayedRound:
    """Read a played round from a JSON file or a mapping.

    Raises
    ------
    InputError
        If the file cannot be read or a field is missing, unknown or of the wrong kind; names every one.
    """
    if isinstance(source, PlayedRound):
        return source
    if isinstance(source, str):
        faults = path_faults(source, "a mapping, as json.loads gives it, is read as it is")
        if faults:
            raise InputError("load_played_round", faults)
    name = str(source) if isinstance(source, str | Path) else "round"
    data: Any = source
    if isinstance(source, str | Path):
        try:
            data = json.loads(Path(source).read_text(encoding="utf-8-sig"))
        except OSError as error:
            raise InputError.one(name, "file", error.strerror or str(error), "a readable file") from None
        except (UnicodeDecodeError, json.JSONDecodeError) as error:
            raise InputError.one(name, "file", str(error), "a round as JSON") from None
    try:
        return PlayedRound.model_validate(data)
    except ValidationError as error:
        raise InputError(name, [_as_fault(dict(e)) for e in error.errors()]) from None


def _as_fault(error: dict[str, Any]) -> Fault:
    """A field that pydantic refused, said with hole and stroke where it has them."""
    loc, where = list(error["loc"]), []
    names = {"holes": "hole", "shots": "stroke"}
    i = 0
    while i < len(loc):
        if loc[i] in names and i + 1 < len(loc) and isinstance(loc[i + 1], int):
            where.append(f"{names[loc[i]]} entry {loc[i + 1] + 1}")
            i += 2
        else:
            where.append(str(loc[i]))
            i += 1
    found, expected = told(error)
    if error["type"] == "extra_forbidden":
        expected = "a field of this record"
    return Fault(", ".join(where) or "round", found, expected)


def club_names(player: Player) -> tuple[str, ...]:
    """Names under which a stroke can be recorded: the player's clubs and the short game."""
    names = (*player.clubs, *(s.name for s in player.short_game), *_SHORT_GAME)
    return tuple(dict.fromkeys(names))


def place_round(plan: RoundPlan, played: PlayedRound, source: str | None = None) -> tuple[PlacedHole, ...]:
    """Give every stroke its place.

    Parameters
    ----------
    plan : RoundPlan
    played : PlayedRound
    source : str, optional
        The file it was read from, for messages.

    Raises
    ------
    InputError
        With every fault of the round: a missing stroke, an unknown club, a position outside the hole, a score
        that does not add up.
    """
    fields = {
        h.number: _Field.of(h.hole, h.compiler.ground, plan.player, h.compiler.player) for h in plan.holes
    }
    placed, standing = [], 0
    for hole in _read_round(fields, list(fields), played, source):
        one = plan.hole(hole.number)
        shots = [
            PlacedShot(b.shot, b.number, Spot(plan, one, b.x, b.y, b.lie, b.taken, standing), result=end)
            for b, end in zip(hole.balls, hole.ends, strict=True)
        ]
        placed.append(PlacedHole(one, hole.score, tuple(shots)))
        standing += hole.score - one.par
    return tuple(placed)


def check_round(
    course: Course, player: Player, setup: Setup | None, played: PlayedRound, source: str | None = None
) -> None:
    """Name every fault of a round as `place_round` does, before its course is planned."""
    if setup is not None:
        course = prepare_course(course, setup)
    today, wanted = player_today(player, setup or Setup()), {hole.number for hole in played.holes}
    fields = {
        h.number: _Field.of(h, survey(h, GridSpec()), player, today)
        for h in course.holes
        if h.number in wanted
    }
    _read_round(fields, [h.number for h in course.holes], played, source)


@dataclass(frozen=True)
class _Field:
    """What a hole, planned or not, tells of a round played on it; ``clubs`` in small letters."""

    hole: Hole
    ground: Ground
    names: tuple[str, ...]
    clubs: frozenset[str]

    @classmethod
    def of(cls, hole: Hole, ground: Ground, player: Player, today: Player) -> "_Field":
        names = club_names(player)
        clubs = {name.lower() for name in names}
        for pattern in today.patterns:
            shape = "" if pattern.shape == "straight" else f" {pattern.shape}"
            height = "" if pattern.height == "stock" else f"{pattern.height} "
            clubs.add(f"{height}{pattern.club}{shape}".lower())
        return cls(hole, ground, names, frozenset(clubs))


@dataclass(frozen=True)
class _Ball:
    """A stroke and where it was made, ``taken`` strokes into the hole."""

    shot: PlayedShot
    number: int
    x: float
    y: float
    lie: Lie
    taken: int


@dataclass(frozen=True)
class _ReadHole:
    number: int
    score: int
    balls: tuple[_Ball, ...]
    ends: tuple[str, ...]


def _read_round(
    fields: Mapping[int, _Field], numbers: Sequence[int], played: PlayedRound, source: str | None
) -> list[_ReadHole]:
    """Read every hole; ``numbers`` are those there are."""
    faults: list[Fault] = []
    if not played.holes:
        faults.append(Fault("holes", "none", "at least one hole"))
    seen: set[int] = set()
    holes = []
    for hole in played.holes:
        if hole.number not in numbers or hole.number in seen:
            found = "twice" if hole.number in seen else "not on the course"
            faults.append(
                Fault(f"hole {hole.number}", found, f"each of {', '.join(map(str, numbers))} once at most")
            )
            continue
        seen.add(hole.number)
        holes.append(_Reader(fields[hole.number], hole, faults).read())
    total = sum(h.score for h in holes)
    if played.score is not None and played.score != total and not faults:
        expected = f"{total}, the sum of the holes; mend the total or the hole that is wrong"
        faults.append(Fault("score", str(played.score), expected))
    if faults:
        raise InputError(source or played.name or "round", faults)
    return holes


class _Reader:
    """One hole on its way in; faults go to a shared list."""

    def __init__(self, field: _Field, played: PlayedHole, faults: list[Fault]) -> None:
        self.field, self.faults = field, faults
        self.played = played.model_copy(update={"shots": tuple(self._plain(s) for s in played.shots)})

    def _plain(self, shot: PlayedShot) -> PlayedShot:
        """Write a club as the player's file does where another of its names is used, such as 7i."""
        plain = club_name(shot.club)
        if shot.club.strip().lower() in self.field.clubs or plain not in self.field.clubs:
            return shot
        return shot.model_copy(update={"club": plain})

    def fault(self, stroke: int, field: str, found: str, expected: str) -> None:
        """Note a fault of one stroke."""
        self.faults.append(Fault(f"hole {self.played.number}, stroke {stroke}, {field}", found, expected))

    def read(self) -> _ReadHole:
        """Place every stroke of the hole."""
        shots = self.played.shots
        score = len(shots) + sum(s.penalty for s in shots)
        self._check_score(score)
        taken = 0
        balls: list[_Ball] = []
        results = [self._result(i) for i in range(len(shots))]
        for i, shot in enumerate(shots):
            self._check_shot(i, taken)
            before = results[i - 1] if i and not shots[i - 1].penalty else None
            ball = self._again(i, balls, results, taken) or self._ball(i, shot, taken, before)
            if ball is not None:
                self._check_follows(i, before, ball)
                balls.append(ball)
            taken += 1 + shot.penalty
        ends = [r or (str(b.lie) if b else "") for r, b in zip(results, [*balls[1:], None], strict=False)]
        return _ReadHole(self.played.number, score, tuple(balls), tuple(ends))

    def _again(
        self, i: int, balls: Sequence[_Ball], results: Sequence[str | None], taken: int
    ) -> _Ball | None:
        """Rule 18.2: a stroke without a place after a ball out of bounds or lost is played where that one was."""
        shot, before = self.played.shots[i], self.played.shots[i - 1]
        placed = any(place is not None for place in (shot.position, shot.to_pin, shot.feet, shot.lie))
        if placed or not i or results[i - 1] not in ("out", "lost") or before.penalty != 1:
            return None
        if not balls or balls[-1].number != i:
            return None
        last = balls[-1]
        return _Ball(shot, i + 1, last.x, last.y, last.lie, taken)

    def _check_score(self, counted: int) -> None:
        shots, where = self.played.shots, f"hole {self.played.number}"
        if not shots:
            self.faults.append(Fault(f"{where}, shots", "none", "every stroke of the hole"))
            return
        penalties = counted - len(shots)
        if self.played.score is not None and self.played.score != counted:
            plus = f" and {penalties} penalty stroke{'s' * (penalties != 1)}" if penalties else ""
            made = f"{len(shots)} stroke{'s' * (len(shots) != 1)}{plus} make {counted}"
            what = "add the missing stroke" if self.played.score > counted else "take out a stroke"
            self.faults.append(
                Fault(
                    f"{where}, score", str(self.played.score), f"{counted} ({made}); {what} or mend the score"
                )
            )
        last = shots[-1].result
        holed = last is not None and FINISHES.get(last.strip().lower()) == "holed"
        if not holed and not (last is None and self.played.score == counted):
            self.fault(
                len(shots),
                "result",
                repr(last) if last else "nothing",
                "holed, or the strokes missing after it",
            )

    def _check_shot(self, i: int, taken: int) -> None:
        shot = self.played.shots[i]
        if shot.stroke is not None and shot.stroke not in (i + 1, taken + 1):
            self.fault(i + 1, "stroke", str(shot.stroke), f"{i + 1}: a stroke is missing or out of order")
        if shot.club.strip().lower() not in self.field.clubs:
            have = ", ".join(self.field.names)
            self.fault(i + 1, "club", repr(shot.club), f"one the player has: {have}")
        if not 0 <= shot.penalty <= 2:
            self.fault(i + 1, "penalty", str(shot.penalty), "0 to 2 penalty strokes")

    def _result(self, i: int) -> str | None:
        """Where a stroke ended, if it was said; faults noted."""
        shot, last = self.played.shots[i], i == len(self.played.shots) - 1
        if shot.result is None:
            return "holed" if last else None
        result = FINISHES.get(shot.result.strip().lower())
        if result is None:
            self.fault(i + 1, "result", repr(shot.result), f'"holed" or a lie: {", ".join(Lie)}')
        elif result == "holed" and not last:
            self.fault(i + 1, "result", "holed", "the last stroke alone; more strokes follow")
        elif result in _COSTLY and shot.penalty == 0 and not last:
            played = "1 or 2; for a ball played as it lies give the lie it was like, such as thick"
            self.fault(i + 1, "penalty", f"0 with a ball in {result}", played)
        return result

    def _check_follows(self, i: int, before: str | None, ball: _Ball) -> None:
        """A ball is played from where it came to rest."""
        if before is None or before in _COSTLY or before == str(ball.lie):
            return
        said = self.played.shots[i].lie
        if said is not None or before == "green" or ball.lie is Lie.GREEN:
            expected = f"{before}, where stroke {i} ended; mend one, or give the penalty of a drop"
            self.fault(i + 1, "lie", str(ball.lie), expected)

    def _ball(self, i: int, shot: PlayedShot, taken: int, before: str | None) -> _Ball | None:
        """Place of a stroke; None, and a fault, where it has none."""
        lie = self._lie(i, shot, before)
        try:
            x, y = self._position(i, shot, lie)
        except CaddieError as error:
            found = error.faults[0] if isinstance(error, InputError) else None
            where, what = (found.found, found.expected) if found else (str(error), "a place on the hole")
            self.fault(i + 1, found.where if found else "position", where, what)
            return None
        if lie is None:
            tee = on_the_tee(self.field.hole, x, y)
            lie = Lie.TEE if tee else lie_on_map(self.field.ground, x, y)
        if not self._playable(i, x, y, lie):
            return None
        return _Ball(shot, i + 1, x, y, lie, taken)

    def _lie(self, i: int, shot: PlayedShot, before: str | None) -> Lie | None:
        if shot.lie is not None:
            word = LIE_WORDS.get(shot.lie.strip().lower())
            if word is None:
                self.fault(i + 1, "lie", repr(shot.lie), f"a lie: {', '.join(Lie)}")
            return Lie(word) if word else None
        if shot.feet is not None:
            return Lie.GREEN
        if before is not None and before not in _COSTLY and before != "holed":
            return Lie(before)
        return None

    def _position(self, i: int, shot: PlayedShot, lie: Lie | None) -> tuple[float, float]:
        hole = self.field.hole
        if shot.feet is not None:
            if not 0.0 < shot.feet <= _LONGEST_PUTT_FT or lie is not Lie.GREEN:
                what = f"above 0 to {_LONGEST_PUTT_FT:.0f}, on the green"
                raise InputError.one("", "feet", f"{shot.feet:g} from the {lie}", what)
            return hole.pin[0], hole.pin[1] - shot.feet / 3.0
        if shot.position is None and shot.to_pin is None:
            if i == 0:
                return hole.tee
            what = "a position, or to_pin and a lie, or feet on the green"
            raise InputError.one("", "position", "nothing", what)
        if shot.position is None and lie is None:
            raise InputError.one("", "lie", "nothing", "the lie, since to_pin alone does not tell it")
        return place_of(hole, shot.position, shot.to_pin)

    def _playable(self, i: int, x: float, y: float, lie: Lie) -> bool:
        frame = self.field.ground.frame
        high_x, high_y = frame.x_min + frame.columns * frame.cell, frame.y_min + frame.rows * frame.cell
        if not (frame.x_min <= x < high_x and frame.y_min <= y < high_y):
            what = (
                f"inside the hole: x {frame.x_min:.0f} to {high_x:.0f}, y {frame.y_min:.0f} to {high_y:.0f}"
            )
            self.fault(i + 1, "position", f"({x:.0f}, {y:.0f})", what)
            return False
        if CODE[lie] in SPECIAL and lie is not Lie.GREEN:
            what = "where the ball was dropped, or for a ball played as it lies the lie it was like"
            self.fault(i + 1, "lie", str(lie), what)
            return False
        return True
