"""Plans made lately, kept so that the next question about the same round is answered at once.

A plan takes a good part of a minute, most questions about it a moment. The last plans stand in the user's own cache
folder as pickles. One is read back only for the very same course, player, target, day and set-up, by the very code
that wrote it, from a folder that nobody else can write to: a pickle of a stranger's making could do anything.
Whatever goes wrong, the plan is made anew.
"""

import contextlib
import hashlib
import logging
import os
import pickle
import platform
import shutil
import sys
import time
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import scipy
from pydantic import BaseModel

import caddiebrain as cb
from caddiebrain.course import Course, Setup
from caddiebrain.flight import Conditions
from caddiebrain.player import Player
from caddiebrain.round import RoundPlan

__all__ = ["FOLDER", "Round", "kept_or_made"]

Round = tuple[Course, Player, int, Conditions, Setup | None]
"""What a plan is made of: course, player, target, day and set-up."""

FOLDER = "CADDIEBRAIN_PLANS"
"""Variable of the environment that names another folder to keep plans in; when it is empty, none is kept."""
_MOST = 2
"""Plans kept; one of 18 holes takes some 380 MB."""
_FREE_BYTES = 3e9
"""With less room than this on the disk nothing is kept."""
_A_DAY = 86_400.0
_LOG = logging.getLogger("caddiebrain.cli")


def kept_or_made(asked: Round, make: Callable[[], RoundPlan]) -> RoundPlan:
    """Return the plan of a round: the one kept, if there is, else the one that ``make`` makes, which is kept."""
    folder = _folder()
    if folder is None:
        return make()
    path = folder / f"{_key(asked)}.plan"
    plan = _read(path)
    if plan is None:
        plan = make()
        _keep(plan, path)
    return plan


def _folder() -> Path | None:
    """Return the folder for plans, made if need be; None where none may be kept."""
    named = os.environ.get(FOLDER)
    if named == "":
        return None
    try:
        folder = Path(named) if named else _usual_cache() / "caddiebrain"
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        return folder if _own(folder) else None
    except (OSError, RuntimeError) as error:  # no home, or no right to write there
        _LOG.debug("no folder for plans: %r", error)
        return None


def _usual_cache() -> Path:
    """Return where programs of this system keep what they can make again."""
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches"
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")


def _own(folder: Path) -> bool:
    """Whether nobody but the user can put files into a folder."""
    if sys.platform == "win32":
        return True  # the user's own folders are not open to others there
    found = folder.stat()
    return found.st_uid == os.getuid() and not found.st_mode & 0o022


def _key(asked: Round) -> str:
    """Name a round together with the code that plans it."""
    # A pickled record holds a set, whose order changes from run to run; its JSON has none.
    parts = (p.model_dump_json().encode() if isinstance(p, BaseModel) else pickle.dumps(p, 5) for p in asked)
    return hashlib.sha256(b"\0".join((_code(), *parts))).hexdigest()[:40]


@cache
def _code() -> bytes:
    """Tell this code, Python and the libraries of arrays from others."""
    package = Path(cb.__file__).parent
    files = sorted((str(p.relative_to(package)), p.stat()) for p in package.rglob("*.py"))
    seen = [(name, found.st_size, found.st_mtime_ns) for name, found in files]
    return repr((platform.python_version(), np.__version__, scipy.__version__, package, seen)).encode()


def _read(path: Path) -> RoundPlan | None:
    try:
        with path.open("rb") as file:
            plan = pickle.load(file)
        os.utime(path)  # it was of use: others go first
    except FileNotFoundError:
        return None
    except Exception as error:  # whatever is wrong with it, a plan can be made anew
        _LOG.debug("a kept plan cannot be read: %r", error)
        with contextlib.suppress(OSError):
            path.unlink()
        return None
    return plan if isinstance(plan, RoundPlan) else None


def _keep(plan: RoundPlan, path: Path) -> None:
    """Write a plan, whole or not at all, and let older ones go."""
    draft = path.with_suffix(f".{os.getpid()}.part")
    try:
        _clear(path.parent, _MOST - 1)
        if shutil.disk_usage(path.parent).free < _FREE_BYTES:
            return
        with draft.open("xb") as file:
            pickle.dump(plan, file, protocol=5)
        draft.replace(path)
    except Exception as error:  # a full disk is no reason to withhold the plan
        _LOG.debug("the plan is not kept: %r", error)
    finally:
        with contextlib.suppress(OSError):
            draft.unlink(missing_ok=True)


def _clear(folder: Path, most: int) -> None:
    """Leave the plans used last, and no drafts that were never finished."""
    used = {path: path.stat().st_mtime for path in folder.glob("*.plan")}
    for path in sorted(used, key=used.__getitem__, reverse=True)[most:]:
        path.unlink(missing_ok=True)
    for path in folder.glob("*.part"):
        if time.time() - path.stat().st_mtime > _A_DAY:
            path.unlink(missing_ok=True)
