"""A directory of finished plans, one file for each, written whole or not at all."""

import logging
import os
import secrets
from pathlib import Path

from pydantic import ValidationError

from caddiebrain.batch.result import StoredPlan
from caddiebrain.errors import InputError

__all__ = ["PlanStore"]

_LOG = logging.getLogger("caddiebrain.batch")


class PlanStore:
    """Finished plans by key.

    Parameters
    ----------
    directory : path-like
        Made if it is not there.

    Raises
    ------
    InputError
        If it cannot be made or is a file.
    """

    def __init__(self, directory: str | os.PathLike[str]) -> None:
        self.directory = Path(directory)
        try:
            self.directory.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            found = error.strerror or str(error)
            raise InputError.one(str(directory), "directory", found, "a directory to keep plans in") from None

    def file(self, key: str) -> Path:
        """Where the plan with this key is kept."""
        return self.directory / f"{key}.json"

    def read(self, key: str, fingerprint: str) -> StoredPlan | None:
        """Return a finished plan; None if there is none, it is damaged, or it is of another job or version."""
        try:
            text = self.file(key).read_bytes()
        except FileNotFoundError:
            return None
        except OSError as error:
            _LOG.warning("%s cannot be read (%s); planned again", self.file(key), error.strerror)
            return None
        try:
            found = StoredPlan.model_validate_json(text)
        except ValidationError:
            _LOG.warning("%s is damaged; planned again", self.file(key))
            return None
        if found.fingerprint != fingerprint:
            _LOG.warning("%s is of a job that has changed since; planned again", self.file(key))
            return None
        return found

    def write(self, stored: StoredPlan) -> None:
        """Write a finished plan in one step; raises OSError if that fails, and then leaves nothing behind."""
        target = self.file(stored.key)
        # Runs may share a directory, and write the same plan at the same time.
        draft = target.with_name(f".{target.name}.{secrets.token_hex(4)}.part")
        try:
            with draft.open("w", encoding="utf-8", newline="\n") as stream:
                stream.write(stored.model_dump_json() + "\n")
                stream.flush()
                os.fsync(stream.fileno())
            os.replace(draft, target)
        except OSError:
            draft.unlink(missing_ok=True)
            raise
