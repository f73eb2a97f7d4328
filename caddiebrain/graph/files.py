"""Graphs as files: JSON for people and programs, npz for large ones."""

import json
import os
from collections.abc import Hashable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Literal
from zipfile import BadZipFile

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, ConfigDict, ValidationError

from caddiebrain.errors import Fault, GraphError, InputError, told
from caddiebrain.graph.state_graph import StateGraph

__all__ = ["GraphFile", "read_graph", "write_graph"]

ARRAYS = ("choice_start", "outcome_start", "outcome_state", "outcome_prob", "outcome_strokes")


class GraphFile(BaseModel):
    """A state graph as JSON: the compressed arrays of ``StateGraph`` and, where it has them, its labels.

    Labels are texts, numbers, truth values, null, or lists of those (read as tuples).
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    schema_version: Literal[1] = 1
    goal: int
    choice_start: tuple[int, ...]
    outcome_start: tuple[int, ...]
    outcome_state: tuple[int, ...]
    outcome_prob: tuple[float, ...]
    outcome_strokes: tuple[int, ...]
    state_labels: list[Any] | None = None
    choice_labels: list[Any] | None = None

    @classmethod
    def of(cls, graph: StateGraph) -> "GraphFile":
        """Return the file of a graph.

        Raises
        ------
        InputError
            If a label cannot be written as JSON.
        """
        arrays: dict[str, Any] = {name: tuple(getattr(graph, name).tolist()) for name in ARRAYS}
        return cls(
            goal=graph.goal,
            **arrays,
            state_labels=_plain("state_labels", graph.state_labels),
            choice_labels=_plain("choice_labels", graph.choice_labels),
        )

    def graph(self) -> StateGraph:
        """Return the graph of a file; raises GraphError where ``StateGraph`` does."""
        return StateGraph.from_arrays(
            *(getattr(self, name) for name in ARRAYS),
            goal=self.goal,
            state_labels=_tuples(self.state_labels),
            choice_labels=_tuples(self.choice_labels),
        )


def write_graph(graph: StateGraph, path: str | Path) -> None:
    """Write a graph as JSON, or as npz when the name ends so; whole or not at all.

    Raises
    ------
    InputError
        If a label cannot be written as JSON (both kinds of file hold labels so), or the file cannot be written.
    """
    path = Path(path)
    draft = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        if path.suffix == ".npz":
            _write_npz(graph, draft)
        else:
            draft.write_text(GraphFile.of(graph).model_dump_json(exclude_none=True), encoding="utf-8")
        draft.replace(path)
    except OSError as error:
        raise InputError.one(str(path), "file", error.strerror or str(error), "a place to write") from None
    finally:
        draft.unlink(missing_ok=True)


def _write_npz(graph: StateGraph, path: Path) -> None:
    labels: dict[str, Any] = {
        name: np.array(json.dumps(_plain(name, given)))
        for name, given in (("state_labels", graph.state_labels), ("choice_labels", graph.choice_labels))
        if given is not None
    }
    arrays: dict[str, Any] = {name: getattr(graph, name) for name in ARRAYS}
    with path.open("wb") as stream:  # a name alone would be given another ending
        np.savez(stream, schema_version=np.array(1), goal=np.array(graph.goal), **arrays, **labels)


def read_graph(path: str | Path) -> StateGraph:
    """Read a graph written by ``write_graph``; by content, whatever the name.

    Raises
    ------
    InputError
        If the file is no graph file, naming every field that is wrong.
    GraphError
        If the graph in it cannot be solved.
    """
    path = Path(path)
    try:
        content = path.read_bytes()
    except OSError as error:
        raise InputError.one(
            str(path), "file", error.strerror or "no file", "a readable graph file"
        ) from error
    if content[:2] == b"PK":
        return _read_npz(path)
    try:
        file = GraphFile.model_validate_json(content)
    except ValidationError as error:
        faults = [_fault(e, content) for e in error.errors()]
        raise InputError(str(path), faults) from error
    with _naming(path):
        return file.graph()


def _fault(error: Any, content: bytes) -> Fault:
    if error["type"] == "json_invalid":
        found = error["ctx"]["error"] if content.strip() else "nothing in it"
        return Fault("file", found, "a graph as JSON or npz, such as write_graph makes")
    return Fault(".".join(map(str, error["loc"])) or "file", *told(error))


@contextmanager
def _naming(path: Path) -> Iterator[None]:
    """Put the file before each line of what is wrong with the graph in it."""
    try:
        yield
    except GraphError as error:
        raise GraphError("\n".join(f"{path}: {line}" for line in str(error).splitlines())) from None


def _read_npz(path: Path) -> StateGraph:
    try:
        with np.load(path, allow_pickle=False) as data:
            held = {name: data[name] for name in data.files}
    except (BadZipFile, ValueError, OSError):
        found = "something else, or only a part of one"
        raise InputError.one(str(path), "file", found, "an npz file of plain arrays") from None
    missing = [name for name in (*ARRAYS, "goal", "schema_version") if name not in held]
    if missing:
        raise InputError(str(path), [Fault(name, "nothing", "an array") for name in missing])
    for name in ("schema_version", "goal"):
        if held[name].ndim or held[name].dtype.kind not in "iu":
            raise InputError.one(str(path), name, f"{held[name].dtype} {held[name].shape}", "a whole number")
    if int(held["schema_version"]) != 1:
        raise InputError.one(str(path), "schema_version", str(held["schema_version"]), "1")
    labels = {
        name: _labels(path, name, held[name]) for name in ("state_labels", "choice_labels") if name in held
    }
    with _naming(path):
        return StateGraph.from_arrays(*(held[name] for name in ARRAYS), goal=int(held["goal"]), **labels)


def _labels(path: Path, name: str, held: NDArray[Any]) -> Any:
    try:
        return _tuples(json.loads(str(held)))
    except ValueError:
        raise InputError.one(str(path), name, f"{str(held)[:60]!r}", "a list of labels as JSON") from None


def _plain(name: str, labels: Sequence[Hashable] | None) -> list[Any] | None:
    if labels is None:
        return None
    given = [labels[i] for i in range(len(labels))]
    try:
        back = _tuples(json.loads(json.dumps(given, allow_nan=False)))
    except (TypeError, ValueError) as error:
        raise InputError.one("graph", name, str(error), "labels JSON can hold") from error
    if back != tuple(given):
        raise InputError.one(
            "graph", name, "labels that JSON would change", "texts, numbers or tuples of them"
        )
    return given


def _tuples(labels: Any) -> Any:
    """Turn lists into tuples, all the way down: labels are hashable."""
    return tuple(_tuples(item) for item in labels) if isinstance(labels, list | tuple) else labels
