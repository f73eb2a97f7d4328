"""Reading and writing player files (JSON, ``schema_version`` 1)."""

import json
import os
import secrets
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from caddiebrain.errors import PlayerError, path_faults
from caddiebrain.player.model import Player
from caddiebrain.player.patterns import part_faults

__all__ = ["load_player", "player_from_document", "player_schema", "save_player"]


def load_player(path: str | os.PathLike[str]) -> Player:
    """Read a player from a JSON file.

    Parameters
    ----------
    path : path-like
        A file as `save_player` writes it.

    Returns
    -------
    Player

    Raises
    ------
    PlayerError
        If the file cannot be read, is not JSON, or is no player; names every field at fault.
    """
    faults = path_faults(path, "player_from_document reads what is parsed")
    if faults:
        raise PlayerError("load_player", faults)
    return player_from_document(_read_json(Path(path)), str(path))


def player_from_document(data: Any, source: str = "player") -> Player:
    """Read a player from parsed JSON.

    Parameters
    ----------
    data : dict
        What `save_player` writes, as ``json.loads`` returns it.
    source : str
        What to call it in messages.

    Raises
    ------
    PlayerError
        If it is no player; names every field at fault.
    """
    if not isinstance(data, dict) or "patterns" not in data:
        keys = ", ".join(sorted(map(str, data))[:6]) if isinstance(data, dict) else ""
        found = f"keys {keys}" if keys else "nothing in it" if data == {} else type(data).__name__
        raise PlayerError.one(source, "file", found, "a player with patterns, short_game and putting")
    try:
        return Player.model_validate(data)
    except ValidationError as error:
        raise PlayerError(source, part_faults(error)) from None


def save_player(player: Player, path: str | os.PathLike[str]) -> None:
    """Write a player as JSON, two spaces deep, keys in the order of the model.

    Parameters
    ----------
    player : Player
    path : path-like
        Written whole or not at all.

    Raises
    ------
    PlayerError
        If the file cannot be written.
    """
    target = Path(path)
    text = player.model_dump_json(indent=2, exclude_defaults=True) + "\n"
    draft = target.with_name(f".{target.name}.{secrets.token_hex(4)}.part")
    try:
        draft.write_text(text, encoding="utf-8")
        draft.replace(target)
    except OSError as error:
        draft.unlink(missing_ok=True)
        raise PlayerError.one(str(path), "file", error.strerror or str(error), "a place to write") from None


def player_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of a player file."""
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **Player.model_json_schema()}


def _read_json(path: Path) -> Any:
    """Parse a file; refuse what is not JSON, NaN and Infinity included."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise PlayerError.one(str(path), "file", error.strerror or str(error), "a readable file") from None
    except UnicodeDecodeError:
        raise PlayerError.one(str(path), "file", "bytes that are no UTF-8 text", "a JSON text file") from None
    if not text.strip():
        raise PlayerError.one(str(path), "file", "nothing", "a JSON object")
    try:
        return json.loads(text)
    except json.JSONDecodeError as error:
        where = f"line {error.lineno} column {error.colno}"
        raise PlayerError.one(str(path), where, error.msg, "valid JSON") from None
