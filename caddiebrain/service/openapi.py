"""The OpenAPI document of the service, from the models of its requests and the published schemas of its answers."""

import json
from typing import Any

from pydantic import BaseModel
from pydantic.json_schema import models_json_schema

from caddiebrain.schemas import DIALECT, json_schema
from caddiebrain.service.asks import ASKS
from caddiebrain.service.settings import ServiceSettings
from caddiebrain.version import __version__

__all__ = ["TITLE", "document"]

TITLE = "caddiebrain"
Schema = dict[str, Any]

_ANSWERS = {
    "plan": "plan",
    "options": "options",
    "compare": "comparison",
    "review": "review",
    "practice": "practice",
}
"""Verb -> published schema of its answer."""
_SAID = {
    "plan": "Plan a round",
    "options": "Every choice from one place, for planning, practice and lessons, not during a round",
    "compare": "Why one choice beats another",
    "review": "A played round against its plan",
    "practice": "What to practise",
}
_REFUSALS = {
    "400": "the body is no JSON",
    "408": "the body took too long to come",
    "413": "the body is too large, or what it asks needs too much memory",
    "415": "the body is not declared as application/json",
    "422": "bad input; every fault is named",
    "429": "too many requests are waiting; see Retry-After",
    "500": "a fault of the program, not of the request",
    "503": "the service is being stopped, or lost a worker; see Retry-After",
    "504": "the answer took too long, and was stopped",
}
_LEVEL = {"type": "object", "required": ["level"], "additionalProperties": False}
_COUNTS = ("workers", "busy", "waiting", "plans", "plan_bytes", "answers", "answer_bytes")


def document(settings: ServiceSettings) -> Schema:
    """Return the document; it lists the courses and players that this service has."""
    parts = _requests()
    for name in ("course-file", "holes-by-numbers", "player", "level", "played-round", "fault-report"):
        _add(parts, name)
    for answer in _ANSWERS.values():
        _add(parts, answer)
    course = [{"enum": sorted(settings.courses)}, _ref("holes-by-numbers"), _ref("course-file")]
    level = _LEVEL | {"properties": {"level": _ref("level")}}
    player = [{"enum": sorted(settings.players)}, level, _ref("player")]
    for kind in ASKS.values():
        fields = parts[kind.__name__]["properties"]
        fields["course"] |= {"anyOf": course}
        fields["player"] |= {"anyOf": player}
        if "round" in fields:
            fields["round"] |= _ref("played-round")
    paths: Schema = {f"/{verb}": {"post": _operation(verb)} for verb in ASKS}
    paths["/health"] = {"get": _health()}
    return {
        "openapi": "3.1.0",
        "info": {"title": TITLE, "version": __version__, "description": "What to hit, for other programs."},
        "jsonSchemaDialect": DIALECT,
        "paths": paths,
        "components": {"schemas": parts},
    }


def _ref(name: str) -> Schema:
    return {"$ref": f"#/components/schemas/{name}"}


def _requests() -> Schema:
    models: list[tuple[type[BaseModel], Any]] = [(ask, "validation") for ask in ASKS.values()]
    _, found = models_json_schema(models, ref_template="#/components/schemas/{model}")
    parts: Schema = found["$defs"]
    return parts


def _add(parts: Schema, name: str) -> None:
    """Put a published schema among the components, and what it defines beside it."""
    schema = json_schema(name)
    for key in ("$schema", "$id"):
        del schema[key]
    text = json.dumps(schema).replace('"#/$defs/', f'"#/components/schemas/{name}.')
    schema = json.loads(text)
    for inner, part in schema.pop("$defs", {}).items():
        parts[f"{name}.{inner}"] = part
    parts[name] = schema


def _operation(verb: str) -> Schema:
    timing = {"description": "milliseconds a worker spent on it", "schema": {"type": "string"}}
    good = {
        "description": "the answer",
        "headers": {"Server-Timing": timing},
        "content": _content(_ANSWERS[verb]),
    }
    refusals = {
        status: {"description": said, "content": _content("fault-report")}
        | ({"headers": {"Retry-After": {"schema": {"type": "integer"}}}} if status in ("429", "503") else {})
        for status, said in _REFUSALS.items()
    }
    return {
        "operationId": verb,
        "summary": _SAID[verb],
        "requestBody": {"required": True, "content": _content(ASKS[verb].__name__)},
        "responses": {"200": good, **refusals},
    }


def _content(name: str) -> Schema:
    return {"application/json": {"schema": _ref(name)}}


def _health() -> Schema:
    fields: Schema = {"status": {"const": "ok"}, "version": {"type": "string"}}
    fields |= {name: {"type": "integer", "minimum": 0} for name in _COUNTS}
    schema = {"type": "object", "properties": fields, "required": list(fields), "additionalProperties": False}
    good = {"description": "it runs", "content": {"application/json": {"schema": schema}}}
    return {
        "operationId": "health",
        "summary": "Whether it runs, and how busy it is",
        "responses": {"200": good},
    }
