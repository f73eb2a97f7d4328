"""One plan to be made, and what tells it from every other."""

import hashlib
import json
import re
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from datetime import date
from functools import lru_cache
from os import PathLike
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from pydantic import TypeAdapter, ValidationError

from caddiebrain.course import Course, Hole, Setup, course_from_document, load_course
from caddiebrain.errors import Fault, InputError, kind_faults
from caddiebrain.faults import model_faults
from caddiebrain.flight import Conditions
from caddiebrain.hole import GridSpec
from caddiebrain.player import Level, Player, load_player, player_from_document
from caddiebrain.version import __version__

__all__ = ["Digests", "PlanJob", "course_of", "player_of"]

_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,119}")
_FILES_KEPT = 16
_COURSES_KNOWN = 64

Source = str | PathLike[str]
_COURSES = (Course, Mapping, str, PathLike)
_PLAYERS = (Player, Level, Mapping, str, PathLike)
_LEVEL = TypeAdapter(Level)
_LEVEL_FIELDS = {field.name for field in fields(Level)}


@dataclass(frozen=True)
class PlanJob:
    """A course, a player and a target, to be planned somewhere else.

    Parameters
    ----------
    course : Course, path or mapping
        A course, the file of one that every worker can read, or a parsed course file.
    player : Player, Level, path or mapping
        Likewise; a level, or a mapping ``{"level": {"handicap_index": 11}}``, is planned as the player it suggests.
    target : int
        Most strokes the round may take.
    conditions : Conditions, optional
    setup : Setup, optional
    tees : str, optional
        Tee set in play, for a course that is read from a file or a mapping.
    course_name : str, optional
        Which of several courses in such a file: part of its name.
    out_beyond_outline : bool
        Take the outline of the course in such a file for its boundary.
    id : str
        The caller's own name for the job: letters, digits, dots, dashes and underscores, at most 120. Without one the
        job goes by a hash of its content.

    Raises
    ------
    InputError
        If the id cannot name a file, or anything else but the target is not of its kind.
    """

    course: Course | Mapping[str, Any] | Source
    player: Player | Level | Mapping[str, Any] | Source
    target: int
    conditions: Conditions | None = None
    setup: Setup | None = None
    tees: str | None = None
    id: str = ""
    course_name: str | None = None
    out_beyond_outline: bool = False

    def __post_init__(self) -> None:
        faults = kind_faults("course", self.course, _COURSES, "a Course, a path or a parsed course file")
        faults += kind_faults(
            "player", self.player, _PLAYERS, "a Player, a Level, a path or a parsed player file"
        )
        good = isinstance(self.id, str) and (not self.id or _ID.fullmatch(self.id))
        if not good:
            what = "letters, digits, dots, dashes and underscores, at most 120, beginning with one of the first two"
            faults.append(Fault("id", repr(self.id)[:60], what))
        if self.conditions is not None:
            faults += kind_faults("conditions", self.conditions, Conditions, "Conditions(wind_mph=..., ...)")
        if self.setup is not None:
            faults += kind_faults("setup", self.setup, Setup, "Setup(...)")
        if faults:
            raise InputError(f"job {self.id}" if good and self.id else "job", faults)


def course_of(job: PlanJob) -> Course:
    """Return the course of a job; raises as `load_course` does."""
    if isinstance(job.course, Course):
        return job.course
    if isinstance(job.course, Mapping):
        return course_from_document(
            job.course, tees=job.tees, course=job.course_name, out_beyond_outline=job.out_beyond_outline
        )
    return _course_file(*_file_now(job.course), job.tees, job.course_name, job.out_beyond_outline)


def player_of(job: PlanJob) -> Player:
    """Return the player of a job; raises as `load_player` does."""
    if isinstance(job.player, Player):
        return job.player
    if isinstance(job.player, Level):
        return job.player.player()
    if isinstance(job.player, Mapping):
        return _player_of_document(job.player)
    return _player_file(*_file_now(job.player))


def _player_of_document(document: Mapping[str, Any]) -> Player:
    if set(document) == {"level"}:
        try:
            return _LEVEL.validate_python(document["level"]).player()
        except ValidationError as error:
            raise InputError("player", model_faults(error, within="level")) from None
    if "level" in document or (document and document.keys() <= _LEVEL_FIELDS):
        found = f"an object with {', '.join(map(str, document))}"[:120]
        would_do = 'a player file, or {"level": {"handicap_index": 11}} and nothing beside it'
        raise InputError.one("player", "player", found, would_do)
    return player_from_document(document)


def _file_now(path: Source) -> tuple[str, int, int]:
    """A file as it stands: its path, when it was last changed, its size; zeros if there is none."""
    try:
        found = Path(path).stat()
    except (OSError, ValueError):
        return str(path), 0, 0
    return str(path), found.st_mtime_ns, found.st_size


@lru_cache(_FILES_KEPT)
def _course_file(
    path: str, changed: int, size: int, tees: str | None, name: str | None, out_beyond_outline: bool
) -> Course:
    return load_course(path, tees=tees, course=name, out_beyond_outline=out_beyond_outline)


@lru_cache(_FILES_KEPT)
def _player_file(path: str, changed: int, size: int) -> Player:
    return load_player(path)


@lru_cache(_FILES_KEPT)
def _file_digest(path: str, changed: int, size: int) -> str:
    return hashlib.sha256(Path(path).read_bytes()).hexdigest()


class Digests:
    """Hashes of jobs; a course that many jobs share is hashed once.

    Parameters
    ----------
    grid : GridSpec or None
        Part of what a plan depends on, as is the version of this library.
    """

    def __init__(self, grid: GridSpec | None) -> None:
        self._settings = json.dumps([__version__, asdict(grid or GridSpec())])
        self._courses: OrderedDict[int, tuple[Course, str]] = OrderedDict()

    def of(self, job: PlanJob) -> str:
        """Return the hash of everything the plan depends on; raises OSError for a file that cannot be read."""
        day = [None if part is None else part.model_dump_json() for part in (job.conditions, job.setup)]
        parts = [self._settings, self._course(job), _player(job), _whole(job.target), *day, job.tees]
        parts += [job.course_name] if job.course_name else []
        parts += [{"out_beyond_outline": True}] if job.out_beyond_outline else []
        return _digest(parts)

    def _course(self, job: PlanJob) -> str:
        if isinstance(job.course, Mapping):
            return _digest(job.course)
        if not isinstance(job.course, Course):
            return _file_digest(*_file_now(job.course))
        key = id(job.course)
        if key not in self._courses:
            self._courses[key] = (job.course, _of_course(job.course))  # held, so that the id stays its own
        self._courses.move_to_end(key)
        if len(self._courses) > _COURSES_KNOWN:
            self._courses.popitem(last=False)
        return self._courses[key][1]


def _digest(document: Any) -> str:
    return hashlib.sha256(json.dumps(document, sort_keys=True, default=_plain).encode()).hexdigest()


def _plain(value: Any) -> Any:
    """What JSON does not know: numbers and arrays of numpy as they are, dates as their text."""
    if isinstance(value, np.generic | np.ndarray):
        return value.tolist()
    if isinstance(value, date):
        return value.isoformat()
    raise InputError.one("job", "document", f"a {type(value).__name__}", "what JSON can hold")


def _whole(target: Any) -> Any:
    """A target as the whole number it is, so that 79 and 79.0 are one; whatever it is not, the worker says."""
    number = isinstance(target, int | float | np.integer | np.floating) and not isinstance(target, bool)
    return int(target) if number and target == target // 1 else target


def _player(job: PlanJob) -> str:
    if isinstance(job.player, Player):
        return hashlib.sha256(job.player.model_dump_json().encode()).hexdigest()
    if isinstance(job.player, Level):
        return _digest(asdict(job.player))
    if isinstance(job.player, Mapping):
        return _digest(job.player)
    return _file_digest(*_file_now(job.player))


def _of_course(course: Course) -> str:
    """Hash of all a plan takes from a course; where it was read from is no part of it."""
    return _digest([course.name, [_plain_hole(hole) for hole in course.holes]])


def _plain_hole(hole: Hole) -> dict[str, Any]:
    plain = {f.name: getattr(hole, f.name) for f in fields(hole)}
    plain["line"] = np.asarray(hole.line).tolist()
    plain["heights"] = None if hole.heights is None else np.asarray(hole.heights).tolist()
    plain["tees"], plain["pins"] = dict(hole.tees), dict(hole.pins)
    plain["areas"] = [
        {f.name: getattr(area, f.name) for f in fields(area)}
        | {"shape": shapely.to_wkb(area.shape, hex=True)}
        for area in hole.areas
    ]
    return plain
