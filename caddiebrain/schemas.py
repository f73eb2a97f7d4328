"""JSON Schema (2020-12) of every file and record that the library reads or writes, by name.

``docs/schemas/`` holds the same schemas as files. A schema's ``$id`` ends in its version: a change that refuses what
was allowed, or leaves out what was promised, raises it, and ``schema_version`` in the files with it; a new
optional field does not.
"""

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, TypeAdapter
from pydantic.json_schema import GenerateJsonSchema, JsonSchemaMode

from caddiebrain.batch import StoredPlan
from caddiebrain.course import CourseReport, Setup
from caddiebrain.course.numbers_form import CourseForm
from caddiebrain.course.own_schema import course_file_schema
from caddiebrain.errors import InputError, UnknownError
from caddiebrain.faults import FaultReport
from caddiebrain.flight import Conditions
from caddiebrain.graph.files import GraphFile
from caddiebrain.insight import (
    BagChoice,
    BreakEvens,
    CarryCard,
    Comparison,
    DisasterFrontier,
    DisasterLimit,
    LearningCurve,
    PlayedRound,
    PracticeReport,
    Press,
    RoundDisasterLimit,
    RoundReview,
)
from caddiebrain.insight.records_breakeven import Reasons
from caddiebrain.player import Level, Player
from caddiebrain.player.records_report import RecordsReport
from caddiebrain.player.records_schema import records_schema
from caddiebrain.round import FormatRecord, PlanRecord
from caddiebrain.round.confidence import Confidence
from caddiebrain.round.record import ChoiceRecord, HoleOptionsRecord

__all__ = ["DIALECT", "SCHEMAS", "SchemaEntry", "json_schema", "schema_text", "write_schemas"]

Use = Literal["read", "written"]

DIALECT = "https://json-schema.org/draft/2020-12/schema"


@dataclass(frozen=True)
class SchemaEntry:
    """One kind of file or record.

    Parameters
    ----------
    use : {"read", "written"}
        What we read may leave out whatever has a default; what we write holds every field.
    what : str
        In a few words.
    source : type or callable
        The model, or a function that returns the schema.
    version : int
    """

    use: Use
    what: str
    source: Any
    version: int = 1

    def body(self) -> dict[str, Any]:
        """Return the schema without its head."""
        if isinstance(self.source, type) and issubclass(self.source, BaseModel):
            return _schema_of(TypeAdapter(self.source), self.use)
        make: Callable[[], dict[str, Any]] = self.source
        return make()


class _EveryField(GenerateJsonSchema):
    """What we write holds every field, those with defaults too."""

    def field_is_required(self, field: Any, total: bool) -> bool:
        """Whether a field must be there; see pydantic."""
        return self.mode == "serialization" or super().field_is_required(field, total)


def _schema_of(adapter: TypeAdapter[Any], use: Use) -> dict[str, Any]:
    mode: JsonSchemaMode = "validation" if use == "read" else "serialization"
    return adapter.json_schema(schema_generator=_EveryField, mode=mode)


def _level() -> dict[str, Any]:
    return _schema_of(TypeAdapter(Level), "read")


def _options() -> dict[str, Any]:
    return _schema_of(TypeAdapter(tuple[ChoiceRecord, ...]), "written")


SCHEMAS: dict[str, SchemaEntry] = {
    "bag": SchemaEntry("written", "which clubs to carry", BagChoice),
    "break-evens": SchemaEntry("written", "what would have to be true for the other choice", BreakEvens),
    "carry-card": SchemaEntry("written", "a plan on a card: rules and a line for each hole", CarryCard),
    "comparison": SchemaEntry("written", "why one choice beats another", Comparison),
    "conditions": SchemaEntry("read", "the weather of the day", Conditions),
    "confidence": SchemaEntry("written", "how sure a tee choice is", Confidence),
    "course-file": SchemaEntry("read", "a course file of ours, GeoJSON", course_file_schema),
    "course-report": SchemaEntry("written", "what was read from a course file", CourseReport),
    "disaster-frontier": SchemaEntry("written", "score against double bogeys on one hole", DisasterFrontier),
    "disaster-limit": SchemaEntry("written", "one hole under a cap on double bogeys", DisasterLimit),
    "fault-report": SchemaEntry("written", "why a request was refused", FaultReport),
    "format-plan": SchemaEntry("written", "a plan for points or a match", FormatRecord),
    "graph": SchemaEntry("read", "a decision graph", GraphFile),
    "hole": SchemaEntry("written", "one hole of a plan with its tee choices", HoleOptionsRecord),
    "holes-by-numbers": SchemaEntry("read", "a course described by numbers", CourseForm),
    "learning-curve": SchemaEntry("read", "what weekly hours bring", LearningCurve),
    "level": SchemaEntry("read", "a level of play", _level),
    "options": SchemaEntry("written", "every choice from one place", _options),
    "plan": SchemaEntry("written", "a round's plan", PlanRecord),
    "played-round": SchemaEntry("read", "a round as it was played", PlayedRound),
    "player": SchemaEntry("read", "a player", Player),
    "practice": SchemaEntry("written", "what to practise", PracticeReport),
    "press": SchemaEntry("written", "protect or press", Press),
    "reasons": SchemaEntry("written", "a comparison and what would tip it", Reasons),
    "records": SchemaEntry("read", "shots, tallies, short game, putts and cards", records_schema),
    "records-report": SchemaEntry("written", "what was read from records", RecordsReport),
    "review": SchemaEntry("written", "a played round against its plan", RoundReview),
    "round-disaster-limit": SchemaEntry(
        "written", "a round under a cap on double bogeys", RoundDisasterLimit
    ),
    "setup": SchemaEntry("read", "how the course is set up today", Setup),
    "stored-plan": SchemaEntry("written", "a finished plan in a directory of plans", StoredPlan),
}
"""Name -> what it is."""


def json_schema(name: str) -> dict[str, Any]:
    """Return the JSON Schema of a kind of file or record.

    Parameters
    ----------
    name : str
        A key of ``SCHEMAS``; ``docs/file-formats.md`` lists them.

    Returns
    -------
    dict
        Dialect 2020-12; ``$id`` is ``urn:caddiebrain:NAME:VERSION``.

    Raises
    ------
    UnknownError
        If there is no such kind; the message lists them.

    Examples
    --------
    >>> json_schema("plan")["$id"]
    'urn:caddiebrain:plan:1'
    """
    entry = SCHEMAS.get(name)
    if entry is None:
        raise UnknownError(f"no schema {name!r}; there are {', '.join(SCHEMAS)}")
    head = {"$schema": DIALECT, "$id": f"urn:caddiebrain:{name}:{entry.version}", "title": entry.what}
    body = entry.body()
    if "description" in body:  # of a docstring, what a reader of the file needs
        text = body["description"].partition("\n\nParameters")[0]
        body["description"] = text.partition("\n\nRaises")[0]
    return {**head, **{key: part for key, part in body.items() if key not in head}}


def schema_text(name: str) -> str:
    """Return the schema as the text of its file; raises UnknownError as `json_schema` does."""
    return json.dumps(json_schema(name), indent=1, ensure_ascii=False) + "\n"


def write_schemas(directory: str | Path) -> list[Path]:
    """Write every schema as NAME.json, each file whole or not at all.

    Raises
    ------
    InputError
        If the directory cannot be written to.
    """
    written = []
    try:
        Path(directory).mkdir(parents=True, exist_ok=True)
        for name in SCHEMAS:
            target = Path(directory) / f"{name}.json"
            draft = target.with_name(target.name + ".part")
            draft.write_text(schema_text(name), encoding="utf-8")
            draft.replace(target)
            written.append(target)
    except OSError as error:
        found = error.strerror or str(error)
        raise InputError.one(str(directory), "directory", found, "a place to write") from None
    return written
